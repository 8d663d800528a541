/* test-flooding.c - who relays what, when, and whom a flood reaches */
#include "town.h"

#include "core/random.h"
#include "support/check-main.h"
#include <math.h>

#define T TOWN_FRAME_NS

/* A node in the middle, node 0, that all others hear, and that hears them. */
static Town *
star(uint32_t n_leaves)
{
    Town *town = town_new();
    for (uint32_t i = 0; i <= n_leaves; i++)
        town_add_node(town, ON_FAST);
    for (uint32_t i = 1; i <= n_leaves; i++)
        town_link(town, 0, i, FAST, 80.0);
    town_add_traffic(town, "talk");
    return town;
}

static void
link_all(Town *town, uint32_t bearer)
{
    for (uint32_t a = 0; a < town->n_nodes; a++)
        for (uint32_t b = a + 1; b < town->n_nodes; b++)
            town_link(town, a, b, bearer, 80.0);
}

static void
set_all(Town *town, SpateFlooding flooding)
{
    for (uint32_t i = 0; i < town->n_nodes; i++)
        town->nodes[i].flooding = flooding;
}

static void
offer_one(Town *town)
{
    town_start(town);
    town_offer_at(town, 0, 0, 0);
    town_run(town, 1000 * SPATE_NS_PER_S);
}

/* ---- reach ----------------------------------------------------------------------------------- */

START_TEST(a_line_is_reached_up_to_the_hop_limit)
{
    g_autoptr(Town) town = town_new_line(12);
    for (uint32_t i = 0; i < 12; i++)
        town->nodes[i].flooding.hop_limit = 5;
    offer_one(town);

    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 5);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 5);
    for (uint32_t i = 1; i <= 5; i++) {
        const TownEntry *entry = town_find_at(town, HAPPENED_DELIVERED, i, 0);
        ck_assert_uint_eq(entry->hops, i);
        ck_assert_int_eq(entry->at_ns, i * T);
    }
}
END_TEST

START_TEST(a_traffic_has_its_own_hop_limit)
{
    g_autoptr(Town) town = town_new_line(12);
    town->traffics[0].hop_limit = 11;
    offer_one(town);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 11);
}
END_TEST

START_TEST(each_node_judges_by_its_own_hop_limit)
{
    g_autoptr(Town) town = town_new_line(12);
    town->nodes[3].flooding.hop_limit = 3;
    offer_one(town);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 3);
}
END_TEST

static uint32_t
component_of(bool heard[][30], uint32_t n, bool *reached, uint32_t node)
{
    if (reached[node])
        return 0;
    reached[node] = true;
    uint32_t size = 1;
    for (uint32_t i = 0; i < n; i++)
        if (heard[node][i])
            size += component_of(heard, n, reached, i);
    return size;
}

/* The wait is so long that no two frames meet. */
START_TEST(a_flood_reaches_exactly_the_connected_component)
{
    SpateRandom random = spate_random_stream(spate_random_key(1, 0, SPATE_FOR_TEST), (uint64_t)_i);
    bool heard[30][30] = {{false}}, reached[30] = {false};
    g_autoptr(Town) town = town_new();
    for (uint32_t i = 0; i < 30; i++)
        town_add_node(town, ON_FAST);
    town_add_traffic(town, "talk");
    set_all(town, (SpateFlooding){.hop_limit = 30, .jitter_airtimes = 1e5});
    for (uint32_t k = 0; k < 32; k++) {
        uint32_t a = (uint32_t)spate_random_below(&random, 30);
        uint32_t b = (uint32_t)spate_random_below(&random, 30);
        heard[a][b] = heard[b][a] = a != b;
        if (a != b)
            town_link(town, a, b, FAST, 80.0);
    }
    offer_one(town);
    town_run(town, 20000 * SPATE_NS_PER_S);

    uint32_t size = component_of(heard, 30, reached, 0);
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), size);
    for (uint32_t i = 1; i < 30; i++)
        ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, i), reached[i]);
}
END_TEST

START_TEST(only_recipients_are_delivered_to)
{
    static const uint32_t recipients[] = {0, 2};
    g_autoptr(Town) town = town_new_line(4);
    town->traffics[0].recipients = recipients;
    town->traffics[0].n_recipients = 2;
    offer_one(town);

    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 4);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 2), 1);
}
END_TEST

/* In a line of 3, the source hears the middle, and the middle the end. */
START_TEST(copies_of_known_messages_are_redundant)
{
    g_autoptr(Town) town = town_new_line(3);
    offer_one(town);
    ck_assert_uint_eq(town_count(town, HAPPENED_REDUNDANT), 2);
    ck_assert_int_eq(town_find_at(town, HAPPENED_REDUNDANT, 0, 0)->at_ns, 2 * T);
    ck_assert_int_eq(town_find_at(town, HAPPENED_REDUNDANT, 1, 0)->at_ns, 3 * T);
}
END_TEST

START_TEST(the_route_record_grows_with_each_hop)
{
    g_autoptr(Town) town = town_new_line(4);
    for (uint32_t i = 0; i < 4; i++)
        town->nodes[i].flooding.route_record_bytes = 2;
    offer_one(town);
    for (uint32_t i = 0; i < 4; i++)
        ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, i, 0)->bytes, 43 + 20 + 2 * i);
}
END_TEST

/* ---- policies -------------------------------------------------------------------------------- */

START_TEST(a_radio_that_does_not_relay_ends_the_way)
{
    g_autoptr(Town) town = town_new_line(5);
    town->radios[2].relays = false;
    offer_one(town);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 2);
}
END_TEST

START_TEST(policy_none_never_relays)
{
    g_autoptr(Town) town = town_new_line(5);
    town->nodes[2].flooding.policy = SPATE_FLOOD_NONE;
    offer_one(town);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 2);
}
END_TEST

START_TEST(probability_0_is_none_and_1_is_classic)
{
    g_autoptr(Town) never = town_new_line(5), always = town_new_line(5);
    set_all(never, (SpateFlooding){.policy = SPATE_FLOOD_PROBABILITY, .p = 0.0, .hop_limit = 8});
    set_all(always, (SpateFlooding){.policy = SPATE_FLOOD_PROBABILITY, .p = 1.0, .hop_limit = 8});
    offer_one(never);
    offer_one(always);
    ck_assert_uint_eq(town_count(never, HAPPENED_DELIVERED), 1);
    ck_assert_uint_eq(town_count(always, HAPPENED_DELIVERED), 4);
}
END_TEST

START_TEST(with_probability_p_that_share_relays)
{
    g_autoptr(Town) town = star(60);
    set_all(town, (SpateFlooding){.policy = SPATE_FLOOD_PROBABILITY,
                                  .p = 0.25,
                                  .hop_limit = 8,
                                  .jitter_airtimes = 100});
    town_start(town);
    for (uint32_t k = 0; k < 100; k++)
        town_offer_at(town, k * SPATE_NS_PER_S, 0, 0);
    town_run(town, 200 * SPATE_NS_PER_S);
    /* 6000 draws: 1500 relays, standard deviation 33.5; and the 100 of the source. */
    ck_assert_uint_ge(town_count(town, HAPPENED_STARTED), 1600 - 5 * 34);
    ck_assert_uint_le(town_count(town, HAPPENED_STARTED), 1600 + 5 * 34);
}
END_TEST

/* Of 60 nodes none relays a message with a probability of 0.75^60, 3e-8; all of them never. */
START_TEST(with_probability_p_each_node_decides_for_itself)
{
    g_autoptr(Town) town = star(60);
    set_all(town, (SpateFlooding){.policy = SPATE_FLOOD_PROBABILITY,
                                  .p = 0.25,
                                  .hop_limit = 8,
                                  .jitter_airtimes = 100});
    town_start(town);
    for (uint32_t k = 0; k < 20; k++)
        town_offer_at(town, k * SPATE_NS_PER_S, 0, 0);
    town_run(town, 100 * SPATE_NS_PER_S);
    uint32_t frames[20] = {0};
    for (uint32_t i = 0; i < town_count(town, HAPPENED_STARTED); i++)
        frames[town_find(town, HAPPENED_STARTED, i)->message]++;
    for (uint32_t k = 0; k < 20; k++) {
        ck_assert_uint_gt(frames[k], 1);
        ck_assert_uint_lt(frames[k], 1 + 40);
    }
}
END_TEST

static Town *
clique_with_counter(uint32_t copies)
{
    Town *town = town_new();
    for (uint32_t i = 0; i < 4; i++)
        town_add_node(town, ON_FAST);
    town_add_traffic(town, "talk");
    link_all(town, FAST);
    set_all(town, (SpateFlooding){.policy = SPATE_FLOOD_COUNTER,
                                  .copies = copies,
                                  .hop_limit = 8,
                                  .jitter_airtimes = 1000});
    return town;
}

/* All hear each other: the first k relays keep the others from theirs. */
START_TEST(the_counter_cancels_what_was_heard_often_enough)
{
    g_autoptr(Town) town = clique_with_counter((uint32_t)_i);
    offer_one(town);
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 1u + (uint32_t)MIN(_i, 3));
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 3);
}
END_TEST

START_TEST(what_is_cancelled_in_its_jitter_never_reached_a_queue)
{
    g_autoptr(Town) town = clique_with_counter(1);
    offer_one(town);
    ck_assert_uint_eq(spate_mesh_queue_counts(town->mesh).offered, 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_DROPPED), 0);
}
END_TEST

/* Node 0 sends on the slow bearer to both others; node 1 lets it across to the fast one, where
 * node 2 hears the further copy while its relay still waits for the turnaround. */
static Town *
two_bearers_and_a_turnaround(uint32_t copies)
{
    static bool on_slow[] = {false, true};
    Town *town = town_new();
    town_add_node(town, ON_SLOW);
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_BOTH);
    link_all(town, SLOW);
    town_link(town, 1, 2, FAST, 80.0);
    town_add_traffic(town, "talk");
    town->traffics[0].on_bearers = on_slow;
    town_add_crossing(town, 1, SLOW, FAST, NULL, 0);
    town->radios[town_radio(town, 1, SLOW)].relays = false;
    town->bearers[SLOW].turnaround_ns = 10 * SPATE_NS_PER_MS;
    set_all(town, (SpateFlooding){.policy = SPATE_FLOOD_COUNTER, .copies = copies, .hop_limit = 8});
    return town;
}

START_TEST(the_counter_cancels_a_relay_that_waits_for_the_air)
{
    g_autoptr(Town) town = two_bearers_and_a_turnaround(1);
    offer_one(town);
    ck_assert_uint_eq(town_count_drops(town, SPATE_DROP_CANCELLED), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DROPPED, 2), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, 2), 0);
}
END_TEST

START_TEST(one_copy_fewer_does_not_cancel_it)
{
    g_autoptr(Town) town = two_bearers_and_a_turnaround(2);
    offer_one(town);
    ck_assert_uint_eq(town_count(town, HAPPENED_DROPPED), 0);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, 2), 1);
}
END_TEST

START_TEST(a_relay_on_the_air_is_not_cancelled)
{
    g_autoptr(Town) town = two_bearers_and_a_turnaround(1);
    town->bearers[SLOW].turnaround_ns = 0;
    offer_one(town);
    const TownEntry *relay = town_find_at(town, HAPPENED_STARTED, 2, 0);
    ck_assert_int_gt(town_find_at(town, HAPPENED_REDUNDANT, 2, 0)->at_ns, relay->at_ns);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_ENDED, 2), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_DROPPED), 0);
}
END_TEST

START_TEST(own_messages_are_not_cancelled)
{
    g_autoptr(Town) town = clique_with_counter(1);
    town->bearers[FAST].duty_limit_ns = T;
    town_start(town);
    town_offer_at(town, 0, 0, 0);
    town_offer_at(town, T, 0, 0);
    town_run(town, 2 * SPATE_NS_PER_HOUR);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, 0), 2);
}
END_TEST

START_TEST(rules_of_a_relay_are_asked_before_its_policy)
{
    static SpateRule rule = {.size_bytes = {19, NAN},
                             .hops = {NAN, NAN},
                             .received_dbm = {NAN, NAN},
                             .occupancy_bearer = -1,
                             .action = SPATE_RULE_HOLD_BACK};
    g_autoptr(Town) town = town_new_line(5);
    town->nodes[2].relay_rules = &rule;
    town->nodes[2].n_relay_rules = 1;
    offer_one(town);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 0);
}
END_TEST

/* ---- jitter ---------------------------------------------------------------------------------- */

START_TEST(the_wait_lies_between_0_and_at_most)
{
    g_autoptr(Town) town = star(60);
    set_all(town, (SpateFlooding){.hop_limit = 8, .jitter_airtimes = 6});
    offer_one(town);

    int64_t least_ns = INT64_MAX, most_ns = 0;
    double sum_ns = 0;
    for (uint32_t i = 1; i <= 60; i++) {
        int64_t wait_ns = town_find_at(town, HAPPENED_QUEUED, i, 0)->at_ns - T;
        least_ns = MIN(least_ns, wait_ns);
        most_ns = MAX(most_ns, wait_ns);
        sum_ns += (double)wait_ns / 60;
    }
    ck_assert_int_ge(least_ns, 0);
    ck_assert_int_le(most_ns, 6 * T);
    ck_assert_int_lt(least_ns, T);
    ck_assert_int_gt(most_ns, 5 * T);
    /* Uniform: mean 3 T, standard deviation of the mean 6 T / sqrt(12 * 60). */
    ck_assert_double_le(fabs(sum_ns - 3.0 * (double)T), 5 * 6.0 * (double)T / sqrt(720));
}
END_TEST

/* Common random numbers: a node draws the same wait, whatever the others do. */
START_TEST(the_wait_depends_on_node_and_message_alone)
{
    g_autoptr(Town) many = star(20), few = star(10);
    set_all(many, (SpateFlooding){.hop_limit = 8, .jitter_airtimes = 6});
    set_all(few,
            (SpateFlooding){
                .policy = SPATE_FLOOD_PROBABILITY, .p = 1, .hop_limit = 2, .jitter_airtimes = 6});
    offer_one(many);
    offer_one(few);
    for (uint32_t i = 1; i <= 10; i++)
        ck_assert_int_eq(town_find_at(many, HAPPENED_QUEUED, i, 0)->at_ns,
                         town_find_at(few, HAPPENED_QUEUED, i, 0)->at_ns);
}
END_TEST

/* Sensitivity by hand: -174 + 10 lg 22e6 + 6 - 7.4 = -101.976 dBm; at 20 dBm a loss of 111.976 dB
 * leaves 10 dB: a quarter of the longest wait. */
START_TEST(weakest_first_waits_by_the_margin)
{
    Town *town = town_new();
    for (uint32_t i = 0; i < 4; i++)
        town_add_node(town, ON_FAST);
    town_link(town, 0, 1, FAST, 111.976);
    town_link(town, 0, 2, FAST, 81.976);
    town_link(town, 0, 3, FAST, 61.976);
    town_add_traffic(town, "talk");
    set_all(town, (SpateFlooding){.hop_limit = 8, .jitter_airtimes = 8, .weakest_first = true});
    offer_one(town);

    const double share[] = {0, 0.25, 1.0, 1.0};
    for (uint32_t i = 1; i < 4; i++) {
        double wait_ns = (double)(town_find_at(town, HAPPENED_QUEUED, i, 0)->at_ns - T);
        ck_assert_double_eq_tol(wait_ns / (8.0 * (double)T), share[i], 0.001);
    }
    town_free(town);
}
END_TEST

static void
add_reach_and_policies(Suite *suite)
{
    TCase *reach = tcase_create("reach");
    tcase_add_test(reach, a_line_is_reached_up_to_the_hop_limit);
    tcase_add_test(reach, a_traffic_has_its_own_hop_limit);
    tcase_add_test(reach, each_node_judges_by_its_own_hop_limit);
    tcase_add_loop_test(reach, a_flood_reaches_exactly_the_connected_component, 0, 20);
    tcase_add_test(reach, only_recipients_are_delivered_to);
    tcase_add_test(reach, copies_of_known_messages_are_redundant);
    tcase_add_test(reach, the_route_record_grows_with_each_hop);
    suite_add_tcase(suite, reach);
    TCase *policies = tcase_create("policies");
    tcase_add_test(policies, a_radio_that_does_not_relay_ends_the_way);
    tcase_add_test(policies, policy_none_never_relays);
    tcase_add_test(policies, probability_0_is_none_and_1_is_classic);
    tcase_add_test(policies, with_probability_p_that_share_relays);
    tcase_add_test(policies, with_probability_p_each_node_decides_for_itself);
    tcase_add_loop_test(policies, the_counter_cancels_what_was_heard_often_enough, 1, 6);
    tcase_add_test(policies, what_is_cancelled_in_its_jitter_never_reached_a_queue);
    tcase_add_test(policies, the_counter_cancels_a_relay_that_waits_for_the_air);
    tcase_add_test(policies, one_copy_fewer_does_not_cancel_it);
    tcase_add_test(policies, a_relay_on_the_air_is_not_cancelled);
    tcase_add_test(policies, own_messages_are_not_cancelled);
    tcase_add_test(policies, rules_of_a_relay_are_asked_before_its_policy);
    suite_add_tcase(suite, policies);
}

int
main(void)
{
    Suite *suite = suite_create("flooding");
    add_reach_and_policies(suite);
    TCase *jitter = tcase_create("jitter");
    tcase_add_test(jitter, the_wait_lies_between_0_and_at_most);
    tcase_add_test(jitter, the_wait_depends_on_node_and_message_alone);
    tcase_add_test(jitter, weakest_first_waits_by_the_margin);
    suite_add_tcase(suite, jitter);
    return run_suite(suite);
}
