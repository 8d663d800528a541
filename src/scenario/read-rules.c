/* read-rules.c - `rules:` of a crossing or of flooding: when, do */
#include "scenario/read-fields.h"
#include "scenario/read-names.h"
#include "scenario/read-sections.h"

#include <math.h>
#include <string.h>

/* As long as a run may be. */
#define LONGEST_WAIT_NS (3660.0 * 24 * SPATE_NS_PER_HOUR)

typedef struct {
    SpateRule rule;
    const SpateYamlPair *when, *act;
} RuleDraft;

static const SpateField RULE_FIELDS[] = {
    {.key = "when", .read = spate_read_pair, .at = offsetof(RuleDraft, when)},
    {.key = "do", .read = spate_read_pair, .at = offsetof(RuleDraft, act), .required = true},
};
static const SpateTable RULE = SPATE_TABLE("a rule", RULE_FIELDS, NULL);

/* ---- when ------------------------------------------------------------------------------------ */

#define BOUNDS_FIELDS(unit, low, high)                                                             \
    {.key = "above",                                                                               \
     .read = spate_read_number,                                                                    \
     .at = offsetof(SpateBounds, above),                                                           \
     .dimension = unit,                                                                            \
     .least = low,                                                                                 \
     .most = high},                                                                                \
    {                                                                                              \
        .key = "below", .read = spate_read_number, .at = offsetof(SpateBounds, below),             \
        .dimension = unit, .least = low, .most = high                                              \
    }

static const SpateField SIZE_FIELDS[] = {BOUNDS_FIELDS(SPATE_DIM_SIZE, 0, 65535)};
static const SpateField HOPS_FIELDS[] = {BOUNDS_FIELDS(SPATE_DIM_COUNT, 0, 65535)};
static const SpateField POWER_FIELDS[] = {BOUNDS_FIELDS(SPATE_DIM_LEVEL, -250, 100)};
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
    {.key = "bearer", .read = spate_read_pair, .at = offsetof(Occupancy, bearer), .required = true},
    {.key = "above",
     .read = spate_read_number,
     .at = offsetof(Occupancy, above),
     .required = true,
     .dimension = SPATE_DIM_SHARE,
     .least = 0,
     .most = 1},
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
    if (occupancy.bearer != NULL &&
        spate_is_kind(reader, occupancy.bearer->value, SPATE_YAML_SCALAR, "bearer") &&
        spate_find_name(reader, &reader->bearers, occupancy.bearer->value, &bearer))
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

typedef struct {
    bool *named;
} Classes;

static bool
mark_class(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    Classes *classes = user;
    uint32_t rank;
    if (!spate_find_name(reader, &reader->classes, scalar, &rank))
        return false;
    for (uint32_t i = 0; i < reader->scenario->n_traffics; i++)
        if (strcmp(reader->scenario->traffics[i].class_name, scalar->text) == 0)
            classes->named[i] = true;
    return true;
}

static void
read_class_condition(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into)
{
    SpateRule *rule = into;
    g_autofree bool *named = traffics_of(reader, rule);
    Classes classes = {named};
    spate_each_scalar(reader, pair->value, pair->key, mark_class, &classes);
    narrow(reader, rule, named);
}

static const SpateField WHEN_FIELDS[] = {
    {.key = "class", .read = read_class_condition},
    {.key = "traffic", .read = read_traffic_condition},
    {.key = "from", .read = read_nodes_condition, .at = offsetof(SpateRule, origins)},
    {.key = "to", .read = read_nodes_condition, .at = offsetof(SpateRule, recipients)},
    {.key = "size", .read = read_bounds, .at = offsetof(SpateRule, size_bytes), .table = &SIZE},
    {.key = "hops", .read = read_bounds, .at = offsetof(SpateRule, hops), .table = &HOPS},
    {.key = "received-power",
     .read = read_bounds,
     .at = offsetof(SpateRule, received_dbm),
     .table = &POWER},
    {.key = "occupancy", .read = read_occupancy},
};
static const SpateTable WHEN = SPATE_TABLE("a condition", WHEN_FIELDS, NULL);

/* ---- do -------------------------------------------------------------------------------------- */

static const SpateWord ACTIONS[] = {
    {"pass", SPATE_RULE_PASS}, {"hold-back", SPATE_RULE_HOLD_BACK}, {NULL}};
static const SpateWord PER[] = {{"rule", false}, {"origin", true}, {NULL}};

static void
read_per(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateRule *rule = into;
    int per_origin;
    if (spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key) &&
        spate_find_word(reader, pair->value, PER, pair->key, &per_origin))
        rule->per_origin = per_origin != 0;
}

static const SpateField LIMIT_FIELDS[] = {
    {.key = "rate",
     .read = spate_read_number,
     .at = offsetof(SpateRule, limit_per_s),
     .required = true,
     .dimension = SPATE_DIM_RATE,
     .least = 0,
     .most = 1e6},
    {.key = "burst",
     .read = spate_read_number,
     .at = offsetof(SpateRule, limit_burst),
     .dimension = SPATE_DIM_COUNT,
     .least = 1,
     .most = 1e6},
    {.key = "per", .read = read_per},
};
static const SpateField THIN_FIELDS[] = {
    {.key = "keep",
     .read = spate_read_whole,
     .at = offsetof(SpateRule, thin_keep),
     .required = true,
     .dimension = SPATE_DIM_COUNT,
     .least = 0,
     .most = 1e6},
    {.key = "of",
     .read = spate_read_whole,
     .at = offsetof(SpateRule, thin_of),
     .required = true,
     .dimension = SPATE_DIM_COUNT,
     .least = 1,
     .most = 1e6},
    {.key = "per", .read = read_per},
};
static const SpateField DIGEST_FIELDS[] = {
    {.key = "every",
     .read = spate_read_time,
     .at = offsetof(SpateRule, digest_every_ns),
     .required = true,
     .least = 1,
     .most = LONGEST_WAIT_NS},
    {.key = "most",
     .read = spate_read_whole,
     .at = offsetof(SpateRule, digest_most),
     .dimension = SPATE_DIM_COUNT,
     .least = 1,
     .most = 65535},
};
static const SpateField DELAY_FIELDS[] = {
    {.key = "until-below",
     .read = spate_read_number,
     .at = offsetof(SpateRule, delay_until_below),
     .required = true,
     .dimension = SPATE_DIM_SHARE,
     .least = 0,
     .most = 1},
    {.key = "at-most",
     .read = spate_read_time,
     .at = offsetof(SpateRule, delay_at_most_ns),
     .required = true,
     .least = 1,
     .most = LONGEST_WAIT_NS},
};
static const SpateTable LIMIT = SPATE_TABLE("a limit", LIMIT_FIELDS, NULL);
static const SpateTable THIN = SPATE_TABLE("thin", THIN_FIELDS, NULL);
static const SpateTable DIGEST = SPATE_TABLE("a digest", DIGEST_FIELDS, NULL);
static const SpateTable DELAY = SPATE_TABLE("a delay", DELAY_FIELDS, NULL);

static void
read_thin(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateRule *rule = into;
    size_t before = spate_faults_noted(reader->faults);
    rule->action = SPATE_RULE_THIN;
    spate_read_inner(reader, field, pair, into);
    if (!spate_faults_since(reader, before) && rule->thin_keep > rule->thin_of)
        spate_faults_note(reader->faults, pair->key_place, "at most as many as 'of'",
                          "'keep' is %u of %u", rule->thin_keep, rule->thin_of);
}

static void
read_limit(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateRule *rule = into;
    rule->action = SPATE_RULE_LIMIT;
    rule->limit_burst = 1;
    spate_read_inner(reader, field, pair, into);
}

static void
read_digest(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateRule *rule = into;
    rule->action = SPATE_RULE_DIGEST;
    spate_read_inner(reader, field, pair, into);
}

static void
read_delay(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateRule *rule = into;
    rule->action = SPATE_RULE_DELAY;
    spate_read_inner(reader, field, pair, into);
}

static const SpateField ACTION_FIELDS[] = {
    {.key = "limit", .read = read_limit, .table = &LIMIT},
    {.key = "thin", .read = read_thin, .table = &THIN},
    {.key = "digest", .read = read_digest, .table = &DIGEST},
    {.key = "delay", .read = read_delay, .table = &DELAY},
};
static const SpateTable ACTION = SPATE_TABLE("an action", ACTION_FIELDS, NULL);

/* Those that have figures, as they are written. */
static const char *const WITH_FIGURES[] = {"limit", "thin", "digest", "delay", NULL};
static const char *const EXAMPLES[] = {"limit: {rate: 2/min}", "thin: {keep: 1, of: 4}",
                                       "digest: {every: 5 min}",
                                       "delay: {until-below: 10 %, at-most: 2 min}"};
static const char ALL_ACTIONS[] = "pass, hold-back, or a map of limit, thin, digest or delay";

/* A word that is no action, or one that needs figures. */
static void
note_no_action(SpateReader *reader, const SpateYaml *word)
{
    static const char *const all[] = {"pass",   "hold-back", "limit", "thin",
                                      "digest", "delay",     NULL};
    const char *near = spate_nearest_word(word->text, all);
    g_autofree char *hint = near != NULL ? g_strdup_printf("did you mean '%s'?", near) : NULL;
    for (size_t i = 0; near != NULL && WITH_FIGURES[i] != NULL; i++) {
        if (strcmp(near, WITH_FIGURES[i]) != 0)
            continue;
        g_free(hint);
        hint = g_strdup_printf("as in do: {%s}", EXAMPLES[i]);
        if (strcmp(near, word->text) == 0) {
            spate_faults_note(reader->faults, word->place, hint, "'%s' needs figures", near);
            return;
        }
    }
    spate_faults_note(reader->faults, word->place, hint != NULL ? hint : ALL_ACTIONS,
                      "'%s' is not a valid value for 'do'", word->text);
}

/* An action without figures as a key. */
static bool
is_word_as_key(SpateReader *reader, const SpateYaml *map)
{
    for (const SpateWord *word = ACTIONS; word->word != NULL; word++) {
        const SpateYamlPair *pair = spate_find_pair(map, word->word);
        if (pair == NULL)
            continue;
        g_autofree char *hint = g_strdup_printf("write do: %s", word->word);
        spate_faults_note(reader->faults, pair->key_place, hint, "'%s' has no figures", pair->key);
        return true;
    }
    return false;
}

static void
read_action(SpateReader *reader, const SpateYamlPair *pair, SpateRule *rule)
{
    size_t before = spate_faults_noted(reader->faults);
    const SpateYaml *value = pair->value;
    if (value->kind == SPATE_YAML_SCALAR) {
        const SpateWord *word = ACTIONS;
        while (word->word != NULL && !spate_is_word(value, word->word))
            word++;
        if (word->word != NULL)
            rule->action = (SpateRuleAction)word->value;
        else
            note_no_action(reader, value);
        return;
    }
    if (value->kind == SPATE_YAML_MAP && is_word_as_key(reader, value))
        return;
    if (spate_read_map(reader, &ACTION, 0, pair->key_place, value, rule) &&
        spate_only_one(reader, value, WITH_FIGURES) == NULL && !spate_faults_since(reader, before))
        spate_faults_note(reader->faults, value->place, ALL_ACTIONS, "'do' says nothing");
}

static void
read_rule(SpateReader *reader, const SpateYaml *item, GArray *rules)
{
    const SpateBounds open = {NAN, NAN};
    RuleDraft draft = {.rule = {.size_bytes = open,
                                .hops = open,
                                .received_dbm = open,
                                .occupancy_bearer = -1,
                                .action = SPATE_RULE_PASS}};
    if (item->place.origin == 0) {
        draft.rule.line = (uint32_t)item->place.line;
        draft.rule.column = (uint32_t)item->place.column;
    }
    if (!spate_read_map(reader, &RULE, 0, item->place, item, &draft))
        return;
    if (draft.when != NULL && spate_is_kind(reader, draft.when->value, SPATE_YAML_MAP, "when"))
        spate_read_map(reader, &WHEN, 0, draft.when->key_place, draft.when->value, &draft.rule);
    if (draft.act != NULL)
        read_action(reader, draft.act, &draft.rule);
    g_array_append_val(rules, draft.rule);
}

static void
clear_rule(gpointer rule)
{
    spate_rule_clear(rule);
}

GArray *
spate_read_rules(SpateReader *reader, const SpateYamlPair *pair)
{
    GArray *rules = g_array_new(FALSE, FALSE, sizeof(SpateRule));
    g_array_set_clear_func(rules, clear_rule);
    if (pair == NULL || !spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return rules;
    for (guint i = 0; i < pair->value->items->len; i++)
        read_rule(reader, g_ptr_array_index(pair->value->items, i), rules);
    return rules;
}

/* ---- what rules need ------------------------------------------------------------------------- */

static bool
has_radio(const SpateScenarioNode *node, uint32_t bearer)
{
    for (uint32_t i = 0; i < node->n_radios; i++)
        if (node->radios[i].bearer == bearer)
            return true;
    return false;
}

bool
spate_all_have_radio(SpateReader *reader, const uint32_t *nodes, uint32_t n_nodes, uint32_t bearer,
                     SpatePlace place, const char *hint)
{
    const SpateScenario *scenario = reader->scenario;
    for (uint32_t i = 0; i < n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[nodes[i]];
        if (has_radio(node, bearer) || node->has_unread_radios)
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
