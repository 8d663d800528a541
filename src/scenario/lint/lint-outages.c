/* lint-outages.c - outages that no result shows */
#include "scenario/lint/lint.h"

/* Of a drawn outage, in all replications: too few to see what it costs. */
#define FEW_OUTAGES 1.0

static void
check_given(SpateLint *lint, const SpateScenarioOutage *outage)
{
    const SpateScenario *scenario = lint->scenario;
    int64_t ends_ns = outage->at_ns + outage->for_ns;
    g_autofree char *at = spate_lint_time(outage->at_ns);
    g_autofree char *end = spate_lint_time(ends_ns);
    g_autofree char *duration = spate_lint_time(scenario->duration_ns);
    g_autofree char *warm_up = spate_lint_time(scenario->warm_up_ns);
    if (outage->at_ns >= scenario->duration_ns)
        spate_faults_warn(lint->faults, outage->place, "times count from the start of the run",
                          "this outage begins after %s, but the run ends after %s", at, duration);
    else if (ends_ns <= scenario->warm_up_ns)
        spate_faults_warn(lint->faults, outage->place, "times count from the start of the run",
                          "this outage is over after %s, within the warm-up of %s: what is lost in "
                          "it is not counted",
                          end, warm_up);
}

static void
check_drawn(SpateLint *lint, const SpateScenarioOutage *outage)
{
    const SpateScenario *scenario = lint->scenario;
    double n = (double)outage->n_nodes * (double)scenario->duration_ns /
               ((double)outage->mean_between_ns + (double)outage->mean_time_ns) *
               MAX(scenario->replications, scenario->replications_at_most);
    if (n >= FEW_OUTAGES)
        return;
    g_autofree char *between = spate_lint_time(outage->mean_between_ns);
    g_autofree char *duration = spate_lint_time(scenario->duration_ns);
    spate_faults_warn(lint->faults, outage->place,
                      "more replications, a longer run, or an outage with 'at' and 'for'",
                      "this outage comes once in %s, and the run lasts %s: about %.2g of them are "
                      "expected in all replications",
                      between, duration, n);
}

void
spate_lint_outages(SpateLint *lint)
{
    for (uint32_t i = 0; i < lint->scenario->n_outages; i++) {
        const SpateScenarioOutage *outage = &lint->scenario->outages[i];
        if (outage->mean_between_ns > 0)
            check_drawn(lint, outage);
        else
            check_given(lint, outage);
    }
}
