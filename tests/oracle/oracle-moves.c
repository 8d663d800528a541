/* oracle-moves.c - nodes that move, step by step (docs/model.md, Nodes that move) */
#include "oracle/oracle-private.h"

#include <math.h>

static const SpateMoves *
moves_of(const Oracle *oracle, const OracleMover *mover)
{
    return &oracle_node(oracle, mover->node)->moves;
}

/* Along the ground; its bearing, where places are in degrees. */
static double
leg_m(SpatePosition from, SpatePosition to, double *bearing)
{
    if (from.is_geographic)
        return oracle_way_m(from, to, bearing);
    return hypot(to.x_m - from.x_m, to.y_m - from.y_m);
}

/* ---- the way --------------------------------------------------------------------------------- */

static double
whole_way_m(const SpateMoves *moves, SpatePosition start)
{
    double bearing, way_m = leg_m(start, moves->points[0], &bearing);
    for (uint32_t i = 1; i < moves->n_points; i++)
        way_m += leg_m(moves->points[i - 1], moves->points[i], &bearing);
    return way_m;
}

/* Where it is after so much of the way there; its height stays. */
static SpatePosition
place_along(const SpateMoves *moves, SpatePosition start, double gone_m)
{
    SpatePosition from = start;
    for (uint32_t i = 0; i < moves->n_points; i++) {
        double bearing = 0.0, long_m = leg_m(from, moves->points[i], &bearing);
        if (gone_m < long_m && from.is_geographic)
            return oracle_place_towards(from, bearing, gone_m);
        if (gone_m < long_m) {
            from.x_m += (moves->points[i].x_m - from.x_m) * gone_m / long_m;
            from.y_m += (moves->points[i].y_m - from.y_m) * gone_m / long_m;
            return from;
        }
        gone_m -= long_m;
        from.east = moves->points[i].east;
        from.north = moves->points[i].north;
    }
    return from;
}

/* All that it has gone, there and back, as what it has gone there. */
static double
folded_m(double gone_m, double way_m)
{
    double within_m = fmod(gone_m, 2.0 * way_m);
    return within_m <= way_m ? within_m : 2.0 * way_m - within_m;
}

/* ---- steps ----------------------------------------------------------------------------------- */

/* After that many steps; a way that ends has a last one, which may be shorter. */
static double
gone_m(const Oracle *oracle, const OracleMover *mover, uint64_t n_steps)
{
    double gone_m = (double)n_steps * oracle->scenario->move_step_m;
    return moves_of(oracle, mover)->back ? gone_m : fmin(gone_m, mover->way_m);
}

static int64_t
next_step_ns(const Oracle *oracle, const OracleMover *mover)
{
    const SpateMoves *moves = moves_of(oracle, mover);
    double done_m = gone_m(oracle, mover, mover->n_steps);
    if (!moves->back && done_m >= mover->way_m)
        return SPATE_NEVER_NS;
    double next_m = gone_m(oracle, mover, mover->n_steps + 1);
    return moves->from_ns + llround(1e9 * next_m / moves->speed_m_per_s);
}

static void
make_step(Oracle *oracle, OracleMover *mover)
{
    const SpateMoves *moves = moves_of(oracle, mover);
    double before_m = gone_m(oracle, mover, mover->n_steps++);
    double now_m = gone_m(oracle, mover, mover->n_steps);
    SpatePosition *place = &oracle->places[mover->node];
    *place = place_along(moves, mover->start, moves->back ? folded_m(now_m, mover->way_m) : now_m);
    oracle_change_shadows(oracle, mover->node, now_m - before_m, mover->n_steps);
    HistoryMove told = {mover->node, oracle->now_ns, place->east, place->north,
                        place->is_geographic};
    g_array_append_val(oracle->history->moves, told);
}

void
oracle_plan_moves(Oracle *oracle)
{
    oracle->movers = g_array_new(FALSE, FALSE, sizeof(OracleMover));
    for (uint32_t node = 0; node < oracle->scenario->n_nodes; node++) {
        const SpateMoves *moves = &oracle_node(oracle, node)->moves;
        if (moves->n_points == 0)
            continue;
        OracleMover mover = {.node = node, .start = oracle->places[node]};
        mover.way_m = whole_way_m(moves, mover.start);
        if (mover.way_m > 0.0)
            g_array_append_val(oracle->movers, mover);
    }
}

void
oracle_make_steps(Oracle *oracle)
{
    bool has_moved = false;
    for (guint i = 0; i < oracle->movers->len; i++) {
        OracleMover *mover = &g_array_index(oracle->movers, OracleMover, i);
        while (next_step_ns(oracle, mover) == oracle->now_ns) {
            make_step(oracle, mover);
            has_moved = true;
        }
    }
    if (!has_moved)
        return;
    oracle_make_links(oracle);
    oracle_note_close_encounters(oracle);
}

int64_t
oracle_next_step_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (guint i = 0; i < oracle->movers->len; i++)
        next_ns =
            MIN(next_ns, next_step_ns(oracle, &g_array_index(oracle->movers, OracleMover, i)));
    return next_ns;
}
