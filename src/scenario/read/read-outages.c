/* read-outages.c - `outages:` */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-sections.h"

#define LONGEST_NS  1e18
#define SHORTEST_NS 1e3

/* Far more than anyone lists. */
#define MAX_OUTAGES 10000

typedef struct {
    SpateScenarioOutage outage;
    const SpateYamlPair *node;
} Draft;

static const SpateField OUTAGE_FIELDS[] = {
    {SPATE_PAIR("node", Draft, node), .required = true},
    {SPATE_TIME("at", Draft, outage.at_ns, 0, LONGEST_NS)},
    {SPATE_TIME("for", Draft, outage.for_ns, SHORTEST_NS, LONGEST_NS)},
    {SPATE_TIME("mean-between", Draft, outage.mean_between_ns, SHORTEST_NS, LONGEST_NS)},
    {SPATE_TIME("mean-time", Draft, outage.mean_time_ns, SHORTEST_NS, LONGEST_NS)},
};
static const SpateTable OUTAGE = SPATE_TABLE("an outage", OUTAGE_FIELDS, NULL);

/* Both keys of one form, and none of the other. */
static void
check_form(SpateReader *reader, const SpateYaml *item)
{
    bool has_at = spate_yaml_pair(item, "at") != NULL,
         has_for = spate_yaml_pair(item, "for") != NULL;
    bool has_between = spate_yaml_pair(item, "mean-between") != NULL;
    bool has_time = spate_yaml_pair(item, "mean-time") != NULL;
    if (has_at == has_for && has_between == has_time && has_at != has_between)
        return;
    spate_faults_note(reader->faults, item->place,
                      "at: 2 h, for: 30 min; or mean-between: 10 day, mean-time: 4 h",
                      "an outage needs either 'at' and 'for' or 'mean-between' and 'mean-time'");
}

static void
read_outage(SpateReader *reader, const SpateYaml *item, SpateScenarioOutage *into)
{
    Draft draft = {.outage = {.place = item->place}};
    uint32_t group;
    if (spate_read_map(reader, &OUTAGE, 0, item->place, item, &draft)) {
        check_form(reader, item);
        if (spate_find_named(reader, &reader->groups, draft.node, &group)) {
            draft.outage.group = group;
            draft.outage.nodes = reader->scenario->groups[group].members;
            draft.outage.n_nodes = reader->scenario->groups[group].n_members;
            spate_reader_spend(reader, item->place, draft.outage.n_nodes);
        }
    }
    *into = draft.outage;
}

void
spate_read_outages(SpateReader *reader, const SpateYamlPair *pair)
{
    SpateScenario *scenario = reader->scenario;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    guint n = pair->value->items->len;
    if (n > MAX_OUTAGES) {
        spate_faults_note(reader->faults, pair->key_place, "at most " G_STRINGIFY(MAX_OUTAGES),
                          "there are %u outages", n);
        return;
    }
    scenario->outages = g_new0(SpateScenarioOutage, n + 1u);
    scenario->n_outages = n;
    for (guint i = 0; i < n; i++)
        read_outage(reader, g_ptr_array_index(pair->value->items, i), &scenario->outages[i]);
}
