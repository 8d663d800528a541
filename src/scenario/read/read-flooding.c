/* read-flooding.c - `flooding:`, at the top and of a node */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-sections.h"

#include <math.h>

static const SpateWord POLICIES[] = {{"classic", SPATE_FLOOD_CLASSIC},
                                     {"counter", SPATE_FLOOD_COUNTER},
                                     {"probability", SPATE_FLOOD_PROBABILITY},
                                     {"none", SPATE_FLOOD_NONE},
                                     {NULL}};

static const SpateField JITTER_FIELDS[] = {
    {SPATE_NUMBER("at-most", SpateFlooding, jitter_airtimes, AIRTIMES, 0, 10000)},
    {SPATE_FLAG("weakest-first", SpateFlooding, weakest_first)},
};
static const SpateTable JITTER = SPATE_TABLE("jitter", JITTER_FIELDS, NULL);

static const SpateField DUPLICATES_FIELDS[] = {
    {SPATE_WHOLE("entries", SpateFlooding, duplicates_entries, COUNT, 1, 1e9), .word = "unbounded",
     .word_value = 0},
    {SPATE_TIME("for", SpateFlooding, duplicates_for_ns, 1e6, 1e18), .word = "unbounded",
     .word_value = 0},
};
static const SpateTable DUPLICATES = SPATE_TABLE("duplicates", DUPLICATES_FIELDS, NULL);

/* What only one policy needs may stand beside another: a variant then changes the policy alone. */
static const SpateField FLOODING_FIELDS[] = {
    {SPATE_WORD("policy", SpateFlooding, policy, POLICIES)},
    {SPATE_WHOLE("copies", SpateFlooding, copies, COUNT, 1, 1000)},
    {SPATE_NUMBER("p", SpateFlooding, p, SHARE, 0, 1)},
    {SPATE_WHOLE("hop-limit", SpateFlooding, hop_limit, COUNT, 1, 65535)},
    {.key = "jitter", .read = spate_read_inner, .at = 0, .table = &JITTER},
    {SPATE_WHOLE("route-record", SpateFlooding, route_record_bytes, SIZE, 0, 255)},
    {.key = "duplicates", .read = spate_read_inner, .at = 0, .table = &DUPLICATES},
    {.key = "rules", .read = spate_read_elsewhere},
};
static const SpateTable FLOODING = SPATE_TABLE("flooding", FLOODING_FIELDS, NULL);

/* What is not given stays as it is: the defaults, or what the top says for a node.  What the policy
 * needs is missing only if it is not there, not if it could not be read. */
void
spate_read_flooding(SpateReader *reader, const SpateYamlPair *pair, SpateFlooding *flooding)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    spate_read_map(reader, &FLOODING, 0, pair->key_place, pair->value, flooding);
    if (spate_sort_of(pair->value, "policy", POLICIES, SPATE_FLOOD_CLASSIC) == 0)
        return;
    if (flooding->policy == SPATE_FLOOD_COUNTER && flooding->copies == 0 &&
        spate_yaml_pair(pair->value, "copies") == NULL)
        spate_faults_note(reader->faults, pair->key_place, "such as copies: 3",
                          "policy 'counter' needs 'copies'");
    if (flooding->policy == SPATE_FLOOD_PROBABILITY && isnan(flooding->p) &&
        spate_yaml_pair(pair->value, "p") == NULL)
        spate_faults_note(reader->faults, pair->key_place, "such as p: 60 %",
                          "policy 'probability' needs 'p'");
}

/* ---- rules ----------------------------------------------------------------------------------- */

/* Adds those nodes of an entry of `nodes:` that relay: nobody asks rules of the others. */
static void
add_relays(SpateReader *reader, const char *entry, GArray *nodes)
{
    const SpateScenario *scenario = reader->scenario;
    uint32_t number;
    if (!spate_names_has(&reader->groups, entry, &number))
        return;
    const SpateScenarioGroup *group = &scenario->groups[number];
    for (uint32_t i = 0; i < group->n_members; i++)
        if (spate_scenario_node_relays(&scenario->nodes[group->members[i]]))
            g_array_append_val(nodes, group->members[i]);
}

static void
read_relay_rules_of(SpateReader *reader, const SpateYamlPair *pair, const GArray *nodes)
{
    SpateScenario *scenario = reader->scenario;
    const uint32_t *numbers = (const uint32_t *)(const void *)nodes->data;
    GArray *rules = spate_read_rules(reader, pair);
    g_ptr_array_add(scenario->relay_rules, rules);
    for (guint i = 0; i < nodes->len; i++)
        scenario->nodes[numbers[i]].relay_rules = rules;
    spate_check_occupancy(reader, rules, numbers, nodes->len, pair->key_place);
}

static const SpateYamlPair *
find_rules(const SpateYamlPair *flooding)
{
    return flooding != NULL ? spate_yaml_pair(flooding->value, "rules") : NULL;
}

/* A node's list replaces the top's, even where it is empty. */
void
spate_read_relay_rules(SpateReader *reader, const SpateYaml *nodes, const SpateYamlPair *flooding)
{
    g_autoptr(GArray) others = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    for (guint i = 0; nodes != NULL && i < nodes->pairs->len; i++) {
        const SpateYamlPair *entry = &g_array_index(nodes->pairs, SpateYamlPair, i);
        const SpateYamlPair *own = find_rules(spate_yaml_pair(entry->value, "flooding"));
        g_autoptr(GArray) relaying = g_array_new(FALSE, FALSE, sizeof(uint32_t));
        add_relays(reader, entry->key, own != NULL ? relaying : others);
        if (own != NULL)
            read_relay_rules_of(reader, own, relaying);
    }
    const SpateYamlPair *top = find_rules(flooding);
    if (top != NULL)
        read_relay_rules_of(reader, top, others);
}
