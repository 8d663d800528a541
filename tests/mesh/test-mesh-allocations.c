/* test-mesh-allocations.c - once warm, a mesh and its traffic allocate nothing */
#include "town.h"

#include "support/allocations.h"
#include "support/check-main.h"

#define N_NODES 12

/* They walk past all the others, whom they hear when they are near, for as long as it takes. */
static const SpatePosition ENDS[] = {{.x_m = 1500.0}, {.x_m = -500.0}};

static const uint32_t ASKED[] = {N_NODES - 1}, FAILING[] = {3, 7}, MOVING[] = {5, 7, 8};

/* Every structure that may grow is in use: bounded memories, classes, expiry, crossings, tries,
 * routes, outages, moves. */
static Town *
busy_town(void)
{
    Town *town = town_new();
    for (uint32_t i = 0; i < N_NODES; i++) {
        SpateNode *node = &town->nodes[town_add_node(town, ON_BOTH)];
        node->flooding = (SpateFlooding){.policy = SPATE_FLOOD_COUNTER,
                                         .copies = 2,
                                         .hop_limit = 8,
                                         .jitter_airtimes = 6,
                                         .duplicates_entries = 40,
                                         .duplicates_for_ns = SPATE_NS_PER_MIN};
        node->queue =
            (SpateQueueSettings){.frames = 4, .by_class = true, .expire_ns = SPATE_NS_PER_S};
    }
    for (uint32_t i = 1; i < N_NODES; i++) {
        town_link(town, i - 1, i, FAST, 80.0);
        town_link(town, i / 2, i, SLOW, 80.0);
    }
    town_add_crossing(town, 0, FAST, SLOW, NULL, 0);
    town_add_traffic(town, "alarm");
    town_add_traffic(town, "talk");
    town->traffics[1].class_rank = 1;
    town->outages[town->n_outages++] = (SpateOutage){.nodes = FAILING,
                                                     .n_nodes = G_N_ELEMENTS(FAILING),
                                                     .mean_between_ns = 10 * SPATE_NS_PER_MIN,
                                                     .mean_time_ns = SPATE_NS_PER_MIN};
    for (uint32_t i = 0; i < G_N_ELEMENTS(MOVING); i++) {
        town_add_move(town, MOVING[i], ENDS, 2.0 + i % 2, 0);
        town->nodes[MOVING[i]].track.n_points = G_N_ELEMENTS(ENDS);
        town->nodes[MOVING[i]].track.back = true;
    }
    town->extra_loss_db = 40.0;
    town->sigma_db = 6.0;
    town->keeps_log = false;
    return town;
}

START_TEST(a_warm_mesh_allocates_nothing)
{
    g_autoptr(Town) town = busy_town();
    uint32_t sources[N_NODES];
    for (uint32_t i = 0; i < N_NODES; i++)
        sources[i] = i;
    SpateOffers offers[2];
    for (uint32_t i = 0; i < 2; i++)
        offers[i] = (SpateOffers){.traffic = i,
                                  .sources = sources,
                                  .n_sources = N_NODES,
                                  .times = i == 0 ? SPATE_OFFERS_EVERY : SPATE_OFFERS_POISSON,
                                  .every_ns = 10 * SPATE_NS_PER_S,
                                  .spread_ns = 9 * SPATE_NS_PER_S,
                                  .mean_interval_ns = 10 * SPATE_NS_PER_S};
    const SpateListening naps = {.every_ns = 2 * SPATE_NS_PER_S, .for_ns = SPATE_NS_PER_S};
    town_start(town);
    spate_channel_set_listening(town->channel, town_radio(town, 2, FAST), &naps);
    spate_channel_set_listening(town->channel, town_radio(town, 8, SLOW), &naps);
    /* Some ask one at the far end. */
    town->traffics[1].recipients = ASKED;
    town->traffics[1].n_recipients = 1;
    town->traffics[1].acknowledgement = (SpateAcknowledgement){3, SPATE_NS_PER_S, 8};
    town->traffics[1].routing = (SpateRouting){.kind = SPATE_ROUTE_SOURCE};
    offers[1].n_sources = 4;
    SpateTraffic *traffic = spate_traffic_new(town->queue, town->mesh, &town->plan, offers, 2,
                                              3 * SPATE_NS_PER_HOUR, town->seed, town->replication);
    /* Warm: more at once than the rows above ever bring together. */
    for (uint32_t i = 0; i < 20 * N_NODES; i++)
        town_offer_at(town, 0, i % 2, i % N_NODES);
    spate_event_queue_run_until(town->queue, 2 * SPATE_NS_PER_HOUR, NULL);
    uint64_t warm = allocations_so_far(), sent = spate_mesh_queue_counts(town->mesh).sent;
    spate_event_queue_run_until(town->queue, 3 * SPATE_NS_PER_HOUR, NULL);
    uint64_t in_the_end = allocations_so_far(); /* Check allocates too */

    ck_assert_uint_gt(spate_mesh_queue_counts(town->mesh).sent, sent + 10000);
    ck_assert_uint_eq(in_the_end, warm);
    spate_traffic_free(traffic);
}
END_TEST

/* Under valgrind, whose own malloc goes first, there is nothing to count. */
static bool
counts(void)
{
    uint64_t before = allocations_so_far();
    g_autofree volatile char *probe = g_malloc(1);
    probe[0] = 1;
    return allocations_so_far() > before;
}

int
main(void)
{
    if (!counts())
        return 77; /* skipped */
    TCase *cases = tcase_create("allocations");
    tcase_add_test(cases, a_warm_mesh_allocates_nothing);
    Suite *suite = suite_create("mesh-allocations");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
