/* movers.c - nodes that move: when each makes its next step, and what that changes */
#include "mesh/movers.h"

#include "propagation/track.h"

/* A step that is due now. */
typedef struct {
    uint32_t node;
    uint64_t number;
} DueStep;

struct SpateMovers {
    SpateEventQueue *queue;
    SpateChannel *channel;
    SpateMedium *medium;
    uint32_t n_nodes;
    SpateTrack **tracks;      /* by node; NULL: it stays */
    uint64_t *n_steps;        /* by node: made or due */
    GArray *due;              /* DueStep, by node, then number */
    SpateMoveProblem problem; /* its error: NULL as long as there is none */
};

static void step_comes(gpointer subject, uint32_t node);

static void
wait_for_next(SpateMovers *movers, uint32_t node)
{
    SpateTrackStep step;
    if (spate_track_step(movers->tracks[node], movers->n_steps[node] + 1, &step))
        spate_event_queue_schedule(movers->queue, step.at_ns, SPATE_RANK_SWITCH, step_comes, movers,
                                   node);
}

/* Sorted in: they come nearly in order. */
static void
add_due(GArray *due, const DueStep *step)
{
    g_array_append_val(due, *step);
    DueStep *at = (DueStep *)(void *)due->data;
    guint place = due->len - 1;
    for (; place > 0 && at[place - 1].node > step->node; place--)
        at[place] = at[place - 1];
    at[place] = *step;
}

static void
step_comes(gpointer subject, uint32_t node)
{
    SpateMovers *movers = subject;
    const DueStep step = {node, ++movers->n_steps[node]};
    add_due(movers->due, &step);
    wait_for_next(movers, node);
}

SpateMovers *
spate_movers_new(SpateEventQueue *queue, SpateChannel *channel, SpateMedium *medium,
                 const SpatePlan *plan)
{
    const SpateLinks *links = spate_medium_links(medium);
    if (links == NULL)
        return NULL;
    SpateMovers *movers = g_new0(SpateMovers, 1);
    movers->queue = queue;
    movers->channel = channel;
    movers->medium = medium;
    movers->n_nodes = plan->n_nodes;
    movers->tracks = g_new0(SpateTrack *, MAX(plan->n_nodes, 1));
    movers->n_steps = g_new0(uint64_t, MAX(plan->n_nodes, 1));
    /* One for each is common; the last of a way may come at the same instant as that before. */
    movers->due = g_array_sized_new(FALSE, FALSE, sizeof(DueStep), 2 * plan->n_nodes);
    for (uint32_t i = 0; i < plan->n_nodes; i++) {
        movers->tracks[i] = spate_track_new(spate_links_node(links, i)->position,
                                            &plan->nodes[i].track, plan->move_step_m);
        if (movers->tracks[i] != NULL)
            wait_for_next(movers, i);
    }
    return movers;
}

void
spate_movers_free(SpateMovers *movers)
{
    if (movers == NULL)
        return;
    for (uint32_t i = 0; i < movers->n_nodes; i++)
        spate_track_free(movers->tracks[i]);
    g_free(movers->tracks);
    g_free(movers->n_steps);
    g_array_unref(movers->due);
    g_clear_error(&movers->problem.error);
    g_free(movers);
}

static void
make_step(SpateMovers *movers, const DueStep *due, SpateMovedFunc moved, gpointer user)
{
    SpateTrackStep step;
    bool is_one = spate_track_step(movers->tracks[due->node], due->number, &step);
    g_assert(is_one);
    const SpateMove move = {
        .node = due->node, .number = due->number, .gone_m = step.gone_m, .to = step.position};
    movers->problem.at_ns = step.at_ns;
    if (spate_medium_move(movers->medium, &move, &movers->problem.error))
        moved(user, due->node, step.position);
}

void
spate_movers_settle(SpateMovers *movers, SpateMovedFunc moved, gpointer user)
{
    if (movers->due->len == 0)
        return;
    if (movers->channel != NULL)
        spate_channel_keep_losses(movers->channel);
    for (guint i = 0; movers->problem.error == NULL && i < movers->due->len; i++)
        make_step(movers, &g_array_index(movers->due, DueStep, i), moved, user);
    g_array_set_size(movers->due, 0);
}

const SpateMoveProblem *
spate_movers_problem(const SpateMovers *movers)
{
    return movers != NULL && movers->problem.error != NULL ? &movers->problem : NULL;
}
