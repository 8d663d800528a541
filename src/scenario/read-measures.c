/* read-measures.c - the measures that may be named, and quantities in their units */
#include "scenario/read-measures.h"

#include "core/time.h"
#include <math.h>
#include <string.h>

#define OF_TRAFFIC {SPATE_BY_TRAFFIC}, "'traffic'"
#define OF_RECIPIENT                                                                               \
    {SPATE_BY_TRAFFIC, SPATE_BY_TRAFFIC | SPATE_BY_RECIPIENT}, "'traffic', or 'traffic' and 'to'"
#define OF_BEARER {SPATE_BY_BEARER}, "'bearer'"

/* Those that are not computed yet included. */
static const SpateKnownMeasure MEASURES[] = {
    {"messages", SPATE_UNIT_ONE, OF_TRAFFIC},
    {"delivery", SPATE_UNIT_RATIO, OF_RECIPIENT},
    {"delivery-in-time", SPATE_UNIT_RATIO, OF_RECIPIENT},
    {"delivery-worst", SPATE_UNIT_RATIO, OF_TRAFFIC},
    {"latency-mean", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p50", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p95", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p99", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"latency-max", SPATE_UNIT_SECONDS, OF_TRAFFIC},
    {"hops-mean", SPATE_UNIT_ONE, OF_TRAFFIC},
    {"acknowledged", SPATE_UNIT_RATIO, OF_TRAFFIC, .later = true},
    {"tries-mean", SPATE_UNIT_ONE, OF_TRAFFIC, .later = true},
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
    {"lost-asleep", SPATE_UNIT_RATIO, OF_BEARER, .later = true},
    {"redundant", SPATE_UNIT_RATIO, OF_BEARER},
    {"dropped-queue", SPATE_UNIT_ONE, OF_BEARER},
    {"dropped-expired", SPATE_UNIT_ONE, OF_BEARER},
    {"dropped-size", SPATE_UNIT_ONE, OF_BEARER},
    {"dropped-outage", SPATE_UNIT_ONE, OF_BEARER, .later = true},
    {"waited-duty", SPATE_UNIT_SECONDS, OF_BEARER},
    {"waited-access", SPATE_UNIT_SECONDS, OF_BEARER},
    {"held-back", SPATE_UNIT_ONE, {SPATE_BY_BRIDGE, SPATE_BY_TRAFFIC}, "'bridge' or 'traffic'"},
    {"radio-energy", SPATE_UNIT_ENERGY, {SPATE_BY_NODE}, "'node'"},
};

const SpateKnownMeasure *
spate_find_measure(SpateReader *reader, const SpateYaml *scalar)
{
    const char *names[G_N_ELEMENTS(MEASURES) + 1] = {NULL};
    size_t n = 0;
    for (size_t i = 0; i < G_N_ELEMENTS(MEASURES); i++) {
        const SpateKnownMeasure *measure = &MEASURES[i];
        bool is_it = strcmp(measure->name, scalar->text) == 0;
        if (is_it && measure->later) {
            spate_faults_note(reader->faults, scalar->place, NULL,
                              "the measure '%s' is not supported yet", measure->name);
            return NULL;
        }
        if (is_it)
            return measure;
        if (!measure->later)
            names[n++] = measure->name;
    }
    g_autofree char *hint = spate_hint_nearest(
        reader, scalar->text, names, "such as delivery, latency-p95, load or lost-collision");
    spate_faults_note(reader->faults, scalar->place, hint, "there is no measure '%s'",
                      scalar->text);
    return NULL;
}

SpateRange
spate_measure_range(const char *name)
{
    for (size_t i = 0; i < G_N_ELEMENTS(MEASURES); i++)
        if (strcmp(MEASURES[i].name, name) == 0 && MEASURES[i].unit == SPATE_UNIT_RATIO)
            return (SpateRange){0.0, 1.0};
    /* the direct way is one hop */
    return (SpateRange){strcmp(name, "hops-mean") == 0 ? 1.0 : 0.0, INFINITY};
}

/* ---- bounds ---------------------------------------------------------------------------------- */

#define MUCH 1e15

static bool
read_number(SpateReader *reader, const SpateYaml *scalar, double least, double *value)
{
    return spate_quantity_read(scalar, SPATE_DIM_NUMBER, (SpateRange){least, MUCH}, value,
                               reader->faults);
}

/* Units that are no dimension of quantities are taken off before the number is read. */
static bool
read_with_unit(SpateReader *reader, const SpateYaml *scalar, const char *unit, double least,
               double *value)
{
    g_autofree char *number = g_strndup(scalar->text, strlen(scalar->text) - strlen(unit));
    SpateYaml bare = *scalar;
    bare.text = g_strchomp(number);
    return read_number(reader, &bare, least, value);
}

static bool
read_energy(SpateReader *reader, const SpateYaml *scalar, double least, double *value)
{
    static const char unit[] = "mWh per day";
    if (g_str_has_suffix(scalar->text, unit))
        return read_with_unit(reader, scalar, unit, least, value);
    spate_faults_note(reader->faults, scalar->place, "as in 120 mWh per day",
                      "'%s' must bear the unit 'mWh per day'", scalar->text);
    return false;
}

/* The unit may be left out, as those of all counts and ratios. */
static bool
read_load(SpateReader *reader, const SpateYaml *scalar, double least, double *value)
{
    static const char unit[] = "erlang";
    return g_str_has_suffix(scalar->text, unit) ? read_with_unit(reader, scalar, unit, least, value)
                                                : read_number(reader, scalar, least, value);
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
    case SPATE_UNIT_ERLANG:
        return read_load(reader, scalar, least, value);
    case SPATE_UNIT_ONE:
        return read_number(reader, scalar, least, value);
    }
    g_assert_not_reached();
}

bool
spate_read_bound(SpateReader *reader, SpateMeasureUnit unit, const SpateYamlPair *pair,
                 bool is_change, SpateExpectBound *bound)
{
    if (pair == NULL || !spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return false;
    bound->place = pair->value->place;
    bound->is_relative = is_change && g_str_has_suffix(pair->value->text, "%");
    bound->is_given = bound->is_relative
                          ? spate_quantity_read(pair->value, SPATE_DIM_SHARE, (SpateRange){-1, 1e6},
                                                &bound->value, reader->faults)
                          : read_value(reader, unit, pair->value, is_change, &bound->value);
    return bound->is_given;
}
