/* test-statistics.c - intervals and percentiles against tables and worked examples
 *
 * Student t: rows of tests/reference/queueing-and-access.csv.  Wilson: R. G. Newcombe, "Two-sided
 * confidence intervals for the single proportion", Statistics in Medicine 17, 1998, table I; from
 * memory.
 */
#include "core/random.h"
#include "core/statistics.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

START_TEST(the_quantiles_of_student_are_those_of_the_table)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "student-t") != 0)
            continue;
        size_t replications = (size_t)reference_input(rows, i, "replications");
        double miss =
            spate_student_t(replications - 1, SPATE_RISK) - reference_number(rows, i, "value");
        ck_assert_msg(fabs(miss) <= reference_tolerance(rows, i), "row %u: off by %g", i + 2, miss);
        n++;
    }
    ck_assert_int_ge(n, 7);
}
END_TEST

START_TEST(the_interval_of_wilson_is_that_of_the_worked_examples)
{
    static const struct {
        double k, n, low, high;
    } EXAMPLES[] = {
        {81, 263, 0.2553, 0.3662},
        {15, 148, 0.0624, 0.1605},
        {0, 20, 0.0, 0.1611},
        {1, 29, 0.0061, 0.1718},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(EXAMPLES); i++) {
        SpateInterval got = spate_wilson_interval(EXAMPLES[i].k, EXAMPLES[i].n);
        ck_assert_double_le(fabs(got.low - EXAMPLES[i].low), 5.1e-5);
        ck_assert_double_le(fabs(got.high - EXAMPLES[i].high), 5.1e-5);
    }
    ck_assert(isnan(spate_wilson_interval(0, 0).low));
    ck_assert(isnan(spate_wilson_interval(0, 0).high));
}
END_TEST

START_TEST(a_worked_sample_has_its_interval)
{
    /* By hand: mean 5, squared deviations 9 + 1 + 1 + 1 + 0 + 0 + 4 + 16 = 32, variance 32/7,
     * t = 2.364624 for 7 degrees of freedom: half 2.364624 * sqrt(32/7/8) = 1.787486. */
    const double VALUES[] = {2, 4, 4, 4, 5, 5, 7, 9};
    SpateRunning running = {0};
    for (size_t i = 0; i < G_N_ELEMENTS(VALUES); i++) {
        if (i < 2) {
            ck_assert(isnan(spate_running_variance(&running)));
            ck_assert(isnan(spate_student_interval(&running).low));
            ck_assert(isnan(spate_student_interval(&running).high));
        }
        spate_running_add(&running, VALUES[i]);
    }
    ck_assert_uint_eq(running.n, 8);
    ck_assert_double_eq_tol(running.mean, 5.0, 1e-12);
    ck_assert_double_eq_tol(spate_running_variance(&running), 32.0 / 7.0, 1e-12);
    SpateInterval got = spate_student_interval(&running);
    ck_assert_double_eq_tol(got.low, 5.0 - 1.787486, 2e-6);
    ck_assert_double_eq_tol(got.high, 5.0 + 1.787486, 2e-6);
}
END_TEST

START_TEST(the_spread_survives_a_large_mean)
{
    /* Three values around 1e9: a sum of squares would have lost their spread. */
    SpateRunning running = {0};
    for (int i = 0; i < 3; i++)
        spate_running_add(&running, 1e9 + i);
    ck_assert_double_eq_tol(spate_running_variance(&running), 1.0, 1e-9);
}
END_TEST

START_TEST(about_95_of_100_intervals_hold_the_mean)
{
    /* The number that do is binomial: 4 standard errors to either side. */
    const int n_samples = 400, size = 10;
    const double mean = 3.0;
    SpateRandom random = spate_random_stream(spate_random_key(1, 0, SPATE_FOR_TEST), 1);
    int n_held = 0;
    for (int s = 0; s < n_samples; s++) {
        SpateRunning running = {0};
        for (int i = 0; i < size; i++)
            spate_running_add(&running, mean + 2.0 * spate_random_normal(&random));
        SpateInterval interval = spate_student_interval(&running);
        n_held += interval.low <= mean && mean <= interval.high;
    }
    ck_assert_double_le(fabs(n_held - 0.95 * n_samples), 4.0 * sqrt(0.95 * 0.05 * n_samples));
}
END_TEST

START_TEST(a_percentile_is_the_value_of_the_nearest_rank)
{
    /* Ordered: 15, 20, 35, 40, 50: the common worked example of the nearest rank. */
    static const struct {
        double p;
        int64_t value;
    } RANKS[] = {{0.05, 15}, {0.3, 20}, {0.4, 20}, {0.41, 35}, {0.5, 35}, {0.8, 40}, {1.0, 50}};
    for (size_t i = 0; i < G_N_ELEMENTS(RANKS); i++) {
        int64_t values[] = {40, 15, 50, 35, 20};
        ck_assert_int_eq(spate_percentile_i64(values, 5, RANKS[i].p), RANKS[i].value);
    }
    int64_t lone = -7, wide[] = {INT64_MAX, INT64_MIN};
    ck_assert_int_eq(spate_percentile_i64(&lone, 1, 1e-9), -7);
    ck_assert_int_eq(spate_percentile_i64(wide, 2, 0.5), INT64_MIN);
}
END_TEST

START_TEST(the_usual_percentiles_have_their_share_for_every_size)
{
    /* The definition in whole numbers: of the values 1 to n, the smallest v that has
     * 100 v >= percent n.  A p that is no such double may fall a rank higher by rounding. */
    const int PERCENTS[] = {25, 50, 75, 90, 95, 99, 100};
    int64_t values[300];
    for (int n = 1; n <= (int)G_N_ELEMENTS(values); n++) {
        for (size_t p = 0; p < G_N_ELEMENTS(PERCENTS); p++) {
            for (int i = 0; i < n; i++)
                values[i] = n - i;
            int smallest = (PERCENTS[p] * n + 99) / 100;
            int64_t got = spate_percentile_i64(values, (size_t)n, PERCENTS[p] / 100.0);
            ck_assert_msg(got == smallest, "%d %% of %d: %d", PERCENTS[p], n, (int)got);
        }
    }
}
END_TEST

static int
compare_i64(const void *a, const void *b)
{
    int64_t first = *(const int64_t *)a, second = *(const int64_t *)b;
    return (first > second) - (first < second);
}

/* Values as runs leave them, and as searches dislike them. */
static int64_t
value_of(int pattern, int i, int n, SpateRandom *random)
{
    switch (pattern) {
    case 0:
        return i;
    case 1:
        return n - i;
    case 2: /* up and down again */
        return MIN(i, n - i);
    case 3:
        return 5;
    case 4:
        return (int64_t)spate_random_below(random, 4);
    default:
        return (int64_t)spate_random_u64(random);
    }
}

START_TEST(percentiles_are_those_of_the_sorted_values)
{
    enum { N_PATTERNS = 6, N_AT_MOST = 1000 };
    SpateRandom random = spate_random_stream(1, 1);
    for (int c = 0; c < 600; c++) {
        int n = 1 + (int)spate_random_below(&random, c < 500 ? 40 : N_AT_MOST);
        int64_t values[N_AT_MOST], sorted[N_AT_MOST];
        for (int i = 0; i < n; i++)
            values[i] = sorted[i] = value_of(c % N_PATTERNS, i, n, &random);
        qsort(sorted, (size_t)n, sizeof sorted[0], compare_i64);
        /* one after the other, of the same values: each call leaves them in another order */
        for (int k = 0; k < 10; k++) {
            int rank = (int)spate_random_below(&random, (uint64_t)n);
            int64_t got = spate_percentile_i64(values, (size_t)n, (rank + 0.5) / n);
            ck_assert_msg(got == sorted[rank], "case %d: %d of %d", c, rank, n);
        }
        qsort(values, (size_t)n, sizeof values[0], compare_i64);
        ck_assert_mem_eq(values, sorted, (size_t)n * sizeof sorted[0]);
    }
}
END_TEST

START_TEST(intervals_join_and_are_clipped)
{
    SpateInterval none = {NAN, NAN}, a = {0.2, 0.5}, b = {-0.1, 0.4};
    SpateInterval both = spate_interval_union(a, b);
    ck_assert_double_eq(both.low, -0.1);
    ck_assert_double_eq(both.high, 0.5);
    SpateInterval left = spate_interval_union(none, a), right = spate_interval_union(a, none);
    ck_assert(left.low == a.low && left.high == a.high);
    ck_assert(right.low == a.low && right.high == a.high);
    ck_assert(isnan(spate_interval_union(none, none).low));
    SpateInterval clipped = spate_interval_clip(both, 0.0, 0.3);
    ck_assert_double_eq(clipped.low, 0.0);
    ck_assert_double_eq(clipped.high, 0.3);
    ck_assert(isnan(spate_interval_clip(none, 0.0, 1.0).low));
    ck_assert(isnan(spate_interval_clip(none, 0.0, 1.0).high));
}
END_TEST

static SpateRunning
running_of(const double *values, size_t n)
{
    SpateRunning running = {0};
    for (size_t i = 0; i < n; i++)
        spate_running_add(&running, values[i]);
    return running;
}

/* Where Student's interval just touches 0, p is 5 %: t = 12.706 for 1 degree of freedom, 2.776 for
 * 4 (any table). */
START_TEST(p_is_five_percent_where_the_interval_touches_zero)
{
    /* Mean m and spread s of two values are (a + b) / 2 and |a - b| / sqrt 2: t = (a + b) / |a -
     * b|. */
    const double two[] = {13.706, 11.706};
    SpateRunning running = running_of(two, 2);
    ck_assert_double_eq_tol(spate_student_p(&running), 0.05, 1e-5);
    /* Mean 2.776 / sqrt 5 times their spread, which is that of -1 -1 0 1 1: 1. */
    const double shift = 2.776445 / sqrt(5.0);
    const double five[] = {shift - 1.0, shift - 1.0, shift, shift + 1.0, shift + 1.0};
    running = running_of(five, 5);
    ck_assert_double_eq_tol(spate_student_p(&running), 0.05, 1e-5);
}
END_TEST

START_TEST(what_cannot_be_judged_is_not_different_from_zero)
{
    const double values[] = {0.0, 0.0, 0.5, 0.5};
    SpateRunning one = running_of(values + 2, 1), zeros = running_of(values, 2);
    SpateRunning same = running_of(values + 2, 2);
    ck_assert_double_eq(spate_student_p(&one), 1.0);
    ck_assert_double_eq(spate_student_p(&zeros), 1.0);
    ck_assert_double_eq(spate_student_p(&same), ldexp(2.0, -(int)same.n));
}
END_TEST

/* S. Holm, Scand. J. Statist. 6, 1979, worked by hand: 0.005 x 4, 0.01 x 3, 0.03 x 2; and the last,
 * 0.04 x 1, must not fall below the one before it. */
START_TEST(holm_multiplies_by_how_many_are_left)
{
    double p[] = {0.01, 0.04, 0.03, 0.005};
    spate_holm_adjust(p, 4);
    ck_assert_double_eq_tol(p[0], 0.03, 1e-12);
    ck_assert_double_eq_tol(p[1], 0.06, 1e-12);
    ck_assert_double_eq_tol(p[2], 0.06, 1e-12);
    ck_assert_double_eq_tol(p[3], 0.02, 1e-12);
    double large[] = {0.7, 0.9};
    spate_holm_adjust(large, 2);
    ck_assert_double_eq(large[0], 1.0);
    ck_assert_double_eq(large[1], 1.0);
}
END_TEST

/* As above, at 5 %: 0.01 and 0.005 are different from 0, tested at 5 % / 3 and 5 % / 4; the others
 * are tested as the first of them is, at 5 % / 2. */
START_TEST(each_is_tested_at_a_risk_that_says_what_holm_says)
{
    const double p[] = {0.01, 0.04, 0.03, 0.005};
    double risks[4];
    spate_holm_risks(p, 4, 0.05, risks);
    ck_assert_double_eq_tol(risks[0], 0.05 / 3.0, 1e-12);
    ck_assert_double_eq_tol(risks[1], 0.05 / 2.0, 1e-12);
    ck_assert_double_eq_tol(risks[2], 0.05 / 2.0, 1e-12);
    ck_assert_double_eq_tol(risks[3], 0.05 / 4.0, 1e-12);
    /* 0.02 x 3 is too much for the first, so 0.024 x 2 is not asked: both at 5 % / 3. */
    const double close[] = {0.024, 0.02, 0.9};
    spate_holm_risks(close, 3, 0.05, risks);
    for (int i = 0; i < 3; i++)
        ck_assert_double_eq_tol(risks[i], 0.05 / 3.0, 1e-12);
}
END_TEST

/* Student's t at 99 %, two-sided, with 4 degrees of freedom: 4.604 (standard tables).  The mean of
 * 1 to 5 is 3, its error sqrt(2.5 / 5). */
START_TEST(an_interval_at_less_risk_is_wider)
{
    SpateRunning running = {0};
    for (int i = 1; i <= 5; i++)
        spate_running_add(&running, i);
    SpateInterval at5 = spate_student_interval_at(&running, 0.05);
    SpateInterval at1 = spate_student_interval_at(&running, 0.01);
    ck_assert_double_eq_tol(at5.low, spate_student_interval(&running).low, 1e-9);
    ck_assert_double_eq_tol(at1.high - 3.0, 4.604 * sqrt(0.5), 1e-3);
    ck_assert_double_eq_tol(3.0 - at1.low, 4.604 * sqrt(0.5), 1e-3);
}
END_TEST

/* Hours of television and a test score of ten people: rho = -29/165, p = 0.6272 by Student's t with
 * 8 degrees of freedom; a worked example of many textbooks, from memory. */
START_TEST(the_rank_correlation_is_that_of_the_worked_example)
{
    const double score[] = {106, 100, 86, 101, 99, 103, 97, 113, 112, 110};
    const double hours[] = {7, 27, 2, 50, 28, 29, 20, 12, 6, 17};
    double correlation = spate_rank_correlation(score, hours, 10);
    ck_assert_double_eq_tol(correlation, -29.0 / 165.0, 1e-12);
    ck_assert_double_eq_tol(spate_rank_correlation_p(correlation, 10), 0.627188, 1e-6);
}
END_TEST

/* Ties share their rank: Pearson's correlation of 1, 2.5, 2.5, 4 and 1, 2, 3, 4 is 9/sqrt(90),
 * by hand. */
START_TEST(ties_share_their_rank_and_what_never_changes_has_none)
{
    const double x[] = {1, 7, 7, 9}, y[] = {2, 3, 5, 8}, same[] = {4, 4, 4, 4};
    ck_assert_double_eq_tol(spate_rank_correlation(x, y, 4), 9.0 / sqrt(90.0), 1e-12);
    ck_assert(isnan(spate_rank_correlation(x, same, 4)));
    ck_assert_double_eq(spate_rank_correlation_p(NAN, 4), 1.0);
    ck_assert_double_eq_tol(spate_rank_correlation(y, y, 4), 1.0, 1e-12);
    ck_assert_double_eq(spate_rank_correlation_p(1.0, 4), 0.0);
}
END_TEST

CHECK_MAIN("statistics", the_rank_correlation_is_that_of_the_worked_example,
           ties_share_their_rank_and_what_never_changes_has_none,
           p_is_five_percent_where_the_interval_touches_zero,
           what_cannot_be_judged_is_not_different_from_zero,
           each_is_tested_at_a_risk_that_says_what_holm_says, an_interval_at_less_risk_is_wider,
           holm_multiplies_by_how_many_are_left, the_quantiles_of_student_are_those_of_the_table,
           the_interval_of_wilson_is_that_of_the_worked_examples, a_worked_sample_has_its_interval,
           the_spread_survives_a_large_mean, about_95_of_100_intervals_hold_the_mean,
           a_percentile_is_the_value_of_the_nearest_rank,
           the_usual_percentiles_have_their_share_for_every_size,
           percentiles_are_those_of_the_sorted_values, intervals_join_and_are_clipped)
