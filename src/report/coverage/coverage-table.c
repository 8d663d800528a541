/* coverage-table.c - how much of an area is covered, for people */
#include "report/coverage/coverage-report.h"

#include "document/numbers.h"
#include "report/words/columns.h"
#include "scenario/layout.h"

static void
add_share(SpateColumns *columns, uint32_t n, uint32_t of)
{
    g_autoptr(GString) cell = g_string_new(NULL);
    spate_append_fixed(cell, of > 0 ? 100.0 * n / of : NAN, 1, false);
    g_string_append(cell, " %");
    spate_columns_add(columns, cell->str);
}

static void
append_classes(GString *text, const SpateCoverageSummary *summary)
{
    static const char *const RELAYS[SPATE_COVERAGE_CLASSES] = {"none", "1", "2", "3", "4 or more"};
    static const char *const HEADS[] = {"relays", "both ways", "heard by", "hears", NULL};
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    spate_columns_add_heads(columns, HEADS);
    for (uint32_t i = 0; i < SPATE_COVERAGE_CLASSES; i++) {
        spate_columns_add(columns, RELAYS[i]);
        add_share(columns, summary->both_ways[i], summary->n_judged);
        add_share(columns, summary->heard_by[i], summary->n_judged);
        add_share(columns, summary->hears[i], summary->n_judged);
        spate_columns_end_line(columns);
    }
    spate_columns_append(text, columns, 0);
}

static void
append_hole(GString *text, const SpateGrid *grid, const SpateCoverageSummary *summary)
{
    const SpateArea *hole = &summary->hole;
    if (summary->n_hole == 0) {
        g_string_append(text, "no hole: every cell has a relay both ways\n");
        return;
    }
    g_string_append_printf(text, "largest hole (no relay both ways): %.4g km2, ",
                           summary->n_hole * grid->cell_m * grid->cell_m / 1e6);
    if (hole->is_geographic)
        g_string_append_printf(text, "latitude %.5f to %.5f, longitude %.5f to %.5f\n", hole->south,
                               hole->north, spate_longitude_deg(hole->west),
                               spate_longitude_deg(hole->east));
    else
        g_string_append_printf(text, "x %.1f to %.1f m, y %.1f to %.1f m\n", hole->west, hole->east,
                               hole->south, hole->north);
}

static void
append_layer(GString *text, const SpateCoverage *coverage, uint32_t l)
{
    const SpatePlan *plan = spate_world_plan(coverage->world);
    const SpateCoverageLayer *layer = &coverage->layers[l];
    const SpateCoverageSummary summary = spate_coverage_summary(coverage, l);
    g_string_append_printf(text, "\nbearer %s: %u relay%s beside '%s'\n",
                           plan->bearer_names[layer->bearer], layer->n_relays,
                           layer->n_relays == 1 ? "" : "s", plan->nodes[coverage->node].name);
    append_classes(text, &summary);
    append_hole(text, &coverage->grid, &summary);
    if (summary.n_out > 0)
        g_string_append_printf(text, "%u of %u cells left out: %s\n", summary.n_out,
                               summary.n_out + summary.n_judged, layer->why_out);
}

void
spate_coverage_table(GString *text, const SpateCoverage *coverage)
{
    const SpateGrid *grid = &coverage->grid;
    const SpatePlan *plan = spate_world_plan(coverage->world);
    if (spate_scenario_redraws_places(spate_world_scenario(coverage->world)))
        g_string_append(text, "random places as drawn in replication 1; each draws them anew\n");
    g_string_append_printf(text,
                           "radio of '%s' carried %.6g m above the ground: %u x %u cells of %.6g m "
                           "(%.4g x %.4g km)\n",
                           plan->nodes[coverage->node].name, coverage->height_m, grid->n_columns,
                           grid->n_rows, grid->cell_m, grid->n_columns * grid->cell_m / 1e3,
                           grid->n_rows * grid->cell_m / 1e3);
    g_string_append(text, "share of the area by number of relays; a prediction without shadowing "
                          "and fading, no promise\n");
    for (uint32_t l = 0; l < coverage->n_layers; l++)
        append_layer(text, coverage, l);
}
