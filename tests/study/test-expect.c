/* test-expect.c - verdicts on values worked by hand
 *
 * Student's t at 95 %, two-sided: 4.303 (2 degrees of freedom), 2.776 (4), 2.571 (5), 2.447 (6):
 * standard tables, as in any textbook (from memory).  Wilson's interval of n out of n begins at
 * n / (n + 1.96^2), that of none ends at 1.96^2 / (n + 1.96^2): his formula at p = 1 and p = 0.
 */
#include "study/judge/expect.h"

#include "core/random.h"
#include "study/run/summary.h"
#include "support/check-main.h"
#include <math.h>

static const SpateExpectBound NONE = {0};

/* A verdict that is judged once. */
#define ONCE spate_look_later(1, false)

static SpateExpectBound
bound(double value)
{
    return (SpateExpectBound){.value = value, .is_given = true};
}

static SpateExpectBound
relative(double value)
{
    return (SpateExpectBound){.value = value, .is_given = true, .is_relative = true};
}

static SpateJudgement
judge(double *values, uint32_t n, SpateExpectBound at_least, SpateExpectBound at_most)
{
    SpateResultRow row = {.measure = SPATE_MEASURE_LATENCY_MEAN, .values = values};
    return spate_judge_value(&row, n, at_least, at_most, ONCE);
}

static SpateJudgement
judge_pairs(SpateMeasure measure, double *v, double *u, uint32_t n, SpateExpectBound at_least,
            SpateExpectBound at_most)
{
    SpateResultRow variant = {.measure = measure, .values = v};
    SpateResultRow versus = {.measure = measure, .values = u};
    return spate_judge_change(&variant, &versus, n, at_least, at_most, ONCE);
}

/* 11, 12, 13: mean 12, s = 1, half width 4.303 / sqrt(3) = 2.484. */
static double THREE[] = {11, 12, 13};

START_TEST(an_interval_beside_the_bound_decides)
{
    ck_assert_int_eq(judge(THREE, 3, bound(9.5), NONE).kind, SPATE_VERDICT_PASS);
    ck_assert_int_eq(judge(THREE, 3, bound(14.5), NONE).kind, SPATE_VERDICT_FAIL);
    ck_assert_int_eq(judge(THREE, 3, NONE, bound(14.5)).kind, SPATE_VERDICT_PASS);
    ck_assert_int_eq(judge(THREE, 3, NONE, bound(9.5)).kind, SPATE_VERDICT_FAIL);
    SpateJudgement judgement = judge(THREE, 3, bound(9.5), NONE);
    ck_assert(judgement.leans_to_pass);
    ck_assert_double_eq(judgement.mean, 12);
    ck_assert_double_eq_tol(judgement.ci95.low, 9.516, 1e-3);
    ck_assert_uint_eq(judgement.n, 3);
}
END_TEST

START_TEST(an_interval_that_holds_the_bound_is_undecided)
{
    SpateJudgement above = judge(THREE, 3, bound(9.6), NONE);
    SpateJudgement below = judge(THREE, 3, bound(14), NONE);
    ck_assert_int_eq(above.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(above.leans_to_pass);
    ck_assert_int_eq(below.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(!below.leans_to_pass);
    ck_assert(judge(THREE, 3, NONE, bound(14)).leans_to_pass);
}
END_TEST

START_TEST(both_bounds_have_to_be_met)
{
    ck_assert_int_eq(judge(THREE, 3, bound(9), bound(15)).kind, SPATE_VERDICT_PASS);
    ck_assert_int_eq(judge(THREE, 3, bound(1), bound(9)).kind, SPATE_VERDICT_FAIL);
    ck_assert_int_eq(judge(THREE, 3, bound(9), bound(14)).kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(!judge(THREE, 3, bound(12.5), bound(13)).leans_to_pass);
}
END_TEST

/* With s = 1 and a distance of 1: six replications give 2.571 / sqrt(6) = 1.05, seven
 * 2.447 / sqrt(7) = 0.925. */
START_TEST(what_would_decide_is_told)
{
    ck_assert_uint_eq(judge(THREE, 3, bound(11), NONE).more, 4);
    ck_assert_uint_eq(judge(THREE, 3, NONE, bound(13)).more, 4);
    ck_assert_uint_eq(judge(THREE, 3, bound(11), bound(14)).more, 4);
    ck_assert_uint_eq(judge(THREE, 3, bound(11.999), NONE).more, SPATE_MORE_MANY);
    ck_assert_uint_eq(judge(THREE, 3, bound(12), NONE).more, SPATE_MORE_NEVER);
}
END_TEST

START_TEST(one_replication_is_undecided_by_nature)
{
    SpateJudgement judgement = judge(THREE, 1, bound(1), NONE);
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(judgement.leans_to_pass);
    ck_assert_double_nan(judgement.ci95.low);
    ck_assert_uint_eq(judgement.more, 1);
}
END_TEST

START_TEST(what_has_no_value_fails)
{
    double nothing[] = {NAN, NAN}, some[] = {11, NAN, 12, 13};
    SpateJudgement judgement = judge(nothing, 2, bound(0), NONE);
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_FAIL);
    ck_assert_int_eq(judgement.missing, SPATE_MISSING_VALUE);
    ck_assert_uint_eq(judge(some, 4, bound(1), NONE).n, 3);
}
END_TEST

/* 20 of 20 begin at 20 / 23.84 = 0.839; 90 % needs 35 of 35, which are four replications. */
START_TEST(a_share_is_as_sure_as_its_counts)
{
    double values[] = {1, 1}, counts[] = {10, 10}, ofs[] = {10, 10};
    SpateResultRow row = {
        .measure = SPATE_MEASURE_DELIVERY, .values = values, .counts = counts, .ofs = ofs};
    SpateJudgement judgement = spate_judge_value(&row, 2, bound(0.9), NONE, ONCE);
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert_double_eq_tol(judgement.ci95.low, 0.8389, 1e-4);
    ck_assert_double_eq(judgement.ci95.high, 1);
    ck_assert_uint_eq(judgement.more, 2);
    ck_assert_int_eq(spate_judge_value(&row, 2, bound(0.8), NONE, ONCE).kind, SPATE_VERDICT_PASS);
    /* always is never sure */
    judgement = spate_judge_value(&row, 2, bound(1), NONE, ONCE);
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(judgement.leans_to_pass);
    ck_assert_uint_eq(judgement.more, SPATE_MORE_NEVER);
    /* the interval is the summary's */
    spate_summary_of_row(&row, 2);
    ck_assert_double_eq(row.ci95.low, judgement.ci95.low);
}
END_TEST

/* 3 - 1, 5 - 2, 7 - 3: mean 3, half width 2.484. */
START_TEST(a_difference_is_judged_pair_by_pair)
{
    double v[] = {3, 5, 7, NAN}, u[] = {1, 2, 3, 4};
    SpateJudgement judgement =
        judge_pairs(SPATE_MEASURE_HELD_BACK, v, u, 4, bound(0.5), bound(5.5));
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_PASS);
    ck_assert_double_eq(judgement.mean, 3);
    ck_assert_double_eq_tol(judgement.ci95.high, 5.484, 1e-3);
    ck_assert_uint_eq(judgement.n, 3);
    judgement = judge_pairs(SPATE_MEASURE_HELD_BACK, v, u, 4, NONE, bound(0.5));
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_FAIL);
}
END_TEST

static double U[] = {10, 20, 30, 40, 50}, V[] = {15.1, 29.9, 45.1, 59.9, 75};

/* v - 1.4 u: 1.1, 1.9, 3.1, 3.9, 5: mean 3, s = 1.556, half width 2.776 s / sqrt(5) = 1.93. */
/* Two runs of 32 messages, in each of which one is missed more: no spread, but no certainty either.
 * None of 64 ends at 3.8415 / (64 + 3.8415) = 0.0566, on both sides of the mean of -1/32. */
START_TEST(a_difference_of_shares_is_as_sure_as_their_counts)
{
    double v[] = {31.0 / 32, 31.0 / 32}, u[] = {1, 1};
    double some[] = {31, 31}, all[] = {32, 32};
    SpateResultRow variant = {
        .measure = SPATE_MEASURE_DELIVERY, .values = v, .counts = some, .ofs = all};
    SpateResultRow versus = {
        .measure = SPATE_MEASURE_DELIVERY, .values = u, .counts = all, .ofs = all};
    SpateJudgement judgement = spate_judge_change(&variant, &versus, 2, bound(-0.01), NONE, ONCE);
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert_double_eq_tol(judgement.ci95.low, -0.03125 - 0.0566, 1e-4);
    SpateDifference difference = spate_summary_of_pair(&variant, &versus, 2);
    ck_assert_double_eq_tol(difference.ci95.high, -0.03125 + 0.0566, 1e-4);
}
END_TEST

START_TEST(a_relative_change_is_judged_on_what_is_over_the_bound)
{
    SpateJudgement judgement = judge_pairs(SPATE_MEASURE_HELD_BACK, V, U, 5, relative(0.4), NONE);
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_PASS);
    ck_assert_double_eq_tol(judgement.mean, 0.5, 1e-12);
    ck_assert_int_eq(judge_pairs(SPATE_MEASURE_HELD_BACK, V, U, 5, relative(0.6), NONE).kind,
                     SPATE_VERDICT_FAIL);
    ck_assert_int_eq(judge_pairs(SPATE_MEASURE_HELD_BACK, V, U, 5, relative(0.5), NONE).kind,
                     SPATE_VERDICT_UNDECIDED);
}
END_TEST

START_TEST(the_interval_of_a_ratio_holds_what_is_undecided)
{
    SpateInterval ci = judge_pairs(SPATE_MEASURE_HELD_BACK, V, U, 5, relative(0.4), NONE).ci95;
    const double inside[] = {ci.low + 1e-9, ci.high - 1e-9};
    const double outside[] = {ci.low - 1e-9, ci.high + 1e-9};
    ck_assert_double_lt(ci.low, 0.5);
    ck_assert_double_gt(ci.high, 0.5);
    for (int i = 0; i < 2; i++) {
        ck_assert_int_eq(
            judge_pairs(SPATE_MEASURE_HELD_BACK, V, U, 5, relative(inside[i]), NONE).kind,
            SPATE_VERDICT_UNDECIDED);
        ck_assert_int_eq(
            judge_pairs(SPATE_MEASURE_HELD_BACK, V, U, 5, relative(outside[i]), NONE).kind,
            i == 0 ? SPATE_VERDICT_PASS : SPATE_VERDICT_FAIL);
    }
}
END_TEST

START_TEST(rounding_breaks_no_bound)
{
    double v[] = {0.14, 0.28, 0.42}, u[] = {0.1, 0.2, 0.3};
    ck_assert_int_eq(judge_pairs(SPATE_MEASURE_LOAD, v, u, 3, relative(0.4), relative(0.4)).kind,
                     SPATE_VERDICT_PASS);
    double p[] = {0.7, 0.7}, q[] = {0.6, 0.6};
    ck_assert_int_eq(judge_pairs(SPATE_MEASURE_DELIVERY, p, q, 2, bound(0.1), bound(0.1)).kind,
                     SPATE_VERDICT_PASS);
}
END_TEST

START_TEST(nothing_is_no_base_of_a_relative_change)
{
    double v[] = {1, 2}, u[] = {0, 0};
    SpateJudgement judgement = judge_pairs(SPATE_MEASURE_HELD_BACK, v, u, 2, relative(-0.1), NONE);
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_FAIL);
    ck_assert_int_eq(judgement.missing, SPATE_MISSING_BASE);
}
END_TEST

START_TEST(in_every_replication_is_a_matter_of_fact)
{
    SpateJudgement all = spate_judge_share(20, 20, 1, ONCE),
                   but_one = spate_judge_share(19, 20, 1, ONCE);
    ck_assert_int_eq(all.kind, SPATE_VERDICT_PASS);
    ck_assert_double_eq_tol(all.ci95.low, 0.8389, 1e-4);
    ck_assert_int_eq(but_one.kind, SPATE_VERDICT_FAIL);
    ck_assert_int_eq(spate_judge_share(1, 1, 1, ONCE).kind, SPATE_VERDICT_PASS);
    ck_assert_int_eq(spate_judge_share(0, 0, 1, ONCE).missing, SPATE_MISSING_MESSAGES);
}
END_TEST

/* 95 % needs 73 of 73: 73 / 76.84 = 0.95001. None of 10 ends at 0.2775. */
START_TEST(in_most_of_them_is_a_share)
{
    SpateJudgement twenty = spate_judge_share(20, 20, 0.95, ONCE);
    ck_assert_int_eq(twenty.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(twenty.leans_to_pass);
    ck_assert_uint_eq(twenty.more, 53);
    ck_assert_int_eq(spate_judge_share(73, 73, 0.95, ONCE).kind, SPATE_VERDICT_PASS);
    ck_assert_int_eq(spate_judge_share(0, 10, 0.3, ONCE).kind, SPATE_VERDICT_FAIL);
    ck_assert_int_eq(spate_judge_share(0, 10, 0.25, ONCE).kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(!spate_judge_share(0, 10, 0.25, ONCE).leans_to_pass);
}
END_TEST

/* 8 of 10, 9 of 10, none offered, 2 of 2: mean 0.9, s = 0.1, half width 4.303 * 0.1 / sqrt(3) =
 * 0.248; Wilson's interval of all together, 19 of 22, is narrower: 0.667 to 0.953. */
START_TEST(messages_are_judged_by_their_share)
{
    const SpateKept kept[] = {{8, 10}, {9, 10}, {0, 0}, {2, 2}};
    SpateJudgement judgement = spate_judge_messages(kept, 4, 0.66, ONCE);
    ck_assert_int_eq(judgement.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(judgement.leans_to_pass);
    ck_assert_double_eq_tol(judgement.mean, 0.9, 1e-12);
    ck_assert_double_eq_tol(judgement.ci95.low, 0.9 - 0.2484, 1e-4);
    ck_assert_double_eq(judgement.ci95.high, 1);
    ck_assert_uint_eq(judgement.n, 3);
    ck_assert_uint_ge(judgement.more, 1);
    ck_assert_int_eq(spate_judge_messages(kept, 4, 0.6, ONCE).kind, SPATE_VERDICT_PASS);
    ck_assert_int_eq(spate_judge_messages(&kept[2], 1, 0.6, ONCE).missing, SPATE_MISSING_MESSAGES);
}
END_TEST

/* Twenty of twenty in each of two replications are no certainty: 40 / 43.84 = 0.912. */
START_TEST(a_share_of_messages_is_as_sure_as_their_count)
{
    const SpateKept all[] = {{20, 20}, {20, 20}}, none[] = {{0, 20}, {0, 20}};
    ck_assert_double_eq_tol(spate_judge_messages(all, 2, 0.9, ONCE).ci95.low, 0.9124, 1e-4);
    ck_assert_int_eq(spate_judge_messages(all, 2, 0.9, ONCE).kind, SPATE_VERDICT_PASS);
    ck_assert_int_eq(spate_judge_messages(all, 2, 0.95, ONCE).kind, SPATE_VERDICT_UNDECIDED);
    ck_assert_int_eq(spate_judge_messages(none, 2, 0.1, ONCE).kind, SPATE_VERDICT_FAIL);
}
END_TEST

#define STUDIES 4000
#define MOST    160

/* Of studies whose truth lies on the bound, the share that is called a pass at one of four looks.
 */
static double
share_of_false_passes(uint32_t n_looks)
{
    uint32_t n_passed = 0;
    SpateRandom random = spate_random_stream(spate_random_key(7, 0, SPATE_FOR_TEST), 0);
    for (uint32_t i = 0; i < STUDIES; i++) {
        double values[MOST];
        for (uint32_t k = 0; k < MOST; k++)
            values[k] = 100.0 + spate_random_normal(&random);
        const SpateResultRow row = {.measure = SPATE_MEASURE_LATENCY_MEAN, .values = values};
        SpateExpectVerdict kind = SPATE_VERDICT_UNDECIDED;
        for (uint32_t n = 20; n <= MOST && kind == SPATE_VERDICT_UNDECIDED; n *= 2)
            kind = spate_judge_value(&row, n, bound(100.0), NONE, spate_look_later(n_looks, false))
                       .kind;
        n_passed += kind == SPATE_VERDICT_PASS;
    }
    return (double)n_passed / STUDIES;
}

/* One side of 5 % is 2.5 %: Bonferroni's inequality keeps it; looks that each take all of it do not
 * (P. Armitage, C. K. McPherson, B. C. Rowe, J. R. Stat. Soc. A 132, 1969: 12.6 % on both sides for
 * four looks at equal steps, from memory).  Four standard errors are allowed for. */
START_TEST(several_looks_share_the_risk_of_one)
{
    double error = sqrt(0.025 * 0.975 / STUDIES);
    ck_assert_double_lt(share_of_false_passes(4), 0.025 + 4 * error);
    ck_assert_double_gt(share_of_false_passes(1), 0.025 + 8 * error);
}
END_TEST

/* 2, 3, 4: mean 3, half width 2.484: wholly above 0. */
START_TEST(worse_is_what_lies_wholly_on_that_side)
{
    double up[] = {2, 3, NAN, 4}, down[] = {-2, -3, -4}, same[] = {0, 0}, mixed[] = {-1, 2};
    ck_assert_int_eq(spate_judge_since(up, 4, true).kind, SPATE_VERDICT_FAIL);
    ck_assert_int_eq(spate_judge_since(up, 4, false).kind, SPATE_VERDICT_PASS);
    ck_assert_uint_eq(spate_judge_since(up, 4, true).n, 3);
    ck_assert_int_eq(spate_judge_since(down, 3, false).kind, SPATE_VERDICT_FAIL);
    ck_assert_int_eq(spate_judge_since(same, 2, true).kind, SPATE_VERDICT_PASS);
    ck_assert_int_eq(spate_judge_since(mixed, 2, true).kind, SPATE_VERDICT_PASS);
    SpateJudgement single = spate_judge_since(up, 1, true);
    ck_assert_int_eq(single.kind, SPATE_VERDICT_UNDECIDED);
    ck_assert(single.leans_to_pass);
}
END_TEST

/* A mean of 1 and a variance of 4: the interval t sqrt(4 / n) is below 1 from 18 values on (2.110
 * sqrt(4 / 18) = 0.995; with 17 2.120 sqrt(4 / 17) = 1.028). */
START_TEST(what_would_tell_a_mean_from_zero_is_told)
{
    SpateRunning running = {.n = 5, .mean = 1.0, .m2 = 16.0};
    ck_assert_uint_eq(spate_more_to_tell(&running, 0.05), 13);
    running.mean = -1.0;
    ck_assert_uint_eq(spate_more_to_tell(&running, 0.05), 13);
    ck_assert_uint_gt(spate_more_to_tell(&running, 0.01), 13);
    running.mean = 0.0;
    ck_assert_uint_eq(spate_more_to_tell(&running, 0.05), SPATE_MORE_NEVER);
    running.mean = 9.0;
    ck_assert_uint_eq(spate_more_to_tell(&running, 0.05), SPATE_MORE_NEVER);
    running.mean = 1e-6;
    ck_assert_uint_eq(spate_more_to_tell(&running, 0.05), SPATE_MORE_MANY);
    SpateRunning one = {.n = 1, .mean = 1.0};
    ck_assert_uint_eq(spate_more_to_tell(&one, 0.05), 1);
}
END_TEST

CHECK_MAIN("expect", what_would_tell_a_mean_from_zero_is_told, an_interval_beside_the_bound_decides,
           an_interval_that_holds_the_bound_is_undecided, both_bounds_have_to_be_met,
           what_would_decide_is_told, one_replication_is_undecided_by_nature,
           what_has_no_value_fails, a_share_is_as_sure_as_its_counts,
           a_difference_is_judged_pair_by_pair, a_difference_of_shares_is_as_sure_as_their_counts,
           a_relative_change_is_judged_on_what_is_over_the_bound,
           the_interval_of_a_ratio_holds_what_is_undecided, rounding_breaks_no_bound,
           nothing_is_no_base_of_a_relative_change, in_every_replication_is_a_matter_of_fact,
           in_most_of_them_is_a_share, messages_are_judged_by_their_share,
           a_share_of_messages_is_as_sure_as_their_count, several_looks_share_the_risk_of_one,
           worse_is_what_lies_wholly_on_that_side)
