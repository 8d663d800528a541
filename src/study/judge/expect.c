/* expect.c - whether an expectation is met */
#include "study/judge/expect.h"

#include <math.h>

static const SpateInterval NO_INTERVAL = {NAN, NAN};

/* One value for each replication, and what is known of the interval of their mean. */
typedef struct {
    SpateRunning running;
    double count, of;   /* of a share of counted things, all replications together; else 0 */
    double pairs;       /* of a difference of such shares: things counted on either side; else 0 */
    double least, most; /* what the mean can be */
    SpateLook look;
} Sample;

/* The interval that so many replications would likely have, if they spread as these do. */
static SpateInterval
interval_at(const Sample *sample, uint32_t n)
{
    bool counts = sample->of > 0.0 || sample->pairs > 0.0;
    if (n < 2 || (sample->look.is_early && !counts && sample->running.m2 == 0.0))
        return NO_INTERVAL;
    double scale = (double)n / (double)sample->running.n;
    double half = spate_student_t(n - 1, sample->look.risk) *
                  sqrt(spate_running_variance(&sample->running) / (double)n);
    half = fmax(half, spate_share_resolution(sample->pairs * scale, sample->look.risk));
    SpateInterval interval = {sample->running.mean - half, sample->running.mean + half};
    if (sample->of > 0)
        interval = spate_interval_union(
            interval,
            spate_wilson_interval_at(sample->count * scale, sample->of * scale, sample->look.risk));
    return spate_interval_clip(interval, sample->least, sample->most);
}

/* ---- one bound ------------------------------------------------------------------------------- */

typedef enum { AT_LEAST, AT_MOST } Side;

typedef struct {
    SpateExpectVerdict kind;
    bool leans_to_pass;
    uint32_t more;
} Finding;

static SpateExpectVerdict
compare(SpateInterval interval, double bound, Side side)
{
    bool is_pass = side == AT_LEAST ? interval.low >= bound : interval.high <= bound;
    bool is_fail = side == AT_LEAST ? interval.high < bound : interval.low > bound;
    return is_pass ? SPATE_VERDICT_PASS : is_fail ? SPATE_VERDICT_FAIL : SPATE_VERDICT_UNDECIDED;
}

static bool
is_met(double mean, double bound, Side side)
{
    return side == AT_LEAST ? mean >= bound : mean <= bound;
}

typedef SpateInterval (*Forecast)(const void *sample, uint32_t n);

/* Intervals narrow as replications are added: the first number at which the forecast decides is
 * found by halving. */
static uint32_t
count_more(Forecast forecast, const void *sample, uint32_t n, double bound, Side side)
{
    uint32_t low = n, high = n + SPATE_MORE_MOST;
    if (compare(forecast(sample, high), bound, side) == SPATE_VERDICT_UNDECIDED)
        return SPATE_MORE_MANY;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (compare(forecast(sample, middle), bound, side) == SPATE_VERDICT_UNDECIDED)
            low = middle;
        else
            high = middle;
    }
    return high - n;
}

static SpateInterval
forecast_sample(const void *sample, uint32_t n)
{
    return interval_at(sample, n);
}

static Finding
judge_bound(const Sample *sample, double bound, Side side)
{
    uint32_t n = (uint32_t)sample->running.n;
    double mean = sample->running.mean;
    Finding finding = {.kind = compare(interval_at(sample, n), bound, side),
                       .leans_to_pass = is_met(mean, bound, side),
                       .more = SPATE_MORE_NEVER};
    if (finding.kind != SPATE_VERDICT_UNDECIDED)
        finding.leans_to_pass = finding.kind == SPATE_VERDICT_PASS;
    else if (n < 2)
        finding.more = 2 - n;
    else if (mean != bound)
        finding.more = count_more(forecast_sample, sample, n, bound, side);
    return finding;
}

typedef struct {
    const SpateRunning *running;
    double risk;
} Told;

static SpateInterval
forecast_told(const void *user, uint32_t n)
{
    const Told *told = user;
    SpateRunning later = {
        .n = n, .mean = told->running->mean, .m2 = spate_running_variance(told->running) * (n - 1)};
    return spate_student_interval_at(&later, told->risk);
}

uint32_t
spate_more_to_tell(const SpateRunning *running, double risk)
{
    const Told told = {running, risk};
    uint32_t n = (uint32_t)running->n;
    if (n < 2)
        return 2 - n;
    if (running->mean == 0.0)
        return SPATE_MORE_NEVER;
    Side side = running->mean > 0.0 ? AT_LEAST : AT_MOST;
    if (compare(forecast_told(&told, n), 0.0, side) != SPATE_VERDICT_UNDECIDED)
        return SPATE_MORE_NEVER;
    return count_more(forecast_told, &told, n, 0.0, side);
}

/* Both bounds have to be met. */
static Finding
both(Finding a, Finding b)
{
    if (a.kind == SPATE_VERDICT_FAIL || b.kind == SPATE_VERDICT_PASS)
        return a;
    if (b.kind == SPATE_VERDICT_FAIL || a.kind == SPATE_VERDICT_PASS)
        return b;
    bool is_never = a.more == SPATE_MORE_NEVER || b.more == SPATE_MORE_NEVER;
    return (Finding){.kind = SPATE_VERDICT_UNDECIDED,
                     .leans_to_pass = a.leans_to_pass && b.leans_to_pass,
                     .more = is_never ? SPATE_MORE_NEVER : MAX(a.more, b.more)};
}

static const Finding MET = {.kind = SPATE_VERDICT_PASS, .leans_to_pass = true};

/* ---- values ---------------------------------------------------------------------------------- */

static SpateJudgement
verdict_of(Finding finding, double mean, SpateInterval ci95, uint32_t n, SpateLook look)
{
    return (SpateJudgement){.kind = finding.kind,
                            .leans_to_pass = finding.leans_to_pass,
                            .mean = mean,
                            .ci95 = ci95,
                            .n = n,
                            .n_looks = look.n_looks,
                            .more = finding.more};
}

SpateJudgement
spate_judge_missing(SpateMissing missing)
{
    return (SpateJudgement){
        .kind = SPATE_VERDICT_FAIL, .missing = missing, .mean = NAN, .ci95 = NO_INTERVAL};
}

bool
spate_undelivered(const SpateResultVariant *variant, const SpateResultRow *row,
                  uint32_t replication)
{
    const char *name = spate_measure_info(row->measure)->name;
    bool is_of_delivered = g_str_has_prefix(name, "latency-") || g_str_has_prefix(name, "hops-");
    if (!is_of_delivered || !isnan(row->values[replication]))
        return false;
    const SpateResultRow *delivery =
        spate_result_find_of_traffic(variant, SPATE_MEASURE_DELIVERY, row->traffic);
    return delivery != NULL && delivery->values[replication] <= 0.0;
}

void
spate_judge_undelivered(SpateJudgement *judgement, uint32_t n_undelivered)
{
    judgement->n_undelivered = n_undelivered;
    if (n_undelivered == 0)
        return;
    judgement->kind = SPATE_VERDICT_FAIL;
    judgement->leans_to_pass = false;
    judgement->more = SPATE_MORE_NEVER;
}

SpateJudgement
spate_judge_value(const SpateResultRow *row, uint32_t n_replications, SpateExpectBound at_least,
                  SpateExpectBound at_most, SpateLook look)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    Sample sample = {.least = info->least, .most = info->most, .look = look};
    for (uint32_t i = 0; i < n_replications; i++) {
        if (isnan(row->values[i]))
            continue;
        spate_running_add(&sample.running, row->values[i]);
        sample.count += row->counts != NULL ? row->counts[i] : 0.0;
        sample.of += row->counts != NULL ? row->ofs[i] : 0.0;
    }
    uint32_t n = (uint32_t)sample.running.n;
    if (n == 0)
        return spate_judge_missing(SPATE_MISSING_VALUE);
    Finding finding = both(at_least.is_given ? judge_bound(&sample, at_least.value, AT_LEAST) : MET,
                           at_most.is_given ? judge_bound(&sample, at_most.value, AT_MOST) : MET);
    return verdict_of(finding, sample.running.mean, interval_at(&sample, n), n, look);
}

/* ---- changes --------------------------------------------------------------------------------- */

/* v and u of those replications that have both. */
typedef struct {
    double *v, *u;
    uint32_t n;
    double counted; /* of shares: things counted on either side, the fewer */
    SpateLook look;
} Pairs;

static void
clear_pairs(Pairs *pairs)
{
    g_free(pairs->v);
    g_free(pairs->u);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Pairs, clear_pairs)

static Pairs
pair_up(const SpateResultRow *variant, const SpateResultRow *versus, uint32_t n_replications,
        SpateLook look)
{
    Pairs pairs = {
        .v = g_new(double, n_replications), .u = g_new(double, n_replications), .look = look};
    for (uint32_t i = 0; i < n_replications; i++) {
        if (isnan(variant->values[i]) || isnan(versus->values[i]))
            continue;
        pairs.v[pairs.n] = variant->values[i];
        pairs.u[pairs.n++] = versus->values[i];
        if (variant->counts != NULL && versus->counts != NULL)
            pairs.counted += fmin(variant->ofs[i], versus->ofs[i]);
    }
    return pairs;
}

/* Steps of rounding: 14/20 - 12/20 is 10 %, and 1.4 times 0.1 is 0.14. */
#define ROUNDING 1e-12

static double
over_bound(double v, double u, SpateExpectBound bound)
{
    double over = bound.is_relative ? v - (1.0 + bound.value) * u : v - u - bound.value;
    return fabs(over) <= ROUNDING * fmax(fabs(v), fabs(u)) ? 0.0 : over;
}

/* By what is over the bound, pair by pair. */
static Finding
judge_change(const Pairs *pairs, SpateExpectBound bound, Side side)
{
    Sample sample = {
        .least = -INFINITY, .most = INFINITY, .pairs = pairs->counted, .look = pairs->look};
    for (uint32_t i = 0; i < pairs->n; i++)
        spate_running_add(&sample.running, over_bound(pairs->v[i], pairs->u[i], bound));
    return bound.is_given ? judge_bound(&sample, 0.0, side) : MET;
}

static double
mean_of(const double *values, uint32_t n)
{
    SpateRunning running = {0};
    for (uint32_t i = 0; i < n; i++)
        spate_running_add(&running, values[i]);
    return running.mean;
}

/* Sum of products of deviations / (n - 1). */
static double
covariance(const double *a, const double *b, uint32_t n)
{
    double mean_a = mean_of(a, n), mean_b = mean_of(b, n), sum = 0;
    for (uint32_t i = 0; i < n; i++)
        sum += (a[i] - mean_a) * (b[i] - mean_b);
    return sum / (double)(n - 1);
}

/* Fieller's interval of mean(v) / mean(u) - 1: the factors f at which the mean of v - f u cannot be
 * told from 0 lie between the roots of
 *
 *     (mean v - f mean u)^2 = t^2 (var v - 2 f cov + f^2 var u) / n
 *
 * None where mean u itself cannot be told from 0. */
static SpateInterval
ratio_interval(const Pairs *pairs)
{
    if (pairs->n < 2)
        return NO_INTERVAL;
    double t = spate_student_t(pairs->n - 1, pairs->look.risk), share = t * t / (double)pairs->n;
    double v = mean_of(pairs->v, pairs->n), u = mean_of(pairs->u, pairs->n);
    double a = u * u - share * covariance(pairs->u, pairs->u, pairs->n);
    double b = u * v - share * covariance(pairs->u, pairs->v, pairs->n);
    double c = v * v - share * covariance(pairs->v, pairs->v, pairs->n);
    if (a <= 0.0)
        return NO_INTERVAL;
    double root = sqrt(fmax(b * b - a * c, 0.0));
    return (SpateInterval){fmax((b - root) / a - 1.0, -1.0), (b + root) / a - 1.0};
}

SpateJudgement
spate_judge_change(const SpateResultRow *variant, const SpateResultRow *versus,
                   uint32_t n_replications, SpateExpectBound at_least, SpateExpectBound at_most,
                   SpateLook look)
{
    g_auto(Pairs) pairs = pair_up(variant, versus, n_replications, look);
    if (pairs.n == 0)
        return spate_judge_missing(SPATE_MISSING_VALUE);
    bool has_relative =
        (at_least.is_given && at_least.is_relative) || (at_most.is_given && at_most.is_relative);
    bool has_absolute =
        (at_least.is_given && !at_least.is_relative) || (at_most.is_given && !at_most.is_relative);
    double base = mean_of(pairs.u, pairs.n);
    if (has_relative && base == 0.0)
        return spate_judge_missing(SPATE_MISSING_BASE);
    Finding finding =
        both(judge_change(&pairs, at_least, AT_LEAST), judge_change(&pairs, at_most, AT_MOST));
    if (has_relative && !has_absolute)
        return verdict_of(finding, mean_of(pairs.v, pairs.n) / base - 1.0, ratio_interval(&pairs),
                          pairs.n, look);
    const SpateMeasureInfo *info = spate_measure_info(variant->measure);
    Sample difference = {.least = info->least - info->most,
                         .most = info->most - info->least,
                         .pairs = pairs.counted,
                         .look = look};
    for (uint32_t i = 0; i < pairs.n; i++)
        spate_running_add(&difference.running, pairs.v[i] - pairs.u[i]);
    return verdict_of(finding, difference.running.mean, interval_at(&difference, pairs.n), pairs.n,
                      look);
}

/* ---- one replication ------------------------------------------------------------------------- */

double
spate_value_holds(double value, SpateExpectBound at_least, SpateExpectBound at_most)
{
    if (isnan(value))
        return NAN;
    return (!at_least.is_given || is_met(value, at_least.value, AT_LEAST)) &&
           (!at_most.is_given || is_met(value, at_most.value, AT_MOST));
}

double
spate_change_holds(double variant, double versus, SpateExpectBound at_least,
                   SpateExpectBound at_most)
{
    if (isnan(variant) || isnan(versus))
        return NAN;
    return (!at_least.is_given || is_met(over_bound(variant, versus, at_least), 0.0, AT_LEAST)) &&
           (!at_most.is_given || is_met(over_bound(variant, versus, at_most), 0.0, AT_MOST));
}

/* ---- claims ---------------------------------------------------------------------------------- */

typedef struct {
    uint32_t n_held, n;
    SpateLook look;
} Share;

static SpateInterval
forecast_share(const void *user, uint32_t n)
{
    const Share *share = user;
    double scale = (double)n / (double)share->n;
    return spate_wilson_interval_at((double)share->n_held * scale, (double)n, share->look.risk);
}

SpateJudgement
spate_judge_share(uint32_t n_held, uint32_t n, double in_at_least, SpateLook look)
{
    if (n == 0)
        return spate_judge_missing(SPATE_MISSING_MESSAGES);
    const Share share = {n_held, n, look};
    double mean = (double)n_held / (double)n;
    SpateInterval interval = spate_interval_clip(forecast_share(&share, n), 0.0, 1.0);
    Finding finding = {.kind = compare(interval, in_at_least, AT_LEAST),
                       .leans_to_pass = mean >= in_at_least};
    if (in_at_least >= 1.0)
        finding.kind = n_held == n ? SPATE_VERDICT_PASS : SPATE_VERDICT_FAIL;
    else if (finding.kind == SPATE_VERDICT_UNDECIDED && mean != in_at_least)
        finding.more = count_more(forecast_share, &share, n, in_at_least, AT_LEAST);
    return verdict_of(finding, mean, interval, n, look);
}

/* A replication without a message says nothing. */
SpateJudgement
spate_judge_messages(const SpateKept *kept, uint32_t n, double at_least, SpateLook look)
{
    Sample sample = {.least = 0.0, .most = 1.0, .look = look};
    for (uint32_t i = 0; i < n; i++) {
        if (kept[i].of == 0)
            continue;
        spate_running_add(&sample.running, (double)kept[i].count / (double)kept[i].of);
        sample.count += (double)kept[i].count;
        sample.of += (double)kept[i].of;
    }
    if (sample.of <= 0.0)
        return spate_judge_missing(SPATE_MISSING_MESSAGES);
    Finding finding = judge_bound(&sample, at_least, AT_LEAST);
    uint32_t n_told = (uint32_t)sample.running.n;
    return verdict_of(finding, sample.running.mean, interval_at(&sample, n_told), n_told, look);
}

/* ---- before and now -------------------------------------------------------------------------- */

SpateJudgement
spate_judge_since(const double *differences, uint32_t n, bool more_is_worse)
{
    SpateRunning running = {0};
    for (uint32_t i = 0; i < n; i++)
        if (!isnan(differences[i]))
            spate_running_add(&running, differences[i]);
    if (running.n == 0)
        return spate_judge_missing(SPATE_MISSING_VALUE);
    SpateInterval interval = spate_student_interval(&running);
    bool is_worse = more_is_worse ? interval.low > 0.0 : interval.high < 0.0;
    Finding finding = {.kind = running.n < 2 ? SPATE_VERDICT_UNDECIDED
                               : is_worse    ? SPATE_VERDICT_FAIL
                                             : SPATE_VERDICT_PASS,
                       .leans_to_pass = !is_worse,
                       .more = running.n < 2 ? 1 : SPATE_MORE_NEVER};
    return verdict_of(finding, running.mean, interval, (uint32_t)running.n,
                      spate_look_later(1, false));
}
