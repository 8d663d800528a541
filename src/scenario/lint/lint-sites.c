/* lint-sites.c - candidates that no mesh is better for
 *
 * A candidate is built for others.  One that relays nothing and is part of no bridge carries
 * nothing for anyone, wherever it is.
 */
#include "scenario/lint/lint.h"

#include <string.h>

void
spate_lint_sites(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t i = 0; i < scenario->n_sites; i++) {
        const SpateScenarioSite *site = &scenario->sites[i];
        bool is_told = false;
        for (uint32_t k = 0; k < i && !is_told; k++)
            is_told =
                !scenario->sites[k].carries && strcmp(scenario->sites[k].entry, site->entry) == 0;
        if (site->carries || is_told)
            continue;
        spate_faults_warn(lint->faults, site->place, "give it 'relay', or a bridge",
                          "the candidate '%s' carries nothing for others: building it wins nothing",
                          site->name);
    }
}
