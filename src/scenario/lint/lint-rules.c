/* lint-rules.c - rules that can never match, or that earlier ones hide
 *
 * What a scenario offers is known: pairs of a traffic and a source, with their payload and their
 * recipients.  A rule that fits none of them is dead; so is one for which each pair that it fits is
 * taken by an earlier rule, whatever hops, level and occupancy turn out to be.  Where digests are
 * made, sizes and origins are open, and only what holds for all of them counts.
 */
#include "scenario/lint/lint.h"

#include <math.h>

/* Comparisons of rules over pairs; what goes beyond is not checked. */
#define MOST_WORK 50000000

/* A list of rules, and the nodes that share it. */
typedef struct {
    const GArray *rules;
    SpatePlace place; /* of the owner: what a setting wrote has no line in the file */
    const char *name;
    GArray *nodes; /* uint32_t */
} RuleList;

typedef struct {
    const SpateScenario *scenario;
    const RuleList *list;
    bool has_digests;
    uint32_t most_hops; /* that a message may have done and still be sent on */
    uint64_t work;
} Search;

typedef struct {
    uint32_t traffic, source;
} Pair;

static const SpateRule *
rule_at(const Search *search, guint index)
{
    return &g_array_index(search->list->rules, SpateRule, index);
}

/* ---- what a rule fits ------------------------------------------------------------------------ */

static bool
lies_within(SpateBounds bounds, double value)
{
    return !(value <= bounds.above) && !(value >= bounds.below);
}

static bool
fits(const Search *search, const SpateRule *rule, Pair pair)
{
    const SpateScenarioTraffic *traffic = &search->scenario->traffics[pair.traffic];
    if (rule->traffics != NULL && !rule->traffics[pair.traffic])
        return false;
    bool is_for_some = rule->recipients == NULL;
    for (uint32_t i = 0; i < traffic->n_recipients && !is_for_some; i++)
        is_for_some =
            traffic->recipients[i] != pair.source && rule->recipients[traffic->recipients[i]];
    if (!is_for_some || search->has_digests)
        return is_for_some;
    return (rule->origins == NULL || rule->origins[pair.source]) &&
           lies_within(rule->size_bytes, traffic->payload_bytes);
}

/* ---- what it leaves to others ---------------------------------------------------------------- */

/* Every value that lies within `inner` lies within `outer`. */
static bool
holds(SpateBounds outer, SpateBounds inner)
{
    return (isnan(outer.above) || inner.above >= outer.above) &&
           (isnan(outer.below) || inner.below <= outer.below);
}

static bool
hides(const Search *search, const SpateRule *earlier, const SpateRule *rule, Pair pair)
{
    /* With digests about, an earlier rule takes only what it takes of any size and origin. */
    bool takes_all_sizes = !search->has_digests || (earlier->origins == NULL &&
                                                    holds(earlier->size_bytes, rule->size_bytes));
    bool occupancy_holds =
        earlier->occupancy_bearer < 0 || (earlier->occupancy_bearer == rule->occupancy_bearer &&
                                          earlier->occupancy_above <= rule->occupancy_above);
    return fits(search, earlier, pair) && takes_all_sizes && occupancy_holds &&
           holds(earlier->hops, rule->hops) && holds(earlier->received_dbm, rule->received_dbm);
}

/* ---- what becomes of a traffic --------------------------------------------------------------- */

static bool
some_source_is_in(const SpateScenarioTraffic *traffic, const bool *origins, bool all)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < traffic->n_sources; i++)
        n += origins[traffic->sources[i]];
    return all ? n == traffic->n_sources : n > 0;
}

bool
spate_lint_rule_may_match(const SpateRule *rule, const SpateScenario *scenario, uint32_t traffic)
{
    const SpateScenarioTraffic *of = &scenario->traffics[traffic];
    if (rule->traffics != NULL && !rule->traffics[traffic])
        return false;
    if (!lies_within(rule->size_bytes, of->payload_bytes))
        return false;
    bool is_for_some = rule->recipients == NULL;
    for (uint32_t i = 0; i < of->n_recipients && !is_for_some; i++)
        is_for_some = rule->recipients[of->recipients[i]];
    return is_for_some && (rule->origins == NULL || some_source_is_in(of, rule->origins, false));
}

/* Given that it may: whatever the message and its way are. */
static bool
always_matches(const SpateRule *rule, const SpateScenarioTraffic *traffic)
{
    return rule->recipients == NULL && isnan(rule->hops.above) && isnan(rule->hops.below) &&
           isnan(rule->received_dbm.above) && isnan(rule->received_dbm.below) &&
           rule->occupancy_bearer < 0 &&
           (rule->origins == NULL || some_source_is_in(traffic, rule->origins, true));
}

bool
spate_lint_may_cross(const SpateScenario *scenario, const SpateScenarioCrossing *crossing,
                     uint32_t traffic)
{
    for (guint i = 0; i < crossing->rules->len; i++) {
        const SpateRule *rule = &g_array_index(crossing->rules, SpateRule, i);
        if (!spate_lint_rule_may_match(rule, scenario, traffic))
            continue;
        if (rule->action != SPATE_RULE_HOLD_BACK)
            return true;
        if (always_matches(rule, &scenario->traffics[traffic]))
            return false;
    }
    return crossing->otherwise_passes;
}

/* ---- the search ------------------------------------------------------------------------------ */

typedef enum { RULE_LIVES, RULE_FITS_NOTHING, RULE_IS_HIDDEN } RuleState;

/* At one of the nodes at least, the message is another's. */
static bool
comes_from_elsewhere(const RuleList *list, uint32_t source)
{
    for (guint i = 0; i < list->nodes->len; i++)
        if (g_array_index(list->nodes, uint32_t, i) != source)
            return true;
    return false;
}

/* `by` is one of the rules that hide it. */
static RuleState
state_of(Search *search, guint index, guint *by)
{
    const SpateScenario *scenario = search->scenario;
    const SpateRule *rule = rule_at(search, index);
    RuleState state = RULE_FITS_NOTHING;
    bool hops_fit = false;
    for (uint32_t hops = 1; hops <= search->most_hops && !hops_fit; hops++)
        hops_fit = lies_within(rule->hops, hops);
    if (!hops_fit)
        return state;
    for (uint32_t t = 0; t < scenario->n_traffics; t++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[t];
        for (uint32_t s = 0; s < traffic->n_sources; s++) {
            Pair pair = {t, traffic->sources[s]};
            search->work++;
            if (!comes_from_elsewhere(search->list, pair.source) || !fits(search, rule, pair))
                continue;
            guint taker = 0;
            while (taker < index && !hides(search, rule_at(search, taker), rule, pair))
                taker++;
            search->work += taker + 1;
            if (taker == index || search->work > MOST_WORK)
                return RULE_LIVES;
            *by = taker;
            state = RULE_IS_HIDDEN;
        }
    }
    return state;
}

static void
warn_of(SpateLint *lint, const Search *search, guint index, RuleState state, guint by)
{
    const RuleList *list = search->list;
    const SpateRule *rule = rule_at(search, index), *earlier = rule_at(search, by);
    SpatePlace place = spate_lint_rule_place(rule, list->place);
    if (state == RULE_FITS_NOTHING)
        spate_faults_warn(lint->faults, place, NULL,
                          "this rule of '%s' can never match: no offered message fits it",
                          list->name);
    else if (earlier->line > 0)
        spate_faults_warn(lint->faults, place, "the first match decides; put it before that one",
                          "no message reaches this rule of '%s': the one at line %u takes them all",
                          list->name, earlier->line);
    else
        spate_faults_warn(lint->faults, place, "the first match decides; put it before that one",
                          "no message reaches this rule of '%s': its rule %u takes them all",
                          list->name, by);
}

/* ---- all lists ------------------------------------------------------------------------------- */

static bool
makes_digests(const GArray *rules)
{
    for (guint i = 0; rules != NULL && i < rules->len; i++)
        if (spate_rule_action_info(g_array_index(rules, SpateRule, i).action)->sending ==
            SPATE_SENT_IN_DIGEST)
            return true;
    return false;
}

static void
add_node(GPtrArray *lists, GHashTable *by_rules, const GArray *rules, RuleList owner, uint32_t node)
{
    if (rules == NULL || rules->len == 0)
        return;
    RuleList *list = g_hash_table_lookup(by_rules, rules);
    if (list == NULL) {
        list = g_new(RuleList, 1);
        *list = owner;
        list->rules = rules;
        list->nodes = g_array_new(FALSE, FALSE, sizeof(uint32_t));
        g_hash_table_insert(by_rules, (gpointer)rules, list);
        g_ptr_array_add(lists, list);
    }
    g_array_append_val(list->nodes, node);
}

static void
free_list(gpointer list)
{
    g_array_unref(((RuleList *)list)->nodes);
    g_free(list);
}

/* Each list once, with all nodes that share it. */
static GPtrArray *
collect_lists(const SpateScenario *scenario)
{
    GPtrArray *lists = g_ptr_array_new_with_free_func(free_list);
    g_autoptr(GHashTable) by_rules = g_hash_table_new(NULL, NULL);
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        add_node(lists, by_rules, node->relay_rules,
                 (RuleList){.place = node->place, .name = "flooding"}, i);
    }
    for (uint32_t i = 0; i < scenario->n_crossings; i++) {
        const SpateScenarioCrossing *crossing = &scenario->crossings[i];
        add_node(lists, by_rules, crossing->rules,
                 (RuleList){.place = crossing->place, .name = crossing->name}, crossing->node);
    }
    return lists;
}

/* The highest limit of its nodes and of all traffics, less the transmission to come. */
static uint32_t
most_hops(const SpateScenario *scenario, const RuleList *list)
{
    uint32_t limit = 1;
    for (guint i = 0; i < list->nodes->len; i++)
        limit =
            MAX(limit, scenario->nodes[g_array_index(list->nodes, uint32_t, i)].flooding.hop_limit);
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        limit = MAX(limit, scenario->traffics[i].hop_limit);
    return limit - 1;
}

/* Whether the list is to be checked: has rules, and was not met before. */
static bool
is_new(GHashTable *seen, const GArray *rules)
{
    return rules != NULL && rules->len > 0 && g_hash_table_add(seen, (gpointer)rules);
}

void
spate_lint_each_rules(SpateLint *lint, SpateLintRulesFunc each)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t b = 0; b < scenario->n_bearers; b++) {
        g_autoptr(GHashTable) seen = g_hash_table_new(NULL, NULL);
        for (uint32_t i = 0; i < scenario->n_nodes; i++) {
            const SpateScenarioNode *node = &scenario->nodes[i];
            const SpateScenarioRadio *radio = spate_scenario_radio(node, b);
            if (radio != NULL && radio->relays && is_new(seen, node->relay_rules))
                each(lint, node->relay_rules, node->place, b);
        }
        for (uint32_t i = 0; i < scenario->n_crossings; i++) {
            const SpateScenarioCrossing *crossing = &scenario->crossings[i];
            if (crossing->to_bearer == b && is_new(seen, crossing->rules))
                each(lint, crossing->rules, crossing->place, b);
        }
    }
}

bool
spate_lint_has_digests(const SpateScenario *scenario)
{
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        if (makes_digests(scenario->nodes[i].relay_rules))
            return true;
    for (uint32_t i = 0; i < scenario->n_crossings; i++)
        if (makes_digests(scenario->crossings[i].rules))
            return true;
    return false;
}

void
spate_lint_rules(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    g_autoptr(GPtrArray) lists = collect_lists(scenario);
    bool has_digests = spate_lint_has_digests(scenario);
    for (guint i = 0; i < lists->len; i++) {
        const RuleList *list = g_ptr_array_index(lists, i);
        Search search = {scenario, list, has_digests, most_hops(scenario, list), 0};
        for (guint r = 0; r < list->rules->len; r++) {
            guint by = 0;
            RuleState state = state_of(&search, r, &by);
            if (state != RULE_LIVES)
                warn_of(lint, &search, r, state, by);
        }
    }
}
