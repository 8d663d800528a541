/* coverage.c - spate coverage */
#include "cli/cli.h"

#include "cli/globe.h"
#include "report/coverage/coverage-report.h"
#include "scenario/text/faults.h"
#include <string.h>

/* What the options mean. */
typedef struct {
    SpateCoverageFormat format;
    char *world_file; /* beside a picture; NULL: none */
    SpateScenarioFile *file;
    SpateScenario *scenario;
    SpateWorld *world;
    SpateCoveragePlan plan;
} Survey;

static void
survey_clear(Survey *survey)
{
    spate_world_free(survey->world);
    spate_scenario_free(survey->scenario);
    spate_scenario_file_free(survey->file);
    g_free(survey->world_file);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Survey, survey_clear)

/* ---- options --------------------------------------------------------------------------------- */

static const char *const SUFFIXES[] = {
    [SPATE_COVERAGE_TABLE] = ".txt", [SPATE_COVERAGE_JSON] = ".json",
    [SPATE_COVERAGE_CSV] = ".csv",   [SPATE_COVERAGE_GEOJSON] = ".geojson",
    [SPATE_COVERAGE_PNG] = ".png",
};

/* --format, or what the name of the output ends in; a table else. */
static CliStatus
read_format(Survey *survey, CliOptions *options)
{
    int format = SPATE_COVERAGE_TABLE;
    for (size_t i = 0; options->output != NULL && i < G_N_ELEMENTS(SUFFIXES); i++)
        if (g_str_has_suffix(options->output, SUFFIXES[i]))
            format = (int)i;
    if (!cli_option_word(options, "format", &format))
        return CLI_USAGE;
    survey->format = (SpateCoverageFormat)format;
    /* The first words are those of all commands; maps and pictures are for programs, as JSON. */
    options->format = format <= SPATE_COVERAGE_CSV ? (SpateFormat)format : SPATE_FORMAT_JSON;
    if (!cli_cells_check(options))
        return CLI_USAGE;
    if (format != SPATE_COVERAGE_PNG)
        return CLI_DONE;
    if (!spate_coverage_has_pictures())
        return cli_complain(CLI_USAGE, "--format png: this build of spate cannot make pictures; it "
                                       "was built without GDAL");
    if (cli_terminal_is_output(options->output))
        return cli_complain(CLI_USAGE, "--format png: a terminal shows no pictures; give --output "
                                       "FILE.png");
    if (options->output != NULL && strcmp(options->output, "-") != 0) {
        const char *suffix = SUFFIXES[SPATE_COVERAGE_PNG];
        gsize length = strlen(options->output);
        if (g_str_has_suffix(options->output, suffix))
            length -= strlen(suffix);
        survey->world_file = g_strdup_printf("%.*s.pgw", (int)length, options->output);
    }
    return CLI_DONE;
}

static CliStatus
read_scenario(Survey *survey, const CliOptions *options)
{
    CliStatus status = CLI_DONE;
    survey->file = cli_scenario_file(options->arguments[0], options, &status);
    if (survey->file == NULL)
        return status;
    survey->scenario = cli_scenario(
        survey->file, options->variants != NULL ? options->variants[0] : "base", options, &status);
    if (survey->scenario == NULL)
        return status;
    SpateCoveragePlan *plan = &survey->plan;
    if (cli_option_text(options, "radio") == NULL)
        return cli_complain(CLI_USAGE, "coverage needs --radio NODE: whose radio is carried about");
    status = cli_survey_radio(plan, survey->scenario, options);
    if (status != CLI_DONE)
        return status;
    if (survey->format == SPATE_COVERAGE_PNG && plan->bearer == UINT32_MAX &&
        survey->scenario->nodes[plan->node].n_radios > 1)
        return cli_complain(CLI_USAGE, "--format png shows one bearer: give --bearer NAME");
    GError *error = NULL;
    survey->world = spate_world_new(survey->scenario, &error);
    if (survey->world == NULL)
        return cli_complain_error(error);
    plan->world = survey->world;
    if (survey->format == SPATE_COVERAGE_GEOJSON) {
        g_autofree SpatePosition *places = cli_globe_places(survey->world, &status);
        if (places == NULL)
            return status;
    }
    return cli_survey_area(plan, options);
}

static CliStatus
read_plan(Survey *survey, const CliOptions *options)
{
    SpateCoveragePlan *plan = &survey->plan;
    *plan = (SpateCoveragePlan){.cell_m = 25.0, .height_m = 1.5, .jobs = options->jobs};
    if (!cli_survey_lengths(plan, options))
        return CLI_USAGE;
    return read_scenario(survey, options);
}

/* ---- the command ----------------------------------------------------------------------------- */

static void
pour(gpointer user, const void *text, gsize length)
{
    cli_stream_append(user, text, length);
}

static CliStatus
write_coverage(const Survey *survey, const SpateCoverage *coverage, const CliOptions *options)
{
    CliStatus status = CLI_DONE;
    CliStream *stream =
        cli_stream_open(options->output, cli_form_of(options, options->format), &status);
    if (stream == NULL)
        return status;
    GError *error = NULL;
    bool is_made = spate_coverage_report(coverage, survey->format, pour, stream, &error);
    status = cli_stream_close(stream, is_made);
    if (!is_made)
        return cli_complain_error(error);
    if (status != CLI_DONE || survey->world_file == NULL)
        return status;
    g_autoptr(GString) text = g_string_new(NULL);
    spate_coverage_append_world_file(text, &coverage->grid);
    return cli_output_write(survey->world_file, CLI_EXACT, text->str, text->len);
}

static CliStatus
cli_coverage(CliOptions *options)
{
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "coverage takes one scenario; see spate coverage --help");
    if (options->variants != NULL && g_strv_length(options->variants) > 1)
        return cli_complain(CLI_USAGE, "coverage takes one variant at a time");
    g_auto(Survey) survey = {0};
    CliStatus status = read_format(&survey, options);
    if (status == CLI_DONE && survey.world_file != NULL)
        cli_places_write("the world file", survey.world_file);
    if (status == CLI_DONE)
        status = cli_places_note(options, "scenario");
    if (status == CLI_DONE)
        status = read_plan(&survey, options);
    if (status == CLI_DONE)
        status = cli_places_check();
    if (status != CLI_DONE)
        return status;
    CliProgress progress;
    cli_progress_init(&progress, options->quiet);
    progress.things = "rows";
    survey.plan.stop = cli_interrupt_flag();
    survey.plan.progress = cli_progress_show;
    survey.plan.user = &progress;
    GError *error = NULL;
    g_autoptr(SpateCoverage) coverage = spate_coverage_new(&survey.plan, &error);
    cli_progress_clear(&progress);
    if (error != NULL)
        return cli_complain_error(error);
    if (coverage == NULL)
        return cli_complain(CLI_INTERRUPTED, "interrupted: nothing is written");
    return write_coverage(&survey, coverage, options);
}

static const CliOption OPTIONS[] = {
    {"radio", CLI_TEXT, "NODE",
     "the node whose radio is carried about: its power, antenna, feeder "
     "and site loss"},
    {"bearer", CLI_TEXT, "NAME", "only on this bearer (default: each that the node has)"},
    {"cell", CLI_TEXT, "SIDE", "side of a cell (default: \"25 m\")"},
    {"height", CLI_TEXT, "HEIGHT", "of its antenna above the ground (default: \"1.5 m\")"},
    {"area", CLI_TEXT, "X0,Y0,X1,Y1",
     "the corners of the area: x and y in metres, or longitude and latitude (default: the box "
     "around all nodes)"},
    {"margin", CLI_TEXT, "DISTANCE", "the area grows by that on each side (default: \"0 m\")"},
    {"format", CLI_WORD, "table|json|csv|geojson|png",
     "shares of the area for people (the default), all cells, or a picture with a world file; what "
     "--output ends in says it too"},
    {"variant", CLI_VARIANT, "NAME", "use this variant, not the base"},
    {"seed", CLI_TEXT, "N", "override the scenario's seed, which sets random places"},
    {"jobs", CLI_TEXT, "N", "threads (default: all cores); never changes a result"},
};

const CliCommand CLI_COVERAGE = {
    .name = "coverage",
    .run = cli_coverage,
    .summary = "where a radio that is carried about is heard, and by how many relays",
    .usage = "SCENARIO --radio NODE [OPTION...]",
    .about = "Carries the radio of a node to each cell of a grid, and says how many nodes that "
             "relay on its bearer hear it there and are heard, and which one hears it best: by the "
             "link budget of spate links, without shadowing and fading. It is a prediction, and as "
             "good as the path loss model: no promise. Random places are those of the first "
             "replication.",
    .arguments = CLI_FILE,
    .takes =
        CLI_TAKES_SEED | CLI_TAKES_SET | CLI_TAKES_VARIANT | CLI_TAKES_OUTPUT | CLI_TAKES_CELLS,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status =
        "0 done, 2 bad usage or scenario, 3 could not read or write, 130 interrupted (nothing "
        "is written).",
    .example = "spate coverage valley.yaml --radio walker-1 --cell \"50 m\"",
};
