/* test-routes.c - ways that frames list, by hand
 *
 * A line of four nodes; without jitter, a frame of the fast bearer lasts TOWN_FRAME_NS, an
 * acknowledgement of 8 bytes 192 us + 51 bytes of 32 us.
 */
#include "town.h"

#include "support/check-main.h"

#define S         SPATE_NS_PER_S
#define ANSWER_NS (1824 * SPATE_NS_PER_US)

static const uint32_t LAST[] = {3};
static const SpateRouteEntry ALONG[] = {{1, -1}, {2, -1}, {3, -1}};

static void
send_to_last(Town *town, SpateRouting routing, uint32_t tries, uint32_t n_offers)
{
    town_start(town);
    town->traffics[0].recipients = LAST;
    town->traffics[0].n_recipients = 1;
    town->traffics[0].routing = routing;
    if (tries > 0)
        town->traffics[0].acknowledgement = (SpateAcknowledgement){tries, S, 8};
    for (uint32_t i = 0; i < n_offers; i++)
        town_offer_at(town, 10 * i * S, 0, 0);
    town_run(town, 10 * n_offers * S);
}

static uint32_t
n_started_between(const Town *town, int64_t from_ns, int64_t to_ns)
{
    uint32_t n = 0;
    for (guint i = 0; i < town->log->len; i++) {
        const TownEntry *entry = town_entry(town, i);
        n +=
            entry->happening == HAPPENED_STARTED && entry->at_ns >= from_ns && entry->at_ns < to_ns;
    }
    return n;
}

/* The first message floods, and so does nothing after it. */
START_TEST(a_source_learns_the_way_of_the_answer)
{
    g_autoptr(Town) town = town_new_line(4);
    send_to_last(town, (SpateRouting){.kind = SPATE_ROUTE_SOURCE}, 2, 2);

    ck_assert_uint_eq(town_count(town, HAPPENED_LEARNED), 2);
    ck_assert_uint_eq(town_find(town, HAPPENED_LEARNED, 0)->hops, 3);
    ck_assert_uint_eq(town_count(town, HAPPENED_UNLEARNED), 0);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 2);
    /* Four nodes send the try; its answer goes back in three hops. */
    ck_assert_uint_eq(n_started_between(town, 0, 10 * S), 4 + 3);
    ck_assert_uint_eq(n_started_between(town, 10 * S, 20 * S), 3 + 3);
    ck_assert_int_eq(town_find(town, HAPPENED_ACKNOWLEDGED, 1)->at_ns,
                     10 * S + 3 * TOWN_FRAME_NS + 3 * ANSWER_NS);
    ck_assert_uint_eq(town_find(town, HAPPENED_DELIVERED, 1)->hops, 3);
}
END_TEST

START_TEST(nobody_relays_along_a_route_but_the_next)
{
    g_autoptr(Town) town = town_new_line(4);
    town_link(town, 0, 2, FAST, 80.0);
    send_to_last(town, (SpateRouting){SPATE_ROUTE_ALONG, ALONG, 3, false}, 0, 1);

    /* The third hears the first too, and leaves it to the second. */
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 3);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, 2), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_REDUNDANT), 0);
    ck_assert_int_eq(town_find(town, HAPPENED_DELIVERED, 0)->at_ns, 3 * TOWN_FRAME_NS);
}
END_TEST

START_TEST(a_probe_comes_home_the_same_way)
{
    g_autoptr(Town) town = town_new_line(4);
    for (uint32_t i = 0; i < 4; i++) {
        town->nodes[i].flooding.hop_limit = 1;
        town->nodes[i].flooding.policy = SPATE_FLOOD_NONE;
    }
    send_to_last(town, (SpateRouting){SPATE_ROUTE_ALONG, ALONG, 3, true}, 0, 1);

    const TownEntry *home = town_find(town, HAPPENED_DELIVERED, 0);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 1);
    ck_assert_uint_eq(home->node, 3);
    ck_assert_uint_eq(home->hops, 6);
    ck_assert_int_eq(home->at_ns, 6 * TOWN_FRAME_NS);
}
END_TEST

START_TEST(the_whole_list_is_in_every_frame)
{
    g_autoptr(Town) town = town_new_line(4);
    for (uint32_t i = 0; i < 4; i++)
        town->nodes[i].flooding.route_record_bytes = 4;
    send_to_last(town, (SpateRouting){SPATE_ROUTE_ALONG, ALONG, 3, true}, 0, 1);

    for (uint32_t i = 0; i < 6; i++)
        ck_assert_uint_eq(town_find(town, HAPPENED_STARTED, i)->bytes,
                          TOWN_PAYLOAD_BYTES + 43 + 3 * 4);
}
END_TEST

static SpateRule
rule_of(SpateRuleAction action)
{
    return (SpateRule){.size_bytes = {NAN, NAN},
                       .hops = {NAN, NAN},
                       .received_dbm = {NAN, NAN},
                       .occupancy_bearer = -1,
                       .action = action};
}

static uint32_t
n_home_past_rules_of(uint32_t node)
{
    g_autoptr(Town) town = town_new_line(4);
    SpateRule hold_back = rule_of(SPATE_RULE_HOLD_BACK);
    town->nodes[node].relay_rules = &hold_back;
    town->nodes[node].n_relay_rules = 1;
    send_to_last(town, (SpateRouting){SPATE_ROUTE_ALONG, ALONG, 3, true}, 0, 1);
    return town_count(town, HAPPENED_DELIVERED);
}

START_TEST(rules_bind_a_probe_but_where_it_turns)
{
    ck_assert_uint_eq(n_home_past_rules_of(3), 1);
    ck_assert_uint_eq(n_home_past_rules_of(2), 0);
}
END_TEST

START_TEST(a_hop_takes_the_first_bearer_in_common)
{
    static const SpateRouteEntry next[] = {{1, -1}};
    static const uint32_t neighbour[] = {1};
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_BOTH);
    town_link(town, 0, 1, FAST, 80.0);
    town_link(town, 0, 1, SLOW, 80.0);
    town_add_traffic(town, "talk");
    town_start(town);
    town->traffics[0].recipients = neighbour;
    town->traffics[0].n_recipients = 1;
    town->traffics[0].routing = (SpateRouting){SPATE_ROUTE_ALONG, next, 1, false};
    town_offer_at(town, 0, 0, 0);
    town_run(town, 5 * S);
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 1);
    ck_assert_uint_eq(town_find(town, HAPPENED_STARTED, 0)->radio, town_radio(town, 0, FAST));
}
END_TEST

/* ---- what is learned ------------------------------------------------------------------------- */

static const uint32_t BEFORE_LAST[] = {2};

static void
learn_ways_to(Town *town, uint32_t traffic, const uint32_t *recipient, int64_t within_ns)
{
    town->traffics[traffic].recipients = recipient;
    town->traffics[traffic].n_recipients = 1;
    town->traffics[traffic].routing = (SpateRouting){.kind = SPATE_ROUTE_SOURCE};
    town->traffics[traffic].acknowledgement = (SpateAcknowledgement){4, within_ns, 8};
}

START_TEST(each_recipient_has_a_route_of_its_own)
{
    g_autoptr(Town) town = town_new_line(4);
    town_add_traffic(town, "news");
    town_start(town);
    learn_ways_to(town, 0, LAST, S);
    learn_ways_to(town, 1, BEFORE_LAST, S);
    town_offer_at(town, 0, 0, 0);
    town_offer_at(town, 10 * S, 1, 0);
    town_run(town, 20 * S);
    ck_assert_uint_eq(town_count(town, HAPPENED_LEARNED), 2);
    ck_assert_uint_eq(town_find(town, HAPPENED_LEARNED, 1)->hops, 2);
    ck_assert_uint_eq(n_started_between(town, 10 * S, 20 * S), 4 + 2);
}
END_TEST

START_TEST(a_route_is_learned_from_an_answer_that_comes_late)
{
    g_autoptr(Town) town = town_new_line(4);
    town_start(town);
    learn_ways_to(town, 0, LAST, 5 * SPATE_NS_PER_MS);
    town->traffics[0].acknowledgement.tries = 1;
    town_offer_at(town, 0, 0, 0);
    town_run(town, 5 * S);
    ck_assert_int_gt(town_find(town, HAPPENED_LEARNED, 0)->at_ns,
                     TOWN_FRAME_NS + 5 * SPATE_NS_PER_MS);
}
END_TEST

#define RECORD_BYTES 4
#define LISTED_NS    (TOWN_FRAME_NS + 3 * RECORD_BYTES * 32 * SPATE_NS_PER_US)

/* Of four tries of the first traffic, the second node lets one pass.  The second message loses its
 * first along the route; before it is missed, the other traffic has learned the way anew.  So the
 * route stays; the next try floods all the same, and only the third goes along it. */
START_TEST(a_route_that_was_learned_anew_stays)
{
    g_autoptr(Town) town = town_new_line(4);
    SpateRule thin = rule_of(SPATE_RULE_THIN);
    thin.size_bytes.above = 10;
    thin.size_bytes.below = 25;
    thin.thin_keep = 1;
    thin.thin_of = 4;
    town->nodes[1].relay_rules = &thin;
    town->nodes[1].n_relay_rules = 1;
    for (uint32_t i = 0; i < 4; i++)
        town->nodes[i].flooding.route_record_bytes = RECORD_BYTES;
    town->traffics[town_add_traffic(town, "news")].payload_bytes = 30;
    town_start(town);
    learn_ways_to(town, 0, LAST, S);
    learn_ways_to(town, 1, LAST, S);
    town_offer_at(town, 0, 0, 0);
    town_offer_at(town, 10 * S, 0, 0);
    town_offer_at(town, 10 * S + S / 2, 1, 0);
    town_run(town, 20 * S);

    ck_assert_uint_eq(town_count(town, HAPPENED_UNLEARNED), 1);
    ck_assert_int_eq(town_find(town, HAPPENED_UNLEARNED, 0)->at_ns,
                     13 * S + LISTED_NS + TOWN_FRAME_NS + LISTED_NS);
    ck_assert_uint_eq(town_count(town, HAPPENED_TRIED), 3);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 3);
}
END_TEST

/* The second node lets only one of four tries pass. */
START_TEST(a_route_that_fails_is_dropped_and_the_next_try_floods)
{
    g_autoptr(Town) town = town_new_line(4);
    SpateRule thin = rule_of(SPATE_RULE_THIN);
    thin.size_bytes.above = 10;
    thin.thin_keep = 1;
    thin.thin_of = 4;
    town->nodes[1].relay_rules = &thin;
    town->nodes[1].n_relay_rules = 1;
    send_to_last(town, (SpateRouting){.kind = SPATE_ROUTE_SOURCE}, 4, 2);

    /* It lets the 1st and the 5th pass: of the second
     * message the try along the route dies, and two floods after it. */
    ck_assert_uint_eq(town_count(town, HAPPENED_UNLEARNED), 1);
    ck_assert_int_eq(town_find(town, HAPPENED_UNLEARNED, 0)->at_ns, 11 * S + TOWN_FRAME_NS);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_LEARNED), 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_TRIED), 3);
}
END_TEST

static const uint32_t ACROSS[] = {2};
static const SpateRouteEntry OVER[] = {{1, FAST}, {2, SLOW}};

static uint32_t
n_delivered_across(bool has_crossing)
{
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_SLOW);
    town_link(town, 0, 1, FAST, 80.0);
    town_link(town, 1, 2, SLOW, 80.0);
    town_add_traffic(town, "talk");
    if (has_crossing)
        town_add_crossing(town, 1, FAST, SLOW, NULL, 0);
    town_start(town);
    town->traffics[0].recipients = ACROSS;
    town->traffics[0].n_recipients = 1;
    town->traffics[0].routing = (SpateRouting){SPATE_ROUTE_ALONG, OVER, 2, false};
    town_offer_at(town, 0, 0, 0);
    town_run(town, 5 * S);
    return town_count(town, HAPPENED_DELIVERED);
}

START_TEST(only_a_crossing_leads_to_another_bearer)
{
    ck_assert_uint_eq(n_delivered_across(true), 1);
    ck_assert_uint_eq(n_delivered_across(false), 0);
}
END_TEST

CHECK_MAIN("routes", a_source_learns_the_way_of_the_answer,
           nobody_relays_along_a_route_but_the_next, a_probe_comes_home_the_same_way,
           the_whole_list_is_in_every_frame, rules_bind_a_probe_but_where_it_turns,
           a_hop_takes_the_first_bearer_in_common, each_recipient_has_a_route_of_its_own,
           a_route_is_learned_from_an_answer_that_comes_late, a_route_that_was_learned_anew_stays,
           a_route_that_fails_is_dropped_and_the_next_try_floods,
           only_a_crossing_leads_to_another_bearer)
