/* test-loss-fit.c - what a walk test says of path loss
 *
 * Intervals must hold the truth as often as they promise, on walks whose truth is known; a fit that
 * ignores what was not heard is made beside it, to show what it would get wrong.
 */
#include "propagation/loss-fit.h"

#include "core/random.h"
#include "support/check-main.h"
#include "support/reference.h"
#include <math.h>
#include <string.h>

#define EXPONENT     3.3
#define INTERCEPT_DB 104.0 /* at 200 m */
#define SIGMA_DB     7.0
#define MOST_SAMPLES 200

typedef struct {
    SpateLossSample samples[MOST_SAMPLES];
    size_t n;
} Walk;

static void
add(Walk *walk, double distance_m, double loss_db, bool is_heard)
{
    walk->samples[walk->n++] = (SpateLossSample){
        .to = {.x_m = distance_m}, .is_heard = is_heard, .loss_db = loss_db, .diffraction_db = NAN};
}

static double
law_db(double distance_m)
{
    return INTERCEPT_DB + 10.0 * EXPONENT * log10(distance_m / 200.0);
}

/* From 30 m to 2 km, evenly over the logarithm. */
static Walk
random_walk(uint32_t number, size_t n, double most_loss_db)
{
    SpateRandom random = spate_random_stream(spate_random_key(11, number, SPATE_FOR_TEST), 0);
    Walk walk = {0};
    for (size_t i = 0; i < n; i++) {
        double distance_m = 30.0 * pow(2000.0 / 30.0, spate_random_unit(&random));
        double loss_db = law_db(distance_m) + SIGMA_DB * spate_random_normal(&random);
        add(&walk, distance_m, fmin(loss_db, most_loss_db), loss_db < most_loss_db);
    }
    return walk;
}

static Walk
heard_of(const Walk *walk)
{
    Walk heard = {0};
    for (size_t i = 0; i < walk->n; i++)
        if (walk->samples[i].is_heard)
            heard.samples[heard.n++] = walk->samples[i];
    return heard;
}

/* How often the truth lies in its interval, and the estimates, over walks. */
typedef struct {
    int exponent, intercept, sigma;
    SpateRunning exponents, intercepts, sigmas;
} Tally;

static bool
holds(SpateInterval interval, double truth)
{
    return interval.low <= truth && truth <= interval.high;
}

static void
count(Tally *tally, const Walk *walk)
{
    SpateLossFit fit;
    ck_assert(spate_loss_fit(walk->samples, walk->n, &fit));
    tally->exponent += holds(fit.exponent.ci95, EXPONENT);
    tally->intercept += holds(fit.intercept_db.ci95, law_db(fit.at_m));
    tally->sigma += holds(fit.sigma_db.ci95, SIGMA_DB);
    spate_running_add(&tally->exponents, fit.exponent.value);
    spate_running_add(&tally->intercepts, fit.intercept_db.value - law_db(fit.at_m));
    spate_running_add(&tally->sigmas, fit.sigma_db.value);
}

/* By how many of its standard errors a mean misses the truth. */
static double
miss_of(const SpateRunning *running, double truth)
{
    return (running->mean - truth) / sqrt(spate_running_variance(running) / (double)running->n);
}

/* 95 % of 400 is 380; the binomial bounds of a risk of 0.1 % on both sides are 365 and 393. */
static void
assert_promised(const char *what, int held)
{
    ck_assert_msg(held >= 365 && held <= 393, "%s: %d of 400 intervals hold the truth", what, held);
}

START_TEST(intervals_hold_the_truth_in_95_of_100_walks)
{
    Tally all = {0}, heard_only = {0};
    size_t n_heard = 0;
    for (uint32_t i = 0; i < 400; i++) {
        Walk walk = random_walk(i, 40, 118.0), heard = heard_of(&walk);
        n_heard += heard.n;
        count(&all, &walk);
        count(&heard_only, &heard);
    }
    /* About a third was not heard. */
    ck_assert_uint_ge(n_heard, 400 * 24);
    ck_assert_uint_le(n_heard, 400 * 30);
    assert_promised("exponent", all.exponent);
    assert_promised("intercept", all.intercept);
    assert_promised("sigma", all.sigma);
    ck_assert_double_lt(fabs(miss_of(&all.exponents, EXPONENT)), 3.3);
    ck_assert_double_lt(fabs(miss_of(&all.intercepts, 0.0)), 3.3);
    ck_assert_double_lt(fabs(miss_of(&all.sigmas, SIGMA_DB)), 3.3);
    /* Without what was not heard the world looks kinder than it is, and surer. */
    ck_assert_double_lt(heard_only.exponents.mean, EXPONENT - 0.4);
    ck_assert_double_lt(heard_only.sigmas.mean, SIGMA_DB - 0.3);
    ck_assert_int_lt(heard_only.exponent, 300);
    ck_assert_int_lt(heard_only.intercept, 355);
}
END_TEST

/* What the ground takes: nothing up to a ridge, then less and less. */
static double
behind_ridge_db(double distance_m)
{
    return distance_m < 300.0 ? 0.0 : 30.0 * sqrt(300.0 / distance_m);
}

/* The same walk over the ridge; `is_known`: of which the fit knows. */
static Walk
walk_over_ridge(uint32_t number, bool is_known)
{
    Walk walk = random_walk(number, 40, INFINITY);
    for (size_t i = 0; i < walk.n; i++) {
        SpateLossSample *sample = &walk.samples[i];
        double more_db = behind_ridge_db(sample->to.x_m), loss_db = sample->loss_db + more_db;
        sample->is_heard = loss_db < 140.0;
        sample->loss_db = fmin(loss_db, 140.0);
        sample->known_db = is_known ? more_db : 0.0;
    }
    return walk;
}

START_TEST(what_is_known_of_the_loss_is_not_the_laws)
{
    Tally known = {0}, blind = {0};
    size_t n_wild = 0;
    for (uint32_t i = 2000; i < 2400; i++) {
        bool is_wild[MOST_SAMPLES];
        Walk over = walk_over_ridge(i, true), flat = walk_over_ridge(i, false);
        count(&known, &over);
        count(&blind, &flat);
        n_wild += spate_loss_fit_mark_wild(over.samples, over.n, is_wild);
    }
    assert_promised("exponent", known.exponent);
    assert_promised("intercept", known.intercept);
    assert_promised("sigma", known.sigma);
    ck_assert_double_lt(fabs(miss_of(&known.exponents, EXPONENT)), 3.3);
    /* Some 3 in 1000 by chance. */
    ck_assert_uint_lt(n_wild, 400 * 40 / 100);
    /* Who does not know of the ridge takes it for distance. */
    ck_assert_double_gt(blind.exponents.mean, EXPONENT + 0.8);
    ck_assert_double_gt(blind.sigmas.mean, SIGMA_DB + 0.5);
    ck_assert_int_lt(blind.exponent, 200);
}
END_TEST

START_TEST(few_samples_have_honest_intervals_too)
{
    Tally tally = {0};
    for (uint32_t i = 1000; i < 1400; i++) {
        Walk walk = random_walk(i, 10, 122.0);
        count(&tally, &walk);
    }
    assert_promised("exponent", tally.exponent);
    assert_promised("intercept", tally.intercept);
    assert_promised("sigma", tally.sigma);
}
END_TEST

START_TEST(a_walk_comes_out_as_elsewhere)
{
    g_autoptr(Reference) rows = reference_read("censored.csv");
    Walk walk = {0};
    SpateLossFit fit;
    int n_checked = 0;
    for (guint i = 0; i < rows->rows->len; i++)
        if (strcmp(reference_text(rows, i, "model"), "walk-data") == 0)
            add(&walk, reference_input(rows, i, "d_m"), reference_input(rows, i, "loss_db"),
                reference_input(rows, i, "heard") == 1.0);
    ck_assert(spate_loss_fit(walk.samples, walk.n, &fit));
    ck_assert_uint_eq(fit.n, 18);
    ck_assert_uint_eq(fit.n_heard, 15);
    ck_assert(fit.heard_m.low == 50.0 && fit.heard_m.high == 1200.0);
    ck_assert(fit.all_m.low == 50.0 && fit.all_m.high == 1900.0);
    /* The geometric mean of the heard distances is 272 m; the rows state theirs at 200 m. */
    ck_assert_double_eq_tol(fit.at_m, 200.0, 1e-9);
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *quantity = reference_text(rows, i, "quantity");
        double got = strcmp(quantity, "intercept") == 0  ? fit.intercept_db.value
                     : strcmp(quantity, "exponent") == 0 ? fit.exponent.value
                                                         : NAN;
        if (strcmp(reference_text(rows, i, "model"), "walk") != 0 || isnan(got))
            continue;
        ck_assert_double_eq_tol(got, reference_number(rows, i, "value"),
                                reference_tolerance(rows, i));
        n_checked++;
    }
    ck_assert_int_eq(n_checked, 2);
    ck_assert_double_eq_tol(spate_loss_fit_law_db(&fit, 2000.0), 100.31638282 + 30.6207939199,
                            1e-6);
}
END_TEST

START_TEST(samples_without_a_spread_give_the_law_itself)
{
    Walk walk = {0};
    SpateLossFit fit;
    for (double distance_m = 100.0; distance_m <= 800.0; distance_m *= 2.0)
        add(&walk, distance_m, law_db(distance_m), true);
    ck_assert(spate_loss_fit(walk.samples, walk.n, &fit));
    ck_assert_double_eq_tol(fit.exponent.value, EXPONENT, 1e-9);
    ck_assert_double_eq_tol(fit.intercept_db.value, law_db(fit.at_m), 1e-9);
    ck_assert(fit.sigma_db.value == 0.0 && fit.sigma_db.ci95.high == 0.0);
    ck_assert(fit.exponent.ci95.low == fit.exponent.value);
}
END_TEST

START_TEST(the_intercept_is_stated_in_the_middle_of_what_was_heard)
{
    /* Geometric means: 100 m; 1.4 km, of 1 and 2 km nearer to 1 km (2 km from sqrt(2) km on);
     * 36 cm. */
    static const struct {
        double distances_m[3], at_m;
    } CASES[] = {{{10.0, 100.0, 1000.0}, 100.0},
                 {{1e3, 1.4e3, 1.96e3}, 1000.0},
                 {{1e3, 1.5e3, 2e3}, 2000.0},
                 {{0.3, 0.36, 0.432}, 0.5},
                 {{70.0, 75.0, 80.0}, 100.0}};
    for (size_t i = 0; i < G_N_ELEMENTS(CASES); i++) {
        Walk walk = {0};
        SpateLossFit fit;
        for (size_t k = 0; k < 3; k++)
            add(&walk, CASES[i].distances_m[k], 80.0 + (double)(k * k), true);
        add(&walk, 1e5, 130.0, false);
        ck_assert(spate_loss_fit(walk.samples, walk.n, &fit));
        ck_assert_double_eq_tol(fit.at_m, CASES[i].at_m, 1e-9 * CASES[i].at_m);
    }
}
END_TEST

START_TEST(too_little_is_refused)
{
    Walk walk = {0};
    SpateLossFit fit;
    bool is_wild[MOST_SAMPLES];
    ck_assert(!spate_loss_fit(walk.samples, 0, &fit));
    add(&walk, 100.0, 90.0, true);
    add(&walk, 200.0, 99.0, true);
    add(&walk, 300.0, 120.0, false);
    ck_assert_msg(!spate_loss_fit(walk.samples, walk.n, &fit), "two were heard");
    ck_assert_uint_eq(fit.n_heard, 2);
    walk.samples[1].to.x_m = 100.0;
    add(&walk, 100.0, 93.0, true);
    ck_assert_msg(!spate_loss_fit(walk.samples, walk.n, &fit), "three, at one distance");
    ck_assert_uint_eq(spate_loss_fit_mark_wild(walk.samples, walk.n, is_wild), 0);
    add(&walk, 100.9, 93.0, true);
    ck_assert_msg(!spate_loss_fit(walk.samples, walk.n, &fit), "all but one distance");
    add(&walk, 101.1, 93.0, true);
    ck_assert(spate_loss_fit(walk.samples, walk.n, &fit));
}
END_TEST

START_TEST(wild_samples_do_not_hide_themselves)
{
    /* A tenth of the samples at 30 dB too much, far away, and one near the sender that was not
     * heard: both laws come out beside each other. */
    Walk walk = random_walk(6, 60, 130.0), kept = {0};
    bool is_wild[MOST_SAMPLES];
    SpateLossFit with, without;
    size_t n_clean = walk.n;
    ck_assert_uint_eq(spate_loss_fit_mark_wild(walk.samples, walk.n, is_wild), 0);
    for (size_t i = 0; i < 6; i++)
        add(&walk, 1800.0 + 10.0 * (double)i, law_db(1800.0) - 45.0, true);
    add(&walk, 40.0, 130.0, false);
    ck_assert_uint_eq(spate_loss_fit_mark_wild(walk.samples, walk.n, is_wild), 7);
    for (size_t i = 0; i < walk.n; i++) {
        ck_assert_int_eq(is_wild[i], i >= n_clean);
        if (!is_wild[i])
            kept.samples[kept.n++] = walk.samples[i];
    }
    ck_assert(spate_loss_fit(walk.samples, walk.n, &with));
    ck_assert(spate_loss_fit(kept.samples, kept.n, &without));
    ck_assert_double_lt(with.exponent.value, 2.8);
    ck_assert(holds(without.exponent.ci95, EXPONENT));
    ck_assert(holds(without.sigma_db.ci95, SIGMA_DB));
    ck_assert_double_gt(with.sigma_db.value, 12.0);
}
END_TEST

START_TEST(samples_that_were_not_heard_where_none_was_expected_are_not_wild)
{
    Walk walk = random_walk(8, 60, 118.0);
    bool is_wild[MOST_SAMPLES];
    for (size_t i = 0; i < 20; i++)
        add(&walk, 20e3 + (double)i, 118.0, false);
    ck_assert_uint_eq(spate_loss_fit_mark_wild(walk.samples, walk.n, is_wild), 0);
}
END_TEST

START_TEST(few_samples_are_seldom_called_wild)
{
    size_t n_wild = 0;
    bool is_wild[MOST_SAMPLES];
    for (uint32_t i = 2000; i < 2400; i++) {
        Walk walk = random_walk(i, 8, 1000.0);
        n_wild += spate_loss_fit_mark_wild(walk.samples, walk.n, is_wild);
    }
    ck_assert_uint_le(n_wild, 400 * 8 / 50);
}
END_TEST

/* Eight places with ten samples each; what a place has is either its own or each sample's. */
static Walk
walk_of_places(uint32_t number, bool is_shared, double most_loss_db)
{
    SpateRandom random =
        spate_random_stream(spate_random_key(12, number, SPATE_FOR_TEST), is_shared);
    Walk walk = {0};
    for (double place_m = 50.0; place_m < 1900.0; place_m *= 1.7) {
        double of_place = spate_random_normal(&random);
        for (int k = 0; k < 10; k++) {
            double own = spate_random_normal(&random);
            double sum = is_shared ? G_SQRT2 / 2.0 * (of_place + own) : own;
            double loss_db = law_db(place_m) + SIGMA_DB * sum;
            add(&walk, place_m, fmin(loss_db, most_loss_db), loss_db < most_loss_db);
        }
    }
    return walk;
}

static int
count_alike(bool is_shared, double most_loss_db)
{
    int n_called = 0;
    for (uint32_t i = 0; i < 200; i++) {
        Walk walk = walk_of_places(i, is_shared, most_loss_db);
        n_called += spate_loss_fit_alike_p(walk.samples, walk.n) < 0.01;
    }
    return n_called;
}

START_TEST(samples_of_one_place_that_share_their_shadowing_are_noticed)
{
    /* Of 200, 2 by chance. */
    ck_assert_int_le(count_alike(false, INFINITY), 8);
    ck_assert_int_ge(count_alike(true, INFINITY), 170);
}
END_TEST

START_TEST(far_places_where_only_the_lucky_are_heard_do_not_look_alike)
{
    ck_assert_int_le(count_alike(false, 122.0), 8);
    ck_assert_int_ge(count_alike(true, 122.0), 100);
}
END_TEST

START_TEST(lack_of_fit_is_that_of_the_worked_example)
{
    /* By hand: places at 10, 100 and 1000 m with losses 79 81, 109 111 and 129 131.  The line has
     * 105 dB at 100 m and 25 dB a decade; left are the means 0, 5 and 0 less 5/3 = -5/3, 10/3,
     * -5/3, squares 2 (25 + 100 + 25) / 9 = 33.3333 with 1 degree of freedom; within the places 6
     * with 3: F = 16.6667.  R: pf(16.66667, 1, 3, lower.tail = FALSE) = 0.0265478855. */
    Walk walk = {0};
    SpateLossFit fit;
    const double means_db[] = {80.0, 110.0, 130.0};
    for (int i = 0; i < 3; i++) {
        add(&walk, pow(10.0, i + 1), means_db[i] - 1.0, true);
        add(&walk, pow(10.0, i + 1), means_db[i] + 1.0, true);
    }
    ck_assert(spate_loss_fit(walk.samples, walk.n, &fit));
    ck_assert_double_eq_tol(fit.exponent.value, 2.5, 1e-9);
    ck_assert_double_eq_tol(spate_loss_fit_alike_p(walk.samples, walk.n), 0.0265478855, 1e-7);
    for (size_t i = 0; i < walk.n; i++)
        walk.samples[i].to.y_m = (double)i;
    ck_assert(isnan(spate_loss_fit_alike_p(walk.samples, walk.n)));
}
END_TEST

static const SpateLossModel *
find_model(const SpateLossModel *models, const char *name)
{
    for (size_t i = 0; i < SPATE_N_LOSS_MODELS; i++)
        if (strcmp(models[i].name, name) == 0)
            return &models[i];
    ck_abort_msg("there is no model %s", name);
}

/* 868 MHz, both ends 3 m high: the rays meet the plane earth beyond 327 m. */
static Walk
walk_by(SpatePathModel model, double sigma_db)
{
    SpateRandom random = spate_random_stream(spate_random_key(13, 0, SPATE_FOR_TEST), 0);
    Walk walk = {0};
    for (int i = 0; i < 60; i++) {
        add(&walk, 50.0 * pow(60.0, spate_random_unit(&random)), 0.0, true);
        SpateLossSample *sample = &walk.samples[walk.n - 1];
        sample->from.height_m = sample->to.height_m = 3.0;
        sample->loss_db = spate_path_loss_db(&model, 868e6, sample->from, sample->to, NULL) +
                          sigma_db * spate_random_normal(&random);
    }
    return walk;
}

static const char *
best_of(const Walk *walk)
{
    SpateLossModel models[SPATE_N_LOSS_MODELS];
    spate_loss_fit_compare(walk->samples, walk->n, 868e6, models);
    const SpateLossModel *best = &models[0];
    for (size_t i = 1; i < SPATE_N_LOSS_MODELS; i++)
        if (models[i].aic < best->aic)
            best = &models[i];
    return best->name;
}

START_TEST(the_model_that_made_the_samples_wins)
{
    Walk walk = walk_by((SpatePathModel){.kind = SPATE_PATH_FREE_SPACE}, 3.0);
    ck_assert_str_eq(best_of(&walk), "free-space");
    walk = walk_by((SpatePathModel){.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = 9.0}, 3.0);
    ck_assert_str_eq(best_of(&walk), "free-space, extra-loss");
    walk = walk_by((SpatePathModel){.kind = SPATE_PATH_TWO_RAY}, 3.0);
    ck_assert_str_eq(best_of(&walk), "two-ray");
    walk = walk_by((SpatePathModel){.kind = SPATE_PATH_TWO_RAY, .extra_loss_db = 9.0}, 3.0);
    ck_assert_str_eq(best_of(&walk), "two-ray, extra-loss");
    SpatePathModel law = {
        .kind = SPATE_PATH_LOG_DISTANCE, .exponent = 3.0, .intercept_loss_db = NAN};
    walk = walk_by(law, 3.0);
    ck_assert_str_eq(best_of(&walk), "log-distance, intercept of free-space");
    law.intercept_loss_db = 45.0;
    walk = walk_by(law, 3.0);
    ck_assert_str_eq(best_of(&walk), "log-distance");
}
END_TEST

START_TEST(the_ground_counts_for_terrain_alone)
{
    Walk walk = walk_by((SpatePathModel){.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = 9.0}, 3.0);
    SpateLossEstimate extra_db, sigma_db;
    for (size_t i = 0; i < walk.n; i++) {
        walk.samples[i].diffraction_db = i % 2 == 0 ? 20.0 : 0.0;
        walk.samples[i].loss_db += walk.samples[i].diffraction_db;
    }
    ck_assert_str_eq(best_of(&walk), "terrain, extra-loss");
    ck_assert(spate_loss_fit_terrain(walk.samples, walk.n, 868e6, &extra_db, &sigma_db));
    ck_assert(holds(extra_db.ci95, 9.0) && holds(sigma_db.ci95, 3.0));
    ck_assert_double_lt(extra_db.ci95.high - extra_db.ci95.low, 2.0);
    walk.samples[7].diffraction_db = NAN;
    ck_assert(!g_str_has_prefix(best_of(&walk), "terrain"));
    ck_assert(!spate_loss_fit_terrain(walk.samples, walk.n, 868e6, &extra_db, &sigma_db));
}
END_TEST

START_TEST(streets_are_compared_within_their_bounds)
{
    SpatePathModel street = {.kind = SPATE_PATH_STREET_LEVEL,
                             .environment = SPATE_STREET_SUBURBAN,
                             .location_share = 0.5};
    SpateLossModel models[SPATE_N_LOSS_MODELS];
    Walk walk = walk_by(street, 3.0);
    ck_assert_str_eq(best_of(&walk), "street-level, suburban");
    street.environment = SPATE_STREET_URBAN;
    street.extra_loss_db = -12.0;
    walk = walk_by(street, 3.0);
    ck_assert(strstr(best_of(&walk), ", extra-loss") != NULL &&
              g_str_has_prefix(best_of(&walk), "street-level, "));
    spate_loss_fit_compare(walk.samples, walk.n, 299e6, models);
    ck_assert_ptr_nonnull(find_model(models, "street-level, urban")->left_out);
    walk.samples[7].to.x_m = 3001.0;
    spate_loss_fit_compare(walk.samples, walk.n, 868e6, models);
    ck_assert_ptr_nonnull(find_model(models, "street-level, suburban, extra-loss")->left_out);
    ck_assert_ptr_null(find_model(models, "two-ray")->left_out);
}
END_TEST

START_TEST(aic_is_that_of_the_formula)
{
    /* Where all was heard the most likely sigma is s sqrt((n - k) / n), and twice the
     * log-likelihood -n (ln(2 pi sigma^2) + 1). */
    Walk walk = walk_by((SpatePathModel){.kind = SPATE_PATH_TWO_RAY}, 3.0);
    SpateLossModel models[SPATE_N_LOSS_MODELS];
    for (size_t i = 0; i < walk.n; i++)
        walk.samples[i].diffraction_db = 0.0;
    spate_loss_fit_compare(walk.samples, walk.n, 868e6, models);
    for (size_t i = 0; i < SPATE_N_LOSS_MODELS; i++) {
        double n = (double)walk.n, k = models[i].n_parameters - 1.0;
        double sigma2 = models[i].sigma_db * models[i].sigma_db * (n - k) / n;
        ck_assert_ptr_null(models[i].left_out);
        ck_assert_double_eq_tol(models[i].aic,
                                n * (log(2.0 * G_PI * sigma2) + 1.0) + 2.0 * (k + 1.0), 1e-6);
    }
    SpateLossFit fit;
    ck_assert(spate_loss_fit(walk.samples, walk.n, &fit));
    ck_assert_double_eq_tol(find_model(models, "log-distance")->sigma_db, fit.sigma_db.value, 1e-8);
}
END_TEST

START_TEST(a_model_that_does_not_hold_is_left_out)
{
    Walk walk = random_walk(9, 30, 118.0); /* both ends on the ground: no second ray */
    SpateLossModel models[SPATE_N_LOSS_MODELS];
    spate_loss_fit_compare(walk.samples, walk.n, 868e6, models);
    ck_assert_ptr_nonnull(find_model(models, "two-ray")->left_out);
    ck_assert(isnan(find_model(models, "two-ray")->aic));
    ck_assert_ptr_null(find_model(models, "log-distance")->left_out);
}
END_TEST

CHECK_MAIN("loss-fit", intervals_hold_the_truth_in_95_of_100_walks,
           what_is_known_of_the_loss_is_not_the_laws, few_samples_have_honest_intervals_too,
           a_walk_comes_out_as_elsewhere, samples_without_a_spread_give_the_law_itself,
           the_intercept_is_stated_in_the_middle_of_what_was_heard, too_little_is_refused,
           wild_samples_do_not_hide_themselves,
           samples_that_were_not_heard_where_none_was_expected_are_not_wild,
           few_samples_are_seldom_called_wild,
           samples_of_one_place_that_share_their_shadowing_are_noticed,
           far_places_where_only_the_lucky_are_heard_do_not_look_alike,
           lack_of_fit_is_that_of_the_worked_example, the_model_that_made_the_samples_wins,
           the_ground_counts_for_terrain_alone, streets_are_compared_within_their_bounds,
           aic_is_that_of_the_formula, a_model_that_does_not_hold_is_left_out)
