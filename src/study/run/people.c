/* people.c - whose delivery counts */
#include "study/run/people.h"

#include "study/run/summary.h"
#include <string.h>

static bool
is_of_variant(const SpateExpectation *expectation, const char *variant)
{
    const char *of = expectation->variant != NULL ? expectation->variant : "base";
    return strcmp(of, variant != NULL ? variant : "base") == 0;
}

static bool
is_of_delivery(const SpateExpectation *expectation)
{
    switch (expectation->kind) {
    case SPATE_EXPECT_REACHES:
        return true;
    case SPATE_EXPECT_NEVER_REACHES:
    case SPATE_EXPECT_NEVER_ON:
        return false;
    case SPATE_EXPECT_VALUE:
    case SPATE_EXPECT_CHANGE:
        return expectation->measure != spate_measure_info(SPATE_MEASURE_HOPS_MEAN) &&
               (expectation->measure->needs == SPATE_NEEDS_PAIRS ||
                expectation->measure->needs == SPATE_NEEDS_DEADLINE);
    }
    g_assert_not_reached();
}

void
spate_people_init(SpatePeople *people, const SpateScenario *scenario, const char *variant)
{
    *people =
        (SpatePeople){.scenario = scenario, .is_named = g_new0(bool, scenario->n_traffics + 1u)};
    for (uint32_t i = 0; i < scenario->n_expectations; i++) {
        const SpateExpectation *expectation = &scenario->expectations[i];
        if (!is_of_variant(expectation, variant) || !is_of_delivery(expectation))
            continue;
        for (uint32_t k = 0; k < scenario->n_traffics; k++) {
            if (g_strcmp0(scenario->traffics[k].name, expectation->traffic) != 0)
                continue;
            people->is_named[k] = true;
            people->any_named = true;
        }
    }
}

bool
spate_people_restrict(const SpateScenario *scenario, const char *variant, uint32_t traffic)
{
    for (uint32_t i = 0; i < scenario->n_expectations; i++) {
        const SpateExpectation *expectation = &scenario->expectations[i];
        if (is_of_variant(expectation, variant) && !is_of_delivery(expectation) &&
            g_strcmp0(scenario->traffics[traffic].name, expectation->traffic) == 0)
            return true;
    }
    return false;
}

void
spate_people_clear(SpatePeople *people)
{
    g_clear_pointer(&people->is_named, g_free);
}

/* Whether `traffic` is people's when `held` is held back; held UINT32_MAX: nothing is. */
static bool
is_of_people(const SpatePeople *people, uint32_t traffic, uint32_t held)
{
    if (people->any_named)
        return people->is_named[traffic];
    const SpateScenarioTraffic *traffics = people->scenario->traffics;
    return held == UINT32_MAX ||
           strcmp(traffics[traffic].class_name, traffics[held].class_name) != 0;
}

/* The row that a traffic's delivery is read from. */
static const SpateResultRow *
find_row(const SpateResultVariant *variant, const SpateScenarioTraffic *traffic)
{
    SpateMeasure wanted =
        traffic->deadline_ns > 0 ? SPATE_MEASURE_DELIVERY_IN_TIME : SPATE_MEASURE_DELIVERY;
    return spate_result_find_of_traffic(variant, wanted, traffic->name);
}

/* By replication; NAN where nothing was offered.  `of` takes up pairs that were offered.  Free with
 * g_free(). */
static double *
pooled_of(const SpatePeople *people, const SpateResultVariant *variant, uint32_t n, uint32_t held,
          double *of)
{
    const SpateScenario *scenario = people->scenario;
    double *delivery = g_new0(double, n + 1u);
    for (uint32_t k = 0; k < scenario->n_traffics; k++) {
        const SpateResultRow *row =
            is_of_people(people, k, held) ? find_row(variant, &scenario->traffics[k]) : NULL;
        for (uint32_t i = 0; row != NULL && i < n; i++) {
            if (isnan(row->values[i]))
                continue;
            delivery[i] += row->counts[i];
            of[i] += row->ofs[i];
        }
    }
    for (uint32_t i = 0; i < n; i++)
        delivery[i] = of[i] > 0.0 ? delivery[i] / of[i] : NAN;
    return delivery;
}

static double *
pooled(const SpatePeople *people, const SpateResultVariant *variant, uint32_t n, uint32_t held)
{
    g_autofree double *of = g_new0(double, n + 1u);
    return pooled_of(people, variant, n, held, of);
}

/* By replication.  Free with g_free(). */
static double *
differences(const SpatePeople *people, const SpateResultVariant *variant,
            const SpateResultVariant *versus, uint32_t n, uint32_t held)
{
    double *with = pooled(people, variant, n, held);
    g_autofree double *without = pooled(people, versus, n, held);
    for (uint32_t i = 0; i < n; i++)
        with[i] -= without[i];
    return with;
}

SpateRunning
spate_people_gain(const SpatePeople *people, const SpateResultVariant *variant,
                  const SpateResultVariant *versus, uint32_t n_replications, uint32_t held)
{
    g_autofree double *gains = differences(people, variant, versus, n_replications, held);
    SpateRunning gain = {0};
    for (uint32_t i = 0; i < n_replications; i++)
        if (!isnan(gains[i]))
            spate_running_add(&gain, gains[i]);
    return gain;
}

double *
spate_people_gains(const SpatePeople *people, const SpateResultVariant *variant,
                   const SpateResultVariant *versus, uint32_t n_replications)
{
    return differences(people, variant, versus, n_replications, UINT32_MAX);
}

double
spate_people_offered(const SpatePeople *people, const SpateResultVariant *variant,
                     uint32_t n_replications, uint32_t held)
{
    g_autofree double *of = g_new0(double, n_replications + 1u);
    g_free(pooled_of(people, variant, n_replications, held, of));
    double n_offered = 0.0;
    for (uint32_t i = 0; i < n_replications; i++)
        n_offered += of[i];
    return n_offered;
}

SpateRunning
spate_people_delivery(const SpatePeople *people, const SpateResultVariant *variant,
                      uint32_t n_replications, uint32_t held)
{
    g_autofree double *values = pooled(people, variant, n_replications, held);
    SpateRunning delivery = {0};
    for (uint32_t i = 0; i < n_replications; i++)
        if (!isnan(values[i]))
            spate_running_add(&delivery, values[i]);
    return delivery;
}

SpateEstimate
spate_traffic_loss(const SpateScenarioTraffic *traffic, const SpateResultVariant *with,
                   const SpateResultVariant *without, uint32_t n_replications)
{
    const SpateResultRow *was = find_row(with, traffic), *is = find_row(without, traffic);
    if (was == NULL || is == NULL)
        return SPATE_NO_ESTIMATE;
    SpateDifference loss = spate_summary_of_pair(was, is, n_replications);
    return (SpateEstimate){loss.mean, loss.ci95, loss.n};
}

SpateEstimate
spate_estimate_of(const SpateRunning *running, double least, double most)
{
    return (SpateEstimate){
        .mean = running->n > 0 ? running->mean : NAN,
        .ci95 = spate_interval_clip(spate_student_interval(running), least, most),
        .n = (uint32_t)running->n,
    };
}
