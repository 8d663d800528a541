/* read-rules.c - `rules:` of a crossing or of flooding: when, do */
#include "scenario/read/actions.h"
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include <math.h>
#include <string.h>

typedef struct {
    SpateRule rule;
    const SpateYamlPair *when, *act;
} RuleDraft;

static const SpateField RULE_FIELDS[] = {
    {SPATE_PAIR("when", RuleDraft, when)},
    {SPATE_PAIR("do", RuleDraft, act), .required = true},
};
static const SpateTable RULE = SPATE_TABLE("a rule", RULE_FIELDS, NULL);

/* ---- when ------------------------------------------------------------------------------------ */

#define BOUNDS_FIELDS(unit, low, high)                                                             \
    {SPATE_NUMBER("above", SpateBounds, above, unit, low, high)},                                  \
    {                                                                                              \
        SPATE_NUMBER("below", SpateBounds, below, unit, low, high)                                 \
    }

static const SpateField SIZE_FIELDS[] = {BOUNDS_FIELDS(SIZE, 0, 65535)};
static const SpateField HOPS_FIELDS[] = {BOUNDS_FIELDS(COUNT, 0, 65535)};
static const SpateField POWER_FIELDS[] = {BOUNDS_FIELDS(LEVEL, -250, 100)};
static const SpateTable SIZE = SPATE_TABLE("size", SIZE_FIELDS, NULL);
static const SpateTable HOPS = SPATE_TABLE("hops", HOPS_FIELDS, NULL);
static const SpateTable POWER = SPATE_TABLE("received-power", POWER_FIELDS, NULL);

static void
read_bounds(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    size_t before = spate_faults_noted(reader->faults);
    SpateBounds *bounds = spate_member(field, into);
    spate_read_inner(reader, field, pair, into);
    if (spate_faults_since(reader, before))
        return;
    if (isnan(bounds->above) && isnan(bounds->below))
        spate_faults_note(reader->faults, pair->key_place, "above, below or both",
                          "'%s' has no bound", pair->key);
    else if (bounds->above >= bounds->below)
        spate_faults_note(reader->faults, pair->key_place, "'above' must be less than 'below'",
                          "no '%s' lies between these bounds", pair->key);
}

typedef struct {
    const SpateYamlPair *bearer;
    double above;
} Occupancy;

static const SpateField OCCUPANCY_FIELDS[] = {
    {SPATE_PAIR("bearer", Occupancy, bearer), .required = true},
    {SPATE_NUMBER("above", Occupancy, above, SHARE, 0, 1), .required = true},
};
static const SpateTable OCCUPANCY = SPATE_TABLE("occupancy", OCCUPANCY_FIELDS, NULL);

static void
read_occupancy(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateRule *rule = into;
    Occupancy occupancy = {0};
    uint32_t bearer;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key) ||
        !spate_read_map(reader, &OCCUPANCY, 0, pair->key_place, pair->value, &occupancy))
        return;
    rule->occupancy_above = occupancy.above;
    if (spate_find_named(reader, &reader->bearers, occupancy.bearer, &bearer))
        rule->occupancy_bearer = (int32_t)bearer;
}

static void
read_nodes_condition(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into)
{
    bool **set = spate_member(field, into);
    g_free(*set);
    *set = spate_read_member_set(reader, pair->value, pair->key, SPATE_MEMBERS_OR_EVERYONE);
}

/* `class` and `traffic` narrow the same set. */
static bool *
traffics_of(SpateReader *reader, SpateRule *rule)
{
    uint32_t n = reader->scenario->n_traffics;
    bool *named = g_new0(bool, n + 1u);
    if (rule->traffics == NULL) {
        rule->traffics = g_new0(bool, n + 1u);
        memset(rule->traffics, true, n);
    }
    return named;
}

static void
narrow(SpateReader *reader, SpateRule *rule, const bool *named)
{
    for (uint32_t i = 0; i < reader->scenario->n_traffics; i++)
        rule->traffics[i] = rule->traffics[i] && named[i];
}

static void
read_traffic_condition(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                       void *into)
{
    SpateRule *rule = into;
    g_autoptr(GArray) numbers =
        spate_read_numbers(reader, &reader->traffics, pair->value, pair->key);
    g_autofree bool *named = traffics_of(reader, rule);
    for (guint i = 0; numbers != NULL && i < numbers->len; i++)
        named[g_array_index(numbers, uint32_t, i)] = true;
    narrow(reader, rule, named);
}

static bool
mark_class(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    bool *named = user; /* by traffic */
    uint32_t rank;
    if (!spate_find_name(reader, &reader->classes, scalar, &rank))
        return false;
    for (uint32_t i = 0; i < reader->scenario->n_traffics; i++)
        if (strcmp(reader->scenario->traffics[i].class_name, scalar->text) == 0)
            named[i] = true;
    return true;
}

static void
read_class_condition(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into)
{
    SpateRule *rule = into;
    g_autofree bool *named = traffics_of(reader, rule);
    spate_each_scalar(reader, pair->value, pair->key, mark_class, named);
    narrow(reader, rule, named);
}

static const SpateField WHEN_FIELDS[] = {
    {.key = "class", .read = read_class_condition},
    {.key = "traffic", .read = read_traffic_condition},
    {SPATE_KEY("from", read_nodes_condition, SpateRule, origins)},
    {SPATE_KEY("to", read_nodes_condition, SpateRule, recipients)},
    {SPATE_KEY("size", read_bounds, SpateRule, size_bytes), .table = &SIZE},
    {SPATE_KEY("hops", read_bounds, SpateRule, hops), .table = &HOPS},
    {SPATE_KEY("received-power", read_bounds, SpateRule, received_dbm), .table = &POWER},
    {.key = "occupancy", .read = read_occupancy},
};
static const SpateTable WHEN = SPATE_TABLE("a condition", WHEN_FIELDS, NULL);

static void
read_rule(SpateReader *reader, const SpateYaml *item, GArray *rules)
{
    const SpateBounds open = {NAN, NAN};
    RuleDraft draft = {.rule = {.size_bytes = open,
                                .hops = open,
                                .received_dbm = open,
                                .occupancy_bearer = -1,
                                .action = SPATE_RULE_PASS,
                                .limit_burst = 1}};
    if (item->place.origin == 0) {
        draft.rule.line = (uint32_t)item->place.line;
        draft.rule.column = (uint32_t)item->place.column;
    }
    if (!spate_read_map(reader, &RULE, 0, item->place, item, &draft))
        return;
    if (draft.when != NULL && spate_is_kind(reader, draft.when->value, SPATE_YAML_MAP, "when"))
        spate_read_map(reader, &WHEN, 0, draft.when->key_place, draft.when->value, &draft.rule);
    if (draft.act != NULL)
        spate_read_action(reader, draft.act, &draft.rule);
    g_array_append_val(rules, draft.rule);
}

GArray *
spate_read_rules(SpateReader *reader, const SpateYamlPair *pair)
{
    GArray *rules = g_array_new(FALSE, FALSE, sizeof(SpateRule));
    g_array_set_clear_func(rules, (GDestroyNotify)spate_rule_clear);
    if (pair == NULL || !spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return rules;
    for (guint i = 0; i < pair->value->items->len; i++)
        read_rule(reader, g_ptr_array_index(pair->value->items, i), rules);
    return rules;
}

/* ---- what rules need ------------------------------------------------------------------------- */

bool
spate_all_have_radio(SpateReader *reader, const uint32_t *nodes, uint32_t n_nodes, uint32_t bearer,
                     SpatePlace place, const char *hint)
{
    const SpateScenario *scenario = reader->scenario;
    for (uint32_t i = 0; i < n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[nodes[i]];
        if (spate_scenario_radio(node, bearer) != NULL || node->has_unread_radios)
            continue;
        spate_faults_note(reader->faults, place, hint, "node '%s' has no radio on '%s'", node->name,
                          scenario->bearers[bearer].name);
        return false;
    }
    return true;
}

/* Each bearer once, however many rules ask. */
void
spate_check_occupancy(SpateReader *reader, const GArray *rules, const uint32_t *nodes,
                      uint32_t n_nodes, SpatePlace place)
{
    g_autofree bool *is_checked = g_new0(bool, reader->scenario->n_bearers + 1u);
    for (guint i = 0; i < rules->len; i++) {
        int32_t bearer = g_array_index(rules, SpateRule, i).occupancy_bearer;
        if (bearer < 0 || is_checked[bearer])
            continue;
        is_checked[bearer] = true;
        spate_all_have_radio(reader, nodes, n_nodes, (uint32_t)bearer, place,
                             "'occupancy' is what a node hears on its own radio");
    }
}
