/* actions.c - `do:` of a rule: what each action reads, and what lint says of its figures
 *
 * What an action does with a message is defined in rules/; a new one has a row there and a row
 * here.
 */
#include "scenario/read/actions.h"

#include <string.h>

/* As long as a run may be. */
#define LONGEST_WAIT_NS (3660.0 * 24 * SPATE_NS_PER_HOUR)

/* ---- figures --------------------------------------------------------------------------------- */

static const SpateWord PER[] = {{"rule", false}, {"origin", true}, {NULL}};

static const SpateField LIMIT_FIELDS[] = {
    {SPATE_NUMBER("rate", SpateRule, limit_per_s, RATE, 0, 1e6), .required = true},
    {SPATE_NUMBER("burst", SpateRule, limit_burst, COUNT, 1, 1e6)},
    {SPATE_EITHER("per", SpateRule, per_origin, PER)},
};
static const SpateField THIN_FIELDS[] = {
    {SPATE_WHOLE("keep", SpateRule, thin_keep, COUNT, 0, 1e6), .required = true},
    {SPATE_WHOLE("of", SpateRule, thin_of, COUNT, 1, 1e6), .required = true},
    {SPATE_EITHER("per", SpateRule, per_origin, PER)},
};
static const SpateField DIGEST_FIELDS[] = {
    {SPATE_TIME("every", SpateRule, digest_every_ns, 1, LONGEST_WAIT_NS), .required = true},
    {SPATE_WHOLE("most", SpateRule, digest_most, COUNT, 1, 65535)},
};
static const SpateField DELAY_FIELDS[] = {
    {SPATE_NUMBER("until-below", SpateRule, delay_until_below, SHARE, 0, 1), .required = true},
    {SPATE_TIME("at-most", SpateRule, delay_at_most_ns, 1, LONGEST_WAIT_NS), .required = true},
};
static const SpateTable LIMIT = SPATE_TABLE("a limit", LIMIT_FIELDS, NULL);
static const SpateTable THIN = SPATE_TABLE("thin", THIN_FIELDS, NULL);
static const SpateTable DIGEST = SPATE_TABLE("a digest", DIGEST_FIELDS, NULL);
static const SpateTable DELAY = SPATE_TABLE("a delay", DELAY_FIELDS, NULL);

/* ---- what is wrong with them ----------------------------------------------------------------- */

static void
check_thin(SpateReader *reader, const SpateYamlPair *pair, const SpateRule *rule)
{
    if (rule->thin_keep > rule->thin_of)
        spate_faults_note(reader->faults, pair->key_place, "at most the value of 'of'",
                          "'keep' is %u, 'of' only %u", rule->thin_keep, rule->thin_of);
}

static SpateRemark
remark_on_limit(const SpateRule *rule)
{
    if (rule->limit_per_s <= 0)
        return (SpateRemark){
            "a 'limit' with a rate of 0 passes its first burst and nothing after it",
            "do: hold-back"};
    return (SpateRemark){NULL, NULL};
}

static SpateRemark
remark_on_thin(const SpateRule *rule)
{
    if (rule->thin_keep == 0)
        return (SpateRemark){"this 'thin' keeps nothing", "do: hold-back"};
    if (rule->thin_keep >= rule->thin_of)
        return (SpateRemark){"this 'thin' keeps everything", "do: pass, or a 'keep' below 'of'"};
    return (SpateRemark){NULL, NULL};
}

static SpateRemark
remark_on_digest(const SpateRule *rule)
{
    if (rule->digest_most == 1)
        return (SpateRemark){"a digest of at most one message saves nothing",
                             "'most' of 2 or more, or do: pass"};
    return (SpateRemark){NULL, NULL};
}

static SpateRemark
remark_on_delay(const SpateRule *rule)
{
    if (rule->delay_until_below <= 0)
        return (SpateRemark){"occupancy is never below 0 %: each message waits the full 'at-most'",
                             "such as until-below: 20 %"};
    if (rule->delay_until_below >= 1)
        return (SpateRemark){"occupancy is nearly always below 100 %: nothing waits",
                             "such as until-below: 20 %"};
    return (SpateRemark){NULL, NULL};
}

/* ---- the table ------------------------------------------------------------------------------- */

typedef struct {
    const SpateTable *figures; /* NULL: it has none, and is written as a word */
    const char *example;
    void (*check)(SpateReader *reader, const SpateYamlPair *pair, const SpateRule *rule);
    SpateRemark (*remark)(const SpateRule *rule);
} Action;

static const Action ACTIONS[SPATE_N_RULE_ACTIONS] = {
    [SPATE_RULE_LIMIT] = {&LIMIT, "limit: {rate: 2/min}", NULL, remark_on_limit},
    [SPATE_RULE_THIN] = {&THIN, "thin: {keep: 1, of: 4}", check_thin, remark_on_thin},
    [SPATE_RULE_DIGEST] = {&DIGEST, "digest: {every: 5 min}", NULL, remark_on_digest},
    [SPATE_RULE_DELAY] = {&DELAY, "delay: {until-below: 10 %, at-most: 2 min}", NULL,
                          remark_on_delay},
};

static const char *
name_of(int action)
{
    return spate_rule_action_info((SpateRuleAction)action)->name;
}

/* SPATE_N_RULE_ACTIONS: none of that name. */
static int
find_action(const char *name)
{
    int action = 0;
    while (action < SPATE_N_RULE_ACTIONS && strcmp(name_of(action), name) != 0)
        action++;
    return action;
}

/* "pass, hold-back, or a map of limit, thin, digest or delay".  Free with g_free(). */
static char *
all_actions(void)
{
    GString *text = g_string_new(NULL);
    bool had_figures = false;
    for (int i = 0; i < SPATE_N_RULE_ACTIONS; i++) {
        bool has_figures = ACTIONS[i].figures != NULL;
        const char *before = i == 0                          ? ""
                             : has_figures && !had_figures   ? ", or a map of "
                             : i == SPATE_N_RULE_ACTIONS - 1 ? " or "
                                                             : ", ";
        g_string_append_printf(text, "%s%s", before, name_of(i));
        had_figures = has_figures;
    }
    return g_string_free(text, FALSE);
}

/* ---- reading --------------------------------------------------------------------------------- */

/* A word that is no action, or one that needs figures. */
static void
note_no_action(SpateReader *reader, const SpateYaml *word)
{
    const char *names[SPATE_N_RULE_ACTIONS + 1] = {NULL};
    for (int i = 0; i < SPATE_N_RULE_ACTIONS; i++)
        names[i] = name_of(i);
    const char *near = spate_nearest_word(word->text, names);
    int action = near != NULL ? find_action(near) : SPATE_N_RULE_ACTIONS;
    bool has_figures = near != NULL && ACTIONS[action].figures != NULL;
    g_autofree char *hint = near == NULL ? all_actions()
                            : has_figures
                                ? g_strdup_printf("as in do: {%s}", ACTIONS[action].example)
                                : g_strdup_printf("did you mean '%s'?", near);
    spate_faults_note(reader->faults, word->place, hint,
                      near != NULL && strcmp(near, word->text) == 0
                          ? "'%s' needs settings"
                          : "'%s' is not a valid value for 'do'",
                      word->text);
}

static void
read_figures(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateRule *rule = into;
    size_t before = spate_faults_noted(reader->faults);
    int action = find_action(field->key);
    rule->action = (SpateRuleAction)action;
    spate_read_inner(reader, field, pair, into);
    if (ACTIONS[action].check != NULL && !spate_faults_since(reader, before))
        ACTIONS[action].check(reader, pair, rule);
}

/* An action without figures as a key. */
static bool
is_word_as_key(SpateReader *reader, const SpateYaml *map)
{
    for (int i = 0; i < SPATE_N_RULE_ACTIONS; i++) {
        const SpateYamlPair *pair =
            ACTIONS[i].figures == NULL ? spate_yaml_pair(map, name_of(i)) : NULL;
        if (pair == NULL)
            continue;
        g_autofree char *hint = g_strdup_printf("write do: %s", pair->key);
        spate_faults_note(reader->faults, pair->key_place, hint, "'%s' takes no settings",
                          pair->key);
        return true;
    }
    return false;
}

static void
read_map(SpateReader *reader, const SpateYamlPair *pair, SpateRule *rule)
{
    size_t before = spate_faults_noted(reader->faults);
    SpateField fields[SPATE_N_RULE_ACTIONS];
    const char *keys[SPATE_N_RULE_ACTIONS + 1] = {NULL};
    size_t n = 0;
    for (int i = 0; i < SPATE_N_RULE_ACTIONS; i++) {
        if (ACTIONS[i].figures == NULL)
            continue;
        fields[n] =
            (SpateField){.key = name_of(i), .read = read_figures, .table = ACTIONS[i].figures};
        keys[n++] = name_of(i);
    }
    const SpateTable table = {"an action", fields, n, NULL, false};
    if (!spate_read_map(reader, &table, 0, pair->key_place, pair->value, rule) ||
        spate_only_one(reader, pair->value, keys) != NULL || spate_faults_since(reader, before))
        return;
    g_autofree char *hint = all_actions();
    spate_faults_note(reader->faults, pair->value->place, hint, "'do' is empty");
}

void
spate_read_action(SpateReader *reader, const SpateYamlPair *pair, SpateRule *rule)
{
    if (pair->value->kind != SPATE_YAML_SCALAR) {
        if (pair->value->kind != SPATE_YAML_MAP || !is_word_as_key(reader, pair->value))
            read_map(reader, pair, rule);
        return;
    }
    int action = find_action(pair->value->text);
    if (action < SPATE_N_RULE_ACTIONS && ACTIONS[action].figures == NULL)
        rule->action = (SpateRuleAction)action;
    else
        note_no_action(reader, pair->value);
}

SpateRemark
spate_remark_on_action(const SpateRule *rule)
{
    const Action *action = &ACTIONS[rule->action];
    return action->remark != NULL ? action->remark(rule) : (SpateRemark){NULL, NULL};
}
