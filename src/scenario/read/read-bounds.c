/* read-bounds.c - what a run would take, worked out before anything is made for it
 *
 * Estimates from above: every message crosses the whole mesh, and every pair of a message and a
 * recipient is delivered.  What goes beyond is likelier a slip of a unit or a count than a wish: it
 * would fill the memory, or take months.
 */
#include "core/ascending.h"
#include "core/time.h"
#include "scenario/read/read-fields.h"
#include "scenario/read/read-sections.h"

#include <math.h>
#include <string.h>

/* No machine gets through more messages. */
#define MOST_OFFERS 1e9
/* Some microseconds each (docs/performance.md): days. */
#define MOST_FRAMES 1e11
#define MOST_BURSTS 1e11
/* Each makes a node forget all that is under way. */
#define MOST_OUTAGES 1e8
/* Each works out the losses of all pairs of a node anew. */
#define MOST_STEPS 1e7
/* The latency of each is kept for the percentiles, in 8 bytes that may be in the midst of being
 * copied to a larger place: up to 5 GB. */
#define MOST_PAIRS 2e8
/* Of each its offers, or its next outage, are planned ahead: some 100 bytes. */
#define MOST_SENDERS 2e6
/* Of each is kept when it arrived: 32 bytes. */
#define MOST_FOLLOWED 1e8

/* Of traffics that follow each other, after which no more is reckoned. */
#define LONGEST_CHAIN 30

/* Sources of a traffic at which one message of the other is delivered, at most. */
static double
count_followers(const SpateScenarioTraffic *traffic, const SpateScenarioTraffic *followed)
{
    double n = 0;
    for (uint32_t i = 0; i < traffic->n_sources; i++)
        n += spate_ascending_find(followed->recipients, followed->n_recipients,
                                  traffic->sources[i]) < followed->n_recipients;
    return n;
}

/* `depth` bounds a cycle, whose shares make what comes round less and less. */
static double
offers_within(const SpateScenario *scenario, const SpateScenarioTraffic *traffic, int depth)
{
    double n = traffic->n_sources, duration_ns = (double)scenario->duration_ns;
    switch (traffic->times) {
    case SPATE_OFFERS_EVERY:
        return traffic->every_ns == 0 ? 0 : n * duration_ns / (double)traffic->every_ns;
    case SPATE_OFFERS_POISSON:
        return traffic->mean_interval_ns == 0 ? 0
                                              : n * duration_ns / (double)traffic->mean_interval_ns;
    case SPATE_OFFERS_AT:
        return n * (double)traffic->n_at;
    case SPATE_OFFERS_FOLLOWING: {
        uint32_t followed = traffic->followed;
        if (followed == UINT32_MAX || depth == 0)
            return 0;
        return offers_within(scenario, &scenario->traffics[followed], depth - 1) * traffic->share *
               count_followers(traffic, &scenario->traffics[followed]);
    }
    }
    g_assert_not_reached();
}

static double
offers_of(const SpateScenario *scenario, const SpateScenarioTraffic *traffic)
{
    return offers_within(scenario, traffic, LONGEST_CHAIN);
}

double
spate_scenario_offers(const SpateScenario *scenario, uint32_t traffic)
{
    return offers_of(scenario, &scenario->traffics[traffic]);
}

/* What the offers may become, with all tries and acknowledgements. */
static double
messages_of(const SpateScenario *scenario, const SpateScenarioTraffic *traffic)
{
    return offers_of(scenario, traffic) * spate_most_messages_of_offer(&traffic->acknowledgement);
}

/* Radios that may send what another one sent. */
static double
count_relays(const SpateScenario *scenario)
{
    double n = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        for (uint32_t r = 0; r < node->n_radios && node->flooding.policy != SPATE_FLOOD_NONE; r++)
            n += node->radios[r].relays;
    }
    return n;
}

/* "The traffic would `make` 1e+12 `things`." */
typedef struct {
    double n, most;
    const char *make, *things;
} Figure;

/* False with a fault. */
static bool
is_within(SpateReader *reader, SpatePlace place, Figure figure)
{
    if (figure.n <= figure.most)
        return true;
    g_autofree char *hint = g_strdup_printf("at most %.0f in a run", figure.most);
    spate_faults_note(reader->faults, place, hint, "the traffic would %s %.3g %s", figure.make,
                      figure.n, figure.things);
    return false;
}

double
spate_scenario_bursts(const SpateScenario *scenario)
{
    double bursts = 0;
    for (uint32_t i = 0; i < scenario->n_ambient; i++) {
        const SpateScenarioAmbient *source = &scenario->ambient[i];
        if (source->burst_ns > 0)
            bursts += source->busy * (double)scenario->duration_ns / (double)source->burst_ns;
    }
    return bursts;
}

double
spate_scenario_outages(const SpateScenario *scenario)
{
    double n = 0;
    for (uint32_t i = 0; i < scenario->n_outages; i++) {
        const SpateScenarioOutage *outage = &scenario->outages[i];
        double cycle_ns = (double)outage->mean_between_ns + (double)outage->mean_time_ns;
        n += outage->n_nodes * (cycle_ns > 0 ? 1 + (double)scenario->duration_ns / cycle_ns : 1);
    }
    return n;
}

/* How far a node goes to a point; about, where its place is drawn. */
static double
first_way_m(const SpateScenarioNode *node, SpatePosition point)
{
    const SpatePlacement *placement = node->placement;
    if (placement == NULL)
        return 0;
    uint32_t i = placement->kind == SPATE_PLACE_POINTS ? node->placement_index : 0;
    return spate_ground_distance_m(placement->points[i], point) + placement->radius_m;
}

static double
steps_of(const SpateScenario *scenario, const SpateScenarioNode *node)
{
    const SpateMoves *moves = &node->moves;
    if (moves->n_points == 0 || moves->from_ns >= scenario->duration_ns)
        return 0;
    double gone_m =
        moves->speed_m_per_s * (double)(scenario->duration_ns - moves->from_ns) / SPATE_NS_PER_S;
    double way_m = moves->back ? INFINITY : first_way_m(node, moves->points[0]);
    for (uint32_t i = 1; i < moves->n_points && way_m < gone_m; i++)
        way_m += spate_ground_distance_m(moves->points[i - 1], moves->points[i]);
    return ceil(fmin(gone_m, way_m) / scenario->move_step_m);
}

double
spate_scenario_steps(const SpateScenario *scenario)
{
    double n = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        n += steps_of(scenario, &scenario->nodes[i]);
    return n;
}

/* A transmission takes a start, a critical part and an end, a burst or an outage a start and an
 * end, a step is one. */
double
spate_scenario_most_events(const SpateScenario *scenario)
{
    double offers = 0;
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        offers += messages_of(scenario, &scenario->traffics[i]);
    return offers * (1 + 3 * (1 + count_relays(scenario))) +
           2 * (spate_scenario_bursts(scenario) + spate_scenario_outages(scenario)) +
           spate_scenario_steps(scenario);
}

/* Of faults that follow from another, only the first is reported. */
static void
check_traffic(SpateReader *reader, SpatePlace place)
{
    const SpateScenario *scenario = reader->scenario;
    double senders = 0, offers = 0, messages = 0, pairs = 0, relays = count_relays(scenario);
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        double offered = offers_of(scenario, traffic);
        senders += traffic->n_sources;
        offers += offered;
        messages += messages_of(scenario, traffic);
        pairs += offered * traffic->n_recipients;
    }
    if (is_within(reader, place, (Figure){senders, MOST_SENDERS, "have", "senders"}) &&
        is_within(reader, place, (Figure){offers, MOST_OFFERS, "offer", "messages"}) &&
        is_within(reader, place,
                  (Figure){messages * (1 + relays), MOST_FRAMES, "make up to",
                           "transmissions, relayed by all"}))
        is_within(reader, place,
                  (Figure){pairs, MOST_PAIRS, "make", "pairs of a message and a recipient"});
}

static void
check_ambient(SpateReader *reader, SpatePlace place)
{
    is_within(reader, place,
              (Figure){spate_scenario_bursts(reader->scenario), MOST_BURSTS, "compete with",
                       "bursts of others"});
}

static void
check_outages(SpateReader *reader, SpatePlace place)
{
    const SpateScenario *scenario = reader->scenario;
    double drawn = 0;
    for (uint32_t i = 0; i < scenario->n_outages; i++)
        drawn += scenario->outages[i].mean_between_ns > 0 ? scenario->outages[i].n_nodes : 0;
    if (is_within(reader, place,
                  (Figure){drawn, MOST_SENDERS, "meet", "nodes that fail by chance"}))
        is_within(
            reader, place,
            (Figure){spate_scenario_outages(scenario), MOST_OUTAGES, "meet", "outages of nodes"});
}

/* Steps that would be few enough are named. */
static void
check_moves(SpateReader *reader, SpatePlace place)
{
    const SpateScenario *scenario = reader->scenario;
    double n = spate_scenario_steps(scenario);
    if (n <= MOST_STEPS)
        return;
    double step_m = ceil(scenario->move_step_m * n / MOST_STEPS);
    g_autofree char *step = spate_quantity_text(step_m, SPATE_DIM_LENGTH);
    g_autofree char *hint = g_strdup_printf(
        "at most %.0f in a run: run: {move-step: %s}, or fewer nodes that move", MOST_STEPS, step);
    spate_faults_note(reader->faults, place, hint, "the nodes would move by %.3g steps", n);
}

static void
check_expectations(SpateReader *reader, SpatePlace place)
{
    const SpateScenario *scenario = reader->scenario;
    double followed = 0;
    for (uint32_t i = 0; i < scenario->n_expectations; i++) {
        const SpateExpectation *expectation = &scenario->expectations[i];
        uint32_t traffic = spate_scenario_find_traffic(scenario, expectation->traffic);
        bool is_measured =
            expectation->kind == SPATE_EXPECT_VALUE || expectation->kind == SPATE_EXPECT_CHANGE;
        if (!is_measured && traffic != UINT32_MAX)
            followed += offers_of(scenario, &scenario->traffics[traffic]);
    }
    is_within(reader, place,
              (Figure){followed, MOST_FOLLOWED, "have", "messages followed one by one"});
}

void
spate_check_bounds(SpateReader *reader, const SpateYaml *root)
{
    const struct {
        const char *key;
        void (*check)(SpateReader *, SpatePlace);
    } sections[] = {{"nodes", check_moves},
                    {"traffic", check_traffic},
                    {"ambient", check_ambient},
                    {"outages", check_outages},
                    {"expect", check_expectations}};
    for (size_t i = 0; i < G_N_ELEMENTS(sections); i++) {
        const SpateYamlPair *pair = spate_yaml_pair(root, sections[i].key);
        if (pair != NULL)
            sections[i].check(reader, pair->key_place);
    }
}
