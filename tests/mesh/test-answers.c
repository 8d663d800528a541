/* test-answers.c - tries and acknowledgements, by hand
 *
 * Without jitter, on the fast bearer: a try lasts TOWN_FRAME_NS, an acknowledgement of 8 bytes
 * 192 us + 51 bytes of 32 us.
 */
#include "town.h"

#include "support/check-main.h"

#define S            SPATE_NS_PER_S
#define ANSWER_NS    (1824 * SPATE_NS_PER_US)
#define WITHIN_NS    (50 * SPATE_NS_PER_MS)
#define ANSWER_BYTES 8

static const uint32_t SECOND[] = {1}, LAST_OF_THREE[] = {2};

static void
ask(Town *town, const uint32_t *recipient, int64_t within_ns, uint32_t tries)
{
    town_start(town);
    town->traffics[0].recipients = recipient;
    town->traffics[0].n_recipients = 1;
    town->traffics[0].acknowledgement = (SpateAcknowledgement){tries, within_ns, ANSWER_BYTES};
    town_offer_at(town, 0, 0, 0);
    town_run(town, 10 * S);
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

START_TEST(tries_differ_in_identity)
{
    g_autoptr(Town) town = town_of_a_deaf_source();
    ask(town, SECOND, WITHIN_NS, 2);

    uint64_t offered = town_find(town, HAPPENED_OFFERED, 0)->identity;
    uint64_t tried = town_find(town, HAPPENED_TRIED, 0)->identity;
    uint64_t first = town_find(town, HAPPENED_ANSWERED, 0)->identity;
    uint64_t second = town_find(town, HAPPENED_ANSWERED, 1)->identity;
    ck_assert(offered != tried && first != second && first != offered && second != tried);
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

/* The relay's memory holds one message, so that it has forgotten the try when it comes again. */
START_TEST(a_forgotten_try_is_answered_again_and_delivered_once)
{
    g_autoptr(Town) town = town_new_line(3);
    for (uint32_t i = 0; i < 3; i++) {
        town->nodes[i].flooding.duplicates_entries = 1;
        town->nodes[i].flooding.hop_limit = 4;
    }
    ask(town, LAST_OF_THREE, WITHIN_NS, 1);

    ck_assert_uint_ge(town_count(town, HAPPENED_ANSWERED), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_DELIVERED), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 1);
}
END_TEST

CHECK_MAIN("answers", an_answer_comes_back, an_answer_floods_back,
           without_an_answer_the_source_tries_again, tries_differ_in_identity,
           a_late_answer_ends_the_tries, a_try_that_is_dropped_counts,
           a_forgotten_try_is_answered_again_and_delivered_once)
