/* test-time-left.c - the estimate of the time that a long study still takes */
#include "cli/time-left.h"
#include "support/check-main.h"

/* Runs of that length, one after the other; when the last one ends. */
static double
note_runs(CliTimeLeft *left, double at_s, double run_s, uint32_t n)
{
    for (uint32_t i = 0; i < n; i++) {
        at_s += run_s;
        cli_time_left_note(left, at_s, left->done + 1);
    }
    return at_s;
}

START_TEST(steady_runs_are_told_exactly)
{
    CliTimeLeft left;
    cli_time_left_init(&left, 100, 0);
    note_runs(&left, 100, 1, 10);
    ck_assert_double_eq_tol(cli_time_left_s(&left, 110), 100, 1e-9);
}
END_TEST

START_TEST(nothing_is_told_before_some_runs_are_done)
{
    CliTimeLeft left;
    cli_time_left_init(&left, 0, 0);
    ck_assert_double_lt(cli_time_left_s(&left, 10), 0);
    note_runs(&left, 0, 5, 1);
    ck_assert_double_lt(cli_time_left_s(&left, 10), 0);
}
END_TEST

/* Counted in, the 900 would make the rest look like a second. */
START_TEST(runs_of_an_earlier_time_do_not_count)
{
    CliTimeLeft left;
    cli_time_left_init(&left, 0, 900);
    note_runs(&left, 0, 10, 10);
    ck_assert_double_eq_tol(cli_time_left_s(&left, 1000), 900, 1e-9);
}
END_TEST

/* After ten minutes of slow runs, those of the start are as good as forgotten; the mean of all
 * would say 20 s. */
START_TEST(what_is_long_ago_is_forgotten)
{
    CliTimeLeft left;
    cli_time_left_init(&left, 0, 0);
    double at_s = note_runs(&left, 0, 0.1, 6000);
    note_runs(&left, at_s, 6, 100);
    ck_assert_double_eq_tol(cli_time_left_s(&left, left.done + 100), 600, 100);
}
END_TEST

/* Eight threads end their runs of an hour at about the same time: ten hours are left. */
START_TEST(runs_that_end_in_bunches_are_evened_out)
{
    CliTimeLeft left;
    cli_time_left_init(&left, 0, 0);
    for (int round = 1; round <= 4; round++)
        for (int thread = 0; thread < 8; thread++) {
            cli_time_left_note(&left, round * 3600 + thread, left.done + 1);
            double left_s = cli_time_left_s(&left, left.done + 80);
            ck_assert(round == 1 || (left_s > 18000 && left_s < 90000));
        }
}
END_TEST

CHECK_MAIN("time-left", steady_runs_are_told_exactly, nothing_is_told_before_some_runs_are_done,
           runs_of_an_earlier_time_do_not_count, what_is_long_ago_is_forgotten,
           runs_that_end_in_bunches_are_evened_out)
