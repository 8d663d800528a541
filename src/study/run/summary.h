/* summary.h - from the values of replications to means, intervals and differences
 *
 * Intervals are at 95 % (docs/model.md, Statistics): Student's t over replications, clipped to what
 * the measure can be; none with fewer than two values.  A share of counted things gets at least the
 * Wilson interval of its pooled counts, so that twenty times 100 % is not certain.
 */
#pragma once

#include "study/run/result.h"

/* Works out mean, ci95 and n from the row's values (and counts). */
void spate_summary_of_row(SpateResultRow *row, uint32_t n_replications);

/* variant - versus, replication by replication; only pairs that have a value on both sides. */
SpateDifference spate_summary_of_pair(const SpateResultRow *variant, const SpateResultRow *versus,
                                      uint32_t n_replications);

/* Differences of each variant to the first, for each row that both have (by names), in the order of
 * the variant's rows.  Replaces those that the result had. */
void spate_summary_add_differences(SpateResult *result);
