/* test-event-queue.c - the promises of the queue against a twin that cannot be wrong
 *
 * The twin is an array of all that waits; it looks through the whole of it for the least by
 * (time, rank, sequence).  A random world schedules and cancels in both, from outside, from within
 * events and from within closing functions, and each event that runs has to be the twin's next.
 */
#include "core/event-queue.h"
#include "core/random.h"
#include "support/allocations.h"
#include "support/check-main.h"
#include "support/sanitized.h"

#include <math.h>
#include <signal.h>
#include <string.h>

#define MOST_WAITING 600

typedef int64_t (*DrawAhead)(SpateRandom *random);

typedef struct {
    int64_t at_ns;
    SpateRank rank;
    uint32_t sequence; /* also the event's item */
    SpateEventId id;
} TwinEvent;

typedef struct World World;

typedef struct {
    World *world;
    SpateRank rank;
} Closing;

struct World {
    SpateEventQueue *queue;
    SpateRandom random;
    DrawAhead ahead_ns;
    TwinEvent waiting[MOST_WAITING];
    size_t n_waiting;
    uint32_t n_scheduled, n_run, n_cancelled, n_closed;
    size_t wanted; /* to wait, on average */
    unsigned cancels_in_ten;
    SpateEventId spent[64]; /* ids of events that ran or were cancelled */
    uint32_t n_spent;
    int64_t present_ns; /* of the group that runs */
    SpateRank present_rank;
    bool group_is_open;
    Closing closings[SPATE_N_RANKS];
};

static int64_t
exponential_ns(SpateRandom *random)
{
    return (int64_t)(1e9 * spate_random_exponential(random));
}

static int64_t
one_instant_ns(SpateRandom *random)
{
    return spate_random_below(random, 4) == 0 ? 1000 : 0;
}

static int64_t
microseconds_and_hours_ns(SpateRandom *random)
{
    double mean_ns = spate_random_below(random, 2) == 0 ? 3e3 : 7.2e12;
    return (int64_t)(mean_ns * spate_random_exponential(random));
}

/* Closer and closer: each bucket of the first is again too full. */
static int64_t
nanoseconds_to_years_ns(SpateRandom *random)
{
    return (int64_t)exp2(58.0 * spate_random_unit(random));
}

static int64_t
few_instants_ns(SpateRandom *random)
{
    return (int64_t)spate_random_below(random, 4) * 50;
}

static bool
twin_precedes(const TwinEvent *a, const TwinEvent *b)
{
    if (a->at_ns != b->at_ns)
        return a->at_ns < b->at_ns;
    return a->rank != b->rank ? a->rank < b->rank : a->sequence < b->sequence;
}

static size_t
twin_next(const World *world)
{
    size_t next = 0;
    for (size_t i = 1; i < world->n_waiting; i++)
        if (twin_precedes(&world->waiting[i], &world->waiting[next]))
            next = i;
    return next;
}

static void
twin_remove(World *world, size_t i)
{
    world->spent[world->n_spent++ % G_N_ELEMENTS(world->spent)] = world->waiting[i].id;
    world->waiting[i] = world->waiting[--world->n_waiting];
}

static void happen(gpointer subject, uint32_t item);

static void
schedule(World *world, int64_t at_ns, SpateRank rank)
{
    if (world->n_waiting == MOST_WAITING)
        return;
    TwinEvent event = {at_ns, rank, world->n_scheduled++, 0};
    event.id = spate_event_queue_schedule(world->queue, at_ns, rank, happen, world, event.sequence);
    ck_assert_uint_ne(event.id, 0);
    world->waiting[world->n_waiting++] = event;
}

/* At this instant no rank below `lowest_rank` is left. */
static void
schedule_some(World *world, unsigned lowest_rank)
{
    int64_t ahead_ns = world->ahead_ns(&world->random);
    unsigned first = ahead_ns == 0 ? lowest_rank : 0;
    if (first == SPATE_N_RANKS) {
        ahead_ns = 1;
        first = 0;
    }
    unsigned rank = first + (unsigned)spate_random_below(&world->random, SPATE_N_RANKS - first);
    schedule(world, spate_event_queue_now_ns(world->queue) + ahead_ns, (SpateRank)rank);
}

static void
cancel_some(World *world)
{
    if (world->n_waiting > 0 && spate_random_below(&world->random, 10) < world->cancels_in_ten) {
        size_t i = (size_t)spate_random_below(&world->random, world->n_waiting);
        SpateEventId id = world->waiting[i].id;
        ck_assert(spate_event_queue_cancel(world->queue, id));
        ck_assert(!spate_event_queue_cancel(world->queue, id));
        twin_remove(world, i);
        world->n_cancelled++;
    }
    /* Its slot may be another event's by now. */
    if (world->n_spent > 0)
        ck_assert(!spate_event_queue_cancel(
            world->queue, world->spent[spate_random_below(
                              &world->random, MIN(world->n_spent, G_N_ELEMENTS(world->spent)))]));
}

/* Whether what the twin says is next belongs to the group that runs. */
static bool
twin_goes_on(const World *world)
{
    if (world->n_waiting == 0)
        return false;
    const TwinEvent *next = &world->waiting[twin_next(world)];
    return next->at_ns == world->present_ns && next->rank == world->present_rank;
}

/* Now and then most of what waits is used up. */
static size_t
wanted_now(const World *world)
{
    return world->n_run / 1000 % 3 == 2 ? world->wanted / 8 : world->wanted;
}

static void
happen(gpointer subject, uint32_t item)
{
    World *world = subject;
    size_t next = twin_next(world);
    TwinEvent event = world->waiting[next];
    ck_assert_uint_gt(world->n_waiting, 0);
    ck_assert_uint_eq(item, event.sequence);
    ck_assert_int_eq(spate_event_queue_now_ns(world->queue), event.at_ns);
    if (world->group_is_open) {
        ck_assert_int_eq(event.at_ns, world->present_ns);
        ck_assert_int_eq(event.rank, world->present_rank);
    }
    world->group_is_open = true;
    world->present_ns = event.at_ns;
    world->present_rank = event.rank;
    ck_assert(!spate_event_queue_cancel(world->queue, event.id));
    twin_remove(world, next);
    world->n_run++;
    while (world->n_waiting < wanted_now(world))
        schedule_some(world, event.rank);
    if (spate_random_below(&world->random, 2) == 0)
        cancel_some(world);
    ck_assert_uint_eq(spate_event_queue_length(world->queue), world->n_waiting);
}

static void
close_rank(gpointer subject)
{
    const Closing *closing = subject;
    World *world = closing->world;
    ck_assert(world->group_is_open);
    ck_assert_int_eq(world->present_rank, closing->rank);
    ck_assert_int_eq(spate_event_queue_now_ns(world->queue), world->present_ns);
    ck_assert(!twin_goes_on(world));
    world->group_is_open = false;
    world->n_closed++;
    if (closing->rank + 1 < SPATE_N_RANKS && spate_random_below(&world->random, 3) == 0)
        schedule(world, world->present_ns, (SpateRank)(closing->rank + 1));
    cancel_some(world);
}

static World *
world_new(DrawAhead ahead_ns, size_t wanted, unsigned cancels_in_ten, uint64_t seed)
{
    World *world = g_new0(World, 1);
    world->queue = spate_event_queue_new();
    world->random = spate_random_stream(spate_random_key(seed, 0, SPATE_FOR_TEST), 0);
    world->ahead_ns = ahead_ns;
    world->wanted = wanted;
    world->cancels_in_ten = cancels_in_ten;
    for (unsigned rank = 0; rank < SPATE_N_RANKS; rank++) {
        world->closings[rank] = (Closing){world, (SpateRank)rank};
        spate_event_queue_on_close(world->queue, (SpateRank)rank, close_rank,
                                   &world->closings[rank]);
    }
    schedule(world, 0, SPATE_RANK_END);
    return world;
}

static void
world_free(World *world)
{
    spate_event_queue_free(world->queue);
    g_free(world);
}
G_DEFINE_AUTOPTR_CLEANUP_FUNC(World, world_free)

/* Runs partly one by one, partly to instants that may lie between events or on them. */
static void
run_world(World *world, uint32_t n_events)
{
    while (world->n_run < n_events) {
        if (world->n_waiting == 0)
            schedule(world, spate_event_queue_now_ns(world->queue) + 1, SPATE_RANK_TIMER);
        if (spate_random_below(&world->random, 8) != 0) {
            ck_assert(spate_event_queue_run_next(world->queue));
            ck_assert_int_eq(world->group_is_open, twin_goes_on(world));
            continue;
        }
        int64_t until_ns = world->waiting[twin_next(world)].at_ns;
        if (spate_random_below(&world->random, 2) == 0)
            until_ns -= (until_ns - spate_event_queue_now_ns(world->queue)) / 2;
        ck_assert(spate_event_queue_run_until(world->queue, until_ns, NULL));
        ck_assert(!world->group_is_open);
        ck_assert_int_eq(spate_event_queue_now_ns(world->queue), until_ns);
        if (world->n_waiting > 0)
            ck_assert_int_gt(world->waiting[twin_next(world)].at_ns, until_ns);
    }
    ck_assert_uint_eq(spate_event_queue_n_run(world->queue), world->n_run);
}

static void
check_spread(DrawAhead ahead_ns, unsigned cancels_in_ten)
{
    const size_t SIZES[] = {1, 5, 40, 300};
    for (size_t i = 0; i < G_N_ELEMENTS(SIZES); i++) {
        g_autoptr(World) world = world_new(ahead_ns, SIZES[i], cancels_in_ten, i);
        run_world(world, 10000 / ONE_DRAW_IN);
        ck_assert_uint_gt(world->n_closed, 10);
        if (cancels_in_ten > 0)
            ck_assert_uint_gt(world->n_cancelled, 100);
    }
}

START_TEST(events_far_apart_run_in_order)
{
    check_spread(exponential_ns, 1);
}
END_TEST

START_TEST(events_of_one_instant_run_by_rank_and_then_as_scheduled)
{
    check_spread(one_instant_ns, 1);
    check_spread(few_instants_ns, 0);
}
END_TEST

START_TEST(microseconds_and_hours_run_in_order)
{
    check_spread(microseconds_and_hours_ns, 1);
}
END_TEST

START_TEST(when_half_is_cancelled_the_rest_runs_in_order)
{
    check_spread(exponential_ns, 10);
    check_spread(microseconds_and_hours_ns, 10);
    check_spread(few_instants_ns, 10);
}
END_TEST

/* What ran, by item. */
typedef struct {
    SpateEventQueue *queue;
    uint32_t items[16];
    uint32_t n_run;
    int stop, stop_at_item;
} Log;

static void
note(gpointer subject, uint32_t item)
{
    Log *log = subject;
    log->items[log->n_run++ % G_N_ELEMENTS(log->items)] = item;
    if (log->stop_at_item == (int)item)
        log->stop = 1;
}

static int
compare_twins(const void *a, const void *b)
{
    return twin_precedes(a, b) ? -1 : (int)twin_precedes(b, a);
}

/* Schedules n events and runs them all. */
static void
check_crowd(SpateEventQueue *queue, DrawAhead ahead_ns, size_t n)
{
    g_autofree TwinEvent *events = g_new0(TwinEvent, n);
    SpateRandom random = spate_random_stream(1, n);
    Log log = {.stop_at_item = -1};
    int64_t now_ns = spate_event_queue_now_ns(queue);
    for (uint32_t i = 0; i < n; i++) {
        events[i] = (TwinEvent){now_ns + ahead_ns(&random),
                                (SpateRank)spate_random_below(&random, SPATE_N_RANKS), i, 0};
        spate_event_queue_schedule(queue, events[i].at_ns, events[i].rank, note, &log, i);
    }
    qsort(events, n, sizeof events[0], compare_twins);
    size_t n_wrong = 0;
    for (size_t i = 0; i < n; i++)
        n_wrong += !spate_event_queue_run_next(queue) ||
                   log.items[i % G_N_ELEMENTS(log.items)] != events[i].sequence ||
                   spate_event_queue_now_ns(queue) != events[i].at_ns;
    ck_assert_uint_eq(n_wrong, 0);
}

START_TEST(a_hundred_thousand_run_in_order)
{
    const DrawAhead DRAWS[] = {exponential_ns, one_instant_ns, microseconds_and_hours_ns,
                               nanoseconds_to_years_ns};
    for (size_t d = 0; d < G_N_ELEMENTS(DRAWS); d++) {
        g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
        check_crowd(queue, DRAWS[d], 100000);
        ck_assert(!spate_event_queue_run_next(queue));
    }
}
END_TEST

START_TEST(a_crowd_before_what_was_to_be_next_runs_in_order)
{
    const DrawAhead DRAWS[] = {exponential_ns, one_instant_ns, microseconds_and_hours_ns,
                               few_instants_ns, nanoseconds_to_years_ns};
    const size_t SIZES[] = {100, 10000, 1000};
    Log log = {.stop_at_item = -1};
    for (size_t d = 0; d < G_N_ELEMENTS(DRAWS); d++) {
        g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
        spate_event_queue_schedule(queue, SPATE_NEVER_NS / 2, SPATE_RANK_END, note, &log, 7);
        for (size_t crowd = 0; crowd < G_N_ELEMENTS(SIZES); crowd++) {
            /* The queue looks at the far event and makes ready to run it. */
            int64_t now_ns = spate_event_queue_now_ns(queue);
            ck_assert(spate_event_queue_run_until(queue, now_ns + SPATE_NS_PER_S, NULL));
            check_crowd(queue, DRAWS[d], SIZES[crowd]);
        }
        ck_assert(spate_event_queue_run_next(queue));
        ck_assert_uint_eq(log.items[d], 7);
        ck_assert(!spate_event_queue_run_next(queue));
    }
}
END_TEST

START_TEST(the_end_of_time_can_be_reached)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    Log log = {.stop_at_item = -1};
    for (uint32_t i = 0; i < 100; i++)
        spate_event_queue_schedule(queue, SPATE_NEVER_NS - 100 + i, SPATE_RANK_END, note, &log, i);
    for (uint32_t i = 100; i < 200; i++)
        spate_event_queue_schedule(queue, i, SPATE_RANK_END, note, &log, i);
    for (uint32_t i = 0; i < 200; i++) {
        ck_assert(spate_event_queue_run_next(queue));
        ck_assert_uint_eq(log.items[i % G_N_ELEMENTS(log.items)], (i + 100) % 200);
    }
    ck_assert_int_eq(spate_event_queue_now_ns(queue), SPATE_NEVER_NS - 1);
}
END_TEST

START_TEST(a_run_ends_at_its_instant_included)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    Log log = {.stop_at_item = -1};
    ck_assert(!spate_event_queue_run_next(queue));
    for (uint32_t i = 1; i <= 3; i++)
        spate_event_queue_schedule(queue, 10 * i, SPATE_RANK_START, note, &log, i);
    ck_assert(spate_event_queue_run_until(queue, 9, NULL));
    ck_assert_uint_eq(log.n_run, 0);
    ck_assert_int_eq(spate_event_queue_now_ns(queue), 9);
    ck_assert(spate_event_queue_run_until(queue, 20, NULL));
    ck_assert_uint_eq(log.n_run, 2);
    ck_assert_uint_eq(spate_event_queue_length(queue), 1);
    /* Before the one that waits, although the queue has looked at that one already. */
    spate_event_queue_schedule(queue, 25, SPATE_RANK_END, note, &log, 4);
    ck_assert(spate_event_queue_run_until(queue, 1000, NULL));
    ck_assert_int_eq(spate_event_queue_now_ns(queue), 1000);
    ck_assert_uint_eq(log.items[2], 4);
    ck_assert_uint_eq(log.items[3], 3);
    ck_assert_uint_eq(spate_event_queue_n_run(queue), 4);
}
END_TEST

START_TEST(a_run_stops_between_groups_when_told)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    Log log = {.stop_at_item = 1};
    for (uint32_t i = 0; i < 5; i++)
        spate_event_queue_schedule(queue, i < 4 ? 10 : 20, SPATE_RANK_END, note, &log, i);
    ck_assert(!spate_event_queue_run_until(queue, 100, &log.stop));
    ck_assert_uint_eq(log.n_run, 4);
    ck_assert_int_eq(spate_event_queue_now_ns(queue), 10);
    ck_assert(!spate_event_queue_run_until(queue, 100, &log.stop));
    ck_assert_uint_eq(log.n_run, 4);
    log.stop = 0;
    ck_assert(spate_event_queue_run_until(queue, 100, &log.stop));
    ck_assert_uint_eq(log.n_run, 5);
    ck_assert_int_eq(spate_event_queue_now_ns(queue), 100);
}
END_TEST

START_TEST(an_id_of_old_finds_nothing)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    Log log = {.stop_at_item = -1};
    ck_assert(!spate_event_queue_cancel(queue, 0));
    ck_assert(!spate_event_queue_cancel(queue, 12345));
    SpateEventId first = spate_event_queue_schedule(queue, 1, SPATE_RANK_END, note, &log, 1);
    ck_assert(spate_event_queue_run_until(queue, 1, NULL));
    SpateEventId second = spate_event_queue_schedule(queue, 2, SPATE_RANK_END, note, &log, 2);
    ck_assert_uint_ne(first, second);
    ck_assert(!spate_event_queue_cancel(queue, first));
    ck_assert_uint_eq(spate_event_queue_length(queue), 1);
    ck_assert(spate_event_queue_cancel(queue, second));
    ck_assert(!spate_event_queue_cancel(queue, second));
    ck_assert_uint_eq(spate_event_queue_length(queue), 0);
    ck_assert(spate_event_queue_run_until(queue, 10, NULL));
    ck_assert_uint_eq(log.n_run, 1);
}
END_TEST

/* A queue whose events put others, without the twin. */
typedef struct {
    SpateEventQueue *queue;
    SpateRandom random;
    DrawAhead ahead_ns;
} Mill;

static void
turn(gpointer subject, uint32_t item)
{
    Mill *mill = subject;
    int64_t now_ns = spate_event_queue_now_ns(mill->queue);
    for (int i = 0; i < 2; i++) {
        SpateEventId id =
            spate_event_queue_schedule(mill->queue, now_ns + 1 + mill->ahead_ns(&mill->random),
                                       SPATE_RANK_TIMER, turn, mill, item);
        if (i == 0)
            spate_event_queue_cancel(mill->queue, id);
    }
}

/* Far more events than ever wait again, so that the largest size has been reached. */
static void
warm_up(SpateEventQueue *queue, uint32_t n)
{
    g_autofree SpateEventId *ids = g_new(SpateEventId, n);
    for (uint32_t i = 0; i < n; i++)
        ids[i] = spate_event_queue_schedule(queue, 1, SPATE_RANK_END, note, NULL, 0);
    for (uint32_t i = 0; i < n; i++)
        spate_event_queue_cancel(queue, ids[i]);
    spate_event_queue_run_until(queue, 2, NULL);
}

START_TEST(nothing_is_allocated_once_the_largest_size_was_reached)
{
    const DrawAhead DRAWS[] = {exponential_ns, one_instant_ns, few_instants_ns,
                               microseconds_and_hours_ns};
    if (!allocations_are_counted())
        return;
    for (size_t d = 0; d < G_N_ELEMENTS(DRAWS); d++) {
        g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
        Mill mill = {queue, spate_random_stream(2, d), DRAWS[d]};
        uint64_t cold = allocations_so_far();
        warm_up(queue, 100000);
        ck_assert_uint_gt(allocations_so_far(), cold);
        uint64_t warm = allocations_so_far();
        for (uint32_t i = 0; i < 1000; i++)
            turn(&mill, i);
        for (uint32_t i = 0; i < 40000; i++)
            spate_event_queue_run_next(queue);
        ck_assert_uint_eq(allocations_so_far(), warm);
    }
}
END_TEST

START_TEST(the_past_is_closed)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    ck_assert(spate_event_queue_run_until(queue, 10, NULL));
    spate_event_queue_schedule(queue, 10, SPATE_RANK_END, note, NULL, 0);
    spate_event_queue_schedule(queue, 9, SPATE_RANK_START, note, NULL, 0);
}
END_TEST

static void
schedule_the_rank_before(gpointer subject, uint32_t item G_GNUC_UNUSED)
{
    SpateEventQueue *queue = subject;
    int64_t now_ns = spate_event_queue_now_ns(queue);
    spate_event_queue_schedule(queue, now_ns, SPATE_RANK_START, note, NULL, 0);
    spate_event_queue_schedule(queue, now_ns, SPATE_RANK_CRITICAL, note, NULL, 0);
    spate_event_queue_schedule(queue, now_ns, SPATE_RANK_TIMER, note, NULL, 0);
}

START_TEST(a_rank_that_is_over_is_closed)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    spate_event_queue_schedule(queue, 5, SPATE_RANK_CRITICAL, schedule_the_rank_before, queue, 0);
    spate_event_queue_run_next(queue);
}
END_TEST

static void
schedule_the_same_rank(gpointer subject)
{
    SpateEventQueue *queue = subject;
    int64_t now_ns = spate_event_queue_now_ns(queue);
    spate_event_queue_schedule(queue, now_ns, SPATE_RANK_CRITICAL, note, NULL, 0);
    spate_event_queue_schedule(queue, now_ns, SPATE_RANK_TIMER, note, NULL, 0);
}

START_TEST(a_closing_function_cannot_open_its_rank_again)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    Log log = {.stop_at_item = -1};
    spate_event_queue_on_close(queue, SPATE_RANK_TIMER, schedule_the_same_rank, queue);
    spate_event_queue_schedule(queue, 5, SPATE_RANK_TIMER, note, &log, 0);
    spate_event_queue_run_next(queue);
}
END_TEST

START_TEST(an_instant_that_was_run_stays_closed)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    Log log = {.stop_at_item = -1};
    spate_event_queue_schedule(queue, 5, SPATE_RANK_TIMER, note, &log, 0);
    spate_event_queue_run_until(queue, 5, NULL);
    spate_event_queue_schedule(queue, 5, SPATE_RANK_CRITICAL, note, &log, 0);
    spate_event_queue_schedule(queue, 5, SPATE_RANK_TIMER, note, &log, 0);
}
END_TEST

static TCase *
orders(void)
{
    TCase *sentences = tcase_create("orders");
    tcase_set_timeout(sentences, 300);
    tcase_add_test(sentences, events_far_apart_run_in_order);
    tcase_add_test(sentences, events_of_one_instant_run_by_rank_and_then_as_scheduled);
    tcase_add_test(sentences, microseconds_and_hours_run_in_order);
    tcase_add_test(sentences, when_half_is_cancelled_the_rest_runs_in_order);
    tcase_add_test(sentences, a_hundred_thousand_run_in_order);
    tcase_add_test(sentences, a_crowd_before_what_was_to_be_next_runs_in_order);
    tcase_add_test(sentences, the_end_of_time_can_be_reached);
    tcase_add_test(sentences, a_run_ends_at_its_instant_included);
    tcase_add_test(sentences, a_run_stops_between_groups_when_told);
    tcase_add_test(sentences, an_id_of_old_finds_nothing);
    tcase_add_test(sentences, nothing_is_allocated_once_the_largest_size_was_reached);
    return sentences;
}

/* Each of these has to abort; where it may not yet, its steps are allowed ones. */
static TCase *
callers_bugs(void)
{
    TCase *bugs = tcase_create("callers' bugs");
    tcase_add_test_raise_signal(bugs, the_past_is_closed, SIGABRT);
    tcase_add_test_raise_signal(bugs, a_rank_that_is_over_is_closed, SIGABRT);
    tcase_add_test_raise_signal(bugs, a_closing_function_cannot_open_its_rank_again, SIGABRT);
    tcase_add_test_raise_signal(bugs, an_instant_that_was_run_stays_closed, SIGABRT);
    return bugs;
}

int
main(void)
{
    Suite *suite = suite_create("event-queue");
    suite_add_tcase(suite, orders());
    suite_add_tcase(suite, callers_bugs());
    SRunner *runner = srunner_create(suite);
    /* A case that aborts needs a process of its own. */
    srunner_set_fork_status(runner, CK_FORK);
    srunner_run_all(runner, CK_ENV);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
