/* test-summary.c - intervals and differences over replications
 *
 * Student's t at 95 %, two-sided: 12.706 (1 degree of freedom), 4.303 (2), 3.182 (3); standard
 * tables, as in Student's own paper of 1908 and any textbook (from memory).
 */
#include "study/run/summary.h"
#include "support/check-main.h"

#include <math.h>

/* A row over the given values; counts and ofs may be NULL. */
static SpateResultRow
row_of(SpateMeasure measure, double *values, double *counts, double *ofs, uint32_t n)
{
    SpateResultRow row = {.measure = measure, .values = values, .counts = counts, .ofs = ofs};
    spate_summary_of_row(&row, n);
    return row;
}

/* 1, 2, 3: mean 2, s = 1, half width 4.303 / sqrt(3) = 2.484. */
START_TEST(a_mean_has_students_interval)
{
    double values[] = {11.0, 12.0, 13.0};
    SpateResultRow row = row_of(SPATE_MEASURE_LATENCY_MEAN, values, NULL, NULL, 3);
    ck_assert_uint_eq(row.n, 3);
    ck_assert_double_eq_tol(row.mean, 12.0, 1e-12);
    ck_assert_double_eq_tol(row.ci95.low, 12.0 - 2.484, 1e-3);
    ck_assert_double_eq_tol(row.ci95.high, 12.0 + 2.484, 1e-3);
}
END_TEST

/* The half width of 1, 2, 3 is 2.484 as above: the lower end would be negative. */
START_TEST(an_interval_is_clipped_to_what_the_measure_can_be)
{
    double latencies[] = {1.0, 2.0, 3.0};
    SpateResultRow latency = row_of(SPATE_MEASURE_LATENCY_P95, latencies, NULL, NULL, 3);
    ck_assert_double_eq(latency.ci95.low, 0.0);
    ck_assert_double_eq_tol(latency.ci95.high, 4.484, 1e-3);

    double occupancies[] = {0.2, 0.9};
    SpateResultRow occupancy = row_of(SPATE_MEASURE_OCCUPANCY, occupancies, NULL, NULL, 2);
    ck_assert_double_eq(occupancy.ci95.low, 0.0);
    ck_assert_double_eq(occupancy.ci95.high, 1.0);

    double hops[] = {1.0, 2.0};
    SpateResultRow mean_hops = row_of(SPATE_MEASURE_HOPS_MEAN, hops, NULL, NULL, 2);
    ck_assert_double_eq(mean_hops.ci95.low, 1.0);
}
END_TEST

START_TEST(one_replication_has_no_interval)
{
    double values[] = {0.5}, counts[] = {5.0}, ofs[] = {10.0};
    SpateResultRow row = row_of(SPATE_MEASURE_DELIVERY, values, counts, ofs, 1);
    ck_assert_double_eq(row.mean, 0.5);
    ck_assert_double_nan(row.ci95.low);
    ck_assert_double_nan(row.ci95.high);
}
END_TEST

/* 20 times 10 of 10: Wilson of 200 of 200, lower end n / (n + z^2) = 200 / 203.8415 = 0.98115
 * (E. B. Wilson 1927, for k = n; z = 1.959964). */
START_TEST(twenty_times_a_hundred_percent_is_not_certain)
{
    double values[20], counts[20], ofs[20];
    for (int i = 0; i < 20; i++) {
        values[i] = 1.0;
        counts[i] = ofs[i] = 10.0;
    }
    SpateResultRow row = row_of(SPATE_MEASURE_DELIVERY, values, counts, ofs, 20);
    ck_assert_double_eq(row.mean, 1.0);
    ck_assert_double_eq_tol(row.ci95.low, 200.0 / (200.0 + 1.959964 * 1.959964), 1e-5);
    ck_assert_double_eq(row.ci95.high, 1.0);
}
END_TEST

/* 0.2 and 0.8 of 1000 each: Student's interval is all of 0 to 1, Wilson's of 1000 of 2000 is 0.478
 * to 0.522. */
START_TEST(the_wider_end_counts_on_either_side)
{
    double values[] = {0.2, 0.8}, counts[] = {200.0, 800.0}, ofs[] = {1000.0, 1000.0};
    SpateResultRow row = row_of(SPATE_MEASURE_RECEIVED, values, counts, ofs, 2);
    ck_assert_double_eq(row.ci95.low, 0.0);
    ck_assert_double_eq(row.ci95.high, 1.0);
}
END_TEST

START_TEST(replications_without_a_value_are_left_out)
{
    double values[] = {NAN, 4.0, NAN, 6.0};
    SpateResultRow row = row_of(SPATE_MEASURE_LATENCY_MEAN, values, NULL, NULL, 4);
    ck_assert_uint_eq(row.n, 2);
    ck_assert_double_eq(row.mean, 5.0);
    double none[] = {NAN, NAN};
    row = row_of(SPATE_MEASURE_LATENCY_MEAN, none, NULL, NULL, 2);
    ck_assert_uint_eq(row.n, 0);
    ck_assert_double_nan(row.mean);
    ck_assert_double_nan(row.ci95.low);
}
END_TEST

/* Differences 1, 2, 3 though the values themselves scatter by 100: mean 2, -+ 2.484. */
START_TEST(differences_are_paired)
{
    double versus_values[] = {0.0, 100.0, 200.0}, values[] = {1.0, 102.0, 203.0};
    SpateResultRow versus = row_of(SPATE_MEASURE_LATENCY_MEAN, versus_values, NULL, NULL, 3);
    SpateResultRow variant = row_of(SPATE_MEASURE_LATENCY_MEAN, values, NULL, NULL, 3);
    SpateDifference difference = spate_summary_of_pair(&variant, &versus, 3);
    ck_assert_uint_eq(difference.n, 3);
    ck_assert_double_eq_tol(difference.mean, 2.0, 1e-12);
    ck_assert_double_eq_tol(difference.ci95.low, -0.484, 1e-3);
    ck_assert_double_eq_tol(difference.ci95.high, 4.484, 1e-3);
}
END_TEST

START_TEST(a_pair_needs_a_value_on_both_sides)
{
    double versus_values[] = {1.0, NAN, 3.0}, values[] = {NAN, 2.0, 7.0};
    SpateResultRow versus = row_of(SPATE_MEASURE_LATENCY_MEAN, versus_values, NULL, NULL, 3);
    SpateResultRow variant = row_of(SPATE_MEASURE_LATENCY_MEAN, values, NULL, NULL, 3);
    SpateDifference difference = spate_summary_of_pair(&variant, &versus, 3);
    ck_assert_uint_eq(difference.n, 1);
    ck_assert_double_eq(difference.mean, 4.0);
    ck_assert_double_nan(difference.ci95.low);
}
END_TEST

/* The base has rows for traffic a and b; the variant for b and c: only b can be set side by side.
 */
START_TEST(rows_are_matched_by_names)
{
    double one[] = {1.0, 1.0}, two[] = {2.0, 2.0}, five[] = {5.0, 5.0};
    SpateResultRow base_rows[] = {
        {.measure = SPATE_MEASURE_MESSAGES, .traffic = (char *)"a", .values = one},
        {.measure = SPATE_MEASURE_MESSAGES, .traffic = (char *)"b", .values = two}};
    SpateResultRow variant_rows[] = {
        {.measure = SPATE_MEASURE_MESSAGES, .traffic = (char *)"b", .values = five},
        {.measure = SPATE_MEASURE_MESSAGES, .traffic = (char *)"c", .values = one}};
    SpateResultVariant variants[] = {{(char *)"base", NULL, base_rows, 2},
                                     {(char *)"open", NULL, variant_rows, 2}};
    SpateResult result = {.variants = variants, .n_variants = 2, .n_replications = 2};
    spate_summary_add_differences(&result);
    ck_assert_uint_eq(result.n_differences, 1);
    ck_assert_str_eq(result.differences[0].variant, "open");
    ck_assert_str_eq(result.differences[0].versus, "base");
    ck_assert_str_eq(result.differences[0].row->traffic, "b");
    ck_assert_double_eq(result.differences[0].mean, 3.0);
    g_free(result.differences);
}
END_TEST

int
main(void)
{
    TCase *cases = tcase_create("summary");
    tcase_add_test(cases, a_mean_has_students_interval);
    tcase_add_test(cases, an_interval_is_clipped_to_what_the_measure_can_be);
    tcase_add_test(cases, one_replication_has_no_interval);
    tcase_add_test(cases, twenty_times_a_hundred_percent_is_not_certain);
    tcase_add_test(cases, the_wider_end_counts_on_either_side);
    tcase_add_test(cases, replications_without_a_value_are_left_out);
    tcase_add_test(cases, differences_are_paired);
    tcase_add_test(cases, a_pair_needs_a_value_on_both_sides);
    tcase_add_test(cases, rows_are_matched_by_names);
    Suite *suite = suite_create("summary");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
