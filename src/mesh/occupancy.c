/* occupancy.c - how busy a node has heard a bearer to be */
#include "mesh/occupancy.h"

/* One radio; its samples form a circle, the next to be replaced is five minutes old. */
typedef struct {
    uint32_t radio;
    int64_t busy_ns[SPATE_OCCUPANCY_SECONDS]; /* since the start of the run, at whole seconds */
    double share;
} Watch;

struct SpateOccupancy {
    SpateEventQueue *queue;
    const SpateChannel *channel;
    const SpatePlan *plan;
    GPtrArray *watches; /* Watch* */
    Watch **by_radio;   /* NULL where nobody asks */
    uint32_t next;      /* the sample to be replaced */
    void (*sampled)(gpointer user);
    gpointer user;
};

static void
sample(gpointer subject, uint32_t item)
{
    SpateOccupancy *occupancy = subject;
    for (guint i = 0; i < occupancy->watches->len; i++) {
        Watch *watch = g_ptr_array_index(occupancy->watches, i);
        int64_t busy_ns = spate_channel_busy_ns(occupancy->channel, watch->radio);
        watch->share = (double)(busy_ns - watch->busy_ns[occupancy->next]) /
                       (double)(SPATE_OCCUPANCY_SECONDS * SPATE_NS_PER_S);
        watch->busy_ns[occupancy->next] = busy_ns;
    }
    occupancy->next = (occupancy->next + 1) % SPATE_OCCUPANCY_SECONDS;
    spate_event_queue_schedule(occupancy->queue,
                               spate_event_queue_now_ns(occupancy->queue) + SPATE_NS_PER_S,
                               SPATE_RANK_TIMER, sample, occupancy, 0);
    if (occupancy->sampled != NULL)
        occupancy->sampled(occupancy->user);
}

/* n_radios if there is none. */
static uint32_t
radio_on(const SpatePlan *plan, uint32_t number, uint32_t bearer)
{
    const SpateNode *node = &plan->nodes[number];
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
        if (plan->radios[r].bearer == bearer)
            return r;
    return plan->n_radios;
}

static void
watch_radio(SpateOccupancy *occupancy, uint32_t radio)
{
    if (occupancy->by_radio[radio] != NULL)
        return;
    if (occupancy->watches->len == 0)
        spate_event_queue_schedule(occupancy->queue,
                                   spate_event_queue_now_ns(occupancy->queue) + SPATE_NS_PER_S,
                                   SPATE_RANK_TIMER, sample, occupancy, 0);
    Watch *watch = g_new0(Watch, 1);
    watch->radio = radio;
    g_ptr_array_add(occupancy->watches, watch);
    occupancy->by_radio[radio] = watch;
}

static void
watch_bearer(SpateOccupancy *occupancy, uint32_t node, uint32_t bearer)
{
    uint32_t radio = radio_on(occupancy->plan, node, bearer);
    if (radio < occupancy->plan->n_radios)
        watch_radio(occupancy, radio);
}

void
spate_occupancy_want(SpateOccupancy *occupancy, uint32_t node, uint32_t bearer,
                     const SpateRule *rules, size_t n_rules)
{
    for (size_t i = 0; i < n_rules; i++) {
        if (rules[i].occupancy_bearer >= 0)
            watch_bearer(occupancy, node, (uint32_t)rules[i].occupancy_bearer);
        if (spate_rule_action_info(rules[i].action)->sending == SPATE_SENT_WHEN_QUIET)
            watch_bearer(occupancy, node, bearer);
    }
}

void
spate_occupancy_on_sample(SpateOccupancy *occupancy, void (*sampled)(gpointer user), gpointer user)
{
    occupancy->sampled = sampled;
    occupancy->user = user;
}

double
spate_occupancy_share(const SpateOccupancy *occupancy, uint32_t node, uint32_t bearer)
{
    uint32_t radio = radio_on(occupancy->plan, node, bearer);
    if (radio == occupancy->plan->n_radios)
        return 0.0;
    g_assert(occupancy->by_radio[radio] != NULL);
    return occupancy->by_radio[radio]->share;
}

SpateOccupancy *
spate_occupancy_new(SpateEventQueue *queue, const SpateChannel *channel, const SpatePlan *plan)
{
    SpateOccupancy *occupancy = g_new0(SpateOccupancy, 1);
    occupancy->queue = queue;
    occupancy->channel = channel;
    occupancy->plan = plan;
    occupancy->watches = g_ptr_array_new_with_free_func(g_free);
    occupancy->by_radio = g_new0(Watch *, MAX(plan->n_radios, 1));
    return occupancy;
}

void
spate_occupancy_free(SpateOccupancy *occupancy)
{
    if (occupancy == NULL)
        return;
    g_ptr_array_free(occupancy->watches, TRUE);
    g_free(occupancy->by_radio);
    g_free(occupancy);
}
