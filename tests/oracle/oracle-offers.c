/* oracle-offers.c - when messages are offered and when other people send (docs/model.md, Random
 * numbers and Measures; docs/scenario.md, traffic and ambient)
 */
#include "oracle/oracle-private.h"

#include <math.h>

typedef struct {
    int64_t at_ns;
    uint32_t node, traffic;
    uint64_t number; /* of its source's row */
    uint64_t identity;
} Offer;

/* ---- one source's row ------------------------------------------------------------------------ */

static int64_t
offers_end_ns(const Oracle *oracle)
{
    return MAX(oracle->scenario->duration_ns - oracle->scenario->cool_down_ns, 0);
}

/* An offer that its spread would move before the start is made as long after it. */
static int64_t
spread_ns(const Oracle *oracle, const SpateScenarioTraffic *traffic, uint64_t identity)
{
    if (traffic->spread_ns == 0)
        return 0;
    SpateRandom draws = spate_random_stream(oracle_key(oracle, SPATE_FOR_OFFERS, true), identity);
    return spate_random_wait_ns(&draws, 2 * traffic->spread_ns) - traffic->spread_ns;
}

static void
plan(Oracle *oracle, Offer offer, int64_t base_ns, uint64_t source_identity)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[offer.traffic];
    offer.identity = spate_hash_combine(source_identity, offer.number);
    offer.at_ns = base_ns;
    if (traffic->times == SPATE_OFFERS_EVERY)
        offer.at_ns = ABS(base_ns + spread_ns(oracle, traffic, offer.identity));
    if (offer.at_ns < offers_end_ns(oracle))
        g_array_append_val(oracle->offers, offer);
}

static void
plan_source(Oracle *oracle, uint32_t number, uint32_t node)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[number];
    uint64_t identity = spate_hash_combine(spate_hash_name(traffic->name),
                                           spate_hash_name(oracle_node(oracle, node)->name));
    SpateRandom draws = spate_random_stream(oracle_key(oracle, SPATE_FOR_OFFERS, true), identity);
    int64_t end_ns = offers_end_ns(oracle), at_ns = 0;
    Offer offer = {.node = node, .traffic = number};
    switch (traffic->times) {
    case SPATE_OFFERS_AT:
        for (uint32_t i = 0; i < traffic->n_at; i++, offer.number++)
            plan(oracle, offer, traffic->at_ns[i], identity);
        return;
    case SPATE_OFFERS_EVERY:
        if (!traffic->together)
            at_ns = (int64_t)spate_random_below(&draws, (uint64_t)traffic->every_ns);
        for (; at_ns - traffic->spread_ns < end_ns; at_ns += traffic->every_ns, offer.number++)
            plan(oracle, offer, at_ns, identity);
        return;
    case SPATE_OFFERS_POISSON:
        while (at_ns < end_ns) {
            double gap_ns = (double)traffic->mean_interval_ns * spate_random_exponential(&draws);
            at_ns += gap_ns < (double)end_ns ? llround(gap_ns) : end_ns;
            plan(oracle, offer, at_ns, identity);
            offer.number++;
        }
        return;
    case SPATE_OFFERS_FOLLOWING:
        return;
    }
    g_assert_not_reached();
}

/* ---- all offers ------------------------------------------------------------------------------ */

/* By time; of one instant by the names of nodes, then of traffics. */
static int
compare_offers(gconstpointer first, gconstpointer second)
{
    const Offer *a = first, *b = second;
    if (a->at_ns != b->at_ns)
        return a->at_ns < b->at_ns ? -1 : 1;
    if (a->node != b->node)
        return a->node < b->node ? -1 : 1;
    if (a->traffic != b->traffic)
        return a->traffic < b->traffic ? -1 : 1;
    return a->number < b->number ? -1 : a->number > b->number ? 1 : 0;
}

void
oracle_plan_offers(Oracle *oracle)
{
    oracle->offers = g_array_new(FALSE, FALSE, sizeof(Offer));
    for (uint32_t t = 0; t < oracle->scenario->n_traffics; t++)
        for (uint32_t i = 0; i < oracle->scenario->traffics[t].n_sources; i++)
            plan_source(oracle, t, oracle->scenario->traffics[t].sources[i]);
    g_array_sort(oracle->offers, compare_offers);
}

void
oracle_make_offers(Oracle *oracle, uint32_t node)
{
    for (; oracle->next_offer < oracle->offers->len; oracle->next_offer++) {
        Offer offer = g_array_index(oracle->offers, Offer, oracle->next_offer);
        if (offer.at_ns > oracle->now_ns || offer.node != node)
            return;
        oracle_offer(oracle, (HistoryMessage){offer.traffic, node, offer.at_ns, 1}, offer.identity);
    }
}

int64_t
oracle_next_offer_ns(const Oracle *oracle)
{
    return oracle->next_offer < oracle->offers->len
               ? g_array_index(oracle->offers, Offer, oracle->next_offer).at_ns
               : SPATE_NEVER_NS;
}

/* ---- what follows a delivery ----------------------------------------------------------------- */

static bool
is_source(const SpateScenarioTraffic *traffic, uint32_t node)
{
    for (uint32_t i = 0; i < traffic->n_sources; i++)
        if (traffic->sources[i] == node)
            return true;
    return false;
}

static void
follow(Oracle *oracle, uint32_t number, const OracleMessage *message, uint32_t node)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[number];
    uint64_t source = spate_hash_combine(spate_hash_name(traffic->name),
                                         spate_hash_name(oracle_node(oracle, node)->name));
    uint64_t identity = spate_hash_combine(source, message->identity);
    SpateRandom draws =
        spate_random_stream(oracle_key(oracle, SPATE_FOR_FOLLOWING, true), identity);
    if (spate_random_unit(&draws) >= traffic->share)
        return;
    OracleFollowing *following = g_new(OracleFollowing, 1);
    *following = (OracleFollowing){
        oracle->now_ns + spate_random_wait_ns(&draws, traffic->within_ns), node, number, identity};
    if (following->at_ns < offers_end_ns(oracle))
        g_ptr_array_add(oracle->following, following);
    else
        g_free(following);
}

void
oracle_note_delivery(Oracle *oracle, const OracleMessage *message, uint32_t node, uint32_t hops)
{
    HistoryDelivery delivery = {message->name, node, hops, oracle->now_ns};
    g_array_append_val(oracle->history->deliveries, delivery);
    for (uint32_t i = 0; i < oracle->scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[i];
        if (traffic->follows != NULL && is_source(traffic, node) &&
            g_str_equal(traffic->follows, oracle->scenario->traffics[message->name.traffic].name))
            follow(oracle, i, message, node);
    }
}

/* The first by node, then traffic, then delivery; NULL: none is due. */
static OracleFollowing *
find_due(const Oracle *oracle)
{
    OracleFollowing *first = NULL;
    for (guint i = 0; i < oracle->following->len; i++) {
        OracleFollowing *one = g_ptr_array_index(oracle->following, i);
        if (one->at_ns <= oracle->now_ns &&
            (first == NULL || one->node < first->node ||
             (one->node == first->node && one->traffic < first->traffic)))
            first = one;
    }
    return first;
}

void
oracle_offer_following(Oracle *oracle)
{
    OracleFollowing *one;
    while ((one = find_due(oracle)) != NULL) {
        oracle_offer(oracle, (HistoryMessage){one->traffic, one->node, oracle->now_ns, 1},
                     one->identity);
        g_ptr_array_remove(oracle->following, one);
    }
}

int64_t
oracle_next_following_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (guint i = 0; i < oracle->following->len; i++)
        next_ns = MIN(next_ns, ((OracleFollowing *)oracle->following->pdata[i])->at_ns);
    return next_ns;
}

/* ---- other people's transmitters ------------------------------------------------------------- */

struct OracleAmbient {
    SpateRandom draws;
    int64_t next_ns;
    uint64_t n_bursts;
};

#define LONGEST_GAP_NS 4.6e18

/* On the air for the given share of the time. */
static int64_t
draw_gap_ns(const SpateScenarioAmbient *ambient, SpateRandom *draws)
{
    double mean_ns = (double)ambient->burst_ns * (1.0 - ambient->busy) / ambient->busy;
    return 1 + (int64_t)fmin(mean_ns * spate_random_exponential(draws), LONGEST_GAP_NS);
}

void
oracle_plan_ambient(Oracle *oracle)
{
    uint32_t n = oracle->scenario->n_ambient;
    oracle->ambient = g_new0(OracleAmbient, MAX(n, 1));
    for (uint32_t i = 0; i < n; i++) {
        OracleAmbient *source = &oracle->ambient[i];
        source->draws = spate_random_stream(oracle_key(oracle, SPATE_FOR_AMBIENT, true),
                                            oracle_ambient_hash(oracle, i));
        source->next_ns = draw_gap_ns(&oracle->scenario->ambient[i], &source->draws);
    }
}

void
oracle_begin_bursts(Oracle *oracle)
{
    for (uint32_t i = 0; i < oracle->scenario->n_ambient; i++) {
        OracleAmbient *source = &oracle->ambient[i];
        const SpateScenarioAmbient *settings = &oracle->scenario->ambient[i];
        if (source->next_ns > oracle->now_ns)
            continue;
        uint64_t identity = spate_hash_combine(oracle_ambient_hash(oracle, i), source->n_bursts++);
        oracle_begin_burst(oracle, i, settings->burst_ns, identity);
        source->next_ns += settings->burst_ns + draw_gap_ns(settings, &source->draws);
    }
}

int64_t
oracle_next_burst_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (uint32_t i = 0; i < oracle->scenario->n_ambient; i++)
        next_ns = MIN(next_ns, oracle->ambient[i].next_ns);
    return next_ns;
}
