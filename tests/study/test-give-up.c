/* test-give-up.c - how often what is given up early should not have been, on synthetic numbers
 *
 * Drawn from a normal distribution, for which Student's t is exact.  Shares of errors are compared
 * with what is promised, and four standard errors of their count are allowed for.
 */
#include "core/random.h"
#include "study/advise/advise-private.h"
#include "study/judge/expect.h"
#include "support/check-main.h"

#include <math.h>

static const SpateExpectBound NONE = {0};

static double
four_errors(double share, double n)
{
    return 4.0 * sqrt(share * (1.0 - share) / n);
}

/* ---- streams of advice ----------------------------------------------------------------------- */

#define STREAMS 14
#define STUDIES 2000
#define LOOK    5
/* So many pairs that they tell any difference. */
#define MANY 1e9

static bool
gives_up(SpateRandom *random, double gain, double spread)
{
    SpateRunning running = {0};
    for (int i = 0; i < LOOK; i++)
        spate_running_add(&running, gain + spread * spate_random_normal(random));
    return spate_advise_is_hopeless(spate_advise_look_interval(&running, MANY, STREAMS));
}

/* Of studies whose streams all have that gain, the share in which any is given up; and of all
 * streams. */
static void
share_given_up(double gain, double spread, double *of_studies, double *of_streams)
{
    uint32_t n_studies = 0, n_streams = 0;
    SpateRandom random = spate_random_stream(spate_random_key(7, 1, SPATE_FOR_TEST), 0);
    for (int i = 0; i < STUDIES; i++) {
        uint32_t n = 0;
        for (int k = 0; k < STREAMS; k++)
            n += gives_up(&random, gain, spread);
        n_studies += n > 0;
        n_streams += n;
    }
    *of_studies = (double)n_studies / STUDIES;
    *of_streams = (double)n_streams / (STUDIES * STREAMS);
}

/* Fourteen that just win what is worth a rule: by Bonferroni's inequality any is given up in at
 * most 5 % of the studies, and independent ones come near it: 1 - (1 - 0.05 / 14)^14 = 4.88 %. */
START_TEST(what_is_worth_a_rule_is_hardly_ever_given_up)
{
    static const double SPREADS[] = {0.0005, 0.001, 0.004};
    double any = 0.0, each = 0.0;
    for (size_t i = 0; i < G_N_ELEMENTS(SPREADS); i++) {
        share_given_up(SPATE_ADVISE_WORTH, SPREADS[i], &any, &each);
        ck_assert_double_lt(any, 0.05 + four_errors(0.05, STUDIES));
        ck_assert(SPREADS[i] > 0.001 || any > 0.0488 - four_errors(0.0488, STUDIES));
        share_given_up(2.0 * SPATE_ADVISE_WORTH, SPREADS[i], &any, &each);
        ck_assert_double_lt(any, 0.01);
    }
}
END_TEST

START_TEST(what_people_lose_by_is_hardly_ever_given_up)
{
    double any = 0.0, each = 0.0;
    share_given_up(-SPATE_ADVISE_WORTH, 0.001, &any, &each);
    ck_assert_double_lt(any, 0.05 + four_errors(0.05, STUDIES));
    ck_assert_double_gt(any, 0.0488 - four_errors(0.0488, STUDIES));
}
END_TEST

START_TEST(what_wins_nothing_is_nearly_always_given_up)
{
    double any = 0.0, each = 0.0;
    share_given_up(0.0, 0.001, &any, &each);
    ck_assert_double_gt(each, 0.99);
    /* Where replications differ by more than is worth a rule, five of them tell nothing. */
    share_given_up(0.0, 0.01, &any, &each);
    ck_assert_double_lt(each, 0.02);
}
END_TEST

/* Five times the same is no proof that there is no spread: then the pairs have to tell.  That none
 * of n differs has the probability (1 - p)^n: of fourteen streams each has 0.05 / 14 on a side,
 * which 1125 pairs reach at p = 0.5 %, and 1124 do not. */
START_TEST(what_is_the_same_five_times_is_as_sure_as_its_pairs)
{
    SpateRunning zero = {0}, small = {0};
    for (int i = 0; i < LOOK; i++) {
        spate_running_add(&zero, 0.0);
        spate_running_add(&small, 0.003);
    }
    ck_assert(spate_advise_is_hopeless(spate_advise_look_interval(&zero, 1125, STREAMS)));
    ck_assert(!spate_advise_is_hopeless(spate_advise_look_interval(&zero, 1124, STREAMS)));
    ck_assert(!spate_advise_is_hopeless(spate_advise_look_interval(&small, MANY, STREAMS)));
}
END_TEST

START_TEST(what_has_no_gain_is_not_given_up)
{
    const SpateRunning nothing = {0}, one = {.n = 1, .mean = 0.0};
    ck_assert(!spate_advise_is_hopeless(spate_advise_look_interval(&nothing, 0, STREAMS)));
    ck_assert(!spate_advise_is_hopeless(spate_advise_look_interval(&one, MANY, STREAMS)));
}
END_TEST

/* Of one stream it would be 90 %, both sides having 5 %. */
START_TEST(the_interval_of_a_look_is_never_narrower_than_95_percent)
{
    SpateRunning running = {0};
    for (int i = 0; i < LOOK; i++)
        spate_running_add(&running, 0.001 * i);
    SpateInterval plain = spate_student_interval(&running);
    SpateInterval alone = spate_advise_look_interval(&running, MANY, 1);
    SpateInterval among = spate_advise_look_interval(&running, MANY, STREAMS);
    ck_assert_double_eq_tol(alone.low, plain.low, 1e-12);
    ck_assert_double_eq_tol(alone.high, plain.high, 1e-12);
    ck_assert(among.low < plain.low && among.high > plain.high);
}
END_TEST

START_TEST(the_first_look_is_at_a_quarter_where_that_spares_something)
{
    static const uint32_t LOOKS[][2] = {{1, 1},  {5, 5},  {6, 6},   {7, 5},   {8, 5},
                                        {20, 5}, {21, 6}, {60, 15}, {100, 25}};
    for (size_t i = 0; i < G_N_ELEMENTS(LOOKS); i++)
        ck_assert_uint_eq(spate_advise_first_look(LOOKS[i][0]), LOOKS[i][1]);
}
END_TEST

/* ---- candidates that are checked ------------------------------------------------------------- */

#define CANDIDATES 20000
#define FIRST      20
#define MOST       160
#define N_LATER    4

typedef struct {
    double early_fails, fails, passes;
    double n_replications; /* of each, on average */
} Errors;

/* Of candidates whose truth is so far above the bound, that must be reached; looked at after 20,
 * 40, 80 and 160 replications, and before that after 5, or not. */
static Errors
errors_of(double above, uint32_t n_candidates, bool has_early)
{
    Errors errors = {0};
    const SpateExpectBound bound = {.value = 100.0, .is_given = true};
    SpateRandom random = spate_random_stream(spate_random_key(7, 2, SPATE_FOR_TEST), 0);
    for (uint32_t i = 0; i < n_candidates; i++) {
        double values[MOST];
        for (uint32_t k = 0; k < MOST; k++)
            values[k] = 100.0 + above + spate_random_normal(&random);
        const SpateResultRow row = {.measure = SPATE_MEASURE_LATENCY_MEAN, .values = values};
        SpateExpectVerdict kind =
            spate_judge_value(&row, LOOK, bound, NONE, spate_look_early(N_LATER)).kind;
        bool is_early = has_early && kind == SPATE_VERDICT_FAIL;
        uint32_t n_used = LOOK;
        errors.early_fails += is_early;
        if (!is_early)
            kind = SPATE_VERDICT_UNDECIDED;
        for (uint32_t n = FIRST; n <= MOST && kind == SPATE_VERDICT_UNDECIDED; n *= 2) {
            SpateLook look = spate_look_later(N_LATER, has_early);
            kind = spate_judge_value(&row, n, bound, NONE, look).kind;
            n_used = n;
        }
        errors.n_replications += (double)n_used / n_candidates;
        errors.fails += kind == SPATE_VERDICT_FAIL;
        errors.passes += kind == SPATE_VERDICT_PASS;
    }
    errors.early_fails /= n_candidates;
    errors.fails /= n_candidates;
    errors.passes /= n_candidates;
    return errors;
}

/* Just on the bound: a tenth of 5 %, of which one side is 0.25 %, and Student's t takes all of it.
 * All looks together are wrong on each side in 2.5 % of the cases at most. */
START_TEST(an_early_look_fails_what_meets_no_more_often_than_its_share)
{
    Errors errors = errors_of(0.0, CANDIDATES, true);
    double share = 0.5 * SPATE_EARLY_SHARE * SPATE_RISK;
    ck_assert_double_eq_tol(share, 0.0025, 1e-12);
    ck_assert_double_lt(errors.early_fails, share + four_errors(share, CANDIDATES));
    ck_assert_double_gt(errors.early_fails, share - four_errors(share, CANDIDATES));
    ck_assert_double_lt(errors.fails, 0.025 + four_errors(0.025, CANDIDATES));
    ck_assert_double_lt(errors.passes, 0.025 + four_errors(0.025, CANDIDATES));
}
END_TEST

/* Five standard deviations below: nearly all are given up at once. */
START_TEST(what_fails_clearly_fails_early)
{
    ck_assert_double_gt(errors_of(-5.0, 2000, true).early_fails, 0.9);
    ck_assert_double_eq(errors_of(5.0, 2000, true).fails, 0.0);
}
END_TEST

/* In standard deviations of one replication: near the bound at most 3 % more of them, and beyond
 * it 6, 11 and 15 fewer than 20. */
START_TEST(an_early_look_saves_far_from_the_bound_and_costs_little_near_it)
{
    static const double NEAR[] = {0.0, -0.2, -0.3, -0.5, 0.3, 0.5};
    for (size_t i = 0; i < G_N_ELEMENTS(NEAR); i++)
        ck_assert_double_lt(errors_of(NEAR[i], 2000, true).n_replications,
                            1.03 * errors_of(NEAR[i], 2000, false).n_replications);
    ck_assert_double_eq_tol(errors_of(-2.0, 2000, false).n_replications, 20.0, 1e-9);
    ck_assert_double_eq_tol(errors_of(-2.0, 2000, true).n_replications, 14.4, 0.6);
    ck_assert_double_eq_tol(errors_of(-3.0, 2000, true).n_replications, 8.7, 0.6);
    ck_assert_double_eq_tol(errors_of(-5.0, 2000, true).n_replications, 5.1, 0.2);
}
END_TEST

START_TEST(looks_share_the_whole_risk)
{
    for (uint32_t n = 1; n <= 5; n++) {
        SpateLook early = spate_look_early(n), later = spate_look_later(n, true);
        ck_assert_double_eq_tol(early.risk + n * later.risk, SPATE_RISK, 1e-12);
        ck_assert_double_eq_tol(n * spate_look_later(n, false).risk, SPATE_RISK, 1e-12);
        ck_assert_uint_eq(early.n_looks, n + 1);
        ck_assert_uint_eq(later.n_looks, n + 1);
        ck_assert_uint_eq(spate_look_later(n, false).n_looks, n);
    }
}
END_TEST

/* A number of hops that is 3 in five replications may be 2 in the sixth; of shares the counts tell.
 */
START_TEST(the_same_value_each_time_does_not_fail_early)
{
    double same[LOOK] = {3, 3, 3, 3, 3}, none[LOOK] = {0}, offered[LOOK] = {99, 99, 99, 99, 99};
    const SpateExpectBound least = {.value = 0.5, .is_given = true};
    const SpateExpectBound most = {.value = 2.0, .is_given = true};
    const SpateResultRow hops = {.measure = SPATE_MEASURE_HOPS_MEAN, .values = same};
    const SpateResultRow delivery = {
        .measure = SPATE_MEASURE_DELIVERY, .values = none, .counts = none, .ofs = offered};
    ck_assert_int_eq(spate_judge_value(&hops, LOOK, NONE, most, spate_look_early(1)).kind,
                     SPATE_VERDICT_UNDECIDED);
    ck_assert_int_eq(spate_judge_value(&hops, LOOK, NONE, most, spate_look_later(1, true)).kind,
                     SPATE_VERDICT_FAIL);
    ck_assert_int_eq(spate_judge_value(&delivery, LOOK, least, NONE, spate_look_early(1)).kind,
                     SPATE_VERDICT_FAIL);
}
END_TEST

CHECK_MAIN("give-up", what_is_worth_a_rule_is_hardly_ever_given_up,
           what_people_lose_by_is_hardly_ever_given_up, what_wins_nothing_is_nearly_always_given_up,
           what_is_the_same_five_times_is_as_sure_as_its_pairs, what_has_no_gain_is_not_given_up,
           the_interval_of_a_look_is_never_narrower_than_95_percent,
           the_first_look_is_at_a_quarter_where_that_spares_something,
           an_early_look_fails_what_meets_no_more_often_than_its_share,
           what_fails_clearly_fails_early,
           an_early_look_saves_far_from_the_bound_and_costs_little_near_it,
           looks_share_the_whole_risk, the_same_value_each_time_does_not_fail_early)
