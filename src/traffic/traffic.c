/* traffic.c - when messages are offered
 *
 * Each source plans one offer ahead.  Where a spread moves offers about, a later one may come
 * before an earlier; so a plan is looked at when the earliest instant that its spread allows is
 * reached, and only then becomes an offer at an instant of its own.  Plans and offers wait in one
 * heap, and the event queue holds a single event for the first of them: what falls on one
 * instant is offered in the order of sources, then traffics, whatever came before.
 */
#include "traffic/traffic.h"

#include "core/random.h"
#include <math.h>
#include <stdlib.h>

/* Offers that follow, for which room is made before the run. */
#define FOLLOWING_RESERVED_MOST 1e5

typedef struct {
    const SpateOffers *offers;
    uint32_t node;
    uint64_t identity; /* of the source: traffic and node */
    uint64_t n_planned;
    int64_t base_ns;    /* of the offer planned last, without its spread */
    SpateRandom random; /* the gaps of a Poisson process */
} Source;

typedef struct {
    int64_t at_ns;
    uint32_t source;
    bool is_planned; /* not an offer yet */
    uint64_t number; /* of the offer at its source; of what follows, in the order of deliveries */
    uint64_t name;   /* tells its identity from that of others of the source */
} Waiting;

struct SpateTraffic {
    SpateEventQueue *queue;
    SpateMesh *mesh;
    int64_t until_ns;
    uint64_t key, following_key;
    Source *sources; /* by node, then traffic */
    uint32_t n_sources;
    GArray *heap; /* Waiting */

    uint32_t *first_source; /* by node, and one more; NULL: nothing follows */
    GArray *following;      /* Waiting, a heap too */
    SpateEventId next_following;
    bool is_following_last; /* the event has gone to the end of its instant */
    uint64_t n_followed;
};

/* ---- the heap -------------------------------------------------------------------------------- */

/* Of one instant plans come first: they may become offers of that instant. */
static bool
precedes(const Waiting *a, const Waiting *b)
{
    if (a->at_ns != b->at_ns)
        return a->at_ns < b->at_ns;
    if (a->is_planned != b->is_planned)
        return a->is_planned;
    return a->source != b->source ? a->source < b->source : a->number < b->number;
}

static Waiting *
waiting_at(GArray *heap, guint index)
{
    return &g_array_index(heap, Waiting, index);
}

static void
push(GArray *heap, Waiting entry)
{
    guint hole = heap->len;
    g_array_append_val(heap, entry);
    while (hole > 0 && precedes(&entry, waiting_at(heap, (hole - 1) / 2))) {
        *waiting_at(heap, hole) = *waiting_at(heap, (hole - 1) / 2);
        hole = (hole - 1) / 2;
    }
    *waiting_at(heap, hole) = entry;
}

static Waiting
pop(GArray *heap)
{
    Waiting first = *waiting_at(heap, 0), last = *waiting_at(heap, heap->len - 1);
    g_array_set_size(heap, heap->len - 1);
    guint hole = 0, child;
    while ((child = 2 * hole + 1) < heap->len) {
        if (child + 1 < heap->len && precedes(waiting_at(heap, child + 1), waiting_at(heap, child)))
            child++;
        if (!precedes(waiting_at(heap, child), &last))
            break;
        *waiting_at(heap, hole) = *waiting_at(heap, child);
        hole = child;
    }
    if (heap->len > 0)
        *waiting_at(heap, hole) = last;
    return first;
}

/* ---- times ----------------------------------------------------------------------------------- */

static int64_t
spread_of(const Source *source)
{
    return source->offers->times == SPATE_OFFERS_EVERY ? source->offers->spread_ns : 0;
}

/* A gap beyond the end is cut there, so that no sum of times overflows. */
static int64_t
draw_gap_ns(Source *source, int64_t until_ns)
{
    double gap_ns =
        (double)source->offers->mean_interval_ns * spate_random_exponential(&source->random);
    return gap_ns < (double)until_ns ? llround(gap_ns) : until_ns;
}

/* Moves base_ns to the next offer of the row; false if the row has ended. */
static bool
step(Source *source, int64_t until_ns)
{
    const SpateOffers *offers = source->offers;
    switch (offers->times) {
    case SPATE_OFFERS_EVERY:
        if (source->n_planned > 0)
            source->base_ns += offers->every_ns;
        else if (!offers->together)
            source->base_ns =
                (int64_t)spate_random_below(&source->random, (uint64_t)offers->every_ns);
        break;
    case SPATE_OFFERS_POISSON:
        source->base_ns += draw_gap_ns(source, until_ns);
        break;
    case SPATE_OFFERS_AT:
        if (source->n_planned == offers->n_at)
            return false;
        source->base_ns = offers->at_ns[source->n_planned];
        break;
    case SPATE_OFFERS_FOLLOWING:
        return false;
    }
    return source->base_ns - spread_of(source) < until_ns;
}

static void
plan_next(SpateTraffic *traffic, uint32_t number)
{
    Source *source = &traffic->sources[number];
    if (!step(source, traffic->until_ns))
        return;
    Waiting entry = {
        .at_ns = MAX(source->base_ns - spread_of(source), 0),
        .source = number,
        .is_planned = true,
        .number = source->n_planned,
        .name = source->n_planned,
    };
    source->n_planned++;
    push(traffic->heap, entry);
}

/* What was planned last at its source becomes an offer, and the next one is planned. */
static void
settle(SpateTraffic *traffic, Waiting entry)
{
    const Source *source = &traffic->sources[entry.source];
    int64_t spread_ns = spread_of(source), at_ns = source->base_ns;
    if (spread_ns > 0) {
        SpateRandom random =
            spate_random_stream(traffic->key, spate_hash_combine(source->identity, entry.number));
        at_ns += spate_random_wait_ns(&random, 2 * spread_ns) - spread_ns;
    }
    /* Mirrored at the start: an offer that waited for it would come together with all others that
     * do. */
    entry.at_ns = at_ns < 0 ? -at_ns : at_ns;
    entry.is_planned = false;
    if (entry.at_ns < traffic->until_ns)
        push(traffic->heap, entry);
    plan_next(traffic, entry.source);
}

/* ---- offers ---------------------------------------------------------------------------------- */

static void
offer(SpateTraffic *traffic, const Waiting *entry)
{
    const Source *source = &traffic->sources[entry->source];
    spate_mesh_offer(traffic->mesh, source->offers->traffic, source->node,
                     spate_hash_combine(source->identity, entry->name));
}

static void time_has_come(gpointer subject, uint32_t item);

static void
wait_for_first(SpateTraffic *traffic)
{
    if (traffic->heap->len > 0)
        spate_event_queue_schedule(traffic->queue, waiting_at(traffic->heap, 0)->at_ns,
                                   SPATE_RANK_TIMER, time_has_come, traffic, 0);
}

static void
time_has_come(gpointer subject, uint32_t item)
{
    SpateTraffic *traffic = subject;
    int64_t now_ns = spate_event_queue_now_ns(traffic->queue);
    while (traffic->heap->len > 0 && waiting_at(traffic->heap, 0)->at_ns == now_ns) {
        Waiting first = pop(traffic->heap);
        if (first.is_planned)
            settle(traffic, first);
        else
            offer(traffic, &first);
    }
    wait_for_first(traffic);
}

/* ---- what follows a delivery ----------------------------------------------------------------- */

static void following_is_due(gpointer subject, uint32_t item);

static void
wait_for_following(SpateTraffic *traffic)
{
    spate_event_queue_cancel(traffic->queue, traffic->next_following);
    traffic->next_following = 0;
    traffic->is_following_last = false;
    if (traffic->following->len > 0)
        traffic->next_following =
            spate_event_queue_schedule(traffic->queue, waiting_at(traffic->following, 0)->at_ns,
                                       SPATE_RANK_TIMER, following_is_due, traffic, 0);
}

static void
following_is_due(gpointer subject, uint32_t item)
{
    SpateTraffic *traffic = subject;
    int64_t now_ns = spate_event_queue_now_ns(traffic->queue);
    if (!traffic->is_following_last) {
        traffic->is_following_last = true;
        traffic->next_following = spate_event_queue_schedule(
            traffic->queue, now_ns, SPATE_RANK_TIMER, following_is_due, traffic, 0);
        return;
    }
    traffic->next_following = 0;
    while (traffic->following->len > 0 && waiting_at(traffic->following, 0)->at_ns == now_ns) {
        Waiting first = pop(traffic->following);
        offer(traffic, &first);
    }
    wait_for_following(traffic);
}

/* Both draws hang on who is delivered what, so that variants share them. */
static void
follow(SpateTraffic *traffic, uint32_t number, const SpateMessageFacts *message)
{
    const Source *source = &traffic->sources[number];
    SpateRandom random = spate_random_stream(
        traffic->following_key, spate_hash_combine(source->identity, message->identity));
    if (spate_random_unit(&random) >= source->offers->share)
        return;
    Waiting entry = {
        .at_ns = spate_event_queue_now_ns(traffic->queue) +
                 spate_random_wait_ns(&random, source->offers->within_ns),
        .source = number,
        .number = traffic->n_followed++,
        .name = message->identity,
    };
    if (entry.at_ns >= traffic->until_ns)
        return;
    push(traffic->following, entry);
    if (waiting_at(traffic->following, 0)->number == entry.number)
        wait_for_following(traffic);
}

static void
message_delivered(gpointer user, const SpateMessageFacts *message, uint32_t node)
{
    SpateTraffic *traffic = user;
    for (uint32_t i = traffic->first_source[node]; i < traffic->first_source[node + 1]; i++) {
        const SpateOffers *offers = traffic->sources[i].offers;
        if (offers->times == SPATE_OFFERS_FOLLOWING && offers->follows == message->traffic)
            follow(traffic, i, message);
    }
}

/* Sources are in the order of their nodes. */
static void
listen_for_deliveries(SpateTraffic *traffic, uint32_t n_nodes)
{
    traffic->first_source = g_new0(uint32_t, n_nodes + 1u);
    for (uint32_t i = 0; i < traffic->n_sources; i++)
        traffic->first_source[traffic->sources[i].node + 1] = i + 1;
    for (uint32_t i = 0; i < n_nodes; i++)
        traffic->first_source[i + 1] = MAX(traffic->first_source[i + 1], traffic->first_source[i]);
    spate_mesh_on_delivered(traffic->mesh, message_delivered, traffic);
}

/* ---- construction ---------------------------------------------------------------------------- */

static int
compare_sources(gconstpointer a, gconstpointer b)
{
    const Source *first = a, *second = b;
    if (first->node != second->node)
        return first->node < second->node ? -1 : 1;
    return first->offers->traffic < second->offers->traffic ? -1 : 1;
}

static void
add_sources(SpateTraffic *traffic, const SpatePlan *plan, const SpateOffers *offers)
{
    g_assert(offers->times != SPATE_OFFERS_EVERY || offers->every_ns > 0);
    for (uint32_t i = 0; i < offers->n_sources; i++) {
        uint64_t identity = spate_hash_combine(plan->traffics[offers->traffic].name_hash,
                                               plan->nodes[offers->sources[i]].name_hash);
        traffic->sources[traffic->n_sources++] = (Source){
            .offers = offers,
            .node = offers->sources[i],
            .identity = identity,
            .random = spate_random_stream(traffic->key, identity),
        };
    }
}

SpateTraffic *
spate_traffic_new(SpateEventQueue *queue, SpateMesh *mesh, const SpatePlan *plan,
                  const SpateOffers *offers, uint32_t n_offers, int64_t until_ns, uint64_t seed,
                  uint32_t replication)
{
    SpateTraffic *traffic = g_new0(SpateTraffic, 1);
    traffic->queue = queue;
    traffic->mesh = mesh;
    traffic->until_ns = until_ns;
    traffic->key = spate_random_key(seed, replication, SPATE_FOR_OFFERS);
    traffic->following_key = spate_random_key(seed, replication, SPATE_FOR_FOLLOWING);
    size_t n_sources = 0;
    double n_following = 0;
    bool follows = false;
    for (uint32_t i = 0; i < n_offers; i++) {
        n_sources += offers[i].n_sources;
        n_following += offers[i].times == SPATE_OFFERS_FOLLOWING ? offers[i].expected : 0;
        follows = follows || offers[i].times == SPATE_OFFERS_FOLLOWING;
    }
    traffic->sources = g_new0(Source, MAX(n_sources, 1));
    for (uint32_t i = 0; i < n_offers; i++)
        add_sources(traffic, plan, &offers[i]);
    qsort(traffic->sources, traffic->n_sources, sizeof(Source), compare_sources);
    traffic->heap = g_array_sized_new(FALSE, FALSE, sizeof(Waiting), 3 * traffic->n_sources + 1);
    for (uint32_t i = 0; i < traffic->n_sources; i++)
        plan_next(traffic, i);
    wait_for_first(traffic);
    traffic->following = g_array_sized_new(FALSE, FALSE, sizeof(Waiting),
                                           (guint)fmin(n_following, FOLLOWING_RESERVED_MOST));
    if (follows)
        listen_for_deliveries(traffic, plan->n_nodes);
    return traffic;
}

void
spate_traffic_free(SpateTraffic *traffic)
{
    if (traffic == NULL)
        return;
    g_array_free(traffic->heap, TRUE);
    g_array_free(traffic->following, TRUE);
    g_free(traffic->first_source);
    g_free(traffic->sources);
    g_free(traffic);
}

static double
expected_of_source(const SpateOffers *offers, int64_t until_ns)
{
    double n = 0.0;
    switch (offers->times) {
    case SPATE_OFFERS_EVERY:
        return ceil((double)(until_ns + offers->spread_ns) / (double)offers->every_ns);
    case SPATE_OFFERS_POISSON:
        return (double)until_ns / (double)offers->mean_interval_ns;
    case SPATE_OFFERS_AT:
        for (uint32_t i = 0; i < offers->n_at; i++)
            n += offers->at_ns[i] < until_ns;
        return n;
    case SPATE_OFFERS_FOLLOWING:
        break;
    }
    g_assert_not_reached();
}

double
spate_traffic_expected_offers(const SpateOffers *offers, int64_t until_ns)
{
    if (offers->times == SPATE_OFFERS_FOLLOWING)
        return offers->expected;
    double mean = expected_of_source(offers, MAX(until_ns, 0)) * offers->n_sources;
    return offers->times == SPATE_OFFERS_POISSON ? mean + 6.0 * sqrt(mean) : mean;
}
