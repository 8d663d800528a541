/* layers.c - what --coverage lays under the map of a page */
#include "cli/cli.h"

/* Of a bearer: what a page can carry and a browser can show. */
#define MOST_CELLS 100000u
/* Columns, or rows: docs/result-format.md. */
#define MOST_ALONG 10000u

void
cli_layers_clear(CliLayers *layers)
{
    g_clear_pointer(&layers->coverages, g_ptr_array_unref);
    g_clear_pointer(&layers->worlds, g_ptr_array_unref);
}

static void
free_coverage(gpointer coverage)
{
    spate_coverage_free(coverage);
}

static void
free_world(gpointer world)
{
    spate_world_free(world);
}

/* The world is that of the layers. */
static CliStatus
survey(CliLayers *layers, SpateWorld *world, const CliOptions *options)
{
    GError *error = NULL;
    CliProgress progress;
    cli_progress_init(&progress, options->quiet);
    progress.things = "rows of the coverage";
    progress.is_before = true;
    SpateCoveragePlan plan = {
        .world = world,
        .height_m = 1.5,
        .most_cells = MOST_CELLS,
        .jobs = options->jobs,
        .progress = cli_progress_show,
        .user = &progress,
    };
    CliStatus status = cli_survey_lengths(&plan, options) ? CLI_DONE : CLI_USAGE;
    if (status == CLI_DONE)
        status = cli_survey_radio(&plan, spate_world_scenario(world), options);
    if (status == CLI_DONE)
        status = cli_survey_area(&plan, options);
    if (status != CLI_DONE)
        return status;
    if (cli_option_text(options, "margin") == NULL && cli_option_text(options, "area") == NULL)
        plan.margin_m = spate_area_margin_m(&plan.area);
    SpateCoverage *coverage = spate_coverage_new(&plan, &error);
    cli_progress_clear(&progress);
    if (coverage == NULL) {
        g_prefix_error_literal(&error, "--coverage: ");
        return cli_complain_error(error);
    }
    g_ptr_array_add(layers->coverages, coverage);
    if (MAX(coverage->grid.n_columns, coverage->grid.n_rows) <= MOST_ALONG)
        return CLI_DONE;
    return cli_complain(CLI_USAGE,
                        "--coverage: %u x %u cells are too long a strip for a map; at "
                        "most %u along a side",
                        coverage->grid.n_columns, coverage->grid.n_rows, MOST_ALONG);
}

CliStatus
cli_layers_make(CliLayers *layers, const SpateScenario *const *scenarios, size_t n,
                const CliOptions *options)
{
    if (options->privacy.blur_m > 0.0)
        cli_complain(CLI_DONE, "--blur: the page has no coverage layer, which would give places "
                               "away");
    if (options->privacy.blur_m > 0.0 && !options->detail)
        return CLI_DONE;
    layers->worlds = g_ptr_array_new_with_free_func(free_world);
    layers->coverages = g_ptr_array_new_with_free_func(free_coverage);
    for (size_t i = 0; i < n; i++) {
        GError *error = NULL;
        SpateWorld *world = spate_world_new(scenarios[i], &error);
        if (world == NULL)
            return cli_complain_error(error);
        g_ptr_array_add(layers->worlds, world);
        CliStatus status = survey(layers, world, options);
        if (status != CLI_DONE)
            return status;
    }
    return CLI_DONE;
}
