/* test-decisions.c - observers hear what each node decided about each first copy, and why */
#include "town.h"

#include "support/check-main.h"
#include <math.h>

/* What node 1 of a line decided about the message of node 0; `n` counts its decisions. */
static const TownEntry *
decision_of(const Town *town, uint32_t n)
{
    return town_find_at(town, HAPPENED_DECIDED, 1, n);
}

static void
offer_and_run(Town *town)
{
    town_start(town);
    town_offer_at(town, 0, 0, 0);
    town_run(town, SPATE_NS_PER_S);
}

START_TEST(a_first_copy_arrives_before_it_is_decided_about)
{
    g_autoptr(Town) town = town_new_line(3);
    offer_and_run(town);
    const TownEntry *arrival = town_find_at(town, HAPPENED_ARRIVED, 1, 0);
    ck_assert_int_eq(arrival->at_ns, TOWN_FRAME_NS);
    ck_assert_uint_eq(arrival->hops, 1);
    ck_assert(arrival < decision_of(town, 0));
    ck_assert_uint_eq(decision_of(town, 0)->what, SPATE_DECISION_SEND);
    /* Node 0 hears its own message again: that is no arrival. */
    ck_assert_uint_eq(town_count(town, HAPPENED_ARRIVED), 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_DECIDED), 2);
}
END_TEST

START_TEST(a_node_that_does_not_relay_says_so)
{
    g_autoptr(Town) town = town_new_line(3);
    town->radios[town_radio(town, 1, FAST)].relays = false;
    offer_and_run(town);
    ck_assert_uint_eq(decision_of(town, 0)->what, SPATE_DECISION_NO_RELAY);
}
END_TEST

START_TEST(the_hop_limit_is_a_reason)
{
    g_autoptr(Town) town = town_new_line(3);
    town->nodes[1].flooding.hop_limit = 1;
    offer_and_run(town);
    ck_assert_uint_eq(decision_of(town, 0)->what, SPATE_DECISION_HOP_LIMIT);
}
END_TEST

START_TEST(a_rule_is_a_reason)
{
    g_autoptr(Town) town = town_new_line(3);
    SpateRule rule = {.size_bytes = {NAN, NAN},
                      .hops = {NAN, NAN},
                      .received_dbm = {NAN, NAN},
                      .occupancy_bearer = -1,
                      .action = SPATE_RULE_HOLD_BACK};
    town->nodes[1].relay_rules = &rule;
    town->nodes[1].n_relay_rules = 1;
    offer_and_run(town);
    ck_assert_uint_eq(decision_of(town, 0)->what, SPATE_DECISION_HELD_BACK);
    /* Only crossings hold back. */
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 0);
}
END_TEST

START_TEST(the_policy_is_a_reason)
{
    g_autoptr(Town) town = town_new_line(3);
    town->nodes[1].flooding.policy = SPATE_FLOOD_NONE;
    offer_and_run(town);
    ck_assert_uint_eq(decision_of(town, 0)->what, SPATE_DECISION_POLICY);
}
END_TEST

START_TEST(a_second_crossing_finds_the_message_waiting)
{
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_link(town, 0, 1, FAST, 80.0);
    town_add_traffic(town, "talk");
    town_add_crossing(town, 1, FAST, SLOW, NULL, 0);
    town_add_crossing(town, 1, FAST, SLOW, NULL, 0);
    offer_and_run(town);
    ck_assert_uint_eq(decision_of(town, 0)->what, SPATE_DECISION_SEND); /* the relay */
    ck_assert_uint_eq(decision_of(town, 1)->what, SPATE_DECISION_SEND);
    ck_assert_uint_eq(decision_of(town, 2)->what, SPATE_DECISION_IS_WAITING);
}
END_TEST

CHECK_MAIN("decisions", a_first_copy_arrives_before_it_is_decided_about,
           a_node_that_does_not_relay_says_so, the_hop_limit_is_a_reason, a_rule_is_a_reason,
           the_policy_is_a_reason, a_second_crossing_finds_the_message_waiting)
