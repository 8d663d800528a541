/* test-random-meshes.c - what holds in every mesh, on meshes drawn at random
 *
 * town_run() checks the invariants of queues, messages and channel at every second; what can only
 * be seen over a whole run is read from the log.
 */
#include "town.h"

#include "core/random.h"
#include "support/check-main.h"
#include <math.h>

#define N_MESHES   60
#define DURATION_S 30

typedef struct {
    SpateRandom random;
    SpateRule rules[2];
    uint32_t sources[TOWN_NODES];
} Draw;

static uint32_t
below(Draw *draw, uint32_t n)
{
    return (uint32_t)spate_random_below(&draw->random, n);
}

static SpateFlooding
draw_flooding(Draw *draw)
{
    return (SpateFlooding){
        .policy = (SpateFloodPolicy)below(draw, 4),
        .copies = 1 + below(draw, 3),
        .p = spate_random_unit(&draw->random),
        .hop_limit = 1 + below(draw, 6),
        .jitter_airtimes = below(draw, 7),
        .weakest_first = below(draw, 2) == 0,
        .route_record_bytes = below(draw, 3),
        .duplicates_entries = below(draw, 2) * (1 + below(draw, 5)),
        .duplicates_for_ns = below(draw, 2) * (1 + below(draw, 2000)) * SPATE_NS_PER_MS,
    };
}

static void
draw_bearers(Town *town, Draw *draw)
{
    static const SpateAccessMethod methods[] = {SPATE_ACCESS_NONE, SPATE_ACCESS_CSMA};
    town->bearers[FAST].access.method = methods[below(draw, 2)];
    town->bearers[SLOW].access.method = below(draw, 2) == 0 ? SPATE_ACCESS_NONE : SPATE_ACCESS_CAD;
    town->bearers[SLOW].access.cad_slots = 8;
    town->bearers[SLOW].access.cad_tries = 8;
    town->bearers[SLOW].access.cad_detection = 0.9;
    town->bearers[SLOW].duty_limit_ns = below(draw, 2) * 2 * SPATE_NS_PER_S;
    town->bearers[FAST].turnaround_ns = below(draw, 2) * 100 * SPATE_NS_PER_US;
    town->bearers[SLOW].largest_frame_bytes = 22 + (int)below(draw, 3);
}

static void
draw_rules(Draw *draw)
{
    for (uint32_t i = 0; i < 2; i++)
        draw->rules[i] = (SpateRule){.size_bytes = {NAN, NAN},
                                     .hops = {below(draw, 3), NAN},
                                     .received_dbm = {NAN, NAN},
                                     .occupancy_bearer = (int32_t)below(draw, 3) - 1,
                                     .occupancy_above = 0.01,
                                     .action = (SpateRuleAction)below(draw, 4),
                                     .limit_per_s = 0.5,
                                     .limit_burst = 2,
                                     .thin_keep = 1,
                                     .thin_of = 3,
                                     .per_origin = below(draw, 2) == 0};
}

static void
draw_nodes(Town *town, Draw *draw)
{
    uint32_t n = 2 + below(draw, 12);
    for (uint32_t i = 0; i < n; i++) {
        uint32_t node = town_add_node(town, 1 + below(draw, 3));
        town->nodes[node].flooding = draw_flooding(draw);
        town->nodes[node].queue = (SpateQueueSettings){
            .frames = 1 + below(draw, 4),
            .by_class = below(draw, 2) == 0,
            .expire_ns = below(draw, 2) * (1 + below(draw, 500)) * SPATE_NS_PER_MS,
        };
        town->nodes[node].relay_rules = draw->rules;
        town->nodes[node].n_relay_rules = below(draw, 4) == 0 ? 2 : 0;
        draw->sources[node] = node;
        if (town->nodes[node].n_radios == 2) {
            town_add_crossing(town, node, FAST, SLOW, draw->rules, below(draw, 3));
            town_add_crossing(town, node, SLOW, FAST, draw->rules, below(draw, 3));
        }
        if (town->n_crossings >= 7)
            break;
    }
    for (uint32_t a = 0; a < town->n_nodes; a++)
        for (uint32_t b = a + 1; b < town->n_nodes; b++)
            for (uint32_t bearer = 0; bearer < TOWN_BEARERS; bearer++)
                if (below(draw, 2) == 0)
                    town_link(town, a, b, bearer, 80.0 + below(draw, 60));
}

/* A mesh and its traffic, run from beginning to end; the same number gives the same mesh. */
static Town *
run_mesh(uint64_t number)
{
    Draw draw = {.random =
                     spate_random_stream(spate_random_key(1, 0, SPATE_FOR_TEST), 100 + number)};
    Town *town = town_new();
    draw_bearers(town, &draw);
    draw_rules(&draw);
    draw_nodes(town, &draw);
    SpateOffers offers[2];
    for (uint32_t i = 0; i < 2; i++) {
        town_add_traffic(town, i == 0 ? "alarm" : "talk");
        town->traffics[i].class_rank = i;
        offers[i] = (SpateOffers){
            .traffic = i,
            .sources = draw.sources,
            .n_sources = town->n_nodes,
            .times = i == 0 ? SPATE_OFFERS_EVERY : SPATE_OFFERS_POISSON,
            .together = true,
            .every_ns = 3 * SPATE_NS_PER_S,
            .mean_interval_ns = 2 * SPATE_NS_PER_S,
        };
    }
    town_start(town);
    SpateTraffic *traffic =
        spate_traffic_new(town->queue, town->mesh, &town->plan, offers, 2,
                          (DURATION_S - 5) * SPATE_NS_PER_S, town->seed, town->replication);
    for (int64_t second = 0; second <= DURATION_S; second++)
        town_run(town, second * SPATE_NS_PER_S);
    spate_traffic_free(traffic);
    return town;
}

START_TEST(no_node_delivers_a_message_twice)
{
    g_autoptr(Town) town = run_mesh((uint64_t)_i);
    g_autoptr(GHashTable) seen = g_hash_table_new(g_direct_hash, g_direct_equal);
    for (guint i = 0; i < town->log->len; i++) {
        const TownEntry *entry = town_entry(town, i);
        if (entry->happening == HAPPENED_DELIVERED)
            ck_assert(g_hash_table_add(
                seen, GUINT_TO_POINTER(entry->message * TOWN_NODES + entry->node)));
    }
}
END_TEST

START_TEST(no_frame_goes_beyond_its_senders_hop_limit)
{
    g_autoptr(Town) town = run_mesh((uint64_t)_i);
    for (guint i = 0; i < town->log->len; i++) {
        const TownEntry *entry = town_entry(town, i);
        if (entry->happening == HAPPENED_STARTED)
            ck_assert_uint_le(entry->hops, town->nodes[entry->node].flooding.hop_limit);
    }
}
END_TEST

/* Who remembers everything sends a message at most once on each radio. */
START_TEST(no_radio_sends_a_message_twice_that_its_node_remembers)
{
    g_autoptr(Town) town = run_mesh((uint64_t)_i);
    g_autoptr(GHashTable) seen = g_hash_table_new(g_direct_hash, g_direct_equal);
    for (guint i = 0; i < town->log->len; i++) {
        const TownEntry *entry = town_entry(town, i);
        const SpateFlooding *flooding = &town->nodes[entry->node].flooding;
        if (entry->happening == HAPPENED_STARTED && flooding->duplicates_entries == 0 &&
            flooding->duplicates_for_ns == 0)
            ck_assert(g_hash_table_add(
                seen, GUINT_TO_POINTER(entry->message * 2 * TOWN_NODES + entry->radio)));
    }
}
END_TEST

START_TEST(every_frame_in_a_queue_is_accounted_for)
{
    g_autoptr(Town) town = run_mesh((uint64_t)_i);
    SpateQueueCounts counts = spate_mesh_queue_counts(town->mesh);
    uint32_t at_door =
        town_count_drops(town, SPATE_DROP_SIZE) + town_count_drops(town, SPATE_DROP_QUEUE);
    ck_assert_uint_eq(counts.offered, town_count(town, HAPPENED_QUEUED) + at_door);
    ck_assert_uint_eq(counts.sent, town_count(town, HAPPENED_STARTED));
    uint64_t dropped = 0;
    for (int i = 0; i < SPATE_N_DROPS; i++) {
        ck_assert_uint_eq(counts.dropped[i], town_count_drops(town, (SpateDropCause)i));
        dropped += counts.dropped[i];
    }
    ck_assert_uint_eq(counts.offered, counts.sent + dropped + counts.waiting);
}
END_TEST

START_TEST(the_same_seed_gives_the_same_run)
{
    g_autoptr(Town) first = run_mesh((uint64_t)_i), second = run_mesh((uint64_t)_i);
    ck_assert_uint_eq(first->log->len, second->log->len);
    for (guint i = 0; i < first->log->len; i++) {
        const TownEntry *a = town_entry(first, i), *b = town_entry(second, i);
        ck_assert(a->happening == b->happening && a->at_ns == b->at_ns && a->radio == b->radio &&
                  a->message == b->message && a->node == b->node && a->what == b->what);
    }
}
END_TEST

int
main(void)
{
    TCase *meshes = tcase_create("meshes");
    tcase_set_timeout(meshes, 60);
    tcase_add_loop_test(meshes, no_node_delivers_a_message_twice, 0, N_MESHES);
    tcase_add_loop_test(meshes, no_frame_goes_beyond_its_senders_hop_limit, 0, N_MESHES);
    tcase_add_loop_test(meshes, no_radio_sends_a_message_twice_that_its_node_remembers, 0,
                        N_MESHES);
    tcase_add_loop_test(meshes, every_frame_in_a_queue_is_accounted_for, 0, N_MESHES);
    tcase_add_loop_test(meshes, the_same_seed_gives_the_same_run, 0, N_MESHES / 4);
    Suite *suite = suite_create("random-meshes");
    suite_add_tcase(suite, meshes);
    return run_suite(suite);
}
