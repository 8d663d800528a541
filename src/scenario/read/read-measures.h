/* read-measures.h - the measures of expectations, and quantities in their units */
#pragma once

#include "measure/measures.h"
#include "scenario/read/read-fields.h"

/* NULL with a fault. */
const SpateMeasureInfo *spate_find_measure(SpateReader *reader, const SpateYaml *scalar);
/* A bound on the measure, or (`is_change`) on how it changes: in percent that is relative, with
 * the measure's unit it is the difference.  False without one (pair is NULL), or with a fault. */
bool spate_read_bound(SpateReader *reader, SpateUnit unit, const SpateYamlPair *pair,
                      bool is_change, SpateExpectBound *bound);
