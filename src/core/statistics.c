/* statistics.c - means, intervals, percentiles */
#include "core/statistics.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

static const SpateInterval NO_INTERVAL = {NAN, NAN};

void
spate_running_add(SpateRunning *running, double value)
{
    running->n++;
    double from_old = value - running->mean;
    running->mean += from_old / (double)running->n;
    running->m2 += from_old * (value - running->mean);
}

double
spate_running_variance(const SpateRunning *running)
{
    return running->n < 2 ? NAN : running->m2 / (double)(running->n - 1);
}

double
spate_student_t(size_t degrees_of_freedom, double risk)
{
    g_assert(degrees_of_freedom > 0);
    return gsl_cdf_tdist_Pinv(1.0 - risk / 2.0, (double)degrees_of_freedom);
}

static SpateInterval
interval_of(const SpateRunning *running, double quantile)
{
    double half = quantile * sqrt(spate_running_variance(running) / (double)running->n);
    return (SpateInterval){running->mean - half, running->mean + half};
}

SpateInterval
spate_student_interval(const SpateRunning *running)
{
    if (running->n < 2)
        return NO_INTERVAL;
    return interval_of(running, spate_student_t(running->n - 1, SPATE_RISK));
}

/* Values that are all the same show no spread, which is no proof that there is none: two runs that
 * happen to differ by one message each would be certainty.  Then only their sign is used: by chance
 * all n have the same with probability 2 / 2^n. */
static double
sign_test_p(size_t n)
{
    return ldexp(1.0, 1 - (int)MIN(n, 1000));
}

SpateInterval
spate_student_interval_at(const SpateRunning *running, double risk)
{
    if (running->n < 2)
        return NO_INTERVAL;
    if (running->m2 == 0.0 && sign_test_p(running->n) >= risk)
        return (SpateInterval){fmin(2.0 * running->mean, 0.0), fmax(2.0 * running->mean, 0.0)};
    return interval_of(running, gsl_cdf_tdist_Qinv(risk / 2.0, (double)(running->n - 1)));
}

SpateInterval
spate_spread_interval(double deviation, double freedom)
{
    double squares = deviation * deviation * freedom, half_risk = 0.5 * SPATE_RISK;
    return (SpateInterval){
        .low = sqrt(squares / gsl_cdf_chisq_Qinv(half_risk, freedom)),
        .high = sqrt(squares / gsl_cdf_chisq_Pinv(half_risk, freedom)),
    };
}

double
spate_student_p(const SpateRunning *running)
{
    if (running->n < 2)
        return 1.0;
    double error = sqrt(spate_running_variance(running) / (double)running->n);
    if (error == 0.0)
        return running->mean == 0.0 ? 1.0 : sign_test_p(running->n);
    return 2.0 * gsl_cdf_tdist_Q(fabs(running->mean) / error, (double)(running->n - 1));
}

static bool
are_all_same(const double *values, size_t n)
{
    for (size_t i = 1; i < n; i++)
        if (values[i] != values[0])
            return false;
    return true;
}

double
spate_rank_correlation(const double *x, const double *y, size_t n)
{
    if (n < 3 || are_all_same(x, n) || are_all_same(y, n))
        return NAN;
    g_autofree double *work = g_new(double, 2 * n);
    return CLAMP(gsl_stats_spearman(x, 1, y, 1, n, work), -1.0, 1.0);
}

double
spate_rank_correlation_p(double correlation, size_t n)
{
    if (isnan(correlation) || n < 3)
        return 1.0;
    double rest = 1.0 - correlation * correlation;
    if (rest <= 0.0)
        return 0.0;
    double degrees = (double)(n - 2);
    return 2.0 * gsl_cdf_tdist_Q(fabs(correlation) * sqrt(degrees / rest), degrees);
}

static int
compare_p(const void *a, const void *b)
{
    double *const *first = a, *const *second = b;
    if (**first != **second)
        return **first > **second ? 1 : -1;
    return (*first > *second) - (*first < *second);
}

/* Pointers to them, the smallest first; free with g_free(). */
static double **
sort_p(double *p, size_t n)
{
    double **sorted = g_new(double *, n + 1);
    for (size_t i = 0; i < n; i++)
        sorted[i] = &p[i];
    qsort(sorted, n, sizeof sorted[0], compare_p);
    return sorted;
}

void
spate_holm_adjust(double *p, size_t n)
{
    g_autofree double **sorted = sort_p(p, n);
    double largest = 0.0;
    for (size_t i = 0; i < n; i++) {
        largest = fmax(largest, fmin(*sorted[i] * (double)(n - i), 1.0));
        *sorted[i] = largest;
    }
}

/* From the first that is not different from 0 on, none is: all of these are tested as it is. */
void
spate_holm_risks(const double *p, size_t n, double alpha, double *risks)
{
    g_autofree double *copy = g_memdup2(p, n * sizeof *p);
    g_autofree double **sorted = sort_p(copy, n);
    size_t n_distinct = 0;
    while (n_distinct < n && *sorted[n_distinct] * (double)(n - n_distinct) < alpha)
        n_distinct++;
    for (size_t i = 0; i < n; i++)
        risks[sorted[i] - copy] = alpha / (double)(n - MIN(i, n_distinct));
}

SpateInterval
spate_wilson_interval(double k, double n)
{
    return spate_wilson_interval_at(k, n, SPATE_RISK);
}

SpateInterval
spate_wilson_interval_at(double k, double n, double risk)
{
    if (!(n > 0.0))
        return NO_INTERVAL;
    double z = gsl_cdf_ugaussian_Pinv(1.0 - risk / 2.0), z2 = z * z;
    double p = k / n;
    double centre = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    double half = z / (1.0 + z2 / n) * sqrt(p * (1.0 - p) / n + z2 / (4.0 * n * n));
    /* None and all are the ends themselves, which rounding would miss. */
    return (SpateInterval){k == 0.0 ? 0.0 : centre - half, k == n ? 1.0 : centre + half};
}

double
spate_share_resolution(double n, double risk)
{
    return n > 0.0 ? spate_wilson_interval_at(0.0, n, risk).high : 0.0;
}

SpateInterval
spate_interval_widen(SpateInterval interval, double least_half)
{
    double middle = (interval.low + interval.high) / 2.0;
    return spate_interval_union(interval,
                                (SpateInterval){middle - least_half, middle + least_half});
}

SpateInterval
spate_interval_union(SpateInterval a, SpateInterval b)
{
    /* fmin and fmax pass over a NAN. */
    return (SpateInterval){fmin(a.low, b.low), fmax(a.high, b.high)};
}

SpateInterval
spate_interval_clip(SpateInterval interval, double low, double high)
{
    if (isnan(interval.low))
        return interval;
    return (SpateInterval){fmax(interval.low, low), fmin(interval.high, high)};
}

static int64_t
median_of_three(int64_t a, int64_t b, int64_t c)
{
    int64_t low = MIN(a, b), high = MAX(a, b);
    return CLAMP(c, low, high);
}

/* Puts what is no more than the pivot (one of the values) first, and what is no less last.  What is
 * before *end_low is the one, what is from *start_high on the other; what is between is the pivot.
 */
static void
part(int64_t *values, size_t n, int64_t pivot, size_t *end_low, size_t *start_high)
{
    size_t i = 0, j = n; /* before i and from j on all are where they belong */
    while (i < j) {
        while (values[i] < pivot)
            i++;
        while (values[j - 1] > pivot)
            j--;
        if (i < j) {
            int64_t value = values[i];
            values[i++] = values[--j];
            values[j] = value;
        }
    }
    *end_low = j;
    *start_high = i;
}

/* The value that has `rank` before it when all are in order (C. A. R. Hoare, "Algorithm 65: Find",
 * CACM 4(7), 1961), in a few looks at each value.  Values chosen to that end could make it look at
 * each as often as there are values; those in order, in reverse, or up and down again do not. */
static int64_t
find_ranked(int64_t *values, size_t n, size_t rank)
{
    for (;;) {
        int64_t pivot = median_of_three(values[0], values[n / 2], values[n - 1]);
        size_t end_low, start_high;
        part(values, n, pivot, &end_low, &start_high);
        if (rank < end_low) {
            n = end_low;
        } else if (rank >= start_high) {
            values += start_high;
            rank -= start_high;
            n -= start_high;
        } else {
            return pivot;
        }
    }
}

int64_t
spate_percentile_i64(int64_t *values, size_t n, double p)
{
    g_assert(n > 0 && p > 0.0 && p <= 1.0);
    double rank = ceil(p * (double)n);
    return find_ranked(values, n, MIN((size_t)MAX(rank, 1.0), n) - 1);
}
