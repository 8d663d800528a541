/* coverage.c - where a radio that is carried about is heard, and hears */
#include "study/coverage/coverage.h"

#include "core/pool.h"
#include "core/stop.h"
#include <math.h>

/* Half an hour's work on one core, where paths are worked out over terrain. */
#define MOST_PATHS 1000000000u
/* Where the side of cells is not given: a minute or two of one core, if all paths lie over terrain
 * and are looked at. */
#define DEFAULT_PATHS 2000000u
#define DEFAULT_CELLS 20000u
#define FEWEST_CELLS  1000u

/* What a layer is worked out from. */
typedef struct {
    SpateStation carried;
    uint32_t radio; /* the carried one */
    SpateStation *relays;
    uint32_t *relay_radios;
} Cast;

typedef struct {
    const SpateCoveragePlan *plan;
    SpateCoverage *coverage;
    SpateLinks *links;
    Cast *casts; /* by layer */
    uint32_t n_casts, n_tasks;
    char **why; /* by task: why the first cell of the row is left out that is */
} Work;

static void
work_clear(Work *work)
{
    for (uint32_t i = 0; i < work->n_casts; i++) {
        g_free(work->casts[i].relays);
        g_free(work->casts[i].relay_radios);
    }
    for (uint32_t i = 0; i < work->n_tasks; i++)
        g_free(work->why[i]);
    g_free(work->casts);
    g_free(work->why);
    spate_links_free(work->links);
    spate_coverage_free(work->coverage);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Work, work_clear)

void
spate_coverage_free(SpateCoverage *coverage)
{
    if (coverage == NULL)
        return;
    for (uint32_t i = 0; i < coverage->n_layers; i++) {
        g_free(coverage->layers[i].cells);
        g_free(coverage->layers[i].why_out);
    }
    g_free(coverage->layers);
    g_free(coverage);
}

/* ---- one cell -------------------------------------------------------------------------------- */

/* Whether the relay may count in the cell: not where the two are silent to each other even in free
 * space, and the best so far is as loud. */
static bool
may_count(const Work *work, const Cast *cast, const SpateStation *carried, uint32_t i,
          const SpateCoverageCell *cell)
{
    const SpateWorld *world = work->plan->world;
    double carried_dbm, relay_dbm;
    if (cell->best == UINT32_MAX ||
        !spate_links_levels_in_sight(work->links, carried, &cast->relays[i], &carried_dbm,
                                     &relay_dbm))
        return true;
    return relay_dbm > cell->best_dbm ||
           spate_world_margin_db(world, cast->relay_radios[i], relay_dbm) >= 0.0 ||
           spate_world_margin_db(world, cast->radio, carried_dbm) >= 0.0;
}

/* False with an error where there is no ground, or the model does not hold towards a relay. */
static bool
judge(const Work *work, const Cast *cast, uint32_t n_relays, SpatePosition place,
      SpateCoverageCell *cell, GError **error)
{
    const SpateWorld *world = work->plan->world;
    const SpateTerrain *terrain = spate_world_scenario(world)->terrain;
    if (terrain != NULL && !spate_terrain_settle(terrain, &place, error))
        return false;
    SpateStation carried = cast->carried;
    carried.position = place;
    *cell = (SpateCoverageCell){.best = UINT32_MAX, .best_dbm = NAN};
    for (uint32_t i = 0; i < n_relays; i++) {
        SpateLink up, down;
        if (!may_count(work, cast, &carried, i, cell))
            continue;
        if (!spate_links_budget_between(work->links, &carried, &cast->relays[i], &up, &down, error))
            return false;
        bool is_heard = spate_world_margin_db(world, cast->relay_radios[i], up.received_dbm) >= 0.0;
        bool hears = spate_world_margin_db(world, cast->radio, down.received_dbm) >= 0.0;
        cell->heard_by += is_heard;
        cell->hears += hears;
        cell->both_ways += is_heard && hears;
        if (cell->best == UINT32_MAX || up.received_dbm > cell->best_dbm) {
            cell->best = cast->relays[i].radio->node;
            cell->best_dbm = up.received_dbm;
        }
    }
    return true;
}

/* A task is a row of a layer. */
static bool
judge_row(gpointer user, uint32_t number, GError **error)
{
    Work *work = user;
    const SpateGrid *grid = &work->coverage->grid;
    uint32_t l = number / grid->n_rows, row = number % grid->n_rows;
    SpateCoverageLayer *layer = &work->coverage->layers[l];
    for (uint32_t column = 0; column < grid->n_columns; column++) {
        SpateCoverageCell *cell = &layer->cells[(size_t)row * grid->n_columns + column];
        SpatePosition place = spate_grid_centre(grid, column, row, work->plan->height_m);
        g_autoptr(GError) problem = NULL;
        if (judge(work, &work->casts[l], layer->n_relays, place, cell,
                  work->why[number] == NULL ? &problem : NULL))
            continue;
        *cell = (SpateCoverageCell){.best = UINT32_MAX, .best_dbm = NAN, .is_out = true};
        if (problem != NULL)
            work->why[number] = g_strdup(problem->message);
    }
    return true;
}

/* ---- all of them ----------------------------------------------------------------------------- */

static void
cast_layer(Work *work, uint32_t l, uint32_t radio)
{
    const SpatePlan *plan = spate_world_plan(work->plan->world);
    SpateCoverageLayer *layer = &work->coverage->layers[l];
    Cast *cast = &work->casts[l];
    layer->bearer = plan->radios[radio].bearer;
    cast->radio = radio;
    cast->carried = spate_links_station(work->links, radio);
    cast->relays = g_new(SpateStation, plan->n_radios);
    cast->relay_radios = g_new(uint32_t, plan->n_radios);
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        if (plan->radios[r].bearer != layer->bearer || !plan->radios[r].relays ||
            plan->radios[r].node == work->plan->node)
            continue;
        cast->relays[layer->n_relays] = spate_links_station(work->links, r);
        cast->relay_radios[layer->n_relays++] = r;
    }
}

static uint64_t
cast_layers(Work *work)
{
    const SpatePlan *plan = spate_world_plan(work->plan->world);
    const SpateNode *node = &plan->nodes[work->plan->node];
    uint64_t n_paths = 0;
    work->coverage->layers = g_new0(SpateCoverageLayer, MAX(node->n_radios, 1));
    work->casts = g_new0(Cast, MAX(node->n_radios, 1));
    for (uint32_t i = 0; i < node->n_radios; i++) {
        uint32_t radio = node->first_radio + i;
        if (work->plan->bearer != UINT32_MAX && plan->radios[radio].bearer != work->plan->bearer)
            continue;
        uint32_t l = work->coverage->n_layers++;
        work->n_casts++;
        cast_layer(work, l, radio);
        n_paths += MAX(work->coverage->layers[l].n_relays, 1);
    }
    g_assert(work->coverage->n_layers > 0);
    return n_paths;
}

static void
show_progress(gpointer user, uint32_t done)
{
    const Work *work = user;
    if (work->plan->progress != NULL)
        work->plan->progress(work->plan->user, done, work->n_tasks);
}

/* False with an error if no cell of any layer is left. */
static bool
explain(Work *work, GError **error)
{
    SpateCoverage *coverage = work->coverage;
    const SpateGrid *grid = &coverage->grid;
    size_t n_cells = (size_t)grid->n_columns * grid->n_rows, n_judged = 0;
    for (uint32_t l = 0; l < coverage->n_layers; l++) {
        SpateCoverageLayer *layer = &coverage->layers[l];
        char **why = &work->why[(size_t)l * grid->n_rows];
        for (uint32_t row = 0; row < grid->n_rows && layer->why_out == NULL; row++)
            layer->why_out = g_steal_pointer(&why[row]);
        for (size_t i = 0; i < n_cells; i++)
            n_judged += !layer->cells[i].is_out;
    }
    if (n_judged > 0)
        return true;
    g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE,
                "no cell can be judged: %s", coverage->layers[0].why_out);
    return false;
}

static double
round_cell_m(const SpateCoveragePlan *plan, uint64_t n_paths)
{
    uint64_t most = CLAMP(DEFAULT_PATHS / n_paths, FEWEST_CELLS, DEFAULT_CELLS);
    return spate_grid_round_cell_m(&plan->area, plan->margin_m, (double)most);
}

SpateCoverage *
spate_coverage_new(const SpateCoveragePlan *plan, GError **error)
{
    g_auto(Work) work = {.plan = plan, .coverage = g_new0(SpateCoverage, 1)};
    SpateCoverage *coverage = work.coverage;
    *coverage =
        (SpateCoverage){.world = plan->world, .node = plan->node, .height_m = plan->height_m};
    work.links = spate_world_links(plan->world, 0);
    uint64_t n_paths = cast_layers(&work);
    uint64_t most = MIN(MAX(MOST_PATHS / n_paths, 1), SPATE_GRID_MOST_CELLS / coverage->n_layers);
    if (plan->most_cells > 0)
        most = MIN(most, plan->most_cells);
    if (!spate_grid_lay(&coverage->grid, plan->area, plan->margin_m,
                        plan->cell_m > 0.0 ? plan->cell_m : round_cell_m(plan, n_paths),
                        (uint32_t)most, error))
        return NULL;
    const SpateGrid *grid = &coverage->grid;
    for (uint32_t l = 0; l < coverage->n_layers; l++)
        coverage->layers[l].cells =
            g_new0(SpateCoverageCell, (size_t)grid->n_columns * grid->n_rows);
    work.n_tasks = coverage->n_layers * grid->n_rows;
    work.why = g_new0(char *, work.n_tasks);
    const SpatePool pool = {
        .n_tasks = work.n_tasks,
        .perform = judge_row,
        .user = &work,
        .jobs = plan->jobs,
        .stop = plan->stop,
        .progress = show_progress,
    };
    if (!spate_pool_run(&pool, error) || spate_is_stopped(plan->stop) || !explain(&work, error))
        return NULL;
    return g_steal_pointer(&work.coverage);
}
