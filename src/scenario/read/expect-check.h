/* expect-check.h - expectations that no run of the scenario could judge
 *
 * Such as one of a node that sends nothing, or of a measure that the scenario cannot have.
 */
#pragma once

#include "scenario/scenario.h"

/* Notes why the expectation cannot be judged in this scenario, if so, at its place. */
void spate_expectation_check(const SpateExpectation *expectation, const SpateScenario *scenario,
                             SpateFaults *faults);
/* The same of all expectations about the variant ("base" is one) that the scenario is.  False with
 * an error. */
bool spate_scenario_check_expectations(const SpateScenario *scenario, const char *variant,
                                       GError **error);
