/* test-components.c - a flood reaches exactly the component that it begins in
 *
 * The graph is taken from the link budgets, shadowing included, and searched in breadth, a node
 * at a time.  Relays wait up to 10,000 airtimes; the few floods in which two frames met all the
 * same are set aside, for the theorem speaks of no loss.
 */
#include "core/random.h"
#include "scenario/world/world.h"
#include "study/run/run.h"
#include "support/check-main.h"
#include <string.h>

#define N_NODES 30

typedef struct {
    bool hears[N_NODES][N_NODES]; /* [from][to] */
} Graph;

/* Transmissions from node `from` to each node, 0 for itself; UINT32_MAX out of reach. */
static void
search(const Graph *graph, uint32_t from, uint32_t hops[N_NODES])
{
    uint32_t queue[N_NODES], n_queued = 1;
    for (uint32_t i = 0; i < N_NODES; i++)
        hops[i] = UINT32_MAX;
    hops[from] = 0;
    queue[0] = from;
    for (uint32_t done = 0; done < n_queued; done++)
        for (uint32_t to = 0; to < N_NODES; to++)
            if (graph->hears[queue[done]][to] && hops[to] == UINT32_MAX) {
                hops[to] = hops[queue[done]] + 1;
                queue[n_queued++] = to;
            }
}

/* Each node has one radio, so that their numbers agree. */
static Graph
graph_of(const SpateWorld *world, uint32_t replication)
{
    Graph graph = {0};
    const SpatePlan *plan = spate_world_plan(world);
    g_autoptr(SpateLinks) links = spate_world_links(world, replication);
    ck_assert_uint_eq(plan->n_radios, N_NODES);
    double sensitivity_dbm = spate_bearer_sensitivity_dbm(&plan->bearers[0]);
    for (uint32_t from = 0; from < N_NODES; from++) {
        for (uint32_t to = 0; to < N_NODES; to++) {
            SpateLink link;
            if (to == from)
                continue;
            ck_assert(spate_links_budget(links, from, to, &link, NULL));
            uint64_t seed = spate_world_scenario(world)->seed;
            graph.hears[from][to] =
                link.received_dbm - spate_links_shadowing_db(links, from, to, seed, replication) >=
                sensitivity_dbm;
        }
    }
    return graph;
}

/* What one flood did. */
typedef struct {
    uint32_t origin;
    bool has[N_NODES];
    uint32_t n_lost; /* audible, but not received */
} Flood;

static void
note(gpointer self, const SpateEvent *event)
{
    Flood *flood = self;
    if (event->kind == SPATE_EVENT_OFFERED)
        flood->origin = event->node;
    if (event->kind == SPATE_EVENT_OFFERED || event->kind == SPATE_EVENT_DELIVERED)
        flood->has[event->node] = true;
    for (size_t i = 0; i < event->n_receptions; i++)
        flood->n_lost += event->receptions[i].outcome != SPATE_OUTCOME_RECEIVED;
}

static Flood
flood_of(const SpateWorld *world, uint32_t replication)
{
    Flood flood = {0};
    const SpateObserver observer = {SPATE_EVENT_OFFERED | SPATE_EVENT_DELIVERED | SPATE_EVENT_ENDED,
                                    note, &flood};
    g_autoptr(SpateRun) run = spate_run_new(world, replication, NULL);
    ck_assert_ptr_nonnull(run);
    spate_run_add_observer(run, &observer);
    ck_assert(spate_run_go(run, NULL, NULL));
    return flood;
}

/* Whether a flood of a limit may, and must, have reached a node `hops` away. */
typedef enum { EXACTLY_WITHIN, AT_MOST_WITHIN } Bound;

/* The number of floods that met no loss, all of which keep the bound. */
static uint32_t
check_floods(const char *text, uint32_t replications, uint32_t hop_limit, Bound bound)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("floods", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    ck_assert_msg(world != NULL, "%s", error != NULL ? error->message : "");
    uint32_t n_clean = 0;
    for (uint32_t r = 0; r < replications; r++) {
        Graph graph = graph_of(world, r);
        Flood flood = flood_of(world, r);
        if (flood.n_lost > 0)
            continue;
        uint32_t hops[N_NODES];
        search(&graph, flood.origin, hops);
        for (uint32_t i = 0; i < N_NODES; i++) {
            bool within = hops[i] != UINT32_MAX && hops[i] <= hop_limit;
            ck_assert_msg(bound == EXACTLY_WITHIN ? flood.has[i] == within
                                                  : within || !flood.has[i],
                          "replication %u: node %u is %u hops away, and %s", r, i, hops[i],
                          flood.has[i] ? "reached" : "not reached");
        }
        n_clean++;
    }
    return n_clean;
}

/* Nodes on a square of 1 km, about five within the range of each. */
static char *
square_text(uint32_t hop_limit, const char *shadowing)
{
    return g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 8000 s, cool-down: 7990 s}\n"
        "bearers:\n"
        "  air: {kind: dsss, frequency: 2437 MHz, rate: 2 Mbit/s, sensitivity: -90 dBm,\n"
        "    access: {method: csma}, propagation: {model: log-distance, exponent: 4,\n"
        "      intercept: {at: 230 m, loss: 100 dB}%s}}\n"
        "flooding: {hop-limit: %u, jitter: {at-most: 10000 airtimes}}\n"
        "nodes:\n"
        "  n: {count: %d, place: {rectangle: {from: {x: 0 m, y: 0 m}, to: {x: 1 km, y: 1 km}},"
        " redraw: each-replication},\n"
        "    radios: {air: {power: 10 dBm}}, relay: [air]}\n"
        "traffic: {news: {from: n-7, to: everyone, payload: 20 bytes, at: [1 s]}}\n",
        shadowing, hop_limit, N_NODES);
}

START_TEST(without_loss_a_flood_reaches_exactly_its_component)
{
    g_autofree char *discs = square_text(N_NODES, "");
    ck_assert_uint_gt(check_floods(discs, 100, N_NODES, EXACTLY_WITHIN), 75);
    g_autofree char *shadowed = square_text(N_NODES, ", shadowing: 8 dB");
    ck_assert_uint_gt(check_floods(shadowed, 100, N_NODES, EXACTLY_WITHIN), 75);
}
END_TEST

START_TEST(every_node_that_a_flood_reaches_lies_within_the_hop_limit)
{
    for (uint32_t limit = 1; limit <= 4; limit++) {
        g_autofree char *text = square_text(limit, ", shadowing: 6 dB");
        ck_assert_uint_gt(check_floods(text, 50, limit, AT_MOST_WITHIN), 35);
    }
}
END_TEST

/* A tree: each node hears one of those before it, and is heard there. */
static char *
tree_text(uint32_t hop_limit, uint64_t seed)
{
    SpateRandom random = spate_random_stream(spate_random_key(seed, 0, SPATE_FOR_TEST), 1);
    g_autoptr(GString) text = g_string_new(NULL);
    g_string_append_printf(
        text,
        "spate: 1\n"
        "run: {duration: 8000 s, cool-down: 7990 s}\n"
        "bearers:\n"
        "  air: {kind: dsss, frequency: 2437 MHz, rate: 2 Mbit/s,"
        " propagation: {model: free-space, extra-loss: 300 dB}}\n"
        "flooding: {hop-limit: %u, jitter: {at-most: 10000 airtimes}}\n"
        "nodes:\n"
        "  n: {count: %d, at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}, relay: [air]}\n"
        "traffic: {news: {from: n-%d, to: everyone, payload: 20 bytes, at: [1 s]}}\n"
        "links:\n",
        hop_limit, N_NODES, 1 + (int)spate_random_below(&random, N_NODES));
    for (uint32_t k = 2; k <= N_NODES; k++) {
        uint32_t parent = 1 + (uint32_t)spate_random_below(&random, k - 1);
        g_string_append_printf(text, "  - {between: [n-%u, n-%u], loss: 60 dB}\n", parent, k);
    }
    return g_string_free(g_steal_pointer(&text), FALSE);
}

START_TEST(in_a_tree_a_flood_reaches_exactly_those_within_the_hop_limit)
{
    uint32_t n_clean = 0, n = 0;
    for (uint64_t seed = 0; seed < 25; seed++) {
        for (uint32_t limit = 1; limit <= 5; limit++, n++) {
            g_autofree char *text = tree_text(limit, seed);
            n_clean += check_floods(text, 1, limit, EXACTLY_WITHIN);
        }
    }
    ck_assert_uint_gt(n_clean, n * 3 / 4);
}
END_TEST

CHECK_MAIN("theory of components", without_loss_a_flood_reaches_exactly_its_component,
           every_node_that_a_flood_reaches_lies_within_the_hop_limit,
           in_a_tree_a_flood_reaches_exactly_those_within_the_hop_limit)
