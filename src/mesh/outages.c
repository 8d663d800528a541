/* outages.c - when nodes are down */
#include "mesh/outages.h"

#include "core/random.h"
#include <math.h>

/* So that no sum of times overflows: longer than any run. */
#define LONGEST_GAP_NS 4e18

/* A node that fails and is repaired, again and again. */
typedef struct {
    const SpateOutage *outage;
    uint32_t node;
    bool is_down;
    SpateRandom random;
} Repairs;

struct SpateOutages {
    SpateEventQueue *queue;
    const SpatePlan *plan;
    Repairs *repairs;
    uint32_t *n_holding; /* by node: outages that hold it now */
    bool *is_down;       /* by node: as of the last settling */
    bool *is_touched;    /* by node: is among `touched` */
    GArray *touched;     /* uint32_t: nodes whose outages began or ended at this instant */
    GArray *down, *back; /* uint32_t: nodes */
};

static bool
is_drawn(const SpateOutage *outage)
{
    return outage->mean_between_ns > 0;
}

static void
touch(SpateOutages *outages, uint32_t node, bool begins)
{
    g_assert(begins || outages->n_holding[node] > 0);
    outages->n_holding[node] += begins ? 1 : UINT32_MAX;
    if (outages->is_touched[node])
        return;
    outages->is_touched[node] = true;
    g_array_append_val(outages->touched, node);
}

/* ---- given ----------------------------------------------------------------------------------- */

static void
given_ends(gpointer subject, uint32_t number)
{
    SpateOutages *outages = subject;
    const SpateOutage *outage = &outages->plan->outages[number];
    for (uint32_t i = 0; i < outage->n_nodes; i++)
        touch(outages, outage->nodes[i], false);
}

static void
given_begins(gpointer subject, uint32_t number)
{
    SpateOutages *outages = subject;
    const SpateOutage *outage = &outages->plan->outages[number];
    for (uint32_t i = 0; i < outage->n_nodes; i++)
        touch(outages, outage->nodes[i], true);
    spate_event_queue_schedule(outages->queue, outage->at_ns + outage->for_ns, SPATE_RANK_SWITCH,
                               given_ends, outages, number);
}

/* ---- drawn ----------------------------------------------------------------------------------- */

static void repairs_turn(gpointer subject, uint32_t number);

/* How long the node stays as it is. */
static int64_t
draw_gap_ns(Repairs *repairs)
{
    int64_t mean_ns =
        repairs->is_down ? repairs->outage->mean_time_ns : repairs->outage->mean_between_ns;
    double gap_ns = (double)mean_ns * spate_random_exponential(&repairs->random);
    return MAX(llround(fmin(gap_ns, LONGEST_GAP_NS)), 1);
}

static void
wait_for_turn(SpateOutages *outages, uint32_t number)
{
    int64_t at_ns =
        spate_event_queue_now_ns(outages->queue) + draw_gap_ns(&outages->repairs[number]);
    spate_event_queue_schedule(outages->queue, at_ns, SPATE_RANK_SWITCH, repairs_turn, outages,
                               number);
}

static void
repairs_turn(gpointer subject, uint32_t number)
{
    SpateOutages *outages = subject;
    Repairs *repairs = &outages->repairs[number];
    repairs->is_down = !repairs->is_down;
    touch(outages, repairs->node, repairs->is_down);
    wait_for_turn(outages, number);
}

/* Each node of each entry has a stream: by its name, and by how many entries before have it. */
static void
begin_drawn(SpateOutages *outages, uint64_t seed, uint32_t replication)
{
    const SpatePlan *plan = outages->plan;
    uint64_t key = spate_random_key(seed, replication, SPATE_FOR_OUTAGES);
    g_autofree uint32_t *n_before = g_new0(uint32_t, MAX(plan->n_nodes, 1));
    size_t n = 0;
    for (uint32_t i = 0; i < plan->n_outages; i++)
        n += is_drawn(&plan->outages[i]) ? plan->outages[i].n_nodes : 0;
    g_assert(n < UINT32_MAX);
    outages->repairs = g_new0(Repairs, MAX(n, 1));
    uint32_t number = 0;
    for (uint32_t i = 0; i < plan->n_outages; i++) {
        const SpateOutage *outage = &plan->outages[i];
        for (uint32_t k = 0; is_drawn(outage) && k < outage->n_nodes; k++, number++) {
            uint32_t node = outage->nodes[k];
            uint64_t entity = spate_hash_combine(plan->nodes[node].name_hash, n_before[node]++);
            outages->repairs[number] = (Repairs){
                .outage = outage,
                .node = node,
                .random = spate_random_stream(key, entity),
            };
            if (!outage->is_left_out)
                wait_for_turn(outages, number);
        }
    }
}

/* ---- the whole ------------------------------------------------------------------------------- */

SpateOutages *
spate_outages_new(SpateEventQueue *queue, const SpatePlan *plan, uint64_t seed,
                  uint32_t replication)
{
    if (plan->n_outages == 0)
        return NULL;
    SpateOutages *outages = g_new0(SpateOutages, 1);
    uint32_t n_nodes = MAX(plan->n_nodes, 1);
    outages->queue = queue;
    outages->plan = plan;
    outages->n_holding = g_new0(uint32_t, n_nodes);
    outages->is_down = g_new0(bool, n_nodes);
    outages->is_touched = g_new0(bool, n_nodes);
    outages->touched = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    outages->down = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    outages->back = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    for (uint32_t i = 0; i < plan->n_outages; i++)
        if (!is_drawn(&plan->outages[i]) && !plan->outages[i].is_left_out)
            spate_event_queue_schedule(queue, plan->outages[i].at_ns, SPATE_RANK_SWITCH,
                                       given_begins, outages, i);
    begin_drawn(outages, seed, replication);
    return outages;
}

void
spate_outages_free(SpateOutages *outages)
{
    if (outages == NULL)
        return;
    g_free(outages->repairs);
    g_free(outages->n_holding);
    g_free(outages->is_down);
    g_free(outages->is_touched);
    g_array_unref(outages->touched);
    g_array_unref(outages->down);
    g_array_unref(outages->back);
    g_free(outages);
}

SpateOutageChanges
spate_outages_settle(SpateOutages *outages)
{
    g_array_set_size(outages->down, 0);
    g_array_set_size(outages->back, 0);
    for (guint i = 0; i < outages->touched->len; i++) {
        uint32_t node = g_array_index(outages->touched, uint32_t, i);
        bool is_down = outages->n_holding[node] > 0;
        outages->is_touched[node] = false;
        if (is_down == outages->is_down[node])
            continue;
        outages->is_down[node] = is_down;
        g_array_append_val(is_down ? outages->down : outages->back, node);
    }
    g_array_set_size(outages->touched, 0);
    return (SpateOutageChanges){
        .down = (const uint32_t *)(const void *)outages->down->data,
        .n_down = outages->down->len,
        .back = (const uint32_t *)(const void *)outages->back->data,
        .n_back = outages->back->len,
    };
}

bool
spate_outages_is_down(const SpateOutages *outages, uint32_t node)
{
    return outages != NULL && outages->is_down[node];
}
