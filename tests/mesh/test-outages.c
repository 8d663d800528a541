/* test-outages.c - what a node loses when it fails, and what it keeps, by hand
 *
 * Without jitter, on the fast bearer: a frame lasts TOWN_FRAME_NS, and a radio that comes back
 * within 96 us of its start, half of the preamble, still locks on it.
 */
#include "town.h"

#include "support/check-main.h"

#include <math.h>

#define US SPATE_NS_PER_US
#define MS SPATE_NS_PER_MS
#define S  SPATE_NS_PER_S

static const uint32_t SECOND[] = {1};

static void
play(Town *town)
{
    town_start(town);
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);
}

static uint32_t
count_lost(const Town *town)
{
    uint32_t n = 0;
    for (guint i = 0; i < town->log->len; i++) {
        const TownEntry *entry = town_entry(town, i);
        n += (entry->happening == HAPPENED_DROPPED || entry->happening == HAPPENED_CANCELLED) &&
             entry->what == SPATE_DROP_OUTAGE;
    }
    return n;
}

START_TEST(nothing_gets_past_a_node_that_is_down)
{
    g_autoptr(Town) town = town_new_line(3);
    town_add_outage(town, 1, 0, 1 * S);
    town_start(town);
    town_offer_at(town, 0, 0, 0);
    town_offer_at(town, 1 * S, 0, 0);
    town_run(town, 10 * S);

    /* The second message is offered at the instant at which the node is back. */
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 2);
    ck_assert_uint_eq(town_find(town, HAPPENED_DELIVERED, 0)->message, 1);
    ck_assert_uint_eq(town_find(town, HAPPENED_ENDED, 0)->what, 0);
    ck_assert_int_eq(town_find(town, HAPPENED_WENT_DOWN, 0)->at_ns, 0);
    ck_assert_int_eq(town_find(town, HAPPENED_CAME_BACK, 0)->at_ns, 1 * S);
}
END_TEST

START_TEST(a_frame_on_the_air_goes_on_to_its_end)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_outage(town, 0, TOWN_FRAME_NS / 2, 1 * S);
    play(town);

    ck_assert_int_eq(town_find(town, HAPPENED_DELIVERED, 0)->at_ns, TOWN_FRAME_NS);
    ck_assert_uint_eq(count_lost(town), 0);
}
END_TEST

START_TEST(a_frame_that_would_begin_then_does_not)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_outage(town, 1, TOWN_FRAME_NS, 1 * S);
    play(town);

    /* It received the message, and its relay has no time to begin. */
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 1);
    ck_assert_uint_eq(count_lost(town), 1);
}
END_TEST

START_TEST(what_waits_in_a_queue_is_lost)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_outage(town, 0, 1 * US, 1 * S);
    town_start(town);
    for (int i = 0; i < 4; i++)
        town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);

    /* One is on the air. */
    ck_assert_uint_eq(town_count_drops(town, SPATE_DROP_OUTAGE), 3);
    ck_assert_uint_eq(spate_mesh_queue_counts(town->mesh).dropped[SPATE_DROP_OUTAGE], 3);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 1);
}
END_TEST

START_TEST(what_waits_for_its_jitter_is_lost)
{
    g_autoptr(Town) town = town_new_line(3);
    town->nodes[1].flooding.jitter_airtimes = 1000.0;
    town_add_outage(town, 1, TOWN_FRAME_NS + 1 * US, 1 * US);
    play(town);

    ck_assert_uint_eq(town_count(town, HAPPENED_CANCELLED), 1);
    ck_assert_uint_eq(town_find(town, HAPPENED_CANCELLED, 0)->what, SPATE_DROP_OUTAGE);
    /* It had not reached a queue. */
    ck_assert_uint_eq(spate_mesh_queue_counts(town->mesh).dropped[SPATE_DROP_OUTAGE], 0);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 2), 0);
    ck_assert_uint_eq(spate_mesh_burden(town->mesh).messages, 0);
}
END_TEST

/* The outage is over before the third node's frame begins. */
START_TEST(a_message_is_new_again_and_delivered_once)
{
    g_autoptr(Town) town = town_new_line(3);
    town_add_outage(town, 1, 2 * TOWN_FRAME_NS - 100 * US, 50 * US);
    play(town);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_ARRIVED, 1), 2);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, 1), 2);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 1), 1);
    ck_assert_uint_eq(spate_mesh_burden(town->mesh).messages, 0);
}
END_TEST

START_TEST(a_bounded_memory_is_lost_as_well)
{
    g_autoptr(Town) town = town_new_line(3);
    town->nodes[1].flooding.duplicates_entries = 3;
    town_add_outage(town, 1, 2 * TOWN_FRAME_NS - 100 * US, 50 * US);
    play(town);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_ARRIVED, 1), 2);
}
END_TEST

START_TEST(its_own_message_is_never_new_to_a_node)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_outage(town, 0, TOWN_FRAME_NS / 2, 1 * US);
    play(town);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_ARRIVED, 0), 0);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_REDUNDANT, 0), 1);
}
END_TEST

START_TEST(what_is_offered_in_an_outage_is_lost)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_outage(town, 0, 0, 1 * S);
    town_start(town);
    town->traffics[0].recipients = SECOND;
    town->traffics[0].n_recipients = 1;
    town->traffics[0].acknowledgement = (SpateAcknowledgement){3, 50 * MS, 8};
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);

    ck_assert_uint_eq(town_count(town, HAPPENED_OFFERED), 1);
    ck_assert_uint_eq(town_find(town, HAPPENED_OFFERED, 0)->what, true);
    ck_assert_uint_eq(town_count(town, HAPPENED_QUEUED) + town_count(town, HAPPENED_TRIED), 0);
    ck_assert_uint_eq(spate_mesh_burden(town->mesh).messages, 0);
}
END_TEST

/* Further tries of a message to a recipient that is down all the time: the time for an answer is
 * over at TOWN_FRAME_NS + 50 ms. */
static uint32_t
tries_when_down(int64_t at_ns, int64_t for_ns)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_outage(town, 1, 0, 100 * S);
    town_add_outage(town, 0, at_ns, for_ns);
    town_start(town);
    town->traffics[0].recipients = SECOND;
    town->traffics[0].n_recipients = 1;
    town->traffics[0].acknowledgement = (SpateAcknowledgement){3, 50 * MS, 8};
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);
    ck_assert_uint_eq(spate_mesh_burden(town->mesh).messages, 0);
    return town_count(town, HAPPENED_TRIED);
}

START_TEST(tries_survive_but_what_falls_due_in_an_outage_is_lost)
{
    const int64_t due_ns = TOWN_FRAME_NS + 50 * MS;
    ck_assert_uint_eq(tries_when_down(5 * S, 1 * S), 2);
    ck_assert_uint_eq(tries_when_down(10 * MS, 5 * MS), 2);
    ck_assert_uint_eq(tries_when_down(10 * MS, due_ns - 10 * MS), 2);
    ck_assert_uint_eq(tries_when_down(10 * MS, due_ns - 10 * MS + 1), 0);
    ck_assert_uint_eq(tries_when_down(due_ns, 1), 0);
    ck_assert_uint_eq(tries_when_down(due_ns + 1, 5 * MS), 2);
}
END_TEST

START_TEST(outages_that_overlap_or_meet_are_one)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_outage(town, 1, 20 * MS, 10 * MS);
    town_add_outage(town, 1, 10 * MS, 5 * MS);
    town_add_outage(town, 1, 12 * MS, 8 * MS);
    town_add_outage(town, 1, 40 * MS, 10 * MS);
    play(town);

    ck_assert_uint_eq(town_count(town, HAPPENED_WENT_DOWN), 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_CAME_BACK), 2);
    ck_assert_int_eq(town_find(town, HAPPENED_WENT_DOWN, 0)->at_ns, 10 * MS);
    ck_assert_int_eq(town_find(town, HAPPENED_CAME_BACK, 0)->at_ns, 30 * MS);
    ck_assert_int_eq(town_find(town, HAPPENED_CAME_BACK, 1)->at_ns, 50 * MS);
}
END_TEST

/* When the first node, or both, went down first, by chance: the means are one second. */
static int64_t
first_failure_ns(uint32_t first, uint32_t n_nodes, uint64_t seed)
{
    g_autoptr(Town) town = town_new_line(2);
    static const uint32_t both[] = {0, 1};
    town->seed = seed;
    town->outages[town->n_outages++] = (SpateOutage){
        .nodes = both + first, .n_nodes = n_nodes, .mean_between_ns = S, .mean_time_ns = S};
    play(town);
    return town_find_at(town, HAPPENED_WENT_DOWN, first, 0)->at_ns;
}

START_TEST(each_node_fails_by_draws_of_its_own)
{
    int64_t alone_ns = first_failure_ns(0, 1, 7), other_ns = first_failure_ns(1, 1, 7);
    ck_assert_int_eq(first_failure_ns(0, 2, 7), alone_ns);
    ck_assert_int_ne(alone_ns, other_ns);
    ck_assert_int_ne(first_failure_ns(0, 1, 8), alone_ns);
}
END_TEST

/* The draws of a node's second entry do not hang on whether its first one ever happens. */
static int64_t
second_entry_fails_ns(SpateOutage first)
{
    g_autoptr(Town) town = town_new_line(2);
    town->seed = 7;
    town->outages[town->n_outages++] = first;
    town->outages[town->n_outages++] =
        (SpateOutage){.nodes = SECOND, .n_nodes = 1, .mean_between_ns = S, .mean_time_ns = S};
    play(town);
    return town_find_at(town, HAPPENED_WENT_DOWN, 1, 0)->at_ns;
}

START_TEST(an_outage_that_is_left_out_leaves_the_draws_of_others)
{
    SpateOutage drawn = {.nodes = SECOND, .n_nodes = 1, .mean_between_ns = S, .mean_time_ns = S};
    SpateOutage rare = drawn, given = {.nodes = SECOND, .n_nodes = 1, .at_ns = 0, .for_ns = S};
    rare.mean_between_ns = INT64_C(1000000) * S;
    drawn.is_left_out = given.is_left_out = true;
    ck_assert_int_eq(second_entry_fails_ns(drawn), second_entry_fails_ns(rare));
    ck_assert_int_eq(second_entry_fails_ns(given), first_failure_ns(1, 1, 7));
}
END_TEST

/* The bucket holds one token, and a second one comes after an hour. */
START_TEST(token_buckets_are_full_again)
{
    g_autoptr(Town) town = town_new();
    SpateRule limit = {.action = SPATE_RULE_LIMIT, .limit_per_s = 1.0 / 3600, .limit_burst = 1.0};
    limit.size_bytes = limit.hops = limit.received_dbm = (SpateBounds){NAN, NAN};
    limit.occupancy_bearer = -1;
    for (int i = 0; i < 3; i++)
        town_add_node(town, i == 0 ? ON_FAST : i == 1 ? ON_BOTH : ON_SLOW);
    town_link(town, 0, 1, FAST, 80.0);
    town_link(town, 1, 2, SLOW, 80.0);
    town_add_traffic(town, "talk");
    town_add_crossing(town, 1, FAST, SLOW, &limit, 1);
    town->nodes[1].relay_rules = &limit;
    town->nodes[1].n_relay_rules = 1;
    town_add_outage(town, 1, 3 * S, 1 * S);
    town_start(town);
    for (int i = 0; i < 4; i++)
        town_offer_at(town, 2 * i * S, 0, 0);
    town_run(town, 20 * S);

    /* The first message, and the first after the outage. */
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 2);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 2), 2);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DELIVERED, 2, 0)->message, 0);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_DELIVERED, 2, 1)->message, 2);
    /* So with those of the relay. */
    uint32_t n_relayed = 0;
    for (guint i = 0; i < town->log->len; i++)
        n_relayed += town_entry(town, i)->happening == HAPPENED_STARTED &&
                     town_entry(town, i)->radio == town_radio(town, 1, FAST);
    ck_assert_uint_eq(n_relayed, 2);
}
END_TEST

/* They wait at the bridge for ten seconds. */
START_TEST(delays_and_digests_are_lost_and_count_as_no_drop)
{
    for (int i = 0; i < 2; i++) {
        g_autoptr(Town) town = town_new();
        SpateRule rule = {.action = i == 0 ? SPATE_RULE_DIGEST : SPATE_RULE_DELAY,
                          .digest_every_ns = 10 * S,
                          .delay_until_below = 0.0,
                          .delay_at_most_ns = 10 * S,
                          .occupancy_bearer = -1};
        rule.size_bytes = rule.hops = rule.received_dbm = (SpateBounds){NAN, NAN};
        for (int n = 0; n < 3; n++)
            town_add_node(town, n == 0 ? ON_FAST : n == 1 ? ON_BOTH : ON_SLOW);
        town_link(town, 0, 1, FAST, 80.0);
        town_link(town, 1, 2, SLOW, 80.0);
        town_add_traffic(town, "talk");
        town_add_crossing(town, 1, FAST, SLOW, &rule, 1);
        town_add_outage(town, 1, 5 * S, 1 * S);
        town_start(town);
        town_offer_at(town, 0, 0, 0);
        town_run(town, 30 * S);

        ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 2), 0);
        ck_assert_uint_eq(count_lost(town), 0);
        ck_assert_uint_eq(spate_mesh_burden(town->mesh).messages, 0);
    }
}
END_TEST

CHECK_MAIN("outages", nothing_gets_past_a_node_that_is_down, a_frame_on_the_air_goes_on_to_its_end,
           a_frame_that_would_begin_then_does_not, what_waits_in_a_queue_is_lost,
           what_waits_for_its_jitter_is_lost, a_message_is_new_again_and_delivered_once,
           a_bounded_memory_is_lost_as_well, its_own_message_is_never_new_to_a_node,
           what_is_offered_in_an_outage_is_lost,
           tries_survive_but_what_falls_due_in_an_outage_is_lost,
           outages_that_overlap_or_meet_are_one, each_node_fails_by_draws_of_its_own,
           an_outage_that_is_left_out_leaves_the_draws_of_others, token_buckets_are_full_again,
           delays_and_digests_are_lost_and_count_as_no_drop)
