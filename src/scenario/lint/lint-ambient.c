/* lint-ambient.c - other people's traffic: how loud it is, and what it costs to simulate */
#include "scenario/lint/lint.h"
#include "scenario/text/quantity.h"

/* Received everywhere, so far above what can just be decoded: as from a transmitter next door, with
 * every radio.  Radiated: 10 W are more than any licence-free band allows. */
#define LOUD_DB       60.0
#define LOUD_EIRP_DBM 40.0
#define MOST_BUSY     0.9
/* Two seconds of computing for each replication with ten radios, longer with more. */
#define MANY_BURSTS 1e7

static void
check_source(SpateLint *lint, const SpateScenarioAmbient *ambient)
{
    const SpateScenarioBearer *on = &lint->scenario->bearers[ambient->bearer];
    double weakest_dbm = spate_bearer_sensitivity_dbm(&on->radio);
    if (ambient->everywhere && ambient->power_dbm > weakest_dbm + LOUD_DB) {
        g_autofree char *hint =
            g_strdup_printf("'everywhere' sets the received level; '%s' decodes down to %.0f dBm",
                            on->name, weakest_dbm);
        spate_faults_warn(lint->faults, ambient->place, hint,
                          "each radio on '%s' receives this ambient traffic at %.4g dBm", on->name,
                          ambient->power_dbm);
    }
    if (!ambient->everywhere && ambient->power_dbm > LOUD_EIRP_DBM)
        spate_faults_warn(
            lint->faults, ambient->place, "radiated power is 14 to 36 dBm in licence-free bands",
            "this ambient traffic on '%s' is radiated at %.4g dBm", on->name, ambient->power_dbm);
    if (ambient->busy > MOST_BUSY)
        spate_faults_warn(lint->faults, ambient->place,
                          "write constant noise as 'noise-rise' of the radios",
                          "this ambient traffic fills '%s' for %.4g %% of the time", on->name,
                          100 * ambient->busy);
}

/* At the source that causes most. */
static void
check_cost(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateScenarioAmbient *most = NULL;
    double n = spate_scenario_bursts(scenario), n_most = 0;
    for (uint32_t i = 0; i < scenario->n_ambient; i++) {
        const SpateScenarioAmbient *ambient = &scenario->ambient[i];
        double n_here = ambient->busy * (double)scenario->duration_ns / (double)ambient->burst_ns;
        if (n_here > n_most) {
            n_most = n_here;
            most = ambient;
        }
    }
    if (most == NULL || n <= MANY_BURSTS)
        return;
    g_autofree char *burst = spate_lint_time(most->burst_ns);
    spate_faults_warn(lint->faults, most->place,
                      "longer bursts at the same 'busy', or a shorter run",
                      "ambient traffic makes %.0f million bursts in each replication, most of them "
                      "here, of %s each: the run will take long",
                      n / 1e6, burst);
}

void
spate_lint_ambient(SpateLint *lint)
{
    for (uint32_t i = 0; i < lint->scenario->n_ambient; i++)
        check_source(lint, &lint->scenario->ambient[i]);
    check_cost(lint);
}
