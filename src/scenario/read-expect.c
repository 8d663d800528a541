/* read-expect.c - `expect:`: checked, for those who judge */
#include "scenario/read-fields.h"
#include "scenario/read-names.h"
#include "scenario/read-sections.h"

#include <math.h>
#include <string.h>

/* ---- measures -------------------------------------------------------------------------------- */

typedef enum { UNIT_ONE, UNIT_RATIO, UNIT_SECONDS, UNIT_ERLANG, UNIT_ENERGY } Unit;

enum { BY_TRAFFIC = 1, BY_BEARER = 2, BY_NODE = 4, BY_BRIDGE = 8 };

/* What a measure may be counted by; ends with 0. */
typedef struct {
    const char *name;
    Unit unit;
    unsigned by[4];
    const char *by_words;
} Measure;

#define OF_TRAFFIC {BY_TRAFFIC}, "'traffic'"
#define OF_BEARER  {BY_BEARER}, "'bearer'"

/* Those that are not computed yet included. */
static const Measure MEASURES[] = {
    {"messages", UNIT_ONE, OF_TRAFFIC},
    {"delivery", UNIT_RATIO, OF_TRAFFIC},
    {"delivery-in-time", UNIT_RATIO, OF_TRAFFIC},
    {"delivery-worst", UNIT_RATIO, OF_TRAFFIC},
    {"latency-mean", UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p50", UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p95", UNIT_SECONDS, OF_TRAFFIC},
    {"latency-p99", UNIT_SECONDS, OF_TRAFFIC},
    {"latency-max", UNIT_SECONDS, OF_TRAFFIC},
    {"hops-mean", UNIT_ONE, OF_TRAFFIC},
    {"acknowledged", UNIT_RATIO, OF_TRAFFIC},
    {"tries-mean", UNIT_ONE, OF_TRAFFIC},
    {"transmissions", UNIT_ONE, {BY_BEARER, BY_TRAFFIC}, "'bearer' or 'traffic'"},
    {"load",
     UNIT_ERLANG,
     {BY_BEARER, BY_TRAFFIC, BY_BEARER | BY_TRAFFIC},
     "'bearer', 'traffic' or both"},
    {"occupancy", UNIT_RATIO, OF_BEARER},
    {"occupancy-max", UNIT_RATIO, OF_BEARER},
    {"duty-max", UNIT_RATIO, OF_BEARER},
    {"audible", UNIT_ONE, OF_BEARER},
    {"received", UNIT_RATIO, OF_BEARER},
    {"lost-collision", UNIT_RATIO, OF_BEARER},
    {"lost-busy", UNIT_RATIO, OF_BEARER},
    {"lost-sending", UNIT_RATIO, OF_BEARER},
    {"lost-blocked", UNIT_RATIO, OF_BEARER},
    {"redundant", UNIT_RATIO, OF_BEARER},
    {"dropped-queue", UNIT_ONE, OF_BEARER},
    {"dropped-expired", UNIT_ONE, OF_BEARER},
    {"dropped-size", UNIT_ONE, OF_BEARER},
    {"dropped-outage", UNIT_ONE, OF_BEARER},
    {"waited-duty", UNIT_SECONDS, OF_BEARER},
    {"waited-access", UNIT_SECONDS, OF_BEARER},
    {"held-back", UNIT_ONE, {BY_BRIDGE, BY_TRAFFIC}, "'bridge' or 'traffic'"},
    {"radio-energy", UNIT_ENERGY, {BY_NODE}, "'node'"},
};

static const Measure *
find_measure(SpateReader *reader, const SpateYaml *scalar)
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
read_value(SpateReader *reader, Unit unit, const SpateYaml *scalar, bool is_difference,
           double *value)
{
    double least = is_difference ? -MUCH : 0;
    int64_t time_ns = 0;
    switch (unit) {
    case UNIT_RATIO:
        return spate_quantity_read(scalar, SPATE_DIM_SHARE, (SpateRange){is_difference ? -1 : 0, 1},
                                   value, reader->faults);
    case UNIT_SECONDS:
        if (!spate_quantity_read_ns(scalar, is_difference ? -(int64_t)1e18 : 0, (int64_t)1e18,
                                    &time_ns, reader->faults))
            return false;
        *value = (double)time_ns;
        return true;
    case UNIT_ENERGY:
        return read_energy(reader, scalar, least, value);
    case UNIT_ONE:
    case UNIT_ERLANG:
        return spate_quantity_read(scalar, SPATE_DIM_NUMBER, (SpateRange){least, MUCH}, value,
                                   reader->faults);
    }
    g_assert_not_reached();
}

/* In percent a change is relative, with the measure's unit it is the difference. */
static bool
read_bound(SpateReader *reader, Unit unit, const SpateYamlPair *pair, bool is_change, double *value)
{
    if (pair == NULL || !spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return false;
    if (is_change && g_str_has_suffix(pair->value->text, "%"))
        return spate_quantity_read(pair->value, SPATE_DIM_SHARE, (SpateRange){-1, 1e6}, value,
                                   reader->faults);
    return read_value(reader, unit, pair->value, is_change, value);
}

static void
read_bounds(SpateReader *reader, Unit unit, const SpateYamlPair *least, const SpateYamlPair *most,
            bool is_change)
{
    double low = 0, high = 0;
    bool has_low = read_bound(reader, unit, least, is_change, &low);
    bool has_high = read_bound(reader, unit, most, is_change, &high);
    if (has_low && has_high && low > high)
        spate_faults_note(reader->faults, most->value->place, "not less than the lower bound",
                          "nothing lies between these bounds");
}

/* ---- expectations ---------------------------------------------------------------------------- */

typedef struct {
    const SpateYamlPair *measure, *traffic, *bearer, *node, *bridge;
    const SpateYamlPair *variant, *versus;
    const SpateYamlPair *at_least, *at_most, *change_at_least, *change_at_most;
    const SpateYamlPair *from, *reaches, *never_reaches, *never_on, *within, *in_at_least;
} Draft;

enum { OF_MEASURE, OF_REACHES, OF_NEVER };
enum { MEASURED = 1u << OF_MEASURE, REACHED = 1u << OF_REACHES, NEVER = 1u << OF_NEVER };

static const SpateWord SORTS[] = {{"'measure'", OF_MEASURE},
                                  {"'reaches'", OF_REACHES},
                                  {"'never-reaches' and 'never-on'", OF_NEVER},
                                  {NULL}};

#define KEY(name, member, sorts)                                                                   \
    {                                                                                              \
        .key = name, .read = spate_read_pair, .at = offsetof(Draft, member), .only = sorts         \
    }

static const SpateField EXPECT_FIELDS[] = {
    KEY("measure", measure, 0),
    KEY("traffic", traffic, 0),
    KEY("bearer", bearer, MEASURED),
    KEY("node", node, MEASURED),
    KEY("bridge", bridge, MEASURED),
    KEY("variant", variant, 0),
    KEY("versus", versus, MEASURED),
    KEY("at-least", at_least, MEASURED),
    KEY("at-most", at_most, MEASURED),
    KEY("change-at-least", change_at_least, MEASURED),
    KEY("change-at-most", change_at_most, MEASURED),
    KEY("from", from, REACHED | NEVER),
    KEY("reaches", reaches, 0),
    KEY("never-reaches", never_reaches, 0),
    KEY("never-on", never_on, 0),
    KEY("within", within, REACHED),
    KEY("in-at-least", in_at_least, REACHED | NEVER),
};
static const SpateTable EXPECT = SPATE_TABLE("an expectation", EXPECT_FIELDS, SORTS);

static bool
find_named(SpateReader *reader, const SpateNames *names, const SpateYamlPair *pair,
           uint32_t *number)
{
    return pair != NULL && spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key) &&
           spate_find_name(reader, names, pair->value, number);
}

static void
check_variant(SpateReader *reader, const SpateYamlPair *pair)
{
    if (pair == NULL || !spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return;
    const SpateScenario *scenario = reader->scenario;
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    g_ptr_array_add(names, (gpointer) "base");
    for (uint32_t i = 0; i < scenario->n_variants; i++)
        g_ptr_array_add(names, scenario->variants[i].name);
    if (g_ptr_array_find_with_equal_func(names, pair->value->text, g_str_equal, NULL))
        return;
    g_ptr_array_add(names, NULL);
    g_autofree char *hint =
        spate_hint_nearest(reader, pair->value->text, (const char *const *)names->pdata, NULL);
    spate_faults_note(reader->faults, pair->value->place, hint, "there is no variant '%s'",
                      pair->value->text);
}

static void
check_dimensions(SpateReader *reader, const Measure *measure, const Draft *draft)
{
    unsigned by = (draft->traffic != NULL ? BY_TRAFFIC : 0u) |
                  (draft->bearer != NULL ? BY_BEARER : 0u) | (draft->node != NULL ? BY_NODE : 0u) |
                  (draft->bridge != NULL ? BY_BRIDGE : 0u);
    for (size_t i = 0; i < G_N_ELEMENTS(measure->by); i++)
        if (by != 0 && measure->by[i] == by)
            return;
    g_autofree char *hint = g_strdup_printf("with %s", measure->by_words);
    spate_faults_note(reader->faults, draft->measure->value->place, hint,
                      by == 0 ? "'%s' of what?" : "'%s' is not counted by these", measure->name);
}

static void
check_measure(SpateReader *reader, SpatePlace owner, const Draft *draft)
{
    if (!spate_is_kind(reader, draft->measure->value, SPATE_YAML_SCALAR, "measure"))
        return;
    const Measure *measure = find_measure(reader, draft->measure->value);
    uint32_t number, traffic;
    bool has_traffic = find_named(reader, &reader->traffics, draft->traffic, &traffic);
    find_named(reader, &reader->bearers, draft->bearer, &number);
    find_named(reader, &reader->nodes, draft->node, &number);
    find_named(reader, &reader->bridges, draft->bridge, &number);
    check_variant(reader, draft->versus);

    bool is_absolute = draft->at_least != NULL || draft->at_most != NULL;
    bool is_change = draft->change_at_least != NULL || draft->change_at_most != NULL;
    if (is_absolute && (is_change || draft->versus != NULL))
        spate_faults_note(reader->faults, owner,
                          "at-least, at-most; or versus with change-at-least, change-at-most",
                          "an expectation is of a value or of a change, not both");
    else if (!is_absolute && !is_change)
        spate_faults_note(reader->faults, owner,
                          draft->versus != NULL ? "change-at-least or change-at-most"
                                                : "at-least or at-most",
                          "this expectation has no bound");
    if (measure == NULL)
        return;
    check_dimensions(reader, measure, draft);
    read_bounds(reader, measure->unit, draft->at_least, draft->at_most, false);
    read_bounds(reader, measure->unit, draft->change_at_least, draft->change_at_most, true);
    if (has_traffic && strcmp(measure->name, "delivery-in-time") == 0 &&
        reader->scenario->traffics[traffic].deadline_ns == 0)
        spate_faults_note(reader->faults, draft->measure->value->place,
                          "give the traffic a 'deadline'", "traffic '%s' has no deadline",
                          reader->scenario->traffics[traffic].name);
}

static void
check_way(SpateReader *reader, SpatePlace owner, const Draft *draft)
{
    uint32_t number;
    int64_t within_ns;
    double share;
    if (draft->traffic == NULL)
        spate_faults_note(reader->faults, owner, "traffic: NAME", "'traffic' is missing");
    find_named(reader, &reader->traffics, draft->traffic, &number);
    find_named(reader, &reader->groups, draft->from, &number);
    find_named(reader, &reader->nodes, draft->reaches, &number);
    find_named(reader, &reader->nodes, draft->never_reaches, &number);
    find_named(reader, &reader->bearers, draft->never_on, &number);
    if (draft->reaches != NULL && draft->within == NULL)
        spate_faults_note(reader->faults, owner, "within: 5 s, say", "'within' is missing");
    if (draft->within != NULL &&
        spate_is_kind(reader, draft->within->value, SPATE_YAML_SCALAR, "within"))
        spate_quantity_read_ns(draft->within->value, 1, (int64_t)1e18, &within_ns, reader->faults);
    if (draft->in_at_least != NULL &&
        spate_is_kind(reader, draft->in_at_least->value, SPATE_YAML_SCALAR, "in-at-least"))
        spate_quantity_read(draft->in_at_least->value, SPATE_DIM_SHARE, (SpateRange){0, 1}, &share,
                            reader->faults);
}

static void
read_expectation(SpateReader *reader, const SpateYaml *item)
{
    static const char *const heads[] = {"measure", "reaches", "never-reaches", "never-on", NULL};
    Draft draft = {0};
    unsigned sort = spate_find_pair(item, "measure") != NULL         ? MEASURED
                    : spate_find_pair(item, "reaches") != NULL       ? REACHED
                    : spate_find_pair(item, "never-reaches") != NULL ? NEVER
                    : spate_find_pair(item, "never-on") != NULL      ? NEVER
                                                                     : 0;
    if (!spate_read_map(reader, &EXPECT, sort, item->place, item, &draft))
        return;
    check_variant(reader, draft.variant);
    if (sort == 0)
        spate_faults_note(reader->faults, item->place,
                          "it has measure, reaches, never-reaches or never-on",
                          "this expectation is about nothing");
    spate_only_one(reader, item, heads);
    if (sort == MEASURED)
        check_measure(reader, item->place, &draft);
    else if (sort != 0)
        check_way(reader, item->place, &draft);
}

void
spate_read_expect(SpateReader *reader, const SpateYamlPair *pair)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    for (guint i = 0; i < pair->value->items->len; i++)
        read_expectation(reader, g_ptr_array_index(pair->value->items, i));
}
