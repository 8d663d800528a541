/* detail-geojson.c - who hears whom in a run, and what each node gets, as a map: RFC 7946 */
#include "cli/globe.h"

#include <math.h>

typedef struct {
    const char *name, *label; /* label: NULL without */
    double height_m;
    SpateDetailShare to, from;
} NodeOfRun;

typedef struct {
    const char *from, *to, *bearer;
    double margin_db, margin_back_db;
} LinkOfRun;

/* As in the details of a result. */
#define SHARE(member) offsetof(NodeOfRun, member), SPATE_OR_NULL, .digits = 4
static const SpateMember NODE[] = {
    {"name", SPATE_CELL_TEXT, offsetof(NodeOfRun, name)},
    {"label", SPATE_CELL_TEXT, offsetof(NodeOfRun, label), SPATE_OR_ABSENT},
    {"height_m", SPATE_CELL_NUMBER, offsetof(NodeOfRun, height_m)},
    {"delivery", SPATE_CELL_NUMBER, SHARE(to.share)},
    {"low", SPATE_CELL_NUMBER, SHARE(to.ci95.low)},
    {"high", SPATE_CELL_NUMBER, SHARE(to.ci95.high)},
    {"pairs", SPATE_CELL_LARGE, offsetof(NodeOfRun, to.n_pairs)},
    {"from_delivery", SPATE_CELL_NUMBER, SHARE(from.share)},
    {"from_low", SPATE_CELL_NUMBER, SHARE(from.ci95.low)},
    {"from_high", SPATE_CELL_NUMBER, SHARE(from.ci95.high)},
    {"from_pairs", SPATE_CELL_LARGE, offsetof(NodeOfRun, from.n_pairs)},
};
static const SpateMember LINK[] = {
    {"from", SPATE_CELL_TEXT, offsetof(LinkOfRun, from)},
    {"to", SPATE_CELL_TEXT, offsetof(LinkOfRun, to)},
    {"bearer", SPATE_CELL_TEXT, offsetof(LinkOfRun, bearer)},
    {"margin_db", SPATE_CELL_NUMBER, offsetof(LinkOfRun, margin_db), SPATE_OR_NULL},
    {"margin_back_db", SPATE_CELL_NUMBER, offsetof(LinkOfRun, margin_back_db), SPATE_OR_NULL},
};
static const SpateForm NODE_FORM = SPATE_FORM(NodeOfRun, NODE);
static const SpateForm LINK_FORM = SPATE_FORM(LinkOfRun, LINK);

void
cli_detail_append_geojson(GString *text, const SpateDetailVariant *detail,
                          const SpatePosition *places)
{
    const SpateScenario *scenario = spate_world_scenario(detail->shown);
    const SpatePlan *plan = spate_world_plan(detail->shown);
    g_string_append(text, "{\"type\": \"FeatureCollection\", \"features\": [");
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        NodeOfRun node = {scenario->nodes[i].name, scenario->nodes[i].label, places[i].height_m,
                          detail->to_node[i], detail->from_node[i]};
        g_string_append(text, i > 0 ? ",\n  " : "\n  ");
        cli_globe_append_feature(text, &places[i], NULL, &NODE_FORM, &node);
    }
    for (guint i = 0; i < detail->links->len; i++) {
        const SpateDetailLink *its = &g_array_index(detail->links, SpateDetailLink, i);
        uint32_t from = plan->radios[its->from].node, to = plan->radios[its->to].node;
        LinkOfRun link = {plan->nodes[from].name, plan->nodes[to].name,
                          plan->bearer_names[plan->radios[its->from].bearer], its->margin_db,
                          its->margin_back_db};
        g_string_append(text, ",\n  ");
        cli_globe_append_feature(text, &places[from], &places[to], &LINK_FORM, &link);
    }
    g_string_append(text, "]}\n");
}
