/* read-expect.c - `expect:`, for those who judge */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-measures.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include <string.h>

typedef struct {
    const SpateYamlPair *measure, *traffic, *bearer, *node, *bridge, *to;
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
        SPATE_PAIR(name, Draft, member), .only = sorts                                             \
    }

static const SpateField EXPECT_FIELDS[] = {
    KEY("measure", measure, 0),
    KEY("traffic", traffic, 0),
    KEY("bearer", bearer, MEASURED),
    KEY("node", node, MEASURED),
    KEY("bridge", bridge, MEASURED),
    KEY("to", to, MEASURED),
    KEY("variant", variant, 0),
    KEY("versus", versus, MEASURED),
    KEY("at-least", at_least, MEASURED | REACHED),
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

/* The text there; NULL if there is none. */
static char *
copy_text(const SpateYamlPair *pair)
{
    bool is_text = pair != NULL && pair->value->kind == SPATE_YAML_SCALAR;
    return is_text ? g_strdup(pair->value->text) : NULL;
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

/* "'traffic', or 'traffic' and 'to'".  Free with g_free(). */
static char *
dimension_keys(const SpateMeasureInfo *measure)
{
    static const struct {
        unsigned dimension;
        const char *key;
    } KEYS[] = {{SPATE_OF_TRAFFIC, "traffic"},
                {SPATE_OF_BEARER, "bearer"},
                {SPATE_OF_NODE, "node"},
                {SPATE_OF_BRIDGE, "bridge"},
                {SPATE_OF_RECIPIENT, "to"}};
    GString *text = g_string_new(NULL);
    for (size_t i = 0; measure->by[i] != 0; i++) {
        const char *between = i > 0 ? ", or " : "";
        for (size_t k = 0; k < G_N_ELEMENTS(KEYS); k++) {
            if ((measure->by[i] & KEYS[k].dimension) == 0)
                continue;
            g_string_append_printf(text, "%s'%s'", between, KEYS[k].key);
            between = " and ";
        }
    }
    return g_string_free(text, FALSE);
}

static void
check_dimensions(SpateReader *reader, const SpateMeasureInfo *measure, const Draft *draft)
{
    unsigned by = (draft->traffic != NULL ? SPATE_OF_TRAFFIC : 0u) |
                  (draft->bearer != NULL ? SPATE_OF_BEARER : 0u) |
                  (draft->node != NULL ? SPATE_OF_NODE : 0u) |
                  (draft->bridge != NULL ? SPATE_OF_BRIDGE : 0u) |
                  (draft->to != NULL ? SPATE_OF_RECIPIENT : 0u);
    if (spate_measure_is_by(measure, by))
        return;
    g_autofree char *ways = dimension_keys(measure);
    g_autofree char *hint = g_strdup_printf("with %s", ways);
    spate_faults_note(reader->faults, draft->measure->value->place, hint,
                      by == 0 ? "'%s' of what?" : "'%s' is not counted by these keys",
                      measure->name);
}

static void
read_bounds(SpateReader *reader, SpateUnit unit, const Draft *draft, bool is_change,
            SpateExpectation *expectation)
{
    const SpateYamlPair *least = is_change ? draft->change_at_least : draft->at_least;
    const SpateYamlPair *most = is_change ? draft->change_at_most : draft->at_most;
    SpateExpectBound low = {0}, high = {0};
    bool has_low = spate_read_bound(reader, unit, least, is_change, &low);
    bool has_high = spate_read_bound(reader, unit, most, is_change, &high);
    if (has_low && has_high && low.is_relative == high.is_relative && low.value > high.value)
        spate_faults_note(reader->faults, most->value->place, "not less than the lower bound",
                          "no value lies between these bounds");
    if (has_low)
        expectation->at_least = low;
    if (has_high)
        expectation->at_most = high;
}

static void
check_bounds_given(SpateReader *reader, SpatePlace owner, const Draft *draft)
{
    bool is_absolute = draft->at_least != NULL || draft->at_most != NULL;
    bool is_change = draft->change_at_least != NULL || draft->change_at_most != NULL;
    if (is_absolute && (is_change || draft->versus != NULL))
        spate_faults_note(reader->faults, owner,
                          "at-least, at-most; or versus with change-at-least, change-at-most",
                          "an expectation bounds a value or a change, not both");
    else if (!is_absolute && !is_change)
        spate_faults_note(reader->faults, owner,
                          draft->versus != NULL ? "change-at-least or change-at-most"
                                                : "at-least or at-most",
                          "this expectation has no bound");
}

static void
read_measured(SpateReader *reader, const Draft *draft, SpateExpectation *expectation)
{
    if (!spate_is_kind(reader, draft->measure->value, SPATE_YAML_SCALAR, "measure"))
        return;
    const SpateMeasureInfo *measure = spate_find_measure(reader, draft->measure->value);
    uint32_t number;
    spate_find_named(reader, &reader->traffics, draft->traffic, &number);
    spate_find_named(reader, &reader->bearers, draft->bearer, &number);
    spate_find_named(reader, &reader->nodes, draft->node, &number);
    spate_find_named(reader, &reader->bridges, draft->bridge, &number);
    spate_find_named(reader, &reader->nodes, draft->to, &number);
    check_variant(reader, draft->versus);

    check_bounds_given(reader, expectation->place, draft);
    if (measure == NULL)
        return;
    check_dimensions(reader, measure, draft);
    bool is_change = draft->change_at_least != NULL || draft->change_at_most != NULL;
    expectation->kind = is_change ? SPATE_EXPECT_CHANGE : SPATE_EXPECT_VALUE;
    expectation->measure = measure;
    const char *variant = expectation->variant != NULL ? expectation->variant : "base";
    const char *versus = expectation->versus != NULL ? expectation->versus : "base";
    if (is_change && strcmp(variant, versus) == 0)
        spate_faults_note(reader->faults, expectation->place, "variant: NAME, and versus [base]",
                          "this compares '%s' with itself", variant);
    read_bounds(reader, measure->unit, draft, false, expectation);
    read_bounds(reader, measure->unit, draft, true, expectation);
}

static void
read_way(SpateReader *reader, const Draft *draft, SpateExpectation *expectation)
{
    uint32_t number;
    SpatePlace owner = expectation->place;
    if (draft->traffic == NULL)
        spate_faults_note(reader->faults, owner, "traffic: NAME", "'traffic' is missing");
    spate_find_named(reader, &reader->traffics, draft->traffic, &number);
    spate_find_named(reader, &reader->groups, draft->from, &number);
    spate_find_named(reader, &reader->nodes, draft->reaches, &number);
    spate_find_named(reader, &reader->nodes, draft->never_reaches, &number);
    spate_find_named(reader, &reader->bearers, draft->never_on, &number);
    if (draft->reaches != NULL && draft->within == NULL)
        spate_faults_note(reader->faults, owner, "such as within: 5 s", "'within' is missing");
    if (draft->within != NULL &&
        spate_is_kind(reader, draft->within->value, SPATE_YAML_SCALAR, "within"))
        spate_quantity_read_ns(draft->within->value, 1, (int64_t)1e18, &expectation->within_ns,
                               reader->faults);
    if (draft->in_at_least != NULL &&
        spate_is_kind(reader, draft->in_at_least->value, SPATE_YAML_SCALAR, "in-at-least"))
        spate_quantity_read(draft->in_at_least->value, SPATE_DIM_SHARE, (SpateRange){0, 1},
                            &expectation->in_at_least, reader->faults);
    spate_read_bound(reader, SPATE_UNIT_RATIO, draft->at_least, false, &expectation->at_least);
    if (draft->at_least != NULL && draft->in_at_least != NULL)
        spate_faults_note(reader->faults, draft->in_at_least->value->place,
                          "'at-least' counts messages, 'in-at-least' replications",
                          "an expectation takes 'at-least' or 'in-at-least', not both");
    expectation->kind = draft->reaches != NULL         ? SPATE_EXPECT_REACHES
                        : draft->never_reaches != NULL ? SPATE_EXPECT_NEVER_REACHES
                                                       : SPATE_EXPECT_NEVER_ON;
    expectation->from = copy_text(draft->from);
    expectation->node = copy_text(draft->reaches != NULL ? draft->reaches : draft->never_reaches);
    expectation->bearer = copy_text(draft->never_on);
}

/* That of the expectation where there is none. */
static SpatePlace
place_of(const SpateYamlPair *pair, SpatePlace owner)
{
    return pair != NULL ? pair->value->place : owner;
}

static SpateExpectPlaces
places_of(const Draft *draft, SpatePlace owner)
{
    const SpateYamlPair *nodes[] = {draft->node, draft->reaches, draft->never_reaches};
    SpateExpectPlaces places = {
        .measure = place_of(draft->measure, owner),
        .traffic = place_of(draft->traffic, owner),
        .bearer = place_of(draft->bearer != NULL ? draft->bearer : draft->never_on, owner),
        .node = owner,
        .from = place_of(draft->from, owner),
        .to = place_of(draft->to, owner),
        .within = place_of(draft->within, owner),
        .in_at_least = place_of(draft->in_at_least, owner),
    };
    for (size_t i = 0; i < G_N_ELEMENTS(nodes); i++)
        places.node = place_of(nodes[i], places.node);
    return places;
}

static unsigned
sort_of(const SpateYaml *item)
{
    if (spate_yaml_pair(item, "measure") != NULL)
        return MEASURED;
    if (spate_yaml_pair(item, "reaches") != NULL)
        return REACHED;
    bool is_never =
        spate_yaml_pair(item, "never-reaches") != NULL || spate_yaml_pair(item, "never-on") != NULL;
    return is_never ? NEVER : 0;
}

static void
read_expectation(SpateReader *reader, const SpateYaml *item, SpateExpectation *expectation)
{
    static const char *const heads[] = {"measure", "reaches", "never-reaches", "never-on", NULL};
    Draft draft = {0};
    unsigned sort = sort_of(item);
    expectation->place = item->place;
    expectation->in_at_least = 1;
    if (!spate_read_map(reader, &EXPECT, sort, item->place, item, &draft))
        return;
    expectation->places = places_of(&draft, item->place);
    check_variant(reader, draft.variant);
    if (sort == 0)
        spate_faults_note(reader->faults, item->place,
                          "give it measure, reaches, never-reaches or never-on",
                          "this expectation says nothing to judge");
    spate_only_one(reader, item, heads);
    expectation->variant = copy_text(draft.variant);
    expectation->versus = copy_text(draft.versus);
    expectation->traffic = copy_text(draft.traffic);
    if (sort == MEASURED) {
        expectation->bearer = copy_text(draft.bearer);
        expectation->node = copy_text(draft.node);
        expectation->bridge = copy_text(draft.bridge);
        expectation->to = copy_text(draft.to);
        read_measured(reader, &draft, expectation);
    } else if (sort != 0) {
        read_way(reader, &draft, expectation);
    }
}

void
spate_read_expect(SpateReader *reader, const SpateYamlPair *pair)
{
    SpateScenario *scenario = reader->scenario;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    scenario->n_expectations = pair->value->items->len;
    scenario->expectations = g_new0(SpateExpectation, scenario->n_expectations);
    for (guint i = 0; i < pair->value->items->len; i++)
        read_expectation(reader, g_ptr_array_index(pair->value->items, i),
                         &scenario->expectations[i]);
}
