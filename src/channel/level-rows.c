/* level-rows.c - the levels of many pairs, on threads */
#include "channel/medium-private.h"

#include "core/pool.h"

/* Fewer pairs are not worth a thread. */
#define FEW_PAIRS 10000

void
spate_level_rows_init(SpateLevelRows *rows, const SpateLevels *levels)
{
    size_t n_rows = MIN(levels->medium->n_senders, SPATE_ROWS_AT_ONCE);
    *rows = (SpateLevelRows){.levels = levels};
    rows->level = g_new(double, MAX(n_rows * levels->medium->n_radios, 1));
}

void
spate_level_rows_clear(SpateLevelRows *rows)
{
    g_free(rows->level);
}

/* A task of the pool. */
static bool
fill_row(gpointer user, uint32_t row, GError **error)
{
    SpateLevelRows *rows = user;
    const SpateMedium *medium = rows->levels->medium;
    uint32_t sender = rows->first + row * rows->every;
    double *level = &rows->level[(size_t)row * medium->n_radios];
    for (uint32_t r = 0; r < medium->n_radios; r++) {
        level[r] = medium->node[r] == medium->node[sender]
                       ? ABSENT
                       : spate_level_if_kept(rows->levels, sender, r, error);
        if (isnan(level[r])) {
            rows->failed[row] = r;
            return false;
        }
    }
    return true;
}

static bool
fill_alone(SpateLevelRows *rows, GError **error)
{
    for (uint32_t row = 0; row < rows->n; row++)
        if (!fill_row(rows, row, error))
            return false;
    return true;
}

/* The first pair that failed, which the threads may have found after others. */
static void
note_failure(const SpateLevelRows *rows)
{
    const SpateMediumPlan *plan = &rows->levels->plan;
    uint32_t row = 0;
    while (rows->failed[row] == UINT32_MAX)
        row++;
    if (plan->failed != NULL)
        *plan->failed = (SpateMediumPair){rows->first + row * rows->every, rows->failed[row]};
}

bool
spate_level_rows_fill(SpateLevelRows *rows, uint32_t first, uint32_t every, GError **error)
{
    const SpateMedium *medium = rows->levels->medium;
    rows->first = first;
    rows->every = every;
    rows->n = MIN((medium->n_senders - first - 1) / every + 1, SPATE_ROWS_AT_ONCE);
    for (uint32_t row = 0; row < SPATE_ROWS_AT_ONCE; row++)
        rows->failed[row] = UINT32_MAX;
    /* Links whose nodes may move are for one thread. */
    bool is_shared = rows->levels->plan.n_threads != 1 && rows->levels->plan.moves == NULL &&
                     (uint64_t)rows->n * medium->n_radios > FEW_PAIRS;
    const SpatePool pool = {.n_tasks = rows->n,
                            .perform = fill_row,
                            .user = rows,
                            .jobs = rows->levels->plan.n_threads};
    bool fine = is_shared ? spate_pool_run(&pool, error) : fill_alone(rows, error);
    if (!fine)
        note_failure(rows);
    return fine;
}
