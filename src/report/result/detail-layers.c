/* detail-layers.c - what lies under a map: coverage by a carried radio, and the relief of the
 * ground
 *
 * Cells go row by row from the north-west.  Those of coverage tell little each and hang together:
 * they are runs of equal steps.  Shades of the ground are all different: one character each.
 */
#include "report/result/detail-form.h"

#include <math.h>
#include <string.h>

/* A hole, then from dark to light. */
static const char SHADES[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
#define LIGHTEST 63u

/* Columns and rows of a grid at most: of a picture that every browser can hold. */
#define MOST_ALONG 10000
/* Metres or degrees, and metres: more than any scenario has. */
#define FARTHEST  1e9
#define NO_LENGTH 1e-12

/* ---- forms ----------------------------------------------------------------------------------- */

static const SpateMember GRID[] = {
    {"west", SPATE_CELL_NUMBER, offsetof(SpateGrid, west), .least = -FARTHEST, .most = FARTHEST},
    {"south", SPATE_CELL_NUMBER, offsetof(SpateGrid, south), .least = -FARTHEST, .most = FARTHEST},
    {"width", SPATE_CELL_NUMBER, offsetof(SpateGrid, width), .least = NO_LENGTH, .most = FARTHEST},
    {"height", SPATE_CELL_NUMBER, offsetof(SpateGrid, height), .least = NO_LENGTH,
     .most = FARTHEST},
    {"cell_m", SPATE_CELL_NUMBER, offsetof(SpateGrid, cell_m), .least = NO_LENGTH,
     .most = FARTHEST},
    {"columns", SPATE_CELL_WHOLE, offsetof(SpateGrid, n_columns), .least = 1, .most = MOST_ALONG},
    {"rows", SPATE_CELL_WHOLE, offsetof(SpateGrid, n_rows), .least = 1, .most = MOST_ALONG},
};
static const SpateForm GRID_FORM = SPATE_FORM(SpateGrid, GRID);

static const SpateMember RUN[] = {
    {"step", SPATE_CELL_WHOLE, offsetof(SpateRunForm, step), .most = SPATE_N_STEPS - 1},
    {"cells", SPATE_CELL_WHOLE, offsetof(SpateRunForm, n_cells), .least = 1, .most = 1e8},
};
static const SpateMember LAYER[] = {
    {"bearer", SPATE_CELL_WHOLE, offsetof(SpateLayerForm, bearer), .of = SPATE_THING_BEARER},
    {"relays", SPATE_CELL_WHOLE, offsetof(SpateLayerForm, n_relays)},
    {"runs", SPATE_CELL_LINES, SPATE_LIST(SpateLayerForm, runs, n_runs),
     SPATE_OF(SpateRunForm, RUN), .item = "run"},
};
static const SpateMember COVERAGE[] = {
    {"node", SPATE_CELL_WHOLE, offsetof(SpateCoverageForm, node), .of = SPATE_THING_NODE},
    {"height_m", SPATE_CELL_NUMBER, offsetof(SpateCoverageForm, height_m)},
    {"grid", SPATE_CELL_OBJECT, offsetof(SpateCoverageForm, grid), .form = &GRID_FORM},
    {"layers", SPATE_CELL_LIST, SPATE_LIST(SpateCoverageForm, layers, n_layers),
     SPATE_OF(SpateLayerForm, LAYER), .each = "\n     ", .beside = true, .item = "layer"},
};
const SpateForm SPATE_COVERAGE_FORM = SPATE_FORM(SpateCoverageForm, COVERAGE);

static const SpateMember RELIEF[] = {
    {"elevation", SPATE_CELL_TEXT, offsetof(SpateReliefForm, elevation), SPATE_OR_NULL},
    {"grid", SPATE_CELL_OBJECT, offsetof(SpateReliefForm, grid), .form = &GRID_FORM},
    {"shades", SPATE_CELL_TEXT, offsetof(SpateReliefForm, shades), .line = "\n   "},
};
const SpateForm SPATE_RELIEF_FORM = SPATE_FORM(SpateReliefForm, RELIEF);

/* ---- filling --------------------------------------------------------------------------------- */

static SpateLayerForm
layer_of(const SpateCoverage *coverage, uint32_t number, GPtrArray *scratch)
{
    const SpateCoverageLayer *layer = &coverage->layers[number];
    size_t n_cells = (size_t)coverage->grid.n_columns * coverage->grid.n_rows;
    GArray *runs = g_array_new(FALSE, FALSE, sizeof(SpateRunForm));
    SpateRunForm run = {.step = spate_coverage_step(&layer->cells[0])};
    for (size_t i = 0; i < n_cells; i++) {
        SpateCoverageStep step = spate_coverage_step(&layer->cells[i]);
        if (step != run.step) {
            g_array_append_val(runs, run);
            run = (SpateRunForm){.step = step};
        }
        run.n_cells++;
    }
    g_array_append_val(runs, run);
    SpateLayerForm form = {
        .bearer = layer->bearer, .n_relays = layer->n_relays, .n_runs = runs->len};
    form.runs = spate_scratch(scratch, g_array_free(runs, FALSE));
    return form;
}

SpateCoverageForm *
spate_detail_coverage_form(const SpateCoverage *coverage, GPtrArray *scratch)
{
    SpateCoverageForm *form = spate_room(scratch, 1, sizeof *form);
    *form = (SpateCoverageForm){
        .node = coverage->node,
        .height_m = coverage->height_m,
        .grid = coverage->grid,
        .layers = spate_room(scratch, coverage->n_layers, sizeof *form->layers),
        .n_layers = coverage->n_layers,
    };
    for (uint32_t l = 0; l < coverage->n_layers; l++)
        form->layers[l] = layer_of(coverage, l, scratch);
    return form;
}

SpateReliefForm *
spate_detail_relief_form(const SpateRelief *relief, GPtrArray *scratch)
{
    size_t n = (size_t)relief->grid.n_columns * relief->grid.n_rows;
    SpateReliefForm *form = spate_room(scratch, 1, sizeof *form);
    char *shades = spate_room(scratch, n, 1);
    for (size_t i = 0; i < n; i++) {
        double shade = relief->shades[i];
        shades[i] = SHADES[isnan(shade) ? 0 : 1 + (unsigned)lrint(shade * (LIGHTEST - 1))];
    }
    *form = (SpateReliefForm){relief->elevation, relief->grid, shades};
    return form;
}

/* ---- checking -------------------------------------------------------------------------------- */

SpateGrid
spate_detail_grid(JsonObject *layer, bool is_geographic)
{
    g_autoptr(JsonNode) node = json_node_new(JSON_NODE_OBJECT);
    json_node_set_object(node, json_object_get_object_member(layer, "grid"));
    SpateGrid grid = {.is_geographic = is_geographic};
    g_autofree char *fault = spate_form_read(&GRID_FORM, node, &grid);
    g_assert(fault == NULL);
    return grid;
}

static bool
is_on_earth(const SpateGrid *grid)
{
    return !grid->is_geographic ||
           (grid->south >= -90.0 && spate_grid_north(grid, 0) <= 90.0 &&
            fabs(grid->west) <= 720.0 && grid->n_columns * grid->width <= 360.0);
}

static uint64_t
cells_of(JsonObject *layer)
{
    JsonArray *runs = json_object_get_array_member(layer, "runs");
    uint64_t n = 0;
    for (guint i = 0; i < json_array_get_length(runs); i++)
        n += (uint64_t)json_array_get_int_element(json_array_get_array_element(runs, i), 1);
    return n;
}

char *
spate_detail_coverage_fault(JsonObject *variant, guint number, bool in_degrees)
{
    if (!json_object_has_member(variant, "coverage"))
        return NULL;
    JsonObject *coverage = json_object_get_object_member(variant, "coverage");
    JsonArray *layers = json_object_get_array_member(coverage, "layers");
    SpateGrid grid = spate_detail_grid(coverage, in_degrees);
    if (!is_on_earth(&grid))
        return g_strdup_printf("its details, variant %u: 'coverage' leaves the earth", number);
    uint64_t n_cells = (uint64_t)grid.n_columns * grid.n_rows;
    for (guint i = 0; i < json_array_get_length(layers); i++) {
        uint64_t n = cells_of(json_array_get_object_element(layers, i));
        if (n != n_cells)
            return g_strdup_printf(
                "its details, variant %u, layer %u: 'runs' has %" G_GUINT64_FORMAT
                " cells instead of %" G_GUINT64_FORMAT,
                number, i, n, n_cells);
    }
    return NULL;
}

char *
spate_detail_relief_fault(JsonObject *detail, bool in_degrees)
{
    if (!json_object_has_member(detail, "relief"))
        return NULL;
    JsonObject *relief = json_object_get_object_member(detail, "relief");
    SpateGrid grid = spate_detail_grid(relief, in_degrees);
    const char *shades = json_object_get_string_member(relief, "shades");
    if (!is_on_earth(&grid))
        return g_strdup("its details: 'relief' leaves the earth");
    size_t n = strlen(shades), wanted = (size_t)grid.n_columns * grid.n_rows;
    if (n != wanted || strspn(shades, SHADES) != n)
        return g_strdup_printf("its details: 'shades' must be %zu letters, digits, '+' or '/'",
                               wanted);
    return NULL;
}
