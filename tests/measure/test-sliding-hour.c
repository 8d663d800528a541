/* test-sliding-hour.c - the busiest hour of a radio */
#include "core/random.h"
#include "core/time.h"
#include "measure/sliding-hour.h"
#include "support/check-main.h"

#define DAY_NS (24 * SPATE_NS_PER_HOUR)

static void
add_s(SpateSlidingHour *hour, int64_t start_s, int64_t end_s)
{
    spate_sliding_hour_add(hour, 0, start_s * SPATE_NS_PER_S, end_s * SPATE_NS_PER_S);
}

static int64_t
most_s(const SpateSlidingHour *hour)
{
    return spate_sliding_hour_most_ns(hour, 0) / SPATE_NS_PER_S;
}

START_TEST(frames_within_an_hour_add_up)
{
    g_autoptr(SpateSlidingHour) hour = spate_sliding_hour_new(1, DAY_NS, 0);
    add_s(hour, 0, 36);
    add_s(hour, 1800, 1836);
    ck_assert_int_eq(most_s(hour), 72);
}
END_TEST

/* The window ending at 3626 s begins at 26 s: 10 s of the first frame, 36 of the second, 36 of the
 * third. */
START_TEST(a_frame_partly_in_the_hour_counts_by_that_part)
{
    g_autoptr(SpateSlidingHour) hour = spate_sliding_hour_new(1, DAY_NS, 0);
    add_s(hour, 0, 36);
    add_s(hour, 1800, 1836);
    add_s(hour, 3590, 3626);
    ck_assert_int_eq(most_s(hour), 82);
}
END_TEST

START_TEST(frames_more_than_an_hour_apart_do_not_add_up)
{
    g_autoptr(SpateSlidingHour) hour = spate_sliding_hour_new(1, DAY_NS, 0);
    add_s(hour, 0, 36);
    add_s(hour, 3636, 3646);
    ck_assert_int_eq(most_s(hour), 36);
}
END_TEST

START_TEST(the_busiest_hour_may_lie_in_the_middle)
{
    g_autoptr(SpateSlidingHour) hour = spate_sliding_hour_new(1, DAY_NS, 0);
    add_s(hour, 0, 10);
    add_s(hour, 7200, 7300);
    add_s(hour, 7400, 7500);
    add_s(hour, 14400, 14410);
    ck_assert_int_eq(most_s(hour), 200);
}
END_TEST

START_TEST(radios_do_not_mix)
{
    g_autoptr(SpateSlidingHour) hour = spate_sliding_hour_new(2, DAY_NS, 0);
    spate_sliding_hour_add(hour, 0, 0, 5);
    spate_sliding_hour_add(hour, 1, 2, 9);
    ck_assert_int_eq(spate_sliding_hour_most_ns(hour, 0), 5);
    ck_assert_int_eq(spate_sliding_hour_most_ns(hour, 1), 7);
}
END_TEST

START_TEST(a_run_of_an_hour_has_one_window)
{
    g_autoptr(SpateSlidingHour) hour = spate_sliding_hour_new(1, SPATE_NS_PER_HOUR, 0);
    add_s(hour, 0, 100);
    add_s(hour, 3500, 3600);
    ck_assert_int_eq(most_s(hour), 200);
}
END_TEST

/* Time spent sending within (end - 1 h, end], frame by frame. */
static int64_t
plain_sum_ns(int64_t (*frames)[2], size_t n, int64_t end_ns)
{
    int64_t begin_ns = end_ns - SPATE_NS_PER_HOUR, sum_ns = 0;
    for (size_t i = 0; i < n; i++)
        sum_ns += MAX(MIN(frames[i][1], end_ns) - MAX(frames[i][0], begin_ns), 0);
    return sum_ns;
}

/* Windows that begin or end at any edge of a frame hold all corners of the sum, so their largest is
 * the true one. */
START_TEST(windows_that_end_with_a_frame_are_enough)
{
    enum { N = 400 };
    SpateRandom random = spate_random_stream(spate_random_key(1, 0, SPATE_FOR_TEST), 7);
    int64_t frames[N][2];
    int64_t now_ns = 0;
    g_autoptr(SpateSlidingHour) hour = spate_sliding_hour_new(1, DAY_NS, 0);
    for (int i = 0; i < N; i++) {
        frames[i][0] = now_ns + spate_random_wait_ns(&random, 400 * SPATE_NS_PER_S);
        frames[i][1] = frames[i][0] + spate_random_wait_ns(&random, 300 * SPATE_NS_PER_S);
        now_ns = frames[i][1];
        spate_sliding_hour_add(hour, 0, frames[i][0], frames[i][1]);
    }
    int64_t most_ns = 0;
    for (int i = 0; i < N; i++) {
        for (int edge = 0; edge < 2; edge++) {
            int64_t at_ns = frames[i][edge];
            most_ns = MAX(most_ns, plain_sum_ns(frames, N, at_ns));
            most_ns = MAX(most_ns, plain_sum_ns(frames, N, at_ns + SPATE_NS_PER_HOUR));
        }
    }
    ck_assert_int_eq(spate_sliding_hour_most_ns(hour, 0), most_ns);
}
END_TEST

int
main(void)
{
    TCase *cases = tcase_create("sliding hour");
    tcase_add_test(cases, frames_within_an_hour_add_up);
    tcase_add_test(cases, a_frame_partly_in_the_hour_counts_by_that_part);
    tcase_add_test(cases, frames_more_than_an_hour_apart_do_not_add_up);
    tcase_add_test(cases, the_busiest_hour_may_lie_in_the_middle);
    tcase_add_test(cases, radios_do_not_mix);
    tcase_add_test(cases, a_run_of_an_hour_has_one_window);
    tcase_add_test(cases, windows_that_end_with_a_frame_are_enough);
    Suite *suite = suite_create("sliding hour");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
