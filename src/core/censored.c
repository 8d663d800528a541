/* censored.c - regression where some values are only known to lie above a limit */
#include "core/censored.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <gsl/gsl_sf_erf.h>
#include <math.h>

#define MOST_PARAMETERS (SPATE_CENSORED_MOST_X + 1)
#define NONE            SIZE_MAX
/* Of values: a spread below is none.  Newton's step squares it, and the squares of what is smaller
 * are lost among those of the values. */
#define ROUNDING 1e-6

/* The coefficients are fitted but for a held one, whose part is taken off each value. */
typedef struct {
    const SpateCensored *samples;
    size_t n, n_x;
    size_t held; /* NONE: all are fitted */
    double value;
} Problem;

/* A square matrix with a side of n, and a column. */
typedef struct {
    size_t n;
    double matrix[MOST_PARAMETERS][MOST_PARAMETERS], column[MOST_PARAMETERS];
} Equations;

static size_t
n_free(const Problem *problem)
{
    return problem->held == NONE ? problem->n_x : problem->n_x - 1;
}

static double
value_of(const Problem *problem, const SpateCensored *sample)
{
    double value = sample->y - sample->offset;
    return problem->held == NONE ? value : value - sample->x[problem->held] * problem->value;
}

/* The x that are fitted, then -y: each pulls at its parameter. */
static void
fill_row(const Problem *problem, const SpateCensored *sample, double row[MOST_PARAMETERS])
{
    size_t k = 0;
    for (size_t i = 0; i < problem->n_x; i++)
        if (i != problem->held)
            row[k++] = sample->x[i];
    row[k] = -value_of(problem, sample);
}

static void
add_square(Equations *equations, const double *row, double weight)
{
    for (size_t i = 0; i < equations->n; i++)
        for (size_t k = 0; k < equations->n; k++)
            equations->matrix[i][k] += weight * row[i] * row[k];
}

/* By Cholesky's method; false unless the matrix is that of a bowl, clearly. */
static bool
solve(const Equations *equations, double *solution)
{
    size_t n = equations->n;
    double root[MOST_PARAMETERS][MOST_PARAMETERS];
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k <= i; k++) {
            double rest = equations->matrix[i][k];
            for (size_t j = 0; j < k; j++)
                rest -= root[i][j] * root[k][j];
            if (k < i)
                root[i][k] = rest / root[k][k];
            else if (rest > 1e-12 * equations->matrix[i][i])
                root[i][i] = sqrt(rest);
            else
                return false;
        }
    }
    for (size_t i = 0; i < n; i++) {
        solution[i] = equations->column[i];
        for (size_t j = 0; j < i; j++)
            solution[i] -= root[i][j] * solution[j];
        solution[i] /= root[i][i];
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t j = i + 1; j < n; j++)
            solution[i] -= root[j][i] * solution[j];
        solution[i] /= root[i][i];
    }
    return true;
}

/* ---- where to start: least squares ----------------------------------------------------------- */

/* The sum of the squares of what is left of the known values, and of those that should lie above
 * their limit and do not. */
static double
squares_left(const Problem *problem, const double *b, double *largest)
{
    double sum = 0.0, row[MOST_PARAMETERS] = {0};
    size_t n_b = n_free(problem);
    *largest = 0.0;
    for (size_t i = 0; i < problem->n; i++) {
        const SpateCensored *sample = &problem->samples[i];
        fill_row(problem, sample, row);
        double left = -row[n_b];
        *largest = fmax(*largest, fabs(left));
        for (size_t k = 0; k < n_b; k++)
            left -= b[k] * row[k];
        if (!sample->is_above || left > 0.0)
            sum += left * left;
    }
    return sum;
}

/* Parameters that fit the known values best; sigma 0 if all lie on the plane.  False if they do not
 * tell the coefficients. */
static bool
start(const Problem *problem, double *p, double *sigma)
{
    size_t n_b = n_free(problem), n_known = 0;
    Equations normal = {.n = n_b};
    double row[MOST_PARAMETERS] = {0}, largest;
    for (size_t i = 0; i < problem->n; i++) {
        if (problem->samples[i].is_above)
            continue;
        fill_row(problem, &problem->samples[i], row);
        add_square(&normal, row, 1.0);
        for (size_t k = 0; k < n_b; k++)
            normal.column[k] -= row[k] * row[n_b];
        n_known++;
    }
    if (n_known <= n_b || !solve(&normal, p))
        return false;
    double squares = squares_left(problem, p, &largest), least = ROUNDING * fmax(largest, 1.0);
    *sigma = sqrt(squares / (double)n_known);
    *sigma = *sigma > least ? *sigma : 0.0;
    return true;
}

/* ---- the likelihood at p = (b / sigma ..., 1 / sigma) ---------------------------------------- */

/* phi / Q, which is 0 as far as a double tells where the limit is that far below. */
static double
hazard(double u)
{
    return u < -35.0 ? 0.0 : gsl_sf_hazard(u);
}

/* The log-likelihood; its slope and minus its bend become the equations of Newton's step. */
static double
likelihood(const Problem *problem, const double *p, Equations *equations)
{
    size_t last = n_free(problem);
    double sum = 0.0, inverse_sigma = p[last], row[MOST_PARAMETERS] = {0};
    *equations = (Equations){.n = last + 1};
    for (size_t i = 0; i < problem->n; i++) {
        const SpateCensored *sample = &problem->samples[i];
        double u = 0.0, pull, stiffness = 1.0;
        fill_row(problem, sample, row);
        for (size_t k = 0; k <= last; k++)
            u -= row[k] * p[k];
        if (sample->is_above) {
            pull = hazard(u);
            stiffness = fmax(pull * (pull - u), 0.0);
            sum += sample->weight * (gsl_sf_log_erfc(u / M_SQRT2) - M_LN2);
        } else {
            pull = u;
            sum += log(inverse_sigma) - 0.5 * (sample->weight * u * u + M_LN2 + M_LNPI);
            equations->column[last] += 1.0 / inverse_sigma;
            equations->matrix[last][last] += 1.0 / (inverse_sigma * inverse_sigma);
        }
        for (size_t k = 0; k <= last; k++)
            equations->column[k] += sample->weight * pull * row[k];
        add_square(equations, row, sample->weight * stiffness);
    }
    return sum;
}

/* A part of the step, so that one over sigma stays above 0 and the likelihood grows. */
static double
advance(const Problem *problem, const double *step, double gain, double before, double *p)
{
    size_t last = n_free(problem);
    double share = 2.0, next[MOST_PARAMETERS];
    Equations ignored;
    for (int i = 0; i < 60; i++) {
        share *= 0.5;
        for (size_t k = 0; k <= last; k++)
            next[k] = p[k] + share * step[k];
        if (next[last] <= 0.0)
            continue;
        /* Near the summit the sums' rounding hides the growth. */
        if (gain > 1e-7 && likelihood(problem, next, &ignored) < before + 1e-4 * share * gain)
            continue;
        for (size_t k = 0; k <= last; k++)
            p[k] = next[k];
        return share;
    }
    return 0.0;
}

/* Climbs to the summit; false if there is none to be found. */
static bool
climb(const Problem *problem, double *p, double *log_likelihood, Equations *equations)
{
    for (int i = 0; i < 200; i++) {
        double step[MOST_PARAMETERS] = {0}, gain = 0.0;
        *log_likelihood = likelihood(problem, p, equations);
        if (!isfinite(*log_likelihood) || !solve(equations, step))
            return false;
        for (size_t k = 0; k < equations->n; k++)
            gain += step[k] * equations->column[k];
        if (gain < 1e-13 || advance(problem, step, gain, *log_likelihood, p) == 0.0)
            return true;
    }
    return false;
}

/* Variances by the bend at the summit, turned from p into b and the logarithm of sigma. */
static bool
fill_errors(const Equations *bend, SpateCensoredFit *fit, const double *p)
{
    double covariance[MOST_PARAMETERS][MOST_PARAMETERS];
    size_t last = bend->n - 1;
    Equations unit = *bend;
    for (size_t i = 0; i <= last; i++) {
        for (size_t k = 0; k <= last; k++)
            unit.column[k] = k == i ? 1.0 : 0.0;
        if (!solve(&unit, covariance[i]))
            return false;
    }
    for (size_t i = 0; i < last; i++)
        fit->error[i] = sqrt(covariance[i][i] - 2.0 * fit->b[i] * covariance[i][last] +
                             fit->b[i] * fit->b[i] * covariance[last][last]) *
                        fit->sigma;
    fit->n_effective = p[last] * p[last] / (2.0 * covariance[last][last]);
    return true;
}

bool
spate_censored_fit(const SpateCensored *samples, size_t n, size_t n_x, SpateCensoredFit *fit)
{
    const Problem problem = {samples, n, n_x, NONE, 0.0};
    double p[MOST_PARAMETERS] = {0};
    Equations bend;
    g_assert(n_x <= SPATE_CENSORED_MOST_X);
    *fit = (SpateCensoredFit){.n_x = n_x};
    if (!start(&problem, p, &fit->sigma))
        return false;
    if (fit->sigma == 0.0) {
        for (size_t i = 0; i < n_x; i++)
            fit->b[i] = p[i];
        for (size_t i = 0; i < n; i++)
            fit->n_effective += samples[i].is_above ? 0.0 : 1.0;
        fit->log_likelihood = INFINITY;
        return true;
    }
    for (size_t i = 0; i < n_x; i++)
        p[i] /= fit->sigma;
    p[n_x] = 1.0 / fit->sigma;
    if (!climb(&problem, p, &fit->log_likelihood, &bend))
        return false;
    fit->sigma = 1.0 / p[n_x];
    for (size_t i = 0; i < n_x; i++)
        fit->b[i] = p[i] * fit->sigma;
    return fill_errors(&bend, fit, p);
}

/* ---- intervals ------------------------------------------------------------------------------- */

double
spate_censored_freedom(const SpateCensoredFit *fit)
{
    return fmax(fit->n_effective - (double)fit->n_x, 1.0);
}

double
spate_censored_sigma(const SpateCensoredFit *fit)
{
    return fit->sigma * sqrt(fit->n_effective / spate_censored_freedom(fit));
}

SpateInterval
spate_censored_sigma_interval(const SpateCensoredFit *fit)
{
    return spate_spread_interval(spate_censored_sigma(fit), spate_censored_freedom(fit));
}

/* The profile of a coefficient. */
typedef struct {
    Problem problem;
    double best, most; /* log-likelihood at the summit, and how far below it the interval ends */
} Profile;

/* Above 0 outside of the interval. */
static double
depth(double value, void *user)
{
    Profile *profile = user;
    double p[MOST_PARAMETERS] = {0}, sigma, log_likelihood;
    Equations bend;
    profile->problem.value = value;
    size_t n_b = n_free(&profile->problem);
    if (!start(&profile->problem, p, &sigma) || sigma == 0.0)
        return -profile->most;
    for (size_t i = 0; i < n_b; i++)
        p[i] /= sigma;
    p[n_b] = 1.0 / sigma;
    if (!climb(&profile->problem, p, &log_likelihood, &bend))
        return INFINITY;
    return profile->best - log_likelihood - profile->most;
}

/* An infinite end where the likelihood never falls that far. */
static double
find_end(Profile *profile, double inside, double step)
{
    double outside = inside + step;
    for (int i = 0; depth(outside, profile) < 0.0; i++) {
        if (i == 40)
            return step < 0.0 ? -INFINITY : INFINITY;
        inside = outside;
        step *= 2.0;
        outside += step;
    }
    if (isinf(depth(outside, profile)))
        return outside;
    gsl_function function = {depth, profile};
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    gsl_root_fsolver_set(solver, &function, fmin(inside, outside), fmax(inside, outside));
    for (int i = 0; i < 60; i++) {
        gsl_root_fsolver_iterate(solver);
        if (gsl_root_test_interval(gsl_root_fsolver_x_lower(solver),
                                   gsl_root_fsolver_x_upper(solver), 1e-7 * fabs(step),
                                   1e-9) == GSL_SUCCESS)
            break;
    }
    double end = gsl_root_fsolver_root(solver);
    gsl_root_fsolver_free(solver);
    return end;
}

SpateInterval
spate_censored_interval(const SpateCensored *samples, size_t n, const SpateCensoredFit *fit,
                        size_t coefficient)
{
    double best = fit->b[coefficient], freedom = spate_censored_freedom(fit);
    if (fit->sigma == 0.0)
        return (SpateInterval){best, best};
    double t = gsl_cdf_tdist_Qinv(0.5 * SPATE_RISK, freedom);
    Profile profile = {
        .problem = {samples, n, fit->n_x, coefficient, best},
        .best = fit->log_likelihood,
        .most = 0.5 * fit->n_effective * log1p(t * t / freedom),
    };
    double step = t * fit->error[coefficient] * sqrt(fit->n_effective / freedom);
    return (SpateInterval){find_end(&profile, best, -step), find_end(&profile, best, step)};
}
