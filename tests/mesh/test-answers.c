/* test-answers.c - tries and acknowledgements, by hand
 *
 * Without jitter, on the fast bearer: a try lasts TOWN_FRAME_NS, an acknowledgement of 8 bytes
 * 192 us + 51 bytes of 32 us.
 */
#include "town.h"

#include "core/random.h"
#include "support/check-main.h"
#include <math.h>

#define S            SPATE_NS_PER_S
#define ANSWER_NS    (1824 * SPATE_NS_PER_US)
#define WITHIN_NS    (50 * SPATE_NS_PER_MS)
#define ANSWER_BYTES 8

static const uint32_t SECOND[] = {1}, LAST_OF_THREE[] = {2};

/* Starts with a first traffic that wants an answer of the recipient. */
static void
start_asking(Town *town, const uint32_t *recipient, int64_t within_ns, uint32_t tries)
{
    town_start(town);
    town->traffics[0].recipients = recipient;
    town->traffics[0].n_recipients = 1;
    town->traffics[0].acknowledgement = (SpateAcknowledgement){tries, within_ns, ANSWER_BYTES};
}

static void
ask(Town *town, const uint32_t *recipient, int64_t within_ns, uint32_t tries)
{
    start_asking(town, recipient, within_ns, tries);
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);
}

/* When a radio first sends a message. */
static int64_t
sent_ns(const Town *town, uint32_t message, uint32_t node, uint32_t bearer)
{
    uint32_t radio = town_radio(town, node, bearer);
    for (uint32_t i = 0;; i++) {
        const TownEntry *entry = town_find_at(town, HAPPENED_STARTED, node, i);
        if (entry->message == message && entry->radio == radio)
            return entry->at_ns;
    }
}

/* A rule that matches every message; digests wait for a second. */
static SpateRule
rule_for_all(SpateRuleAction action)
{
    return (SpateRule){.size_bytes = {NAN, NAN},
                       .hops = {NAN, NAN},
                       .received_dbm = {NAN, NAN},
                       .occupancy_bearer = -1,
                       .action = action,
                       .digest_every_ns = S,
                       .digest_most = 100};
}

/* Two nodes; only the first is heard. */
static Town *
town_of_a_deaf_source(void)
{
    Town *town = town_new();
    SpateGivenLoss there = {0, 1, FAST, 80.0};
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_FAST);
    g_array_append_val(town->given, there);
    town_add_traffic(town, "talk");
    return town;
}

START_TEST(an_answer_comes_back)
{
    g_autoptr(Town) town = town_new_line(2);
    ask(town, SECOND, WITHIN_NS, 3);

    ck_assert_int_eq(town_find(town, HAPPENED_DELIVERED, 0)->at_ns, TOWN_FRAME_NS);
    ck_assert_int_eq(town_find(town, HAPPENED_ANSWERED, 0)->at_ns, TOWN_FRAME_NS);
    ck_assert_uint_eq(town_find(town, HAPPENED_ANSWERED, 0)->node, 1);
    /* The recipient relays the try first. */
    const TownEntry *answer = town_find(town, HAPPENED_ACKNOWLEDGED, 0);
    ck_assert_int_eq(answer->at_ns, TOWN_FRAME_NS + TOWN_FRAME_NS + ANSWER_NS);
    ck_assert_uint_eq(answer->node, 0);
    ck_assert_uint_eq(answer->message, 0);
    ck_assert_uint_eq(town_count(town, HAPPENED_TRIED), 0);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 1);
}
END_TEST

START_TEST(an_answer_floods_back)
{
    g_autoptr(Town) town = town_new_line(3);
    ask(town, LAST_OF_THREE, WITHIN_NS, 3);

    ck_assert_uint_eq(town_find(town, HAPPENED_DELIVERED, 0)->hops, 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 1);
    /* The try takes two hops, the end relays it, and the answer takes two. */
    ck_assert_int_eq(town_find(town, HAPPENED_ACKNOWLEDGED, 0)->at_ns,
                     3 * TOWN_FRAME_NS + 2 * ANSWER_NS);
    /* Try and answer, each sent once by each of the three. */
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 6);
}
END_TEST

START_TEST(without_an_answer_the_source_tries_again)
{
    g_autoptr(Town) town = town_of_a_deaf_source();
    ask(town, SECOND, WITHIN_NS, 3);

    /* Each wait begins at the end of the last frame. */
    const int64_t round_ns = TOWN_FRAME_NS + WITHIN_NS;
    ck_assert_uint_eq(town_count(town, HAPPENED_TRIED), 2);
    for (uint32_t i = 0; i < 2; i++) {
        ck_assert_int_eq(town_find(town, HAPPENED_TRIED, i)->at_ns, (i + 1) * round_ns);
        ck_assert_uint_eq(town_find(town, HAPPENED_TRIED, i)->what, i + 2);
    }
    /* Delivered once, answered each time, never acknowledged. */
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 1);
    ck_assert_uint_eq(town_find(town, HAPPENED_DELIVERED, 0)->message, 0);
    ck_assert_uint_eq(town_count(town, HAPPENED_ANSWERED), 3);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 0);
    ck_assert_uint_eq(spate_mesh_burden(town->mesh).messages, 0);
}
END_TEST

START_TEST(tries_and_answers_differ_in_identity)
{
    g_autoptr(Town) town = town_of_a_deaf_source();
    ask(town, SECOND, WITHIN_NS, 3);

    uint64_t identities[] = {
        town_find(town, HAPPENED_OFFERED, 0)->identity,
        town_find(town, HAPPENED_TRIED, 0)->identity,
        town_find(town, HAPPENED_TRIED, 1)->identity,
        town_find(town, HAPPENED_ANSWERED, 0)->identity,
        town_find(town, HAPPENED_ANSWERED, 1)->identity,
        town_find(town, HAPPENED_ANSWERED, 2)->identity,
    };
    for (size_t i = 0; i < G_N_ELEMENTS(identities); i++)
        for (size_t k = 0; k < i; k++)
            ck_assert_uint_ne(identities[i], identities[k]);
}
END_TEST

/* The time is over while the answer is on the air: the second try waits for it, and goes all the
 * same. */
START_TEST(a_late_answer_ends_the_tries)
{
    g_autoptr(Town) town = town_new_line(2);
    ask(town, SECOND, TOWN_FRAME_NS + ANSWER_NS / 2, 9);

    const int64_t answer_ns = 2 * TOWN_FRAME_NS + ANSWER_NS;
    ck_assert_uint_eq(town_count(town, HAPPENED_TRIED), 1);
    ck_assert_int_eq(town_find(town, HAPPENED_ACKNOWLEDGED, 0)->at_ns, answer_ns);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 1);
    ck_assert_int_ge(town_find_at(town, HAPPENED_STARTED, 0, 1)->at_ns, answer_ns);
    ck_assert_uint_eq(town_count(town, HAPPENED_ANSWERED), 2);
    ck_assert_uint_eq(spate_mesh_burden(town->mesh).messages, 0);
}
END_TEST

START_TEST(a_try_that_is_dropped_counts)
{
    g_autoptr(Town) town = town_new_line(2);
    town->traffics[0].payload_bytes = 1000;
    ask(town, SECOND, WITHIN_NS, 3);

    ck_assert_uint_eq(town_count_drops(town, SPATE_DROP_SIZE), 3);
    ck_assert_int_eq(town_find(town, HAPPENED_TRIED, 0)->at_ns, WITHIN_NS);
    ck_assert_int_eq(town_find(town, HAPPENED_TRIED, 1)->at_ns, 2 * WITHIN_NS);
}
END_TEST

/* The source gives up when its time is over, at 2 T, before the answer begins. */
START_TEST(an_answer_counts_even_after_the_last_try)
{
    g_autoptr(Town) town = town_new_line(2);
    ask(town, SECOND, TOWN_FRAME_NS, 1);

    ck_assert_uint_eq(town_count(town, HAPPENED_TRIED), 0);
    ck_assert_int_eq(town_find(town, HAPPENED_ACKNOWLEDGED, 0)->at_ns,
                     2 * TOWN_FRAME_NS + ANSWER_NS);
    ck_assert_uint_eq(spate_mesh_burden(town->mesh).messages, 0);
}
END_TEST

/* The first try collides with a frame of the third node, of which the source hears nothing. */
START_TEST(what_a_further_try_delivers_is_the_message)
{
    g_autoptr(Town) town = town_new_line(3);
    town_add_traffic(town, "noise");
    start_asking(town, SECOND, WITHIN_NS, 3);
    town_offer_at(town, 0, 1, 2);
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);

    uint32_t asked = town_find_at(town, HAPPENED_OFFERED, 0, 0)->message;
    const TownEntry *delivery = town_find(town, HAPPENED_DELIVERED, 0);
    ck_assert_int_eq(delivery->at_ns, 2 * TOWN_FRAME_NS + WITHIN_NS);
    ck_assert_uint_eq(delivery->message, asked);
    ck_assert_uint_eq(town_find(town, HAPPENED_ACKNOWLEDGED, 0)->message, asked);
    ck_assert_uint_eq(town_count(town, HAPPENED_TRIED), 1);
}
END_TEST

/* Numbers of messages must not hang on when timers were set. */
START_TEST(tries_of_one_instant_go_out_in_the_order_of_their_sources)
{
    g_autoptr(Town) town = town_new();
    for (uint32_t i = 0; i < 3; i++)
        town_add_node(town, ON_FAST);
    town_add_traffic(town, "talk");
    start_asking(town, LAST_OF_THREE, WITHIN_NS, 2);
    town_offer_at(town, 0, 0, 1);
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);

    for (uint32_t i = 0; i < 2; i++) {
        ck_assert_int_eq(town_find(town, HAPPENED_TRIED, i)->at_ns, TOWN_FRAME_NS + WITHIN_NS);
        ck_assert_uint_eq(town_find(town, HAPPENED_TRIED, i)->node, i);
    }
}
END_TEST

/* ---- several radios -------------------------------------------------------------------------- */

static Town *
town_on_both_bearers(void)
{
    Town *town = town_new();
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_BOTH);
    town_add_traffic(town, "talk");
    return town;
}

START_TEST(the_wait_begins_when_the_last_frame_of_a_try_is_over)
{
    g_autoptr(Town) town = town_on_both_bearers();
    ask(town, SECOND, WITHIN_NS, 2);

    const SpateModulation *slow = &town->bearers[SLOW].modulation;
    int64_t slow_ns = slow->kind->airtime_ns(slow, TOWN_PAYLOAD_BYTES);
    ck_assert_int_gt(slow_ns, TOWN_FRAME_NS);
    ck_assert_int_eq(town_find(town, HAPPENED_TRIED, 0)->at_ns, slow_ns + WITHIN_NS);
}
END_TEST

START_TEST(radios_on_which_a_try_does_not_go_out_are_not_waited_for)
{
    g_autoptr(Town) town = town_on_both_bearers();
    bool on_bearers[TOWN_BEARERS] = {[FAST] = true};
    town->traffics[0].on_bearers = on_bearers;
    ask(town, SECOND, WITHIN_NS, 2);

    ck_assert_int_eq(town_find(town, HAPPENED_TRIED, 0)->at_ns, TOWN_FRAME_NS + WITHIN_NS);
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 2);
}
END_TEST

START_TEST(an_answer_leaves_on_all_radios)
{
    g_autoptr(Town) town = town_on_both_bearers();
    bool on_bearers[TOWN_BEARERS] = {[FAST] = true};
    town->traffics[0].on_bearers = on_bearers;
    town_link(town, 0, 1, FAST, 80.0);
    ask(town, SECOND, WITHIN_NS, 1);

    uint32_t answer = town_find(town, HAPPENED_ANSWERED, 0)->message;
    ck_assert_int_eq(sent_ns(town, answer, 1, SLOW), TOWN_FRAME_NS);
    ck_assert_int_eq(sent_ns(town, answer, 1, FAST), 2 * TOWN_FRAME_NS);
}
END_TEST

/* ---- in queues ------------------------------------------------------------------------------- */

/* 42 dB above the sensitivity, the weakest waits longest: all its jitter, of its own frame. */
START_TEST(an_answer_waits_as_a_relay_would)
{
    g_autoptr(Town) town = town_new_line(2);
    town->nodes[1].flooding.jitter_airtimes = 10;
    town->nodes[1].flooding.weakest_first = true;
    ask(town, SECOND, WITHIN_NS, 1);

    uint32_t answer = town_find(town, HAPPENED_ANSWERED, 0)->message;
    ck_assert_int_eq(sent_ns(town, answer, 1, FAST), TOWN_FRAME_NS + 10 * ANSWER_NS);
}
END_TEST

/* Its try waits behind another message, and too long. */
START_TEST(a_try_that_expired_is_over_when_its_time_was)
{
    g_autoptr(Town) town = town_new_line(2);
    const int64_t expire_ns = TOWN_FRAME_NS / 2;
    town->nodes[0].queue.expire_ns = expire_ns;
    town_add_traffic(town, "noise");
    start_asking(town, SECOND, WITHIN_NS, 2);
    town_offer_at(town, 0, 1, 0);
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);

    ck_assert_uint_eq(town_count_drops(town, SPATE_DROP_EXPIRED), 1);
    ck_assert_int_eq(town_find(town, HAPPENED_TRIED, 0)->at_ns, expire_ns + WITHIN_NS);
}
END_TEST

/* On the slow bearer its try waits behind another message, and its time is over a nanosecond before
 * its frame on the fast one ends. */
START_TEST(the_wait_begins_with_the_end_of_a_frame_that_another_was_dropped_at)
{
    g_autoptr(Town) town = town_on_both_bearers();
    bool on_slow[TOWN_BEARERS] = {[SLOW] = true};
    town->nodes[0].queue.expire_ns = TOWN_FRAME_NS - 1;
    town_add_traffic(town, "noise");
    start_asking(town, SECOND, WITHIN_NS, 2);
    town->traffics[1].on_bearers = on_slow;
    town_offer_at(town, 0, 1, 0);
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);

    ck_assert_int_eq(town_find(town, HAPPENED_DROPPED, 0)->at_ns, TOWN_FRAME_NS);
    ck_assert_int_eq(town_find(town, HAPPENED_TRIED, 0)->at_ns, TOWN_FRAME_NS + WITHIN_NS);
}
END_TEST

/* ---- what is forgotten, and used again ------------------------------------------------------- */

/* The far end relays the try ten frames late, and the middle hears it at 13 T, having known it for
 * 12 T. */
static Town *
town_that_remembers_for(int64_t for_ns)
{
    Town *town = town_new_line(3);
    town->nodes[2].flooding.jitter_airtimes = 10;
    town->nodes[2].flooding.weakest_first = true;
    town->nodes[1].flooding.duplicates_for_ns = for_ns;
    ask(town, SECOND, WITHIN_NS, 1);
    return town;
}

START_TEST(a_try_is_answered_again_only_if_it_was_forgotten)
{
    g_autoptr(Town) just = town_that_remembers_for(12 * TOWN_FRAME_NS);
    g_autoptr(Town) older = town_that_remembers_for(12 * TOWN_FRAME_NS - 1);
    ck_assert_uint_eq(town_count(just, HAPPENED_ANSWERED), 1);
    ck_assert_uint_eq(town_count(older, HAPPENED_ANSWERED), 2);
    ck_assert_uint_ne(town_find(older, HAPPENED_ANSWERED, 0)->identity,
                      town_find(older, HAPPENED_ANSWERED, 1)->identity);
    ck_assert_uint_eq(town_count(older, HAPPENED_DELIVERED), 1);
    ck_assert_uint_eq(town_count(older, HAPPENED_ACKNOWLEDGED), 1);
}
END_TEST

/* Its identity, from which all draws come: that of the try, and that it is the first answer to it.
 * The third offer lies in the memory that held the first. */
START_TEST(an_answer_does_not_hang_on_messages_before)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_traffic(town, "plain");
    start_asking(town, SECOND, WITHIN_NS, 1);
    for (int k = 0; k < 3; k++)
        town_offer_at(town, k * S, 0, 0);
    town_offer_at(town, 3 * S, 1, 0);
    town_run(town, 10 * S);

    ck_assert_uint_eq(town_count(town, HAPPENED_ANSWERED), 3);
    for (uint32_t i = 0; i < 3; i++)
        ck_assert_uint_eq(town_find(town, HAPPENED_ANSWERED, i)->identity,
                          spate_hash_combine(town_find(town, HAPPENED_OFFERED, i)->identity,
                                             spate_hash_combine(SPATE_OF_ACKNOWLEDGEMENT, 0)));
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 4);
}
END_TEST

/* ---- at bridges ------------------------------------------------------------------------------ */

/* The recipient hears the try itself, and a digest of it from a bridge. */
START_TEST(a_try_that_comes_alone_and_in_a_digest_is_answered_once)
{
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_BOTH);
    town_link(town, 0, 1, FAST, 80.0);
    town_link(town, 0, 2, FAST, 80.0);
    town_link(town, 1, 2, SLOW, 80.0);
    town_add_traffic(town, "talk");
    SpateRule rule = rule_for_all(SPATE_RULE_DIGEST);
    town_add_crossing(town, 1, FAST, SLOW, &rule, 1);
    ask(town, LAST_OF_THREE, S, 1);

    /* By itself, and a second later in the digest. */
    ck_assert_uint_eq(town_count_at(town, HAPPENED_ARRIVED, 2), 2);
    ck_assert_uint_eq(town_count(town, HAPPENED_ANSWERED), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 1);
}
END_TEST

/* Each may be the other's recipient; what the source gets back is its own. */
START_TEST(a_source_neither_takes_nor_answers_its_own_try)
{
    static const uint32_t FIRST_AND_LAST[] = {0, 2};
    g_autoptr(Town) town = town_on_both_bearers();
    town_add_node(town, ON_FAST);
    bool on_bearers[TOWN_BEARERS] = {[FAST] = true};
    town->traffics[0].on_bearers = on_bearers;
    town_link(town, 0, 1, FAST, 80.0);
    town_link(town, 0, 1, SLOW, 80.0);
    SpateRule rule = rule_for_all(SPATE_RULE_DIGEST);
    town_add_crossing(town, 1, FAST, SLOW, &rule, 1);
    start_asking(town, FIRST_AND_LAST, S, 1);
    town->traffics[0].n_recipients = 2;
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_ARRIVED, 0), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 0);
    ck_assert_uint_eq(town_count(town, HAPPENED_ANSWERED), 0);
}
END_TEST

START_TEST(the_recipient_of_an_answer_is_the_source)
{
    g_autoptr(Town) town = town_new();
    town_add_node(town, ON_FAST);
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_SLOW);
    town_link(town, 0, 1, FAST, 80.0);
    town_link(town, 1, 2, SLOW, 80.0);
    town_add_traffic(town, "talk");
    bool to_source[TOWN_NODES] = {true};
    SpateRule rule = rule_for_all(SPATE_RULE_HOLD_BACK);
    rule.recipients = to_source;
    town_add_crossing(town, 1, FAST, SLOW, &rule, 1);
    town_add_crossing(town, 1, SLOW, FAST, &rule, 1);
    ask(town, LAST_OF_THREE, S, 1);

    uint32_t answer = town_find(town, HAPPENED_ANSWERED, 0)->message;
    ck_assert_uint_eq(town_count(town, HAPPENED_HELD_BACK), 1);
    ck_assert_uint_eq(town_find(town, HAPPENED_HELD_BACK, 0)->message, answer);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 0);
}
END_TEST

CHECK_MAIN("answers", an_answer_comes_back, an_answer_floods_back,
           without_an_answer_the_source_tries_again, tries_and_answers_differ_in_identity,
           a_late_answer_ends_the_tries, a_try_that_is_dropped_counts,
           an_answer_counts_even_after_the_last_try, what_a_further_try_delivers_is_the_message,
           tries_of_one_instant_go_out_in_the_order_of_their_sources,
           the_wait_begins_when_the_last_frame_of_a_try_is_over,
           radios_on_which_a_try_does_not_go_out_are_not_waited_for, an_answer_leaves_on_all_radios,
           an_answer_waits_as_a_relay_would, a_try_that_expired_is_over_when_its_time_was,
           the_wait_begins_with_the_end_of_a_frame_that_another_was_dropped_at,
           a_try_is_answered_again_only_if_it_was_forgotten,
           an_answer_does_not_hang_on_messages_before,
           a_try_that_comes_alone_and_in_a_digest_is_answered_once,
           a_source_neither_takes_nor_answers_its_own_try, the_recipient_of_an_answer_is_the_source)
