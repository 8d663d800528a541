/* read-bridges.c - `bridges:` */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include <stdlib.h>
#include <string.h>

/* A crossing on the way. */
typedef struct {
    const SpateYamlPair *from, *to, *rules;
    bool passes;
} Draft;

static const SpateWord OTHERWISE[] = {{"pass", true}, {"hold-back", false}, {NULL}};

static const SpateField CROSSING_FIELDS[] = {
    {SPATE_PAIR("from", Draft, from), .required = true},
    {SPATE_PAIR("to", Draft, to), .required = true},
    {SPATE_PAIR("rules", Draft, rules)},
    {SPATE_EITHER("otherwise", Draft, passes, OTHERWISE)},
};
static const SpateTable CROSSING = SPATE_TABLE("a crossing", CROSSING_FIELDS, NULL);

/* The nodes of one entry of `bridges:` and what was read there. */
typedef struct {
    GArray *crossings; /* SpateScenarioCrossing */
    uint32_t bridge;
    const uint32_t *nodes;
    uint32_t n_nodes;
} Bridge;

static bool
read_side(SpateReader *reader, const Bridge *bridge, const SpateYamlPair *pair, uint32_t *bearer)
{
    return spate_find_named(reader, &reader->bearers, pair, bearer) &&
           spate_all_have_radio(reader, bridge->nodes, bridge->n_nodes, *bearer, pair->value->place,
                                "a bridge has a radio on both bearers");
}

static void
read_crossing(SpateReader *reader, const Bridge *bridge, const SpateYamlPair *pair)
{
    Draft draft = {.passes = true};
    uint32_t from = 0, to = 0;
    spate_is_name(reader, pair->key, pair->key_place);
    if (!spate_read_map(reader, &CROSSING, 0, pair->key_place, pair->value, &draft))
        return;
    bool has_from = read_side(reader, bridge, draft.from, &from);
    bool has_to = read_side(reader, bridge, draft.to, &to);
    if (has_from && has_to && from == to)
        spate_faults_note(reader->faults, draft.to->value->place,
                          "use 'relay' to relay on the same bearer",
                          "a crossing must lead to another bearer");
    g_autoptr(GArray) rules = spate_read_rules(reader, draft.rules);
    spate_check_occupancy(reader, rules, bridge->nodes, bridge->n_nodes, pair->key_place);
    uint32_t order = bridge->crossings->len;
    for (uint32_t i = 0; i < bridge->n_nodes; i++) {
        SpateScenarioCrossing crossing = {.name = g_strdup(pair->key),
                                          .place = pair->key_place,
                                          .bridge = bridge->bridge,
                                          .node = bridge->nodes[i],
                                          .from_bearer = from,
                                          .to_bearer = to,
                                          .rules = g_array_ref(rules),
                                          .otherwise_passes = draft.passes,
                                          .order = order};
        g_array_append_val(bridge->crossings, crossing);
    }
}

static void
read_bridge(SpateReader *reader, const SpateYamlPair *pair, Bridge *bridge)
{
    SpateYaml key = {.kind = SPATE_YAML_SCALAR, .place = pair->key_place, .text = pair->key};
    uint32_t group;
    bridge->n_nodes = 0;
    if (spate_find_name(reader, &reader->groups, &key, &group) &&
        spate_reader_spend(reader, pair->key_place, reader->scenario->groups[group].n_members)) {
        const SpateScenarioGroup *members = &reader->scenario->groups[group];
        bridge->nodes = members->members;
        bridge->n_nodes = members->n_members;
        for (uint32_t i = 0; i < members->n_sites; i++) {
            uint32_t site = members->members[members->n_members + i] - SPATE_FIRST_SITE;
            reader->scenario->sites[site].carries = true;
        }
    }
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    GArray *pairs = pair->value->pairs;
    for (guint i = 0; i < pairs->len; i++) {
        const SpateYamlPair *crossing = &g_array_index(pairs, SpateYamlPair, i);
        if (spate_reader_spend(reader, crossing->key_place, bridge->n_nodes))
            read_crossing(reader, bridge, crossing);
    }
}

static int
compare_crossings(gconstpointer a, gconstpointer b)
{
    const SpateScenarioCrossing *first = a, *second = b;
    if (first->node != second->node)
        return first->node < second->node ? -1 : 1;
    return (first->order > second->order) - (first->order < second->order);
}

void
spate_read_bridges(SpateReader *reader, const SpateYamlPair *pair)
{
    SpateScenario *scenario = reader->scenario;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    guint n = pair->value->pairs->len;
    scenario->n_bridges = n;
    scenario->bridge_names = g_new0(char *, n + 1u);
    for (guint i = 0; i < n; i++)
        scenario->bridge_names[i] =
            g_strdup(g_array_index(pair->value->pairs, SpateYamlPair, i).key);
    /* The number of a bridge is its place in the alphabet. */
    qsort(scenario->bridge_names, n, sizeof(char *), spate_compare_names);
    for (uint32_t i = 0; i < n; i++)
        spate_names_add(&reader->bridges, scenario->bridge_names[i], i, true);
    GArray *crossings = g_array_new(FALSE, TRUE, sizeof(SpateScenarioCrossing));
    for (guint i = 0; i < n; i++) {
        const SpateYamlPair *entry = &g_array_index(pair->value->pairs, SpateYamlPair, i);
        Bridge bridge = {.crossings = crossings};
        spate_names_has(&reader->bridges, entry->key, &bridge.bridge);
        read_bridge(reader, entry, &bridge);
    }
    g_array_sort(crossings, compare_crossings);
    scenario->n_crossings = crossings->len;
    scenario->crossings = (SpateScenarioCrossing *)(void *)g_array_free(crossings, FALSE);
}
