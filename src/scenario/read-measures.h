/* read-measures.h - what an expectation may be of, as the loader knows it
 *
 * Names, units and dimensions, those that are not computed yet included.  Only the loader and lint
 * include this header: what is measured is known by measure/, of which a scenario knows nothing.
 */
#pragma once

#include "scenario/read-fields.h"

typedef enum {
    SPATE_UNIT_ONE,
    SPATE_UNIT_RATIO,
    SPATE_UNIT_SECONDS,
    SPATE_UNIT_ERLANG,
    SPATE_UNIT_ENERGY
} SpateMeasureUnit;

enum {
    SPATE_BY_TRAFFIC = 1,
    SPATE_BY_BEARER = 2,
    SPATE_BY_NODE = 4,
    SPATE_BY_BRIDGE = 8,
    SPATE_BY_RECIPIENT = 16
};

typedef struct {
    const char *name;
    SpateMeasureUnit unit;
    unsigned by[4]; /* what it may be counted by; ends with 0 */
    const char *by_words;
    bool later; /* known, but not supported yet */
} SpateKnownMeasure;

/* NULL with a fault. */
const SpateKnownMeasure *spate_find_measure(SpateReader *reader, const SpateYaml *scalar);
/* What a measure that is known can be. */
SpateRange spate_measure_range(const char *name);
/* A bound on the measure, or (`is_change`) on how it changes: in percent that is relative, with
 * the measure's unit it is the difference.  False without one (pair is NULL), or with a fault. */
bool spate_read_bound(SpateReader *reader, SpateMeasureUnit unit, const SpateYamlPair *pair,
                      bool is_change, SpateExpectBound *bound);
