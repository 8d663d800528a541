/* loss-fit.c - what a walk test says of path loss */
#include "propagation/loss-fit.h"

#include "core/censored.h"
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

static double
distance_m(const SpateLossSample *sample)
{
    return spate_distance_m(sample->from, sample->to);
}

/* What stands beside the exponent. */
static double
slope_db(double distance_m, double at_m)
{
    return 10.0 * log10(distance_m / at_m);
}

/* ---- the law --------------------------------------------------------------------------------- */

/* Of 1, 2, 5, 10 ... the nearest in ratio. */
static double
nearest_round(double value)
{
    double decade = pow(10.0, floor(log10(value))), nearest = decade;
    static const double STEPS[] = {2.0, 5.0, 10.0};
    for (size_t i = 0; i < G_N_ELEMENTS(STEPS); i++)
        if (fabs(log(STEPS[i] * decade / value)) < fabs(log(nearest / value)))
            nearest = STEPS[i] * decade;
    return nearest;
}

/* Counts, distances, and where the intercept is stated. */
static SpateLossFit
survey(const SpateLossSample *samples, size_t n)
{
    SpateLossFit fit = {.n = n, .heard_m = {INFINITY, 0.0}, .all_m = {INFINITY, 0.0}};
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        double here_m = distance_m(&samples[i]);
        fit.all_m.low = fmin(fit.all_m.low, here_m);
        fit.all_m.high = fmax(fit.all_m.high, here_m);
        if (!samples[i].is_heard)
            continue;
        fit.heard_m.low = fmin(fit.heard_m.low, here_m);
        fit.heard_m.high = fmax(fit.heard_m.high, here_m);
        sum += log(here_m);
        fit.n_heard++;
    }
    if (fit.n_heard > 0)
        fit.at_m = nearest_round(exp(sum / (double)fit.n_heard));
    return fit;
}

/* Coefficients: intercept, exponent.  Free with g_free(). */
static SpateCensored *
rows_of(const SpateLossSample *samples, size_t n, double at_m)
{
    SpateCensored *rows = g_new0(SpateCensored, MAX(n, 1));
    for (size_t i = 0; i < n; i++)
        rows[i] = (SpateCensored){
            .y = samples[i].loss_db,
            .offset = samples[i].known_db,
            .x = {1.0, slope_db(distance_m(&samples[i]), at_m)},
            .weight = 1.0,
            .is_above = !samples[i].is_heard,
        };
    return rows;
}

/* Distances that differ by less tell no exponent. */
#define LEAST_RATIO 1.01

static bool
is_enough(const SpateLossFit *fit)
{
    return fit->n_heard >= SPATE_LOSS_FIT_LEAST &&
           fit->heard_m.high > LEAST_RATIO * fit->heard_m.low;
}

bool
spate_loss_fit(const SpateLossSample *samples, size_t n, SpateLossFit *fit)
{
    SpateCensoredFit found;
    *fit = survey(samples, n);
    g_autofree SpateCensored *rows = rows_of(samples, n, fit->at_m);
    if (!is_enough(fit) || !spate_censored_fit(rows, n, 2, &found))
        return false;
    fit->intercept_db =
        (SpateLossEstimate){found.b[0], spate_censored_interval(rows, n, &found, 0)};
    fit->exponent = (SpateLossEstimate){found.b[1], spate_censored_interval(rows, n, &found, 1)};
    fit->sigma_db =
        (SpateLossEstimate){spate_censored_sigma(&found), spate_censored_sigma_interval(&found)};
    return true;
}

double
spate_loss_fit_law_db(const SpateLossFit *fit, double distance_m)
{
    return fit->intercept_db.value + fit->exponent.value * slope_db(distance_m, fit->at_m);
}

/* ---- wild samples ---------------------------------------------------------------------------- */

/* A level is read in whole decibels: no spread is smaller than what rounding to them leaves, 1 /
 * sqrt(12) dB. */
#define LEAST_SPREAD_DB 0.29
#define WILD            3.0
#define MOST_ROUNDS     50

static int
compare_numbers(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

/* What is left of a sample beside the law: of one that was not heard, how far its limit is above
 * it; below it says nothing. */
static double
left_db(const SpateCensored *row, const double *b)
{
    double left = row->y - row->offset - b[0] * row->x[0] - b[1] * row->x[1];
    return row->is_above ? fmax(left, 0.0) : left;
}

/* 1.4826: of the median of normal deviations to their sigma; the factor for few samples is that of
 * P. J. Rousseeuw and A. M. Leroy, Robust Regression and Outlier Detection, 1987, 5.1. */
static double
robust_sigma_db(const SpateCensored *rows, size_t n, const double *b)
{
    g_autofree double *sizes = g_new(double, n);
    size_t n_heard = 0;
    for (size_t i = 0; i < n; i++)
        if (!rows[i].is_above)
            sizes[n_heard++] = fabs(left_db(&rows[i], b));
    qsort(sizes, n_heard, sizeof sizes[0], compare_numbers);
    double middle = 0.5 * (sizes[(n_heard - 1) / 2] + sizes[n_heard / 2]);
    return fmax(1.4826 * (1.0 + 5.0 / ((double)n_heard - 2.0)) * middle, LEAST_SPREAD_DB);
}

/* Weights of Student's t with 4 degrees of freedom, but none above 1.  K. L. Lange, R. J. A.
 * Little, J. M. G. Taylor, J. Am. Stat. Assoc. 84, 1989. */
static double
weight_at(double deviations)
{
    return fmin(5.0 / (4.0 + deviations * deviations), 1.0);
}

size_t
spate_loss_fit_mark_wild(const SpateLossSample *samples, size_t n, bool *is_wild)
{
    SpateLossFit seen = survey(samples, n);
    SpateCensoredFit found;
    double sigma_db = NAN, before = INFINITY;
    size_t n_wild = 0;
    g_autofree SpateCensored *rows = rows_of(samples, n, seen.at_m);
    for (size_t i = 0; i < n; i++)
        is_wild[i] = false;
    if (!is_enough(&seen) || !spate_censored_fit(rows, n, 2, &found))
        return 0;
    for (int round = 0; round < MOST_ROUNDS && !(fabs(before - found.b[0]) < 1e-6); round++) {
        before = found.b[0];
        sigma_db = robust_sigma_db(rows, n, found.b);
        for (size_t i = 0; i < n; i++)
            rows[i].weight = weight_at(left_db(&rows[i], found.b) / sigma_db);
        if (!spate_censored_fit(rows, n, 2, &found))
            return 0;
    }
    sigma_db = robust_sigma_db(rows, n, found.b);
    for (size_t i = 0; i < n; i++) {
        is_wild[i] = fabs(left_db(&rows[i], found.b)) > WILD * sigma_db;
        n_wild += is_wild[i];
    }
    return n_wild;
}

/* ---- samples of one place -------------------------------------------------------------------- */

typedef struct {
    double left_db;
    SpatePosition from, to;
} Left;

static int
compare_positions(const SpatePosition *a, const SpatePosition *b)
{
    const double first[] = {a->x_m, a->y_m, a->height_m}, second[] = {b->x_m, b->y_m, b->height_m};
    for (size_t i = 0; i < G_N_ELEMENTS(first); i++)
        if (first[i] != second[i])
            return first[i] < second[i] ? -1 : 1;
    return 0;
}

static int
compare_places(const void *a, const void *b)
{
    const Left *first = a, *second = b;
    int from = compare_positions(&first->from, &second->from);
    return from != 0 ? from : compare_positions(&first->to, &second->to);
}

/* The heard samples that are nearer than all that were not: what is heard farther away is the lucky
 * part, whose mean is off any law.  Free with g_free(). */
static SpateLossSample *
surely_heard(const SpateLossSample *samples, size_t n, size_t *n_heard)
{
    SpateLossSample *heard = g_new(SpateLossSample, MAX(n, 1));
    double nearest_m = INFINITY;
    *n_heard = 0;
    for (size_t i = 0; i < n; i++)
        if (!samples[i].is_heard)
            nearest_m = fmin(nearest_m, distance_m(&samples[i]));
    for (size_t i = 0; i < n; i++)
        if (samples[i].is_heard && distance_m(&samples[i]) < nearest_m)
            heard[(*n_heard)++] = samples[i];
    return heard;
}

/* What a line leaves of each, by place; NULL if they tell no line.  Free with g_free(). */
static Left *
left_of(const SpateLossSample *samples, size_t n)
{
    SpateLossFit seen = survey(samples, n);
    SpateCensoredFit line;
    g_autofree SpateCensored *rows = rows_of(samples, n, seen.at_m);
    if (!is_enough(&seen) || !spate_censored_fit(rows, n, 2, &line))
        return NULL;
    Left *left = g_new(Left, n);
    for (size_t i = 0; i < n; i++)
        left[i] = (Left){left_db(&rows[i], line.b), samples[i].from, samples[i].to};
    qsort(left, n, sizeof left[0], compare_places);
    return left;
}

double
spate_loss_fit_alike_p(const SpateLossSample *samples, size_t n)
{
    size_t n_left, n_places = 0;
    double between = 0.0, within = 0.0;
    g_autofree SpateLossSample *heard = surely_heard(samples, n, &n_left);
    g_autofree Left *left = left_of(heard, n_left);
    for (size_t i = 0; left != NULL && i < n_left; n_places++) {
        SpateRunning place = {0};
        size_t first = i;
        while (i < n_left && compare_places(&left[first], &left[i]) == 0)
            spate_running_add(&place, left[i++].left_db);
        between += (double)place.n * place.mean * place.mean;
        within += place.m2;
    }
    if (n_places < 3 || n_places == n_left || within == 0.0)
        return NAN;
    double few = (double)n_places - 2.0, many = (double)(n_left - n_places);
    return gsl_cdf_fdist_Q(between / few / (within / many), few, many);
}

/* ---- several models -------------------------------------------------------------------------- */

/* A loss that is known but for what is fitted to it. */
typedef struct {
    const char *name;
    SpatePathModelKind kind;
    SpateStreetEnvironment environment;
    bool has_extra_loss, has_exponent;
} Model;

static const Model MODELS[SPATE_N_LOSS_MODELS] = {
    {"free-space", SPATE_PATH_FREE_SPACE},
    {"free-space, extra-loss", SPATE_PATH_FREE_SPACE, .has_extra_loss = true},
    {"two-ray", SPATE_PATH_TWO_RAY},
    {"two-ray, extra-loss", SPATE_PATH_TWO_RAY, .has_extra_loss = true},
    {"street-level, urban", SPATE_PATH_STREET_LEVEL, SPATE_STREET_URBAN},
    {"street-level, urban, extra-loss", SPATE_PATH_STREET_LEVEL, SPATE_STREET_URBAN,
     .has_extra_loss = true},
    {"street-level, suburban", SPATE_PATH_STREET_LEVEL, SPATE_STREET_SUBURBAN},
    {"street-level, suburban, extra-loss", SPATE_PATH_STREET_LEVEL, SPATE_STREET_SUBURBAN,
     .has_extra_loss = true},
    {"terrain", SPATE_PATH_TERRAIN},
    {"terrain, extra-loss", SPATE_PATH_TERRAIN, .has_extra_loss = true},
    {"terrain, extra-loss, exponent", SPATE_PATH_TERRAIN, .has_extra_loss = true,
     .has_exponent = true},
    {"log-distance, intercept of free-space", SPATE_PATH_LOG_DISTANCE, .has_exponent = true},
    {"log-distance", SPATE_PATH_LOG_DISTANCE, .has_extra_loss = true, .has_exponent = true},
};

/* Why a model may have no loss for some sample. */
static const char *
needs_of(SpatePathModelKind kind)
{
    switch (kind) {
    case SPATE_PATH_TWO_RAY:
        return "it needs both ends above the ground at every sample";
    case SPATE_PATH_STREET_LEVEL:
        return "it is made for 300 to 3000 MHz and up to 3 km (Rec. ITU-R P.1411), and a sample "
               "lies beyond";
    case SPATE_PATH_TERRAIN:
        return "it needs a height model, and places of both ends";
    case SPATE_PATH_FREE_SPACE:
    case SPATE_PATH_LOG_DISTANCE:
    case SPATE_PATH_HATA:
    case SPATE_N_PATH_MODELS:
        break;
    }
    return NULL;
}

/* NAN where the model does not hold. */
static double
known_loss_db(const Model *model, const SpateLossSample *sample, double frequency_hz)
{
    /* The exponent is fitted: what is known is the loss at 1 m. */
    const SpatePathModel known = {
        .kind = model->kind == SPATE_PATH_TERRAIN ? SPATE_PATH_FREE_SPACE : model->kind,
        .intercept_at_m = 1.0,
        .intercept_loss_db = NAN,
        .environment = model->environment,
        .location_share = 0.5,
    };
    if (model->kind == SPATE_PATH_STREET_LEVEL &&
        !spate_street_level_is_made_for(frequency_hz, distance_m(sample)))
        return NAN;
    return spate_path_loss_db(&known, frequency_hz, sample->from, sample->to, NULL) +
           (model->kind == SPATE_PATH_TERRAIN ? sample->diffraction_db : 0.0);
}

/* Rows of a model at these samples; free with g_free().  NULL where it does not hold for one. */
static SpateCensored *
rows_by(const Model *model, const SpateLossSample *samples, size_t n, double frequency_hz)
{
    g_autofree SpateCensored *rows = g_new0(SpateCensored, MAX(n, 1));
    for (size_t i = 0; i < n; i++) {
        size_t n_x = 0;
        SpateCensored *row = &rows[i];
        row->y = samples[i].loss_db;
        row->weight = 1.0;
        row->is_above = !samples[i].is_heard;
        row->offset = known_loss_db(model, &samples[i], frequency_hz);
        if (model->has_extra_loss)
            row->x[n_x++] = 1.0;
        if (model->has_exponent)
            row->x[n_x] = slope_db(distance_m(&samples[i]), 1.0);
        if (!isfinite(row->offset))
            return NULL;
    }
    return g_steal_pointer(&rows);
}

void
spate_loss_fit_compare(const SpateLossSample *samples, size_t n, double frequency_hz,
                       SpateLossModel models[SPATE_N_LOSS_MODELS])
{
    for (size_t m = 0; m < SPATE_N_LOSS_MODELS; m++) {
        size_t n_x = (size_t)MODELS[m].has_extra_loss + (size_t)MODELS[m].has_exponent;
        SpateCensoredFit found;
        g_autofree SpateCensored *rows = rows_by(&MODELS[m], samples, n, frequency_hz);
        models[m] = (SpateLossModel){
            .name = MODELS[m].name, .n_parameters = (unsigned)n_x + 1, .sigma_db = NAN, .aic = NAN};
        if (rows == NULL) {
            models[m].left_out = needs_of(MODELS[m].kind);
            continue;
        }
        if (!spate_censored_fit(rows, n, n_x, &found)) {
            models[m].left_out = "the samples are too few, or too much alike, for it";
            continue;
        }
        models[m].sigma_db = spate_censored_sigma(&found);
        if (found.sigma > 0.0)
            models[m].aic = 2.0 * ((double)n_x + 1.0) - 2.0 * found.log_likelihood;
    }
}

bool
spate_loss_fit_terrain(const SpateLossSample *samples, size_t n, double frequency_hz,
                       SpateLossEstimate *extra_loss_db, SpateLossEstimate *sigma_db)
{
    const Model model = {.kind = SPATE_PATH_TERRAIN, .has_extra_loss = true};
    SpateCensoredFit found;
    g_autofree SpateCensored *rows = rows_by(&model, samples, n, frequency_hz);
    if (rows == NULL || !spate_censored_fit(rows, n, 1, &found))
        return false;
    *extra_loss_db = (SpateLossEstimate){found.b[0], spate_censored_interval(rows, n, &found, 0)};
    *sigma_db =
        (SpateLossEstimate){spate_censored_sigma(&found), spate_censored_sigma_interval(&found)};
    return true;
}
