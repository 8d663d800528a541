/* read-route.c - `route:` of a traffic */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include <string.h>

/* Longer lists do not fit into any frame of the bearers that there are. */
#define MOST_ENTRIES 64

typedef struct {
    const SpateYamlPair *along;
    bool back;
} Draft;

typedef struct {
    const SpateYamlPair *node, *on;
} EntryDraft;

static const SpateField ROUTE_FIELDS[] = {
    {SPATE_PAIR("along", Draft, along), .required = true},
    {SPATE_FLAG("back", Draft, back)},
};
static const SpateTable ROUTE = SPATE_TABLE("a route", ROUTE_FIELDS, NULL);

static const SpateField ENTRY_FIELDS[] = {
    {SPATE_PAIR("node", EntryDraft, node), .required = true},
    {SPATE_PAIR("on", EntryDraft, on)},
};
static const SpateTable ENTRY = SPATE_TABLE("an entry of a route", ENTRY_FIELDS, NULL);

static const SpateWord WORDS[] = {
    {"flood", SPATE_ROUTE_FLOOD}, {"source", SPATE_ROUTE_SOURCE}, {NULL}};

/* ---- entries --------------------------------------------------------------------------------- */

static bool
read_node(SpateReader *reader, const SpateYaml *value, uint32_t *node)
{
    if (!spate_is_kind(reader, value, SPATE_YAML_SCALAR, "node"))
        return false;
    g_autoptr(GArray) members = spate_read_members(reader, value, "along", SPATE_MEMBERS_NAMED);
    if (members == NULL || !spate_is_built(reader, value))
        return false;
    if (members->len != 1) {
        spate_faults_note(reader->faults, value->place, "name its nodes one by one",
                          "'%s' stands for %u nodes", value->text, members->len);
        return false;
    }
    *node = g_array_index(members, uint32_t, 0);
    return true;
}

static bool
read_entry(SpateReader *reader, const SpateYaml *value, SpateRouteEntry *entry)
{
    EntryDraft draft = {0};
    entry->bearer = -1;
    if (value->kind != SPATE_YAML_MAP)
        return read_node(reader, value, &entry->node);
    if (!spate_read_map(reader, &ENTRY, 0, value->place, value, &draft) || draft.node == NULL ||
        !read_node(reader, draft.node->value, &entry->node))
        return false;
    if (draft.on == NULL)
        return true;
    if (!spate_is_kind(reader, draft.on->value, SPATE_YAML_SCALAR, "on"))
        return false;
    g_autoptr(GArray) bearers = spate_read_numbers(reader, &reader->bearers, draft.on->value, "on");
    if (bearers == NULL || bearers->len != 1)
        return false;
    entry->bearer = (int32_t)g_array_index(bearers, uint32_t, 0);
    return true;
}

static bool
read_entries(SpateReader *reader, const SpateYaml *list, SpateScenarioTraffic *traffic)
{
    if (!spate_is_kind(reader, list, SPATE_YAML_LIST, "along"))
        return false;
    if (list->items->len == 0 || list->items->len > MOST_ENTRIES) {
        spate_faults_note(reader->faults, list->place,
                          "list the nodes after the source, the last is the recipient",
                          "a route has 1 to 64 entries, not %u", list->items->len);
        return false;
    }
    traffic->along = g_new0(SpateRouteEntry, list->items->len);
    bool is_good = true;
    for (guint i = 0; i < list->items->len; i++)
        is_good =
            read_entry(reader, g_ptr_array_index(list->items, i), &traffic->along[i]) && is_good;
    traffic->n_along = list->items->len;
    return is_good;
}

/* ---- hops ------------------------------------------------------------------------------------ */

static bool
has_radio(const SpateScenario *scenario, uint32_t node, uint32_t bearer)
{
    return spate_scenario_radio(&scenario->nodes[node], bearer) != NULL;
}

static bool
can_transmit(const SpateScenario *scenario, uint32_t from, const SpateRouteEntry *to)
{
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        if ((to->bearer < 0 || (uint32_t)to->bearer == b) && has_radio(scenario, from, b) &&
            has_radio(scenario, to->node, b))
            return true;
    return false;
}

static bool
check_hop(SpateReader *reader, uint32_t from, const SpateRouteEntry *to, SpatePlace place)
{
    const SpateScenario *scenario = reader->scenario;
    const char *here = scenario->nodes[from].name, *there = scenario->nodes[to->node].name;
    if (from == to->node)
        spate_faults_note(reader->faults, place, "each entry is the next node",
                          "the route leads from '%s' to itself", here);
    else if (!can_transmit(scenario, from, to) && to->bearer >= 0)
        spate_faults_note(reader->faults, place, "name a bearer on which both have a radio",
                          "'%s' and '%s' do not both have a radio on '%s'", here, there,
                          scenario->bearers[to->bearer].name);
    else if (!can_transmit(scenario, from, to))
        spate_faults_note(reader->faults, place, "give both a radio on one bearer",
                          "'%s' and '%s' have no bearer in common", here, there);
    else
        return true;
    return false;
}

/* Of faults that follow from another, only the first is reported. */
static void
check_ends(SpateReader *reader, const SpateYaml *list, const SpateYamlPair *to,
           const SpateScenarioTraffic *traffic)
{
    const SpateScenario *scenario = reader->scenario;
    const SpateYaml *last_item = g_ptr_array_index(list->items, list->items->len - 1);
    uint32_t last = traffic->along[traffic->n_along - 1].node;
    if (traffic->recipients != NULL &&
        (traffic->n_recipients != 1 || traffic->recipients[0] != last)) {
        spate_faults_note(reader->faults, to->value->place, scenario->nodes[last].name,
                          "'to' must be the last node of the route");
        return;
    }
    for (uint32_t i = 0; i < traffic->n_sources; i++) {
        const SpateYaml *first = g_ptr_array_index(list->items, 0);
        if (traffic->sources[i] == last) {
            spate_faults_note(reader->faults, last_item->place, "with 'back: yes' it comes home",
                              "the route ends at its source '%s'", scenario->nodes[last].name);
            return;
        }
        if (!check_hop(reader, traffic->sources[i], &traffic->along[0], first->place))
            return;
    }
}

static void
check_hops(SpateReader *reader, const SpateYaml *list, const SpateScenarioTraffic *traffic)
{
    for (uint32_t i = 1; i < traffic->n_along; i++) {
        const SpateYaml *item = g_ptr_array_index(list->items, i);
        if (!check_hop(reader, traffic->along[i - 1].node, &traffic->along[i], item->place))
            return;
    }
}

/* ---- the whole ------------------------------------------------------------------------------- */

void
spate_read_route(SpateReader *reader, const SpateYamlPair *pair, const SpateYamlPair *to,
                 SpateScenarioTraffic *traffic)
{
    bool is_acknowledged = traffic->acknowledgement.tries > 0;
    Draft draft = {0};
    int word = SPATE_ROUTE_FLOOD;
    if (pair->value->kind == SPATE_YAML_LIST) {
        spate_faults_note(reader->faults, pair->value->place, "route: {along: [a, b]}",
                          "'route' must be a word or a map, not a list");
        return;
    }
    if (pair->value->kind != SPATE_YAML_MAP) {
        if (!spate_find_word(reader, pair->value, WORDS, pair->key, &word))
            return;
        traffic->route = (SpateRouteKind)word;
        if (traffic->route == SPATE_ROUTE_SOURCE && !is_acknowledged)
            spate_faults_note(reader->faults, pair->value->place, "give the traffic 'acknowledge'",
                              "without acknowledgements no route is learned");
        return;
    }
    traffic->route = SPATE_ROUTE_ALONG;
    if (!spate_read_map(reader, &ROUTE, 0, pair->key_place, pair->value, &draft) ||
        draft.along == NULL)
        return;
    traffic->is_back = draft.back;
    if (is_acknowledged)
        spate_faults_note(reader->faults, pair->key_place, "'back: yes' brings it home",
                          "a probe along a given route is not acknowledged");
    if (!read_entries(reader, draft.along->value, traffic))
        return;
    check_hops(reader, draft.along->value, traffic);
    if (to != NULL)
        check_ends(reader, draft.along->value, to, traffic);
}
