/* test-delay.c - messages that wait for a quieter channel
 *
 * The bridge (n01, fast and slow) hears the slow bearer as busy as the valley (n02) makes it.  A
 * bound that any frame of the last five minutes exceeds lets a message wait until that frame is
 * five minutes old; occupancy is looked at each second.
 */
#include "town.h"

#include "support/check-main.h"
#include <math.h>

enum { YARD, BRIDGE, VALLEY };

#define S      SPATE_NS_PER_S
#define SILENT 1e-9 /* a share that any frame exceeds */

static SpateRule
delay_rule(double until_below, int64_t at_most_ns)
{
    return (SpateRule){.size_bytes = {NAN, NAN},
                       .hops = {NAN, NAN},
                       .received_dbm = {NAN, NAN},
                       .occupancy_bearer = -1,
                       .action = SPATE_RULE_DELAY,
                       .delay_until_below = until_below,
                       .delay_at_most_ns = at_most_ns};
}

/* The valley sends at 10 s, the yard at 20 s. */
static Town *
run_with(SpateRule *rule)
{
    Town *town = town_new();
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_SLOW);
    town_link(town, YARD, BRIDGE, FAST, 80.0);
    town_link(town, BRIDGE, VALLEY, SLOW, 80.0);
    town_add_traffic(town, "talk");
    town->radios[town_radio(town, BRIDGE, SLOW)].relays = false;
    town_add_crossing(town, BRIDGE, FAST, SLOW, rule, 1);
    town_start(town);
    town_offer_at(town, 10 * S, 0, VALLEY);
    town_offer_at(town, 20 * S, 0, YARD);
    town_run(town, 1000 * S);
    return town;
}

static const TownEntry *
crossed(const Town *town)
{
    return town_find_at(town, HAPPENED_STARTED, BRIDGE, 1); /* the first is the relay in the yard */
}

START_TEST(a_quiet_channel_lets_it_pass_at_once)
{
    SpateRule rule = delay_rule(0.5, 600 * S);
    g_autoptr(Town) town = run_with(&rule);
    ck_assert_int_eq(crossed(town)->at_ns, 20 * S + TOWN_FRAME_NS);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DECIDED, BRIDGE, 2)->what, SPATE_DECISION_SEND);
}
END_TEST

/* The valley's frame of 10 s ends before 11 s: it is in the sample of 11 s, and no longer in the
 * difference of the samples of 311 s and 11 s. */
START_TEST(it_goes_when_the_channel_has_been_quiet)
{
    SpateRule rule = delay_rule(SILENT, 600 * S);
    g_autoptr(Town) town = run_with(&rule);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DECIDED, BRIDGE, 2)->what, SPATE_DECISION_DELAY);
    ck_assert_int_eq(crossed(town)->at_ns, 311 * S);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 0);
}
END_TEST

/* "Less than": at the very share of the valley's frame it waits, at 1 ns more it does not. */
START_TEST(at_its_bound_the_channel_is_not_quiet_yet)
{
    SpateRule rule = delay_rule(SILENT, 60 * S);
    g_autoptr(Town) sizes = run_with(&rule);
    int64_t frame_ns = town_find_at(sizes, HAPPENED_ENDED, VALLEY, 0)->at_ns - 10 * S;
    for (int more_ns = 0; more_ns <= 1; more_ns++) {
        rule = delay_rule((double)(frame_ns + more_ns) / (300.0 * S), 600 * S);
        g_autoptr(Town) town = run_with(&rule);
        ck_assert_int_eq(crossed(town)->at_ns, more_ns == 0 ? 311 * S : 20 * S + TOWN_FRAME_NS);
    }
}
END_TEST

START_TEST(it_waits_no_longer_than_it_may)
{
    SpateRule rule = delay_rule(SILENT, 60 * S);
    g_autoptr(Town) town = run_with(&rule);
    ck_assert_int_eq(crossed(town)->at_ns, 80 * S + TOWN_FRAME_NS);
}
END_TEST

START_TEST(those_that_waited_go_in_the_order_in_which_they_came)
{
    SpateRule rule = delay_rule(SILENT, 600 * S);
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_SLOW);
    town_link(town, YARD, BRIDGE, FAST, 80.0);
    town_link(town, BRIDGE, VALLEY, SLOW, 80.0);
    town_add_traffic(town, "talk");
    town->radios[town_radio(town, BRIDGE, FAST)].relays = false;
    town->radios[town_radio(town, BRIDGE, SLOW)].relays = false;
    town_add_crossing(town, BRIDGE, FAST, SLOW, &rule, 1);
    town_start(town);
    town_offer_at(town, 10 * S, 0, VALLEY);
    for (uint32_t i = 0; i < 3; i++)
        town_offer_at(town, (20 + i) * S, 0, YARD);
    town_run(town, 1000 * S);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BRIDGE), 3);
    for (uint32_t i = 0; i < 3; i++)
        ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, BRIDGE, i)->message, 1 + i);
}
END_TEST

/* A relay that waits for a quieter channel is cancelled as any other (Ni et al. 1999). */
START_TEST(copies_cancel_a_delayed_relay)
{
    SpateRule rule = delay_rule(SILENT, 600 * S);
    g_autoptr(Town) town = town_new_line(3);
    town_link(town, 0, 2, FAST, 80.0);
    town->nodes[1].relay_rules = &rule;
    town->nodes[1].n_relay_rules = 1;
    town->nodes[1].flooding.policy = SPATE_FLOOD_COUNTER;
    town->nodes[1].flooding.copies = 1;
    town_start(town);
    town_offer_at(town, 0, 0, 0);
    town_offer_at(town, 10 * S, 0, 0); /* node 2 relays it and node 1 hears that */
    town_run(town, 1000 * S);

    ck_assert_uint_eq(town_find_at(town, HAPPENED_DECIDED, 1, 1)->what, SPATE_DECISION_DELAY);
    /* The first, at once; the second never. */
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, 1), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, 2), 2);
}
END_TEST

CHECK_MAIN("delay", a_quiet_channel_lets_it_pass_at_once, it_goes_when_the_channel_has_been_quiet,
           at_its_bound_the_channel_is_not_quiet_yet, it_waits_no_longer_than_it_may,
           those_that_waited_go_in_the_order_in_which_they_came, copies_cancel_a_delayed_relay)
