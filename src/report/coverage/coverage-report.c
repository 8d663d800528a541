/* coverage-report.c - cells as JSON, CSV and GeoJSON */
#include "report/coverage/coverage-report.h"

#include "document/form.h"
#include "document/geojson.h"
#include "document/numbers.h"

/* A text of this length goes out. */
#define PIECE_BYTES 65536
/* A hundred-millionth of a degree is a millimetre. */
#define DEGREE_DIGITS 11

typedef struct {
    double x, y; /* or longitude and latitude */
    const char *bearer;
    uint32_t heard_by, hears, both_ways;
    const char *best;
    double best_dbm;
} Cell;

#define COUNTS                                                                                     \
    {"bearer", SPATE_CELL_TEXT, offsetof(Cell, bearer)},                                           \
        {"heard_by", SPATE_CELL_WHOLE, offsetof(Cell, heard_by)},                                  \
        {"hears", SPATE_CELL_WHOLE, offsetof(Cell, hears)},                                        \
        {"both_ways", SPATE_CELL_WHOLE, offsetof(Cell, both_ways)},                                \
        {"best", SPATE_CELL_TEXT, offsetof(Cell, best), SPATE_OR_NULL},                            \
    {                                                                                              \
        "best_dbm", SPATE_CELL_NUMBER, offsetof(Cell, best_dbm), SPATE_OR_NULL                     \
    }

static const SpateMember PLANE_CELL[] = {
    {"x", SPATE_CELL_NUMBER, offsetof(Cell, x)},
    {"y", SPATE_CELL_NUMBER, offsetof(Cell, y)},
    COUNTS,
};
static const SpateMember EARTH_CELL[] = {
    {"lat", SPATE_CELL_NUMBER, offsetof(Cell, y), .digits = DEGREE_DIGITS},
    {"lon", SPATE_CELL_NUMBER, offsetof(Cell, x), .digits = DEGREE_DIGITS},
    COUNTS,
};
static const SpateForm PLANE_FORM = SPATE_FORM(Cell, PLANE_CELL);
static const SpateForm EARTH_FORM = SPATE_FORM(Cell, EARTH_CELL);

static const SpateForm *
cell_form(const SpateCoverage *coverage)
{
    return coverage->grid.is_geographic ? &EARTH_FORM : &PLANE_FORM;
}

typedef struct {
    const SpateCoverage *coverage;
    SpateTextSink sink;
    gpointer user;
    GString *text; /* not poured yet */
} Report;

static void
pour(const Report *report)
{
    report->sink(report->user, report->text->str, report->text->len);
    g_string_truncate(report->text, 0);
}

typedef void (*AppendCell)(const Report *report, const Cell *cell, uint32_t column, uint32_t row,
                           bool is_first);

/* Those that are not left out, by bearer and from the north-west corner. */
static void
append_cells(const Report *report, AppendCell append)
{
    const SpateCoverage *coverage = report->coverage;
    const SpatePlan *plan = spate_world_plan(coverage->world);
    const SpateGrid *grid = &coverage->grid;
    bool is_first = true;
    for (uint32_t l = 0; l < coverage->n_layers; l++) {
        const SpateCoverageLayer *layer = &coverage->layers[l];
        for (uint32_t i = 0; i < grid->n_columns * grid->n_rows; i++) {
            const SpateCoverageCell *of = &layer->cells[i];
            uint32_t column = i % grid->n_columns, row = i / grid->n_columns;
            if (of->is_out)
                continue;
            SpatePosition centre = spate_grid_centre(grid, column, row, 0.0);
            Cell cell = {
                .x = centre.x_m,
                .y = centre.y_m,
                .bearer = plan->bearer_names[layer->bearer],
                .heard_by = of->heard_by,
                .hears = of->hears,
                .both_ways = of->both_ways,
                .best = of->best != UINT32_MAX ? plan->nodes[of->best].name : NULL,
                .best_dbm = of->best_dbm,
            };
            append(report, &cell, column, row, is_first);
            is_first = false;
            if (report->text->len >= PIECE_BYTES)
                pour(report);
        }
    }
}

/* ---- CSV ------------------------------------------------------------------------------------- */

static void
append_csv(const Report *report, const Cell *cell, uint32_t column, uint32_t row, bool is_first)
{
    spate_form_append_csv(report->text, cell_form(report->coverage), cell);
}

/* ---- JSON ------------------------------------------------------------------------------------ */

typedef struct {
    double x0, y0, x1, y1;
} Box;

static const SpateMember PLANE_BOX[] = {
    {"x0", SPATE_CELL_NUMBER, offsetof(Box, x0)},
    {"y0", SPATE_CELL_NUMBER, offsetof(Box, y0)},
    {"x1", SPATE_CELL_NUMBER, offsetof(Box, x1)},
    {"y1", SPATE_CELL_NUMBER, offsetof(Box, y1)},
};
static const SpateMember EARTH_BOX[] = {
    {"lon0", SPATE_CELL_NUMBER, offsetof(Box, x0), .digits = DEGREE_DIGITS},
    {"lat0", SPATE_CELL_NUMBER, offsetof(Box, y0), .digits = DEGREE_DIGITS},
    {"lon1", SPATE_CELL_NUMBER, offsetof(Box, x1), .digits = DEGREE_DIGITS},
    {"lat1", SPATE_CELL_NUMBER, offsetof(Box, y1), .digits = DEGREE_DIGITS},
};
static const SpateForm PLANE_BOX_FORM = SPATE_FORM(Box, PLANE_BOX);
static const SpateForm EARTH_BOX_FORM = SPATE_FORM(Box, EARTH_BOX);

static const SpateForm *
box_form(const SpateCoverage *coverage)
{
    return coverage->grid.is_geographic ? &EARTH_BOX_FORM : &PLANE_BOX_FORM;
}

typedef struct {
    uint32_t n_cells;
    GString *box; /* as it is written */
} Hole;

typedef struct {
    const char *bearer;
    uint32_t n_relays;
    SpateCoverageSummary summary;
    uint32_t *both_ways, *heard_by, *hears;
    uint32_t n_classes;
    Hole *hole;
} Layer;

static void
append_text(GString *text, gconstpointer of)
{
    g_string_append(text, ((const GString *)of)->str);
}

static const SpateMember HOLE[] = {
    {"cells", SPATE_CELL_WHOLE, offsetof(Hole, n_cells)},
    {"area", SPATE_CELL_OTHER, offsetof(Hole, box), .append = append_text},
};

/* Cells by the number of relays: 0, 1, 2, 3, and more. */
static const SpateMember LAYER[] = {
    {"bearer", SPATE_CELL_TEXT, offsetof(Layer, bearer)},
    {"relays", SPATE_CELL_WHOLE, offsetof(Layer, n_relays)},
    {"judged", SPATE_CELL_WHOLE, offsetof(Layer, summary.n_judged)},
    {"left_out", SPATE_CELL_WHOLE, offsetof(Layer, summary.n_out)},
    {"both_ways", SPATE_CELL_WHOLES, SPATE_LIST(Layer, both_ways, n_classes)},
    {"heard_by", SPATE_CELL_WHOLES, SPATE_LIST(Layer, heard_by, n_classes)},
    {"hears", SPATE_CELL_WHOLES, SPATE_LIST(Layer, hears, n_classes)},
    {"hole", SPATE_CELL_POINTED, offsetof(Layer, hole), SPATE_OR_NULL, SPATE_OF(Hole, HOLE)},
};
static const SpateForm LAYER_FORM = SPATE_FORM(Layer, LAYER);

typedef struct {
    const char *radio;
    double height_m, cell_m;
    uint32_t n_columns, n_rows;
    GString *area;
    Layer *layers;
    uint32_t n_layers;
} Head;

static const SpateMember HEAD[] = {
    {"format", SPATE_CELL_FIXED, .fixed = "spate-coverage/1"},
    {"radio", SPATE_CELL_TEXT, offsetof(Head, radio)},
    {"height_m", SPATE_CELL_NUMBER, offsetof(Head, height_m)},
    {"cell_m", SPATE_CELL_NUMBER, offsetof(Head, cell_m)},
    {"area", SPATE_CELL_OTHER, offsetof(Head, area), .append = append_text, .line = "\n "},
    {"columns", SPATE_CELL_WHOLE, offsetof(Head, n_columns)},
    {"rows", SPATE_CELL_WHOLE, offsetof(Head, n_rows)},
    {"layers", SPATE_CELL_LIST, SPATE_LIST(Head, layers, n_layers), .form = &LAYER_FORM,
     .line = "\n ", .each = "\n  "},
};
static const SpateForm HEAD_FORM = SPATE_FORM(Head, HEAD);

static void
append_json(const Report *report, const Cell *cell, uint32_t column, uint32_t row, bool is_first)
{
    g_string_append(report->text, is_first ? "\n  " : ",\n  ");
    spate_form_append(report->text, cell_form(report->coverage), cell);
}

static void
append_box(GString *text, const SpateCoverage *coverage, SpateArea area)
{
    spate_form_append(text, box_form(coverage),
                      &(Box){area.west, area.south, area.east, area.north});
}

static void
append_head(const Report *report)
{
    const SpateCoverage *coverage = report->coverage;
    const SpatePlan *plan = spate_world_plan(coverage->world);
    const SpateGrid *grid = &coverage->grid;
    g_autofree Layer *layers = g_new0(Layer, coverage->n_layers);
    g_autofree Hole *holes = g_new0(Hole, coverage->n_layers);
    for (uint32_t l = 0; l < coverage->n_layers; l++) {
        layers[l] = (Layer){
            .bearer = plan->bearer_names[coverage->layers[l].bearer],
            .n_relays = coverage->layers[l].n_relays,
            .summary = spate_coverage_summary(coverage, l),
            .n_classes = SPATE_COVERAGE_CLASSES,
        };
        SpateCoverageSummary *summary = &layers[l].summary;
        layers[l].both_ways = summary->both_ways;
        layers[l].heard_by = summary->heard_by;
        layers[l].hears = summary->hears;
        holes[l] = (Hole){summary->n_hole, g_string_new(NULL)};
        append_box(holes[l].box, coverage, summary->hole);
        layers[l].hole = summary->n_hole > 0 ? &holes[l] : NULL;
    }
    g_autoptr(GString) area = g_string_new(NULL);
    append_box(area, coverage,
               (SpateArea){.west = spate_grid_west(grid, 0),
                           .south = spate_grid_north(grid, grid->n_rows),
                           .east = spate_grid_west(grid, grid->n_columns),
                           .north = spate_grid_north(grid, 0)});
    const Head head = {
        .radio = plan->nodes[coverage->node].name,
        .height_m = coverage->height_m,
        .cell_m = grid->cell_m,
        .n_columns = grid->n_columns,
        .n_rows = grid->n_rows,
        .area = area,
        .layers = layers,
        .n_layers = coverage->n_layers,
    };
    spate_form_append(report->text, &HEAD_FORM, &head);
    for (uint32_t l = 0; l < coverage->n_layers; l++)
        g_string_free(holes[l].box, TRUE);
}

static void
report_json(const Report *report)
{
    append_head(report);
    g_string_truncate(report->text, report->text->len - 1); /* it goes on with the cells */
    g_string_append(report->text, ",\n \"cells\": [");
    append_cells(report, append_json);
    g_string_append(report->text, "]}\n");
}

/* ---- GeoJSON --------------------------------------------------------------------------------- */

/* The corners of a cell, counted as edges of columns and rows. */
typedef struct {
    const SpateGrid *grid;
    const SpateRaster *raster; /* of a grid in a plane: where that lies */
    uint32_t column, row;
} Outline;
#define N_CORNERS 4u

typedef struct {
    Outline *outline;
    const Cell *cell;
} Feature;

/* Counter-clockwise from the south-west and closed: RFC 7946, 3.1.6. */
static void
append_ring(GString *text, double corners[N_CORNERS][2])
{
    g_string_append(text, "[[");
    for (size_t i = 0; i <= N_CORNERS; i++) {
        g_string_append(text, i > 0 ? ", " : "");
        spate_geojson_append_position(text, corners[i % N_CORNERS][0], corners[i % N_CORNERS][1]);
    }
    g_string_append(text, "]]");
}

/* The part of a cell across the 180th meridian that lies to one side of it. */
static void
append_side(GString *text, double corners[N_CORNERS][2], double edge_deg)
{
    double side[N_CORNERS][2];
    for (size_t i = 0; i < N_CORNERS; i++) {
        side[i][0] = (corners[i][0] < 0.0) == (edge_deg < 0.0) ? corners[i][0] : edge_deg;
        side[i][1] = corners[i][1];
    }
    append_ring(text, side);
}

/* False where the system of the plane ends. */
static bool
find_corners(const Outline *outline, double corners[N_CORNERS][2])
{
    const SpateGrid *grid = outline->grid;
    for (uint32_t i = 0; i < N_CORNERS; i++) {
        double x = spate_grid_west(grid, outline->column + (i == 1 || i == 2));
        double y = spate_grid_north(grid, outline->row + (i < 2));
        if (grid->is_geographic) {
            corners[i][0] = spate_longitude_deg(x);
            corners[i][1] = y;
            if (i > 0 && i < 3 && corners[i][0] <= -180.0)
                corners[i][0] = 180.0; /* an eastern edge on the meridian itself */
        } else if (!spate_raster_plane_to_globe(outline->raster, x, y, &corners[i][0],
                                                &corners[i][1])) {
            return false;
        }
    }
    return true;
}

/* What lies across the 180th meridian is cut there: RFC 7946, 3.1.9. */
static void
append_geometry(GString *text, gconstpointer of)
{
    double corners[N_CORNERS][2];
    if (!find_corners(of, corners)) {
        g_string_append(text, "null");
        return;
    }
    double west = corners[0][0], east = corners[1][0];
    if (west < east) {
        g_string_append(text, "{\"type\": \"Polygon\", \"coordinates\": ");
        append_ring(text, corners);
    } else {
        g_string_append(text, "{\"type\": \"MultiPolygon\", \"coordinates\": [");
        append_side(text, corners, 180.0);
        g_string_append(text, ", ");
        append_side(text, corners, -180.0);
        g_string_append_c(text, ']');
    }
    g_string_append_c(text, '}');
}

#define FEATURE_OF(form_of_cell)                                                                   \
    {"type", SPATE_CELL_FIXED, .fixed = "Feature"},                                                \
        {"geometry", SPATE_CELL_OTHER, offsetof(Feature, outline), .append = append_geometry},     \
        {"properties", SPATE_CELL_POINTED, offsetof(Feature, cell), .form = &(form_of_cell)},
static const SpateMember EARTH_FEATURE[] = {FEATURE_OF(EARTH_FORM)};
static const SpateMember PLANE_FEATURE[] = {FEATURE_OF(PLANE_FORM)};
static const SpateForm EARTH_FEATURE_FORM = SPATE_FORM(Feature, EARTH_FEATURE);
static const SpateForm PLANE_FEATURE_FORM = SPATE_FORM(Feature, PLANE_FEATURE);

static void
append_feature(const Report *report, const Cell *cell, uint32_t column, uint32_t row, bool is_first)
{
    const SpateGrid *grid = &report->coverage->grid;
    const SpateTerrain *terrain = spate_world_scenario(report->coverage->world)->terrain;
    Outline outline = {grid, terrain != NULL ? spate_terrain_raster(terrain) : NULL, column, row};
    g_string_append(report->text, is_first ? "\n  " : ",\n  ");
    spate_form_append(report->text, grid->is_geographic ? &EARTH_FEATURE_FORM : &PLANE_FEATURE_FORM,
                      &(Feature){&outline, cell});
}

static void
report_geojson(const Report *report)
{
    g_string_append(report->text, "{\"type\": \"FeatureCollection\", \"features\": [");
    append_cells(report, append_feature);
    g_string_append(report->text, "]}\n");
}

/* ---- all ------------------------------------------------------------------------------------- */

bool
spate_coverage_report(const SpateCoverage *coverage, SpateCoverageFormat format, SpateTextSink sink,
                      gpointer user, GError **error)
{
    g_autoptr(GString) text = g_string_new(NULL);
    g_autoptr(GByteArray) picture = NULL;
    const Report report = {coverage, sink, user, text};
    switch (format) {
    case SPATE_COVERAGE_TABLE:
        spate_coverage_table(text, coverage);
        break;
    case SPATE_COVERAGE_JSON:
        report_json(&report);
        break;
    case SPATE_COVERAGE_CSV:
        spate_form_append_csv_head(text, cell_form(coverage));
        append_cells(&report, append_csv);
        break;
    case SPATE_COVERAGE_GEOJSON:
        report_geojson(&report);
        break;
    case SPATE_COVERAGE_PNG:
        picture = spate_coverage_picture(coverage, error);
        if (picture == NULL)
            return false;
        sink(user, picture->data, picture->len);
        break;
    }
    pour(&report);
    return true;
}
