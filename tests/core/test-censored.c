/* test-censored.c - regression on values of which some are only known to lie above a limit
 *
 * Against another program (tests/reference/censored.csv), on Tobin's own example among others, and
 * against the textbook where all values are known.  Whether intervals hold what they promise is
 * tested where walks are (propagation/test-loss-fit.c).
 */
#include "core/censored.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

static GArray *
rows_of_tobin(const Reference *rows)
{
    GArray *samples = g_array_new(FALSE, FALSE, sizeof(SpateCensored));
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "tobin-data") != 0)
            continue;
        /* He knows when a value lies below 0; turned about, that is above. */
        double durable = reference_input(rows, i, "durable");
        const SpateCensored sample = {
            .y = -durable,
            .x = {-1.0, -reference_input(rows, i, "age"), -reference_input(rows, i, "quant")},
            .weight = 1.0,
            .is_above = durable == 0.0,
        };
        g_array_append_val(samples, sample);
    }
    return samples;
}

static GArray *
rows_of_walk(const Reference *rows, bool with_unheard)
{
    GArray *samples = g_array_new(FALSE, FALSE, sizeof(SpateCensored));
    for (guint i = 0; i < rows->rows->len; i++) {
        bool is_heard = reference_input(rows, i, "heard") == 1.0;
        if (strcmp(reference_text(rows, i, "model"), "walk-data") != 0 ||
            (!is_heard && !with_unheard))
            continue;
        const SpateCensored sample = {
            .y = reference_input(rows, i, "loss_db"),
            .x = {1.0, 10.0 * log10(reference_input(rows, i, "d_m") / 200.0)},
            .weight = 1.0,
            .is_above = !is_heard,
        };
        g_array_append_val(samples, sample);
    }
    return samples;
}

static void
check(const Reference *rows, const char *model, const char *quantity, double got)
{
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), model) != 0 ||
            strcmp(reference_text(rows, i, "quantity"), quantity) != 0)
            continue;
        double miss = got - reference_number(rows, i, "value");
        ck_assert_msg(fabs(miss) <= reference_tolerance(rows, i), "%s of %s: off by %g", quantity,
                      model, miss);
        return;
    }
    ck_abort_msg("there is no row %s of %s", quantity, model);
}

static const SpateCensored *
all_of(const GArray *samples)
{
    return (const SpateCensored *)(const void *)samples->data;
}

/* The error of the logarithm of sigma. */
static double
error_of_spread(const SpateCensoredFit *fit)
{
    return 1.0 / sqrt(2.0 * fit->n_effective);
}

START_TEST(the_regression_of_tobin_comes_out_as_elsewhere)
{
    g_autoptr(Reference) rows = reference_read("censored.csv");
    g_autoptr(GArray) samples = rows_of_tobin(rows);
    SpateCensoredFit fit;
    ck_assert_uint_eq(samples->len, 20);
    ck_assert(spate_censored_fit(all_of(samples), samples->len, 3, &fit));
    check(rows, "tobin", "intercept", fit.b[0]);
    check(rows, "tobin", "age", fit.b[1]);
    check(rows, "tobin", "quant", fit.b[2]);
    check(rows, "tobin", "scale", fit.sigma);
    check(rows, "tobin", "loglik", fit.log_likelihood);
    check(rows, "tobin", "error-intercept", fit.error[0]);
    check(rows, "tobin", "error-age", fit.error[1]);
    check(rows, "tobin", "error-quant", fit.error[2]);
    check(rows, "tobin", "error-log-scale", error_of_spread(&fit));
}
END_TEST

START_TEST(a_walk_comes_out_as_elsewhere)
{
    g_autoptr(Reference) rows = reference_read("censored.csv");
    g_autoptr(GArray) samples = rows_of_walk(rows, true);
    SpateCensoredFit fit;
    ck_assert_uint_eq(samples->len, 18);
    ck_assert(spate_censored_fit(all_of(samples), samples->len, 2, &fit));
    check(rows, "walk", "intercept", fit.b[0]);
    check(rows, "walk", "exponent", fit.b[1]);
    check(rows, "walk", "scale", fit.sigma);
    check(rows, "walk", "loglik", fit.log_likelihood);
    check(rows, "walk", "error-intercept", fit.error[0]);
    check(rows, "walk", "error-exponent", fit.error[1]);
    check(rows, "walk", "error-log-scale", error_of_spread(&fit));
}
END_TEST

START_TEST(where_all_is_known_it_is_least_squares_with_the_textbooks_intervals)
{
    g_autoptr(Reference) rows = reference_read("censored.csv");
    g_autoptr(GArray) samples = rows_of_walk(rows, false);
    SpateCensoredFit fit;
    ck_assert_uint_eq(samples->len, 15);
    ck_assert(spate_censored_fit(all_of(samples), samples->len, 2, &fit));
    ck_assert_double_eq_tol(fit.n_effective, 15.0, 1e-7);
    check(rows, "walk-heard", "intercept", fit.b[0]);
    check(rows, "walk-heard", "exponent", fit.b[1]);
    check(rows, "walk-heard", "s", spate_censored_sigma(&fit));
    SpateInterval intercept = spate_censored_interval(all_of(samples), samples->len, &fit, 0);
    SpateInterval exponent = spate_censored_interval(all_of(samples), samples->len, &fit, 1);
    check(rows, "walk-heard", "intercept-low", intercept.low);
    check(rows, "walk-heard", "intercept-high", intercept.high);
    check(rows, "walk-heard", "exponent-low", exponent.low);
    check(rows, "walk-heard", "exponent-high", exponent.high);
    /* s sqrt(13 / chi-square): 24.7356 and 5.00875 of 13 degrees of freedom, R's qchisq(). */
    SpateInterval sigma = spate_censored_sigma_interval(&fit);
    ck_assert_double_eq_tol(sigma.low, 5.15376621402 * sqrt(13.0 / 24.73560488), 1e-6);
    ck_assert_double_eq_tol(sigma.high, 5.15376621402 * sqrt(13.0 / 5.00875051), 1e-6);
}
END_TEST

START_TEST(a_known_part_is_taken_off_first)
{
    /* With the coefficient of x held at its best value, the rest comes out the same. */
    g_autoptr(Reference) rows = reference_read("censored.csv");
    g_autoptr(GArray) samples = rows_of_walk(rows, true);
    for (guint i = 0; i < samples->len; i++) {
        SpateCensored *sample = &g_array_index(samples, SpateCensored, i);
        sample->offset = 3.06207939199 * sample->x[1];
    }
    SpateCensoredFit fit;
    ck_assert(spate_censored_fit(all_of(samples), samples->len, 1, &fit));
    check(rows, "walk", "intercept", fit.b[0]);
    check(rows, "walk", "scale", fit.sigma);
    ck_assert(spate_censored_fit(all_of(samples), samples->len, 0, &fit));
    ck_assert_double_gt(fit.sigma, 90.0); /* nothing but the spread about 0 */
}
END_TEST

START_TEST(the_interval_ends_where_the_profile_has_fallen_far_enough)
{
    g_autoptr(Reference) rows = reference_read("censored.csv");
    g_autoptr(GArray) samples = rows_of_walk(rows, true);
    SpateCensoredFit fit, held;
    ck_assert(spate_censored_fit(all_of(samples), samples->len, 2, &fit));
    SpateInterval ci95 = spate_censored_interval(all_of(samples), samples->len, &fit, 1);
    /* R: n = 1 / (2 * 0.1853082593^2) = 14.56064, of which n - 2 are left: qt(0.975, 12.56064) =
     * 2.168076, and n log(1 + t^2 / 12.56064) / 2 = 2.3143599. */
    double most = 2.3143599;
    const double ends[] = {ci95.low, ci95.high};
    ck_assert_double_lt(ci95.low, fit.b[1]);
    ck_assert_double_gt(ci95.high, fit.b[1]);
    for (size_t k = 0; k < 2; k++) {
        for (guint i = 0; i < samples->len; i++) {
            SpateCensored *sample = &g_array_index(samples, SpateCensored, i);
            sample->offset = ends[k] * sample->x[1];
        }
        ck_assert(spate_censored_fit(all_of(samples), samples->len, 1, &held));
        ck_assert_double_eq_tol(fit.log_likelihood - held.log_likelihood, most, 1e-5);
    }
}
END_TEST

START_TEST(weights_draw_less)
{
    /* One of three known values counts for nothing: of the rest the mean is 1, whatever it is. */
    SpateCensored samples[] = {{.y = 0.0, .x = {1.0}, .weight = 1.0},
                               {.y = 2.0, .x = {1.0}, .weight = 1.0},
                               {.y = 90.0, .x = {1.0}, .weight = 0.0}};
    SpateCensoredFit fit;
    ck_assert(spate_censored_fit(samples, 3, 1, &fit));
    ck_assert_double_eq_tol(fit.b[0], 1.0, 1e-9);
    samples[2].weight = 0.25;
    ck_assert(spate_censored_fit(samples, 3, 1, &fit));
    ck_assert_double_eq_tol(fit.b[0], (2.0 + 0.25 * 90.0) / 2.25, 1e-9);
}
END_TEST

START_TEST(values_that_lie_exactly_on_the_plane_have_no_spread)
{
    SpateCensored samples[] = {{.y = 80.0, .x = {1.0, 0.0}, .weight = 1.0},
                               {.y = 110.0, .x = {1.0, 10.0}, .weight = 1.0},
                               {.y = 95.0, .x = {1.0, 5.0}, .weight = 1.0},
                               {.y = 120.0, .x = {1.0, 15.0}, .weight = 1.0, .is_above = true}};
    SpateCensoredFit fit;
    ck_assert(spate_censored_fit(samples, 4, 2, &fit));
    ck_assert_double_eq_tol(fit.b[0], 80.0, 1e-9);
    ck_assert_double_eq_tol(fit.b[1], 3.0, 1e-10);
    ck_assert(fit.sigma == 0.0 && spate_censored_sigma(&fit) == 0.0);
    ck_assert(spate_censored_interval(samples, 4, &fit, 1).low == fit.b[1]);
    /* ... nor where they are off it by less than anybody measures, and a little more is one. */
    samples[0].y = 80.0 + 1e-7;
    ck_assert(spate_censored_fit(samples, 4, 2, &fit) && fit.sigma == 0.0);
    samples[0].y = 80.0 + 1e-3;
    ck_assert(spate_censored_fit(samples, 4, 2, &fit) && fit.sigma > 1e-4);
    samples[0].y = 80.0;
    /* ... unless one that should lie above its limit does not. */
    samples[3].y = 126.0;
    ck_assert(spate_censored_fit(samples, 4, 2, &fit));
    ck_assert_double_gt(fit.sigma, 0.01);
    ck_assert_double_gt(fit.b[1], 3.0);
}
END_TEST

START_TEST(what_cannot_be_told_is_not_made_up)
{
    SpateCensored samples[] = {{.y = 80.0, .x = {1.0, 2.0}, .weight = 1.0},
                               {.y = 83.0, .x = {1.0, 2.0}, .weight = 1.0},
                               {.y = 84.0, .x = {1.0, 2.0}, .weight = 1.0},
                               {.y = 90.0, .x = {1.0, 9.0}, .weight = 1.0, .is_above = true}};
    SpateCensoredFit fit;
    ck_assert_msg(!spate_censored_fit(samples, 4, 2, &fit), "one place tells no slope");
    ck_assert(spate_censored_fit(samples, 4, 1, &fit));
    ck_assert_msg(!spate_censored_fit(samples, 2, 2, &fit), "two values tell no spread");
    for (size_t i = 0; i < 4; i++)
        samples[i].is_above = true;
    ck_assert_msg(!spate_censored_fit(samples, 4, 1, &fit), "nothing is known");
    ck_assert(!spate_censored_fit(samples, 0, 0, &fit));
}
END_TEST

START_TEST(limits_that_are_far_away_do_no_harm)
{
    /* 400 dB beyond the plane nothing is learnt; and 400 dB before it the plane has to give way. */
    SpateCensored samples[] = {{.y = 80.0, .x = {1.0}, .weight = 1.0},
                               {.y = 84.0, .x = {1.0}, .weight = 1.0},
                               {.y = -320.0, .x = {1.0}, .weight = 1.0, .is_above = true}};
    SpateCensoredFit fit;
    ck_assert(spate_censored_fit(samples, 3, 1, &fit));
    ck_assert_double_eq_tol(fit.b[0], 82.0, 1e-7);
    ck_assert_double_eq_tol(fit.sigma, 2.0, 1e-7);
    samples[2].y = 480.0;
    ck_assert(spate_censored_fit(samples, 3, 1, &fit));
    ck_assert_double_gt(fit.b[0], 150.0);
    ck_assert(isfinite(fit.sigma) && isfinite(fit.log_likelihood));
}
END_TEST

CHECK_MAIN("censored", the_regression_of_tobin_comes_out_as_elsewhere,
           a_walk_comes_out_as_elsewhere,
           where_all_is_known_it_is_least_squares_with_the_textbooks_intervals,
           a_known_part_is_taken_off_first,
           the_interval_ends_where_the_profile_has_fallen_far_enough, weights_draw_less,
           values_that_lie_exactly_on_the_plane_have_no_spread, what_cannot_be_told_is_not_made_up,
           limits_that_are_far_away_do_no_harm)
