/* test-bridge.c - crossings between bearers
 *
 *     n00  fast                    the yard
 *     n01  fast and slow           the bridge
 *     n02  slow                    the valley
 */
#include "mesh/town.h"

#include "support/check-main.h"
#include <math.h>

#define T TOWN_FRAME_NS

enum { YARD, BRIDGE, VALLEY };
enum { READINGS, TALK };

static Town *
two_sides(void)
{
    Town *town = town_new();
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_SLOW);
    town_link(town, YARD, BRIDGE, FAST, 80.0);
    town_link(town, BRIDGE, VALLEY, SLOW, 80.0);
    town_add_traffic(town, "readings");
    town_add_traffic(town, "talk");
    return town;
}

static SpateRule
rule_that(SpateRuleAction action)
{
    return (SpateRule){.size_bytes = {NAN, NAN},
                       .hops = {NAN, NAN},
                       .received_dbm = {NAN, NAN},
                       .occupancy_bearer = -1,
                       .action = action};
}

static SpateRule
hold_back_readings(void)
{
    static bool readings[] = {true, false};
    SpateRule rule = rule_that(SPATE_RULE_HOLD_BACK);
    rule.traffics = readings;
    return rule;
}

static void
run_with_offer(Town *town, uint32_t traffic, uint32_t origin)
{
    town_start(town);
    town_offer_at(town, 0, traffic, origin);
    town_run(town, SPATE_NS_PER_S);
}

START_TEST(without_a_crossing_bearers_stay_apart)
{
    g_autoptr(Town) town = two_sides();
    run_with_offer(town, TALK, YARD);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, BRIDGE), 1);
}
END_TEST

START_TEST(a_crossing_goes_one_way)
{
    g_autoptr(Town) town = two_sides();
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0);
    town_start(town);
    town_offer_at(town, 0, TALK, YARD);
    town_offer_at(town, SPATE_NS_PER_S, TALK, VALLEY);
    town_run(town, 2 * SPATE_NS_PER_S);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, YARD), 0);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DELIVERED, VALLEY, 0)->hops, 2);
}
END_TEST

START_TEST(two_crossings_go_both_ways)
{
    g_autoptr(Town) town = two_sides();
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0);
    town_add_crossing(town, BRIDGE, SLOW, FAST, NULL, 0);
    town_start(town);
    town_offer_at(town, 0, TALK, YARD);
    town_offer_at(town, SPATE_NS_PER_S, TALK, VALLEY);
    town_run(town, 2 * SPATE_NS_PER_S);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, YARD), 1);
    /* Each message on each bearer by the bridge, and by its source. */
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BRIDGE), 4);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, YARD), 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 0);
}
END_TEST

START_TEST(what_a_rule_holds_back_is_counted_and_not_sent)
{
    g_autoptr(Town) town = two_sides();
    SpateRule rules[] = {rule_that(SPATE_RULE_PASS), hold_back_readings()};
    rules[0].size_bytes.above = 100;
    town_add_crossing(town, BRIDGE, FAST, SLOW, rules, 2);
    town_start(town);
    town_offer_at(town, 0, READINGS, YARD);
    town_offer_at(town, SPATE_NS_PER_S, TALK, YARD);
    town_run(town, 2 * SPATE_NS_PER_S);

    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 1);
    const TownEntry *refusal = town_find(town, HAPPENED_HELD_BACK, 0);
    ck_assert_uint_eq(refusal->traffic, READINGS);
    ck_assert_uint_eq(refusal->what, 1);
    ck_assert_int_eq(refusal->at_ns, T);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DELIVERED, VALLEY, 0)->traffic, TALK);
}
END_TEST

START_TEST(otherwise_may_refuse_too)
{
    g_autoptr(Town) town = two_sides();
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0)->otherwise_passes = false;
    run_with_offer(town, TALK, YARD);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 0);
    ck_assert_uint_eq(town_find(town, HAPPENED_HELD_BACK, 0)->what, SPATE_NO_RULE);
}
END_TEST

/* The relay on the fast bearer is not affected. */
START_TEST(what_is_held_back_is_still_relayed)
{
    g_autoptr(Town) town = two_sides();
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0)->otherwise_passes = false;
    run_with_offer(town, TALK, YARD);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BRIDGE), 1);
}
END_TEST

START_TEST(an_own_message_does_not_cross_at_its_own_node)
{
    static bool on_fast[] = {true, false};
    g_autoptr(Town) town = two_sides();
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0);
    town->traffics[TALK].on_bearers = on_fast;
    run_with_offer(town, TALK, BRIDGE);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BRIDGE), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_REDUNDANT, BRIDGE), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 0);
}
END_TEST

START_TEST(the_hop_limit_ends_at_the_crossing)
{
    g_autoptr(Town) town = two_sides();
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0);
    town->traffics[TALK].hop_limit = 1;
    run_with_offer(town, TALK, YARD);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BRIDGE), 0);
}
END_TEST

/* A message that may not be sent any further takes no token, and is not held back. */
START_TEST(rules_see_only_what_may_still_be_sent)
{
    g_autoptr(Town) town = two_sides();
    SpateRule rule = rule_that(SPATE_RULE_LIMIT);
    rule.limit_per_s = 1e-6;
    rule.limit_burst = 1;
    town_add_crossing(town, BRIDGE, FAST, SLOW, &rule, 1);
    town->traffics[READINGS].hop_limit = 1;
    town_start(town);
    const uint32_t traffics[] = {READINGS, TALK, READINGS, TALK};
    for (uint32_t i = 0; i < 4; i++)
        town_offer_at(town, i * SPATE_NS_PER_S, traffics[i], YARD);
    town_run(town, 5 * SPATE_NS_PER_S);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 1);
    ck_assert_uint_eq(town_find(town, HAPPENED_HELD_BACK, 0)->message, 3);
}
END_TEST

START_TEST(of_crossings_to_one_radio_the_first_that_lets_it_pass_sends_it)
{
    g_autoptr(Town) town = two_sides();
    SpateRule readings = hold_back_readings();
    town_add_crossing(town, BRIDGE, FAST, SLOW, &readings, 1);
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0)->otherwise_passes = false;
    town_start(town);
    town_offer_at(town, 0, READINGS, YARD);
    town_offer_at(town, SPATE_NS_PER_S, TALK, YARD);
    town_run(town, 2 * SPATE_NS_PER_S);

    /* Readings are refused twice, talk crosses and the second crossing never sees it. */
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 2);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
}
END_TEST

START_TEST(rules_see_hops_and_received_power)
{
    SpateRule rules[] = {rule_that(SPATE_RULE_HOLD_BACK), rule_that(SPATE_RULE_HOLD_BACK)};
    rules[0].hops.above = 1;
    rules[1].received_dbm.below = -60.5; /* 20 dBm less 80 dB is -60 */
    g_autoptr(Town) town = two_sides();
    town_add_crossing(town, BRIDGE, FAST, SLOW, rules, 2);
    run_with_offer(town, TALK, YARD);
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 0);

    rules[0].hops.above = 0;
    g_autoptr(Town) by_hops = two_sides();
    town_add_crossing(by_hops, BRIDGE, FAST, SLOW, rules, 2);
    run_with_offer(by_hops, TALK, YARD);
    ck_assert_uint_eq(town_find(by_hops, HAPPENED_HELD_BACK, 0)->what, 0);

    rules[0].hops.above = 1;
    rules[1].received_dbm.below = -59.5;
    g_autoptr(Town) by_power = two_sides();
    town_add_crossing(by_power, BRIDGE, FAST, SLOW, rules, 2);
    run_with_offer(by_power, TALK, YARD);
    ck_assert_uint_eq(town_find(by_power, HAPPENED_HELD_BACK, 0)->what, 1);
}
END_TEST

/* Three frames of the valley and one that crossed are above three and a half frames in five
 * minutes; when they are five minutes old they no longer count. */
START_TEST(rules_see_how_busy_the_far_side_was)
{
    g_autoptr(Town) town = two_sides();
    const SpateModulation *slow = &town->bearers[SLOW].modulation;
    double frame_s = (double)slow->kind->airtime_ns(slow, TOWN_PAYLOAD_BYTES) / 1e9;
    SpateRule rule = rule_that(SPATE_RULE_HOLD_BACK);
    rule.occupancy_bearer = SLOW;
    rule.occupancy_above = 3.5 * frame_s / 300.0;
    town_add_crossing(town, BRIDGE, FAST, SLOW, &rule, 1);
    town->radios[town_radio(town, BRIDGE, SLOW)].relays = false;
    town_start(town);
    const int64_t valley_s[] = {10, 20, 30}, yard_s[] = {25, 35, 305, 331};
    for (uint32_t i = 0; i < 3; i++)
        town_offer_at(town, valley_s[i] * SPATE_NS_PER_S, READINGS, VALLEY);
    for (uint32_t i = 0; i < 4; i++)
        town_offer_at(town, yard_s[i] * SPATE_NS_PER_S, TALK, YARD);
    town_run(town, 400 * SPATE_NS_PER_S);

    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 2);
    ck_assert_int_eq(town_find(town, HAPPENED_HELD_BACK, 0)->at_ns, 35 * SPATE_NS_PER_S + T);
    ck_assert_int_eq(town_find(town, HAPPENED_HELD_BACK, 1)->at_ns, 305 * SPATE_NS_PER_S + T);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 2);
}
END_TEST

/* A further copy in the yard comes before the wait for the crossing is over; it cancels the relay
 * there. */
START_TEST(the_flooding_policy_does_not_govern_crossings)
{
    g_autoptr(Town) town = two_sides();
    uint32_t other = town_add_node(town, ON_FAST);
    town_link(town, YARD, other, FAST, 80.0);
    town_link(town, BRIDGE, other, FAST, 80.0);
    town->nodes[BRIDGE].flooding = (SpateFlooding){.policy = SPATE_FLOOD_COUNTER,
                                                   .copies = 1,
                                                   .hop_limit = 8,
                                                   .jitter_airtimes = 10,
                                                   .weakest_first = true};
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0);
    run_with_offer(town, TALK, YARD);

    ck_assert_int_lt(town_find_at(town, HAPPENED_REDUNDANT, BRIDGE, 0)->at_ns,
                     town_find_at(town, HAPPENED_STARTED, BRIDGE, 0)->at_ns);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BRIDGE), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
}
END_TEST

START_TEST(a_bridge_that_relays_nothing_still_lets_cross)
{
    const SpateFlooding silent[] = {
        {.policy = SPATE_FLOOD_NONE, .hop_limit = 8},
        {.policy = SPATE_FLOOD_PROBABILITY, .p = 0.0, .hop_limit = 8},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(silent); i++) {
        g_autoptr(Town) town = two_sides();
        town->nodes[BRIDGE].flooding = silent[i];
        town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0);
        run_with_offer(town, TALK, YARD);
        ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BRIDGE), 1);
        ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
    }
}
END_TEST

/* Stretches the preamble of the fast one. */
static void
make_frames_equally_long(Town *town)
{
    const SpateModulation *slow = &town->bearers[SLOW].modulation;
    SpateModulation *fast = &town->bearers[FAST].modulation;
    fast->preamble_ns += slow->kind->airtime_ns(slow, TOWN_PAYLOAD_BYTES) - T;
}

/* A source with both radios. */
START_TEST(of_copies_at_one_instant_the_bearer_first_by_name_is_first)
{
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_BOTH);
    town_link(town, 0, 1, FAST, 80.0);
    town_link(town, 0, 1, SLOW, 80.0);
    town_add_traffic(town, "talk");
    make_frames_equally_long(town);
    run_with_offer(town, 0, 0);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 1), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_REDUNDANT, 1), 1);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_REDUNDANT, 1, 0)->radio,
                      town_radio(town, 1, SLOW));
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, 1), 1);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, 1, 0)->radio, town_radio(town, 1, FAST));
}
END_TEST

/* Where an order is needed, it is that of the offers, not of the bearers on which they come. */
START_TEST(of_messages_at_one_instant_the_one_that_was_offered_first_goes_first)
{
    enum { ON_THE_SLOW_SIDE, ON_THE_FAST_SIDE, BETWEEN };
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_SLOW);
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_link(town, ON_THE_SLOW_SIDE, BETWEEN, SLOW, 80.0);
    town_link(town, ON_THE_FAST_SIDE, BETWEEN, FAST, 80.0);
    town_add_crossing(town, BETWEEN, SLOW, FAST, NULL, 0);
    town->radios[town_radio(town, BETWEEN, SLOW)].relays = false;
    town_add_traffic(town, "talk");
    make_frames_equally_long(town);
    town_start(town);
    town_offer_at(town, 0, 0, ON_THE_SLOW_SIDE);
    town_offer_at(town, 0, 0, ON_THE_FAST_SIDE);
    town_run(town, SPATE_NS_PER_S);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BETWEEN), 2);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, BETWEEN, 0)->message, 0);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, BETWEEN, 1)->message, 1);
}
END_TEST

int
main(void)
{
    TCase *crossings = tcase_create("crossings");
    tcase_add_test(crossings, without_a_crossing_bearers_stay_apart);
    tcase_add_test(crossings, a_crossing_goes_one_way);
    tcase_add_test(crossings, two_crossings_go_both_ways);
    tcase_add_test(crossings, what_a_rule_holds_back_is_counted_and_not_sent);
    tcase_add_test(crossings, otherwise_may_refuse_too);
    tcase_add_test(crossings, what_is_held_back_is_still_relayed);
    tcase_add_test(crossings, an_own_message_does_not_cross_at_its_own_node);
    tcase_add_test(crossings, the_hop_limit_ends_at_the_crossing);
    tcase_add_test(crossings, rules_see_only_what_may_still_be_sent);
    tcase_add_test(crossings, of_crossings_to_one_radio_the_first_that_lets_it_pass_sends_it);
    tcase_add_test(crossings, rules_see_hops_and_received_power);
    tcase_add_test(crossings, rules_see_how_busy_the_far_side_was);
    tcase_add_test(crossings, the_flooding_policy_does_not_govern_crossings);
    tcase_add_test(crossings, a_bridge_that_relays_nothing_still_lets_cross);
    tcase_add_test(crossings, of_copies_at_one_instant_the_bearer_first_by_name_is_first);
    tcase_add_test(crossings, of_messages_at_one_instant_the_one_that_was_offered_first_goes_first);
    Suite *suite = suite_create("bridge");
    suite_add_tcase(suite, crossings);
    return run_suite(suite);
}
