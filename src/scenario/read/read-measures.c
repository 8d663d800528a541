/* read-measures.c - the measures of expectations, and quantities in their units */
#include "scenario/read/read-measures.h"

#include "core/time.h"
#include <math.h>
#include <string.h>

const SpateMeasureInfo *
spate_find_measure(SpateReader *reader, const SpateYaml *scalar)
{
    const SpateMeasureInfo *measure = spate_measure_find(scalar->text);
    if (measure != NULL)
        return measure;
    const char *names[SPATE_N_MEASURES + 1] = {NULL};
    for (int i = 0; i < SPATE_N_MEASURES; i++)
        names[i] = spate_measure_info((SpateMeasure)i)->name;
    g_autofree char *hint = spate_hint_nearest(
        reader, scalar->text, names, "such as delivery, latency-p95, load or lost-collision");
    spate_faults_note(reader->faults, scalar->place, hint, "there is no measure '%s'",
                      scalar->text);
    return NULL;
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

/* A bound, or the difference of two values of the measure. */
static bool
read_value(SpateReader *reader, SpateUnit unit, const SpateYaml *scalar, bool is_difference,
           double *value)
{
    double least = is_difference ? -MUCH : 0;
    const char *name = spate_unit_name(unit);
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
    case SPATE_UNIT_MWH_PER_DAY:
        if (g_str_has_suffix(scalar->text, name))
            return read_with_unit(reader, scalar, name, least, value);
        spate_faults_note(reader->faults, scalar->place, "as in 120 mWh per day",
                          "'%s' must have the unit '%s'", scalar->text, name);
        return false;
    case SPATE_UNIT_ERLANG: /* may be left out, as those of all counts and ratios */
        if (g_str_has_suffix(scalar->text, name))
            return read_with_unit(reader, scalar, name, least, value);
        return read_number(reader, scalar, least, value);
    case SPATE_UNIT_ONE:
        return read_number(reader, scalar, least, value);
    }
    g_assert_not_reached();
}

bool
spate_read_bound(SpateReader *reader, SpateUnit unit, const SpateYamlPair *pair, bool is_change,
                 SpateExpectBound *bound)
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
