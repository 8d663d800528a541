/* test-listening.c - windows of radios that sleep, against counting them one by one */
#include "radio/listening.h"

#include "core/random.h"
#include "support/check-main.h"

#include <glib.h>

/* Windows of 3 that begin at 4, 14, 24, ... */
static const SpateListening TENTH = {.every_ns = 10, .for_ns = 3};

START_TEST(time_counts_from_the_first_window_on)
{
    ck_assert_int_eq(spate_listening_since_ns(&TENTH, 4, 0), -1);
    ck_assert_int_eq(spate_listening_since_ns(&TENTH, 4, 3), -1);
    ck_assert_int_eq(spate_listening_since_ns(&TENTH, 4, 4), 0);
    ck_assert_int_eq(spate_listening_since_ns(&TENTH, 4, 13), 9);
    ck_assert_int_eq(spate_listening_since_ns(&TENTH, 4, 14), 0);
}
END_TEST

START_TEST(the_next_window_is_after_this_instant)
{
    ck_assert_int_eq(spate_listening_next_ns(&TENTH, 4, 0), 4);
    ck_assert_int_eq(spate_listening_next_ns(&TENTH, 4, 3), 4);
    ck_assert_int_eq(spate_listening_next_ns(&TENTH, 4, 4), 14);
    ck_assert_int_eq(spate_listening_next_ns(&TENTH, 4, 13), 14);
    ck_assert_int_eq(spate_listening_next_ns(&TENTH, 0, 0), 10);
}
END_TEST

START_TEST(open_time_is_that_of_windows_counted_one_by_one)
{
    SpateRandom random = spate_random_stream(spate_random_key(1, 0, SPATE_FOR_TEST), 1);
    for (int i = 0; i < 1000; i++) {
        int64_t every_ns = 2 + (int64_t)spate_random_below(&random, 30);
        SpateListening listening = {
            .every_ns = every_ns,
            .for_ns = 1 + (int64_t)spate_random_below(&random, (uint64_t)every_ns - 1)};
        int64_t phase_ns = (int64_t)spate_random_below(&random, (uint64_t)every_ns);
        int64_t until_ns = (int64_t)spate_random_below(&random, 200), open_ns = 0;
        for (int64_t t = 0; t < until_ns; t++) {
            int64_t since_ns = spate_listening_since_ns(&listening, phase_ns, t);
            open_ns += since_ns >= 0 && since_ns < listening.for_ns;
        }
        ck_assert_int_eq(spate_listening_open_ns(&listening, phase_ns, until_ns), open_ns);
    }
}
END_TEST

START_TEST(a_longer_preamble_is_heard_by_more)
{
    ck_assert_double_eq_tol(spate_listening_share(&TENTH, 0), 0.3, 1e-15);
    ck_assert_double_eq_tol(spate_listening_share(&TENTH, 4), 0.7, 1e-15);
    ck_assert_double_eq(spate_listening_share(&TENTH, 7), 1.0);
    ck_assert_double_eq(spate_listening_share(&TENTH, 100), 1.0);
}
END_TEST

CHECK_MAIN("listening", time_counts_from_the_first_window_on, the_next_window_is_after_this_instant,
           open_time_is_that_of_windows_counted_one_by_one, a_longer_preamble_is_heard_by_more)
