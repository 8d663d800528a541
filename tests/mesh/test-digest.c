/* test-digest.c - several messages in one frame
 *
 *     n00  fast              the yard: readings
 *     n01  fast and slow     the bridge, which makes digests
 *     n02  slow              the valley
 *
 * Expected instants are worked out by hand from the times on air: without jitter, a frame of the
 * yard lasts TOWN_FRAME_NS.
 */
#include "town.h"

#include "support/check-main.h"
#include <math.h>

enum { YARD, BRIDGE, VALLEY };
enum { READINGS, TALK };

#define S SPATE_NS_PER_S

static SpateRule
digest_rule(int64_t every_ns, uint32_t most)
{
    return (SpateRule){.size_bytes = {NAN, NAN},
                       .hops = {NAN, NAN},
                       .received_dbm = {NAN, NAN},
                       .occupancy_bearer = -1,
                       .action = SPATE_RULE_DIGEST,
                       .digest_every_ns = every_ns,
                       .digest_most = most};
}

static Town *
town_with_digest(SpateRule *rule)
{
    Town *town = town_new();
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_SLOW);
    town_link(town, YARD, BRIDGE, FAST, 80.0);
    town_link(town, BRIDGE, VALLEY, SLOW, 80.0);
    town_add_traffic(town, "readings");
    town_add_traffic(town, "talk");
    town_add_crossing(town, BRIDGE, FAST, SLOW, rule, 1);
    return town;
}

static int64_t
slow_airtime_ns(const Town *town, size_t bytes)
{
    const SpateModulation *slow = &town->bearers[SLOW].modulation;
    return slow->kind->airtime_ns(slow, bytes);
}

/* What the bridge sent on the slow bearer; aborts if there is no n-th. */
static const TownEntry *
digest_sent(const Town *town, uint32_t n)
{
    uint32_t radio = town_radio(town, BRIDGE, SLOW);
    for (uint32_t i = 0;; i++) {
        const TownEntry *entry = town_find_at(town, HAPPENED_STARTED, BRIDGE, i);
        if (entry->radio == radio && n-- == 0)
            return entry;
    }
}

static uint32_t
n_digests_sent(const Town *town)
{
    uint32_t radio = town_radio(town, BRIDGE, SLOW), n = 0;
    for (guint i = 0; i < town->log->len; i++) {
        const TownEntry *entry = town_entry(town, i);
        n += entry->happening == HAPPENED_STARTED && entry->radio == radio;
    }
    return n;
}

static void
offer_each_second(Town *town, const uint32_t *traffics, uint32_t n)
{
    town_start(town);
    for (uint32_t i = 0; i < n; i++)
        town_offer_at(town, i * S, traffics[i], YARD);
    town_run(town, 100 * S);
}

START_TEST(a_full_digest_goes_at_once_and_arrives_as_what_it_carries)
{
    SpateRule rule = digest_rule(3600 * S, 3);
    g_autoptr(Town) town = town_with_digest(&rule);
    offer_each_second(town, (const uint32_t[]){READINGS, READINGS, READINGS}, 3);

    ck_assert_uint_eq(n_digests_sent(town), 1);
    ck_assert_uint_eq(digest_sent(town, 0)->bytes, 3 * TOWN_PAYLOAD_BYTES);
    ck_assert_uint_eq(digest_sent(town, 0)->hops, 1);
    ck_assert_int_eq(digest_sent(town, 0)->at_ns, 2 * S + TOWN_FRAME_NS);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 3);
    int64_t arrival_ns =
        2 * S + TOWN_FRAME_NS + slow_airtime_ns(town, 3 * (size_t)TOWN_PAYLOAD_BYTES);
    for (uint32_t i = 0; i < 3; i++) {
        const TownEntry *delivery = town_find_at(town, HAPPENED_DELIVERED, VALLEY, i);
        ck_assert_uint_eq(delivery->message, i);
        ck_assert_int_eq(delivery->at_ns, arrival_ns);
        ck_assert_uint_eq(delivery->hops, 2); /* to the bridge, and in the digest */
    }
}
END_TEST

START_TEST(no_message_waits_longer_than_every)
{
    SpateRule rule = digest_rule(5 * S, 100);
    g_autoptr(Town) town = town_with_digest(&rule);
    town_start(town);
    const int64_t offers_s[] = {0, 4, 6};
    for (uint32_t i = 0; i < 3; i++)
        town_offer_at(town, offers_s[i] * S, READINGS, YARD);
    town_run(town, 100 * S);

    /* The first two together, five seconds after the first came; the third five after itself. */
    ck_assert_uint_eq(n_digests_sent(town), 2);
    ck_assert_int_eq(digest_sent(town, 0)->at_ns, 5 * S + TOWN_FRAME_NS);
    ck_assert_uint_eq(digest_sent(town, 0)->bytes, 2 * TOWN_PAYLOAD_BYTES);
    ck_assert_int_eq(digest_sent(town, 1)->at_ns, 11 * S + TOWN_FRAME_NS);
    ck_assert_uint_eq(digest_sent(town, 1)->bytes, TOWN_PAYLOAD_BYTES);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 3);
}
END_TEST

START_TEST(a_digest_is_never_longer_than_a_frame)
{
    SpateRule rule = digest_rule(10 * S, 0);
    g_autoptr(Town) town = town_with_digest(&rule);
    town->bearers[SLOW].largest_frame_bytes = 3 * TOWN_PAYLOAD_BYTES - 1;
    offer_each_second(town, (const uint32_t[]){READINGS, READINGS, READINGS}, 3);

    /* The third has no room: the first two go when it comes. */
    ck_assert_uint_eq(n_digests_sent(town), 2);
    ck_assert_int_eq(digest_sent(town, 0)->at_ns, 2 * S + TOWN_FRAME_NS);
    ck_assert_uint_eq(digest_sent(town, 0)->bytes, 2 * TOWN_PAYLOAD_BYTES);
    ck_assert_int_eq(digest_sent(town, 1)->at_ns, 12 * S + TOWN_FRAME_NS);
    ck_assert_uint_eq(town_count(town, HAPPENED_DROPPED), 0);
}
END_TEST

START_TEST(a_digest_may_fill_a_frame_to_its_last_byte)
{
    SpateRule rule = digest_rule(10 * S, 0);
    g_autoptr(Town) town = town_with_digest(&rule);
    town->bearers[SLOW].overhead_bytes = 5;
    town->bearers[SLOW].largest_frame_bytes = 3 * TOWN_PAYLOAD_BYTES + 5;
    offer_each_second(town, (const uint32_t[]){READINGS, READINGS, READINGS}, 3);

    ck_assert_uint_eq(n_digests_sent(town), 1);
    ck_assert_int_eq(digest_sent(town, 0)->at_ns, 10 * S + TOWN_FRAME_NS);
    ck_assert_uint_eq(digest_sent(town, 0)->bytes, 3 * TOWN_PAYLOAD_BYTES + 5);
    ck_assert_uint_eq(town_count(town, HAPPENED_DROPPED), 0);
}
END_TEST

START_TEST(each_traffic_has_digests_of_its_own)
{
    SpateRule rule = digest_rule(3600 * S, 2);
    g_autoptr(Town) town = town_with_digest(&rule);
    offer_each_second(town, (const uint32_t[]){READINGS, TALK, TALK, READINGS}, 4);

    ck_assert_uint_eq(n_digests_sent(town), 2);
    ck_assert_uint_eq(digest_sent(town, 0)->traffic, TALK);
    ck_assert_uint_eq(digest_sent(town, 1)->traffic, READINGS);
}
END_TEST

START_TEST(a_source_gets_nothing_of_its_own_from_a_digest)
{
    static bool on_fast[] = {true, false};
    SpateRule rule = digest_rule(3600 * S, 2);
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_BOTH);
    town_link(town, YARD, BRIDGE, FAST, 80.0);
    town_link(town, YARD, BRIDGE, SLOW, 80.0);
    town_add_traffic(town, "readings");
    town->traffics[READINGS].on_bearers = on_fast;
    town_add_crossing(town, BRIDGE, FAST, SLOW, &rule, 1);
    offer_each_second(town, (const uint32_t[]){READINGS, READINGS}, 2);

    ck_assert_uint_eq(n_digests_sent(town), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_ARRIVED, YARD), 1); /* the digest */
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, YARD), 0);
}
END_TEST

/* The bridge hears its digest again from the valley, and knows it. */
START_TEST(a_digest_floods_as_one_message)
{
    SpateRule rule = digest_rule(3600 * S, 2);
    g_autoptr(Town) town = town_with_digest(&rule);
    uint32_t beyond = town_add_node(town, ON_SLOW);
    town_link(town, VALLEY, beyond, SLOW, 80.0);
    offer_each_second(town, (const uint32_t[]){READINGS, READINGS}, 2);

    ck_assert_uint_eq(n_digests_sent(town), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, VALLEY), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, beyond), 2);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DELIVERED, beyond, 0)->hops, 3);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DELIVERED, beyond, 1)->hops, 3);
}
END_TEST

START_TEST(what_waits_for_a_digest_crosses_nowhere_else)
{
    SpateRule rule = digest_rule(3600 * S, 2);
    g_autoptr(Town) town = town_with_digest(&rule);
    town_add_crossing(town, BRIDGE, FAST, SLOW, NULL, 0);
    offer_each_second(town, (const uint32_t[]){READINGS}, 1);

    ck_assert_uint_eq(n_digests_sent(town), 0);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DECIDED, BRIDGE, 1)->what,
                      SPATE_DECISION_COLLECT);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DECIDED, BRIDGE, 2)->what,
                      SPATE_DECISION_IS_WAITING);
}
END_TEST

/* The valley collects the bridge's digests on their way to the node beyond it. */
START_TEST(a_digest_of_digests_arrives_as_the_first_messages)
{
    SpateRule pairs = digest_rule(3600 * S, 2), pairs_of_pairs = digest_rule(3600 * S, 2);
    g_autoptr(Town) town = town_with_digest(&pairs);
    uint32_t beyond = town_add_node(town, ON_SLOW);
    town_link(town, VALLEY, beyond, SLOW, 80.0);
    town->nodes[VALLEY].relay_rules = &pairs_of_pairs;
    town->nodes[VALLEY].n_relay_rules = 1;
    offer_each_second(town, (const uint32_t[]){READINGS, READINGS, READINGS, READINGS}, 4);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, VALLEY), 1);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, VALLEY, 0)->bytes,
                      4 * TOWN_PAYLOAD_BYTES);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, beyond), 4);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DELIVERED, beyond, 3)->hops, 3);
}
END_TEST

/* Two bridges that make digests of each other's digests, for ever. */
START_TEST(digests_that_go_in_circles_hold_what_they_carry_alone)
{
    SpateRule at_once = digest_rule(3600 * S, 1);
    g_autoptr(Town) town = town_with_digest(&at_once);
    uint32_t back = town_add_node(town, ON_BOTH);
    town_link(town, back, BRIDGE, SLOW, 80.0);
    town_link(town, back, BRIDGE, FAST, 80.0);
    town_add_crossing(town, back, SLOW, FAST, &at_once, 1);
    for (uint32_t node = 0; node < town->n_nodes; node++)
        town->nodes[node].flooding.policy = SPATE_FLOOD_NONE;
    offer_each_second(town, (const uint32_t[]){READINGS}, 1);

    ck_assert_uint_gt(n_digests_sent(town), 100);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, VALLEY), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, back), 1);
    /* The reading, and the digests of the last two rounds at most. */
    ck_assert_uint_le(spate_mesh_burden(town->mesh).messages, 6);
}
END_TEST

/* The node asks the same rules of what it relays on either bearer. */
START_TEST(each_radio_has_digests_of_its_own)
{
    SpateRule rule = digest_rule(3600 * S, 2);
    g_autoptr(Town) town = town_with_digest(&rule);
    town->n_crossings = 0;
    town->nodes[BRIDGE].relay_rules = &rule;
    town->nodes[BRIDGE].n_relay_rules = 1;
    town_start(town);
    town_offer_at(town, 0, READINGS, YARD);
    town_offer_at(town, 1 * S, READINGS, VALLEY);
    town_offer_at(town, 2 * S, READINGS, VALLEY);
    town_run(town, 100 * S);

    ck_assert_uint_eq(n_digests_sent(town), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, BRIDGE), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_ARRIVED, YARD), 0);
}
END_TEST

CHECK_MAIN("digest", a_full_digest_goes_at_once_and_arrives_as_what_it_carries,
           no_message_waits_longer_than_every, a_digest_is_never_longer_than_a_frame,
           a_digest_may_fill_a_frame_to_its_last_byte, each_traffic_has_digests_of_its_own,
           a_source_gets_nothing_of_its_own_from_a_digest, a_digest_floods_as_one_message,
           what_waits_for_a_digest_crosses_nowhere_else,
           a_digest_of_digests_arrives_as_the_first_messages,
           digests_that_go_in_circles_hold_what_they_carry_alone, each_radio_has_digests_of_its_own)
