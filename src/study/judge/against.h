/* against.h - what changed since an earlier result of the same scenario
 *
 * The same seed gives the same messages and the same radio conditions, whatever the rules: so what
 * a changed rule does is shown by differences replication by replication, now - before.
 */
#pragma once

#include "study/judge/check.h"

#define SPATE_AGAINST_ERROR (spate_against_error_quark())
GQuark spate_against_error_quark(void);
typedef enum { SPATE_AGAINST_ERROR_OTHER } SpateAgainstError;

/* Whether replications pair: the title, seed, duration and warm-up are the same.  The text of the
 * file may differ: its rules are what is tested. */
bool spate_against_is_fit(const SpateResult *before, const SpateScenario *scenario, GError **error);

/* Whether less of the measure, or more of it, is worse, by the bound: -1 and 1.  0: both bounds are
 * given, or it is no measure: neither. */
int spate_against_worse(const SpateExpectation *expectation);

/* After the check was run: fills in `differences`, `uncompared`, and `since` of each point whose
 * measure the earlier result has.  Of a change, that is the difference of the changes. */
void spate_against_judge(SpateCheck *check);
