/* lint-expect.c - expectations that are met by nothing, or judged by less than it seems */
#include "core/time.h"
#include "scenario/lint/lint.h"
#include "scenario/read/read-fields.h"

#include <math.h>
#include <string.h>

static SpateRange
range_of(const SpateExpectation *expectation, const SpateExpectBound *bound)
{
    const SpateMeasureInfo *measure = expectation->measure;
    if (measure == NULL)
        return (SpateRange){0.0, 1.0};
    if (expectation->kind == SPATE_EXPECT_VALUE)
        return (SpateRange){measure->least, measure->most};
    double widest = measure->most - measure->least;
    return bound->is_relative ? (SpateRange){-1.0, INFINITY} : (SpateRange){-widest, widest};
}

static void
warn_always(SpateLint *lint, SpatePlace place, const char *hint)
{
    spate_faults_warn(lint->faults, place, hint, "this bound cannot fail: no value lies beyond it");
}

static void
check_within(SpateLint *lint, const SpateExpectation *expectation)
{
    const SpateScenario *scenario = lint->scenario;
    if (expectation->within_ns <= scenario->cool_down_ns)
        return;
    double wanted_s = (double)expectation->within_ns / 1e9;
    double cool_down_s = (double)scenario->cool_down_ns / 1e9;
    g_autofree char *hint = g_strdup_printf("run: {cool-down: %.15g s}", wanted_s);
    spate_faults_warn(lint->faults, expectation->places.within, hint,
                      "'within' is longer than the cool-down of %.15g s: messages offered in the "
                      "last %.15g s of the run are not judged",
                      cool_down_s, wanted_s);
}

/* Rules on duty speak of any hour. */
static void
check_duty(SpateLint *lint, const SpateExpectation *expectation)
{
    int64_t counted_ns = lint->scenario->duration_ns - lint->scenario->warm_up_ns;
    bool is_of_duty = expectation->measure == spate_measure_info(SPATE_MEASURE_DUTY_MAX);
    if (!is_of_duty || counted_ns >= SPATE_NS_PER_HOUR)
        return;
    spate_faults_warn(lint->faults, expectation->places.measure,
                      "a 'duration' of an hour or more after the warm-up",
                      "'duty-max' is the largest share of an hour, but only %.15g s count here",
                      (double)counted_ns / 1e9);
}

void
spate_lint_expectations(SpateLint *lint)
{
    for (uint32_t i = 0; i < lint->scenario->n_expectations; i++) {
        const SpateExpectation *expectation = &lint->scenario->expectations[i];
        const SpateExpectBound *least = &expectation->at_least, *most = &expectation->at_most;
        if (least->is_given && least->value <= range_of(expectation, least).least)
            warn_always(lint, least->place, "a higher bound");
        if (most->is_given && most->value >= range_of(expectation, most).most)
            warn_always(lint, most->place, "a lower bound");
        if (expectation->in_at_least <= 0.0)
            warn_always(lint, expectation->places.in_at_least, "more than 0 % of the replications");
        check_within(lint, expectation);
        check_duty(lint, expectation);
    }
}
