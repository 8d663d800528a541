/* statistics.h - means, intervals, percentiles
 *
 * One replication gives one value of a measure; a summary is over replications.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Mean and spread, by Welford's recurrence. */
typedef struct {
    size_t n;
    double mean;
    double m2; /* sum of squared deviations */
} SpateRunning;

void spate_running_add(SpateRunning *running, double value);
double spate_running_variance(const SpateRunning *running); /* n - 1 below the line; NAN if n < 2 */

/* An interval; both ends NAN where there is none. */
typedef struct {
    double low, high;
} SpateInterval;

/* The risk of a 95 % interval: that it leaves out what it is of. */
#define SPATE_RISK 0.05

/* Two-sided Student t quantile: 12.706 for 1 degree of freedom at SPATE_RISK. */
double spate_student_t(size_t degrees_of_freedom, double risk);
/* mean -+ t * s / sqrt(n); none if n < 2. */
SpateInterval spate_student_interval(const SpateRunning *running);
/* The same at another risk than 5 %.  Of values that are all the same it reaches from 0 to twice
 * their mean where the sign test does not reach that risk. */
SpateInterval spate_student_interval_at(const SpateRunning *running, double risk);
/* 95 %, of a standard deviation with that many degrees of freedom (chi-square). */
SpateInterval spate_spread_interval(double deviation, double freedom);
/* Two-sided p of a mean against 0 (Student); 1 without at least two values, or where all are 0;
 * where all are the same and not 0, that of the sign test, 2 / 2^n. */
double spate_student_p(const SpateRunning *running);
/* Spearman's: that of the ranks, ties sharing theirs; NAN with fewer than three pairs, or where all
 * values of one side are the same.  C. Spearman, Am. J. Psychol. 15, 1904. */
double spate_rank_correlation(const double *x, const double *y, size_t n);
/* Two-sided p of it against 0, by Student's t with n - 2 degrees of freedom: good from ten pairs
 * on; 1 for NAN. */
double spate_rank_correlation_p(double correlation, size_t n);
/* Makes p-values of one family hold together: what is below alpha afterwards may all be called
 * different from 0 with a risk of at most alpha in all.  S. Holm, Scand. J. Statist. 6, 1979. */
void spate_holm_adjust(double *p, size_t n);
/* Of p-values before they are adjusted: the risk at which each is tested against 0.  An interval of
 * Student's at that risk leaves out 0 just where the adjusted p is below alpha. */
void spate_holm_risks(const double *p, size_t n, double alpha, double *risks);
/* Wilson's score interval of k out of n at 95 %, or at another risk; none if n == 0.
 * E. B. Wilson, J. Am. Stat. Assoc. 22, 1927. */
SpateInterval spate_wilson_interval(double k, double n);
SpateInterval spate_wilson_interval_at(double k, double n, double risk);
/* How far apart two shares of the same n things may be although they were equal in all n:
 * Wilson's upper end for none of n at that risk.  0 if n is. */
double spate_share_resolution(double n, double risk);
/* At least that far to both sides of its middle. */
SpateInterval spate_interval_widen(SpateInterval interval, double least_half);
/* The smaller of the lower ends and the larger of the upper ends; an interval
 * that is none leaves the other as it is. */
SpateInterval spate_interval_union(SpateInterval a, SpateInterval b);
SpateInterval spate_interval_clip(SpateInterval interval, double low, double high);

/* The p-th percentile (0 < p <= 1) by nearest rank: the smallest value that at
 * least p of the values do not exceed.  Reorders `values`; n > 0. */
int64_t spate_percentile_i64(int64_t *values, size_t n, double p);
