/* read-measures.c - the measures that may be named, and quantities in their units */
#include "scenario/read-measures.h"

#include "core/time.h"
#include <string.h>

#define OF_TRAFFIC {SPATE_BY_TRAFFIC}, "'traffic'"
#define OF_BEARER  {SPATE_BY_BEARER}, "'bearer'"

/* Those that are not computed yet included. */
static const SpateKnownMeasure MEASURES[] = {
    {"messages", SPATE_UNIT_ONE, OF_TRAFFIC},
    {"delivery", SPATE_UNIT_RATIO, OF_TRAFFIC},
    {"delivery-in-time", SPATE_UNIT_RATIO, OF_TRAFFIC},
    {"delivery-worst", SPATE_UNIT_RATIO, OF_TRAFFIC},
    {"latency-mean", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p50", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p95", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p99", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"latency-max", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"hops-mean", SPATE_UNIT_ONE, OF_TRAFFIC},
    {"acknowledged", SPATE_UNIT_RATIO, OF_TRAFFIC},
    {"tries-mean", SPATE_UNIT_ONE, OF_TRAFFIC},
    {"transmissions", SPATE_UNIT_ONE, {SPATE_BY_BEARER, SPATE_BY_TRAFFIC}, "'bearer' or 'traffic'"},
    {"load",
     SPATE_UNIT_ERLANG,
     {SPATE_BY_BEARER, SPATE_BY_TRAFFIC, SPATE_BY_BEARER | SPATE_BY_TRAFFIC},
     "'bearer', 'traffic' or both"},
    {"occupancy", SPATE_UNIT_RATIO, OF_BEARER},
    {"occupancy-max", SPATE_UNIT_RATIO, OF_BEARER},
    {"duty-max", SPATE_UNIT_RATIO, OF_BEARER},
    {"audible", SPATE_UNIT_ONE, OF_BEARER},
    {"received", SPATE_UNIT_RATIO, OF_BEARER},
    {"lost-collision", SPATE_UNIT_RATIO, OF_BEARER},
    {"lost-busy", SPATE_UNIT_RATIO, OF_BEARER},
    {"lost-sending", SPATE_UNIT_RATIO, OF_BEARER},
    {"lost-blocked", SPATE_UNIT_RATIO, OF_BEARER},
    {"redundant", SPATE_UNIT_RATIO, OF_BEARER},
    {"dropped-queue", SPATE_UNIT_ONE, OF_BEARER},
    {"dropped-expired", SPATE_UNIT_ONE, OF_BEARER},
    {"dropped-size", SPATE_UNIT_ONE, OF_BEARER},
    {"dropped-outage", SPATE_UNIT_ONE, OF_BEARER},
    {"waited-duty", SPATE_UNIT_SECONDS, OF_BEARER},
    {"waited-access", SPATE_UNIT_SECONDS, OF_BEARER},
    {"held-back", SPATE_UNIT_ONE, {SPATE_BY_BRIDGE, SPATE_BY_TRAFFIC}, "'bridge' or 'traffic'"},
    {"radio-energy", SPATE_UNIT_ENERGY, {SPATE_BY_NODE}, "'node'"},
};

const SpateKnownMeasure *
spate_find_measure(SpateReader *reader, const SpateYaml *scalar)
{
    const char *names[G_N_ELEMENTS(MEASURES) + 1] = {NULL};
    for (size_t i = 0; i < G_N_ELEMENTS(MEASURES); i++) {
        names[i] = MEASURES[i].name;
        if (strcmp(names[i], scalar->text) == 0)
            return &MEASURES[i];
    }
    g_autofree char *hint = spate_hint_nearest(
        reader, scalar->text, names, "such as delivery, latency-p95, load or lost-collision");
    spate_faults_note(reader->faults, scalar->place, hint, "there is no measure '%s'",
                      scalar->text);
    return NULL;
}

/* ---- bounds ---------------------------------------------------------------------------------- */

#define MUCH 1e15

/* The unit of energy has three words: they are taken off before the number is read. */
static bool
read_energy(SpateReader *reader, const SpateYaml *scalar, double least, double *value)
{
    static const char unit[] = "mWh per day";
    if (!g_str_has_suffix(scalar->text, unit)) {
        spate_faults_note(reader->faults, scalar->place, "as in 120 mWh per day",
                          "'%s' must bear the unit 'mWh per day'", scalar->text);
        return false;
    }
    g_autofree char *number = g_strndup(scalar->text, strlen(scalar->text) - strlen(unit));
    SpateYaml bare = *scalar;
    bare.text = g_strchomp(number);
    return spate_quantity_read(&bare, SPATE_DIM_NUMBER, (SpateRange){least, MUCH}, value,
                               reader->faults);
}

/* A bound, or the difference of two values of the measure. */
static bool
read_value(SpateReader *reader, SpateMeasureUnit unit, const SpateYaml *scalar, bool is_difference,
           double *value)
{
    double least = is_difference ? -MUCH : 0;
    int64_t time_ns = 0;
    switch (unit) {
    case SPATE_UNIT_RATIO:
        return spate_quantity_read(scalar, SPATE_DIM_SHARE, (SpateRange){is_difference ? -1 : 0, 1},
                                   value, reader->faults);
    case SPATE_UNIT_SECONDS:
        if (!spate_quantity_read_ns(scalar, is_difference ? -(int64_t)1e18 : 0, (int64_t)1e18,
                                    &time_ns, reader->faults))
            return false;
        *value = (double)time_ns / (double)SPATE_NS_PER_S;
        return true;
    case SPATE_UNIT_ENERGY:
        return read_energy(reader, scalar, least, value);
    case SPATE_UNIT_ONE:
    case SPATE_UNIT_ERLANG:
        return spate_quantity_read(scalar, SPATE_DIM_NUMBER, (SpateRange){least, MUCH}, value,
                                   reader->faults);
    }
    g_assert_not_reached();
}

bool
spate_read_bound(SpateReader *reader, SpateMeasureUnit unit, const SpateYamlPair *pair,
                 bool is_change, SpateExpectBound *bound)
{
    if (pair == NULL || !spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return false;
    bound->is_relative = is_change && g_str_has_suffix(pair->value->text, "%");
    bound->is_given = bound->is_relative
                          ? spate_quantity_read(pair->value, SPATE_DIM_SHARE, (SpateRange){-1, 1e6},
                                                &bound->value, reader->faults)
                          : read_value(reader, unit, pair->value, is_change, &bound->value);
    return bound->is_given;
}
