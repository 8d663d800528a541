/* summary.c - how much of an area is covered, and where its largest hole is */
#include "study/coverage/coverage.h"

SpateCoverageStep
spate_coverage_step(const SpateCoverageCell *cell)
{
    if (cell->is_out)
        return SPATE_STEP_LEFT_OUT;
    if (cell->both_ways > 0)
        return (SpateCoverageStep)MIN(SPATE_STEP_1 + cell->both_ways - 1, SPATE_STEP_MORE);
    return cell->heard_by > 0 || cell->hears > 0 ? SPATE_STEP_ONE_WAY : SPATE_STEP_NONE;
}

typedef struct {
    const SpateCoverage *coverage;
    const SpateCoverageLayer *layer;
    bool *is_seen;
    uint32_t *waiting; /* cells whose neighbours are not seen yet */
} Search;

/* The columns and rows of a set of cells, the last ones included. */
typedef struct {
    uint32_t n, first_column, last_column, first_row, last_row;
} Patch;

static bool
is_hole(const Search *search, uint32_t cell)
{
    const SpateCoverageCell *at = &search->layer->cells[cell];
    return !search->is_seen[cell] && !at->is_out && at->both_ways == 0;
}

static void
see(Search *search, uint32_t cell, uint32_t *n_waiting)
{
    if (!is_hole(search, cell))
        return;
    search->is_seen[cell] = true;
    search->waiting[(*n_waiting)++] = cell;
}

/* All cells that hang together with this one. */
static Patch
explore(Search *search, uint32_t start)
{
    const SpateGrid *grid = &search->coverage->grid;
    uint32_t n_columns = grid->n_columns, n_waiting = 0;
    Patch patch = {.first_column = UINT32_MAX, .first_row = UINT32_MAX};
    see(search, start, &n_waiting);
    while (n_waiting > 0) {
        uint32_t cell = search->waiting[--n_waiting];
        uint32_t column = cell % n_columns, row = cell / n_columns;
        patch.n++;
        patch.first_column = MIN(patch.first_column, column);
        patch.last_column = MAX(patch.last_column, column);
        patch.first_row = MIN(patch.first_row, row);
        patch.last_row = MAX(patch.last_row, row);
        if (column > 0)
            see(search, cell - 1, &n_waiting);
        if (column + 1 < n_columns)
            see(search, cell + 1, &n_waiting);
        if (row > 0)
            see(search, cell - n_columns, &n_waiting);
        if (row + 1 < grid->n_rows)
            see(search, cell + n_columns, &n_waiting);
    }
    return patch;
}

/* Of patches of one size that whose first cell comes first. */
static void
find_hole(const SpateCoverage *coverage, const SpateCoverageLayer *layer,
          SpateCoverageSummary *summary)
{
    const SpateGrid *grid = &coverage->grid;
    uint32_t n_cells = grid->n_columns * grid->n_rows;
    g_autofree bool *is_seen = g_new0(bool, n_cells);
    g_autofree uint32_t *waiting = g_new(uint32_t, n_cells);
    Search search = {coverage, layer, is_seen, waiting};
    Patch largest = {0};
    for (uint32_t cell = 0; cell < n_cells; cell++) {
        if (!is_hole(&search, cell))
            continue;
        Patch patch = explore(&search, cell);
        if (patch.n > largest.n)
            largest = patch;
    }
    summary->n_hole = largest.n;
    if (largest.n == 0)
        return;
    summary->hole = (SpateArea){
        .west = spate_grid_west(grid, largest.first_column),
        .south = spate_grid_north(grid, largest.last_row + 1),
        .east = spate_grid_west(grid, largest.last_column + 1),
        .north = spate_grid_north(grid, largest.first_row),
        .is_geographic = grid->is_geographic,
    };
}

static void
count(uint32_t *classes, uint32_t n_relays)
{
    classes[MIN(n_relays, SPATE_COVERAGE_CLASSES - 1)]++;
}

SpateCoverageSummary
spate_coverage_summary(const SpateCoverage *coverage, uint32_t layer)
{
    const SpateCoverageLayer *of = &coverage->layers[layer];
    uint32_t n_cells = coverage->grid.n_columns * coverage->grid.n_rows;
    SpateCoverageSummary summary = {0};
    for (uint32_t i = 0; i < n_cells; i++) {
        const SpateCoverageCell *cell = &of->cells[i];
        summary.n_out += cell->is_out;
        if (cell->is_out)
            continue;
        summary.n_judged++;
        count(summary.heard_by, cell->heard_by);
        count(summary.hears, cell->hears);
        count(summary.both_ways, cell->both_ways);
    }
    find_hole(coverage, of, &summary);
    return summary;
}
