/* test-queue.c - frames that wait for their radio */
#include "town.h"

#include "support/check-main.h"

#define T TOWN_FRAME_NS

enum { ALARM, TALK };

/* Node 0 offers, node 1 hears it and relays nothing. */
static Town *
two_nodes(void)
{
    Town *town = town_new();
    town_add_node(town, ON_BOTH);
    town_add_node(town, ON_BOTH);
    town_link(town, 0, 1, FAST, 80.0);
    town_link(town, 0, 1, SLOW, 80.0);
    static bool on_fast[] = {true, false};
    for (uint32_t i = 0; i < 2; i++) {
        town_add_traffic(town, i == ALARM ? "alarm" : "talk");
        town->traffics[i].class_rank = i;
        town->traffics[i].on_bearers = on_fast;
        town->nodes[i].flooding.policy = SPATE_FLOOD_NONE;
    }
    return town;
}

static void
offer_at(Town *town, int64_t at_ns, uint32_t traffic)
{
    town_offer_at(town, at_ns, traffic, 0);
}

static void
assert_started(const Town *town, uint32_t n, const uint32_t *messages)
{
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), n);
    for (uint32_t i = 0; i < n; i++)
        ck_assert_uint_eq(town_find(town, HAPPENED_STARTED, i)->message, messages[i]);
}

START_TEST(the_next_frame_begins_when_the_last_is_over)
{
    g_autoptr(Town) town = two_nodes();
    town_start(town);
    for (int i = 0; i < 3; i++)
        offer_at(town, i, TALK);
    town_run(town, SPATE_NS_PER_S);

    assert_started(town, 3, (const uint32_t[]){0, 1, 2});
    for (uint32_t i = 0; i < 3; i++)
        ck_assert_int_eq(town_find(town, HAPPENED_STARTED, i)->at_ns, i * T);
}
END_TEST

/* What waits at the head for the air still has its place; what flies has none. */
START_TEST(a_full_queue_drops_the_newcomer)
{
    g_autoptr(Town) town = two_nodes();
    town->nodes[0].queue.frames = 2;
    town_start(town);
    for (int i = 0; i < 3; i++)
        offer_at(town, 0, TALK);
    for (int i = 0; i < 2; i++)
        offer_at(town, 1, TALK);
    town_run(town, SPATE_NS_PER_S);

    assert_started(town, 3, (const uint32_t[]){0, 1, 3});
    ck_assert_uint_eq(town_count_drops(town, SPATE_DROP_QUEUE), 2);
    ck_assert_uint_eq(town_find(town, HAPPENED_DROPPED, 0)->message, 2);
    ck_assert_uint_eq(town_find(town, HAPPENED_DROPPED, 1)->message, 4);
}
END_TEST

START_TEST(counts_add_up_with_frames_still_waiting)
{
    g_autoptr(Town) town = two_nodes();
    town->nodes[0].queue.frames = 3;
    town_start(town);
    for (int i = 0; i < 6; i++)
        offer_at(town, 0, TALK);
    town_run(town, T / 2);

    SpateQueueCounts counts = spate_mesh_queue_counts(town->mesh);
    ck_assert_uint_eq(counts.offered, 6);
    ck_assert_uint_eq(counts.sent, 1);
    ck_assert_uint_eq(counts.dropped[SPATE_DROP_QUEUE], 3);
    ck_assert_uint_eq(counts.waiting, 2);
}
END_TEST

START_TEST(by_arrival_classes_do_not_matter)
{
    g_autoptr(Town) town = two_nodes();
    town_start(town);
    offer_at(town, 0, TALK);
    offer_at(town, 1, TALK);
    offer_at(town, 2, ALARM);
    town_run(town, SPATE_NS_PER_S);
    assert_started(town, 3, (const uint32_t[]){0, 1, 2});
}
END_TEST

START_TEST(by_class_the_first_goes_first)
{
    g_autoptr(Town) town = two_nodes();
    town->nodes[0].queue.by_class = true;
    town_start(town);
    const uint32_t traffics[] = {TALK, TALK, ALARM, TALK, ALARM};
    for (int i = 0; i < 5; i++)
        offer_at(town, i, traffics[i]);
    town_run(town, SPATE_NS_PER_S);
    assert_started(town, 5, (const uint32_t[]){0, 2, 4, 1, 3});
}
END_TEST

START_TEST(a_full_queue_drops_even_a_better_class)
{
    g_autoptr(Town) town = two_nodes();
    town->nodes[0].queue.by_class = true;
    town->nodes[0].queue.frames = 1;
    town_start(town);
    offer_at(town, 0, TALK);
    offer_at(town, 0, ALARM);
    town_run(town, SPATE_NS_PER_S);
    assert_started(town, 1, (const uint32_t[]){0});
    ck_assert_uint_eq(town_find(town, HAPPENED_DROPPED, 0)->traffic, ALARM);
}
END_TEST

/* On the slow bearer a radio looks for two symbols of 1.024 ms before it sends. */
START_TEST(a_better_class_overtakes_a_head_that_waits_for_the_air)
{
    g_autoptr(Town) town = two_nodes();
    static bool on_slow[] = {false, true};
    town->traffics[ALARM].on_bearers = town->traffics[TALK].on_bearers = on_slow;
    town->bearers[SLOW].access = (SpateAccess){
        .method = SPATE_ACCESS_CAD, .cad_slots = 8, .cad_tries = 8, .cad_detection = 1.0};
    town->nodes[0].queue.by_class = true;
    town_start(town);
    offer_at(town, 0, TALK);
    offer_at(town, SPATE_NS_PER_MS, ALARM);
    town_run(town, SPATE_NS_PER_S);

    assert_started(town, 2, (const uint32_t[]){1, 0});
    ck_assert_int_eq(town_find(town, HAPPENED_STARTED, 0)->at_ns, 3048000);
}
END_TEST

START_TEST(a_frame_that_waited_longer_is_dropped_wherever_it_stands)
{
    g_autoptr(Town) town = two_nodes();
    town->nodes[0].queue.expire_ns = 3 * SPATE_NS_PER_MS;
    town_start(town);
    for (int i = 0; i < 4; i++)
        offer_at(town, 0, TALK);
    town_run(town, SPATE_NS_PER_S);

    assert_started(town, 2, (const uint32_t[]){0, 1});
    ck_assert_uint_eq(town_count_drops(town, SPATE_DROP_EXPIRED), 2);
    for (uint32_t i = 0; i < 2; i++)
        ck_assert_int_eq(town_find(town, HAPPENED_DROPPED, i)->at_ns, 3 * SPATE_NS_PER_MS + 1);
}
END_TEST

START_TEST(a_frame_that_waited_just_so_long_still_goes)
{
    g_autoptr(Town) town = two_nodes();
    town->nodes[0].queue.expire_ns = T;
    town_start(town);
    offer_at(town, 0, TALK);
    offer_at(town, 0, TALK);
    town_run(town, SPATE_NS_PER_S);
    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 2);
}
END_TEST

/* One frame an hour: the second stands at the head until it expires, the third comes to its turn.
 */
START_TEST(a_head_that_waits_for_its_duty_cycle_expires_too)
{
    g_autoptr(Town) town = two_nodes();
    town->bearers[FAST].duty_limit_ns = T;
    town->nodes[0].queue.expire_ns = SPATE_NS_PER_S;
    town_start(town);
    offer_at(town, 0, TALK);
    offer_at(town, 0, TALK);
    offer_at(town, SPATE_NS_PER_HOUR - SPATE_NS_PER_MS, TALK);
    town_run(town, 2 * SPATE_NS_PER_HOUR);

    assert_started(town, 2, (const uint32_t[]){0, 2});
    ck_assert_int_eq(town_find(town, HAPPENED_DROPPED, 0)->at_ns, SPATE_NS_PER_S + 1);
    ck_assert_int_eq(town_find(town, HAPPENED_STARTED, 1)->at_ns, SPATE_NS_PER_HOUR);
}
END_TEST

START_TEST(a_frame_too_long_for_the_bearer_never_enters)
{
    g_autoptr(Town) town = two_nodes();
    town->traffics[ALARM].payload_bytes = 250;
    town->traffics[TALK].payload_bytes = 251;
    town_start(town);
    offer_at(town, 0, ALARM);
    offer_at(town, 0, TALK);
    town_run(town, SPATE_NS_PER_S);

    assert_started(town, 1, (const uint32_t[]){0});
    ck_assert_uint_eq(town_count_drops(town, SPATE_DROP_SIZE), 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_QUEUED), 1);
}
END_TEST

/* 247 bytes: the third transmission would be one byte too long. */
START_TEST(a_route_record_may_make_a_frame_too_long)
{
    g_autoptr(Town) town = town_new_line(5);
    town->traffics[0].payload_bytes = 247;
    for (uint32_t i = 0; i < 5; i++)
        town->nodes[i].flooding.route_record_bytes = 2;
    town_start(town);
    offer_at(town, 0, 0);
    town_run(town, SPATE_NS_PER_S);

    ck_assert_uint_eq(town_count(town, HAPPENED_STARTED), 2);
    ck_assert_uint_eq(town_find(town, HAPPENED_DROPPED, 0)->node, 2);
    ck_assert_uint_eq(town_find(town, HAPPENED_DROPPED, 0)->what, SPATE_DROP_SIZE);
}
END_TEST

START_TEST(a_message_goes_out_on_the_radios_that_its_traffic_names)
{
    g_autoptr(Town) town = two_nodes();
    town->traffics[ALARM].on_bearers = NULL;
    town_start(town);
    offer_at(town, 0, TALK);
    offer_at(town, SPATE_NS_PER_S, ALARM);
    town_run(town, 2 * SPATE_NS_PER_S);

    assert_started(town, 3, (const uint32_t[]){0, 1, 1});
    ck_assert_uint_eq(town_find(town, HAPPENED_STARTED, 0)->radio, town_radio(town, 0, FAST));
    ck_assert_uint_eq(town_find(town, HAPPENED_STARTED, 2)->radio, town_radio(town, 0, SLOW));
    ck_assert_int_eq(town_find(town, HAPPENED_STARTED, 2)->at_ns, SPATE_NS_PER_S);
}
END_TEST

/* Ends come in the order of starts, as one frame is on the air at a time. */
START_TEST(a_frame_lasts_as_long_as_its_bearer_takes_for_its_length)
{
    static const uint32_t PAYLOADS[] = {20, 21, 300};
    static const char *const NAMES[] = {"a", "b", "c"};
    g_autoptr(Town) town = town_new();
    const int64_t apart_ns = 60 * SPATE_NS_PER_S;
    uint32_t nodes[TOWN_BEARERS] = {
        [FAST] = town_add_node(town, ON_FAST), [SLOW] = town_add_node(town, ON_SLOW)};
    for (uint32_t i = 0; i < G_N_ELEMENTS(NAMES); i++)
        town->traffics[town_add_traffic(town, NAMES[i])].payload_bytes = PAYLOADS[i];
    for (uint32_t b = 0; b < TOWN_BEARERS; b++) {
        town->bearers[b].largest_frame_bytes = 400;
        town->bearers[b].overhead_bytes = 10;
    }
    town_start(town);
    for (uint32_t i = 0; i < 12; i++)
        town_offer_at(town, i * apart_ns, i / 2 % 3, nodes[i % TOWN_BEARERS]);
    town_run(town, 12 * apart_ns);

    for (uint32_t i = 0; i < 12; i++) {
        const TownEntry *start = town_find(town, HAPPENED_STARTED, i);
        const SpateModulation *modulation = &town->bearers[i % TOWN_BEARERS].modulation;
        ck_assert_int_eq(town_find(town, HAPPENED_ENDED, i)->at_ns - start->at_ns,
                         modulation->kind->airtime_ns(modulation, start->bytes));
    }
}
END_TEST

int
main(void)
{
    TCase *queue = tcase_create("queue");
    tcase_add_test(queue, the_next_frame_begins_when_the_last_is_over);
    tcase_add_test(queue, a_full_queue_drops_the_newcomer);
    tcase_add_test(queue, counts_add_up_with_frames_still_waiting);
    tcase_add_test(queue, by_arrival_classes_do_not_matter);
    tcase_add_test(queue, by_class_the_first_goes_first);
    tcase_add_test(queue, a_full_queue_drops_even_a_better_class);
    tcase_add_test(queue, a_better_class_overtakes_a_head_that_waits_for_the_air);
    tcase_add_test(queue, a_frame_that_waited_longer_is_dropped_wherever_it_stands);
    tcase_add_test(queue, a_frame_that_waited_just_so_long_still_goes);
    tcase_add_test(queue, a_head_that_waits_for_its_duty_cycle_expires_too);
    tcase_add_test(queue, a_frame_too_long_for_the_bearer_never_enters);
    tcase_add_test(queue, a_route_record_may_make_a_frame_too_long);
    tcase_add_test(queue, a_message_goes_out_on_the_radios_that_its_traffic_names);
    tcase_add_test(queue, a_frame_lasts_as_long_as_its_bearer_takes_for_its_length);
    Suite *suite = suite_create("queue");
    suite_add_tcase(suite, queue);
    return run_suite(suite);
}
