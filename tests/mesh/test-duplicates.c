/* test-duplicates.c - what a node remembers, and what it does once it has forgotten
 *
 * A line of three.  The end waits 10 frames before it relays, so that the middle hears a
 * message that node 0 offered at t again at t + 13 T.
 */
#include "town.h"

#include "support/check-main.h"

#define T TOWN_FRAME_NS

enum { SOURCE, MIDDLE, FAR_END };

static Town *
line_with_memory(uint32_t entries, int64_t for_ns)
{
    Town *town = town_new_line(3);
    SpateFlooding *end = &town->nodes[FAR_END].flooding;
    end->jitter_airtimes = 10;
    end->weakest_first = true; /* 42 dB above the sensitivity: the whole wait */
    town->nodes[MIDDLE].flooding.duplicates_entries = entries;
    town->nodes[MIDDLE].flooding.duplicates_for_ns = for_ns;
    return town;
}

static void
offer_two(Town *town)
{
    town_start(town);
    town_offer_at(town, 0, 0, SOURCE);
    town_offer_at(town, 4 * T, 0, SOURCE);
    town_run(town, SPATE_NS_PER_S);
}

static void
offer_one(Town *town)
{
    town_start(town);
    town_offer_at(town, 0, 0, SOURCE);
    town_run(town, SPATE_NS_PER_S);
}

START_TEST(a_memory_without_bounds_relays_once)
{
    g_autoptr(Town) town = line_with_memory(0, 0);
    offer_two(town);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, MIDDLE), 2);
    ck_assert_int_eq(town_find_at(town, HAPPENED_REDUNDANT, MIDDLE, 0)->at_ns, 13 * T);
}
END_TEST

START_TEST(a_memory_of_two_holds_two)
{
    g_autoptr(Town) town = line_with_memory(2, 0);
    offer_two(town);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, MIDDLE), 2);
}
END_TEST

/* The second message pushes the first out; its copy pushes out the second in turn. */
START_TEST(a_memory_of_one_takes_a_late_copy_for_new)
{
    g_autoptr(Town) town = line_with_memory(1, 0);
    offer_two(town);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, MIDDLE), 4);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_REDUNDANT, MIDDLE), 0);
    ck_assert_int_eq(town_find_at(town, HAPPENED_STARTED, MIDDLE, 2)->at_ns, 13 * T);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, MIDDLE, 2)->hops, 4);
}
END_TEST

/* The third message pushes the first out, whose copy comes at 13 T and pushes out the second, and
 * so on: each copy comes just after its message was forgotten. */
START_TEST(the_oldest_is_forgotten_first)
{
    g_autoptr(Town) town = line_with_memory(2, 0);
    town_start(town);
    for (int k = 0; k < 3; k++)
        town_offer_at(town, k * 4 * T, 0, SOURCE);
    town_run(town, SPATE_NS_PER_S);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_REDUNDANT, MIDDLE), 0);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, MIDDLE), 6);
    for (uint32_t k = 0; k < 3; k++) {
        const TownEntry *again = town_find_at(town, HAPPENED_STARTED, MIDDLE, 3 + k);
        ck_assert_int_eq(again->at_ns, (13 + 4 * k) * T);
        ck_assert_uint_eq(again->message, k);
    }
}
END_TEST

START_TEST(nothing_is_delivered_twice_even_if_forgotten)
{
    g_autoptr(Town) town = line_with_memory(1, 0);
    offer_two(town);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, MIDDLE), 2);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, FAR_END), 2);
}
END_TEST

/* Known since T, heard again at 13 T. */
START_TEST(a_message_is_forgotten_when_it_is_older)
{
    g_autoptr(Town) just = line_with_memory(0, 12 * T), older = line_with_memory(0, 12 * T - 1);
    offer_one(just);
    offer_one(older);
    ck_assert_uint_eq(town_count_at(just, HAPPENED_STARTED, MIDDLE), 1);
    ck_assert_uint_eq(town_count_at(older, HAPPENED_STARTED, MIDDLE), 2);
}
END_TEST

START_TEST(a_node_never_forgets_its_own)
{
    g_autoptr(Town) town = line_with_memory(0, 0);
    town->nodes[SOURCE].flooding.duplicates_entries = 1;
    town->nodes[SOURCE].flooding.duplicates_for_ns = 1;
    offer_two(town);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, SOURCE), 2);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, SOURCE), 0);
}
END_TEST

/* Three neighbours of both relay after 4, 13 and 16 frames, while the middle waits for 20.  It
 * forgets after 10: the second copy is the first again, and only the third is a further one. */
START_TEST(a_node_that_forgot_counts_copies_anew)
{
    g_autoptr(Town) town = town_new_line(2);
    const double waits[] = {0, 20, 4, 13, 16};
    for (uint32_t i = 2; i < 5; i++) {
        town_add_node(town, ON_FAST);
        town_link(town, SOURCE, i, FAST, 80.0);
        town_link(town, MIDDLE, i, FAST, 80.0);
    }
    for (uint32_t i = 1; i < 5; i++) {
        town->nodes[i].flooding.jitter_airtimes = waits[i];
        town->nodes[i].flooding.weakest_first = true;
    }
    town->nodes[MIDDLE].flooding.policy = SPATE_FLOOD_COUNTER;
    town->nodes[MIDDLE].flooding.copies = 2;
    town->nodes[MIDDLE].flooding.duplicates_for_ns = 10 * T;
    offer_one(town);

    ck_assert_uint_eq(town_count_at(town, HAPPENED_REDUNDANT, MIDDLE), 2);
    ck_assert_int_eq(town_find_at(town, HAPPENED_STARTED, MIDDLE, 0)->at_ns, 21 * T);
}
END_TEST

/* Many more messages than the list holds at once: it is used as a circle. */
START_TEST(a_long_row_keeps_within_the_bound)
{
    g_autoptr(Town) town = line_with_memory(20, 0);
    town_start(town);
    for (uint32_t k = 0; k < 500; k++)
        town_offer_at(town, k * SPATE_NS_PER_S, 0, SOURCE);
    for (uint32_t k = 0; k < 500; k++)
        town_run(town, k * SPATE_NS_PER_S);
    town_run(town, 501 * SPATE_NS_PER_S);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_STARTED, MIDDLE), 500);
}
END_TEST

int
main(void)
{
    TCase *memory = tcase_create("memory");
    tcase_add_test(memory, a_memory_without_bounds_relays_once);
    tcase_add_test(memory, a_memory_of_two_holds_two);
    tcase_add_test(memory, a_memory_of_one_takes_a_late_copy_for_new);
    tcase_add_test(memory, the_oldest_is_forgotten_first);
    tcase_add_test(memory, nothing_is_delivered_twice_even_if_forgotten);
    tcase_add_test(memory, a_message_is_forgotten_when_it_is_older);
    tcase_add_test(memory, a_node_never_forgets_its_own);
    tcase_add_test(memory, a_node_that_forgot_counts_copies_anew);
    tcase_add_test(memory, a_long_row_keeps_within_the_bound);
    Suite *suite = suite_create("duplicates");
    suite_add_tcase(suite, memory);
    return run_suite(suite);
}
