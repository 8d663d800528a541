/* links-geojson.c - links as a map: RFC 7946 */
#include "cli/links.h"

#include "cli/globe.h"
#include <math.h>
#include <stdlib.h>

typedef struct {
    const char *name, *label; /* label: NULL without */
    double height_m;
} NodeOfMap;

/* Both ways of a pair; NAN for one that was not wanted. */
typedef struct {
    CliLink there;
    double loss_back_db, received_back_dbm, margin_back_db;
} LinkOfMap;

static const SpateMember NODE_OF_MAP[] = {
    {"name", SPATE_CELL_TEXT, offsetof(NodeOfMap, name)},
    {"label", SPATE_CELL_TEXT, offsetof(NodeOfMap, label), SPATE_OR_ABSENT},
    {"height_m", SPATE_CELL_NUMBER, offsetof(NodeOfMap, height_m)},
};
static const SpateMember LINK_OF_MAP[] = {
    {.cell = SPATE_CELL_PARTS, .at = offsetof(LinkOfMap, there), .form = &CLI_LINK_FORM},
    {"loss_back_db", SPATE_CELL_NUMBER, offsetof(LinkOfMap, loss_back_db), SPATE_OR_NULL},
    {"received_back_dbm", SPATE_CELL_NUMBER, offsetof(LinkOfMap, received_back_dbm), SPATE_OR_NULL},
    {"margin_back_db", SPATE_CELL_NUMBER, offsetof(LinkOfMap, margin_back_db), SPATE_OR_NULL},
};
static const SpateForm NODE_FORM = SPATE_FORM(NodeOfMap, NODE_OF_MAP);
static const SpateForm LINK_FORM = SPATE_FORM(LinkOfMap, LINK_OF_MAP);

static int
compare_pairs(const void *a, const void *b)
{
    const CliLink *first = a, *second = b;
    if (first->sender != second->sender)
        return first->sender < second->sender ? -1 : 1;
    return (first->receiver > second->receiver) - (first->receiver < second->receiver);
}

/* The other way of a row; NULL if it is not wanted. */
static const CliLink *
way_back(const GArray *sorted, const CliLink *row)
{
    const CliLink key = {.sender = row->receiver, .receiver = row->sender};
    return bsearch(&key, sorted->data, sorted->len, sizeof key, compare_pairs);
}

static void
append_links(GString *text, GArray *rows, const SpateWorld *world, const SpatePosition *places)
{
    const SpatePlan *plan = spate_world_plan(world);
    g_autoptr(GArray) sorted = g_array_copy(rows);
    g_array_sort(sorted, compare_pairs);
    for (guint i = 0; i < rows->len; i++) {
        const CliLink *row = &g_array_index(rows, CliLink, i), *back = way_back(sorted, row);
        if (back != NULL && row->sender > row->receiver)
            continue;
        LinkOfMap link = {*row, back != NULL ? back->loss_db : NAN,
                          back != NULL ? back->received_dbm : NAN,
                          back != NULL ? back->margin_db : NAN};
        g_string_append(text, ",\n  ");
        cli_globe_append_feature(text, &places[plan->radios[row->sender].node],
                                 &places[plan->radios[row->receiver].node], &LINK_FORM, &link);
    }
}

void
cli_links_append_geojson(GString *text, GArray *rows, const SpateWorld *world,
                         const SpatePosition *places)
{
    const SpateScenario *scenario = spate_world_scenario(world);
    g_string_append(text, "{\"type\": \"FeatureCollection\", \"features\": [");
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        NodeOfMap node = {scenario->nodes[i].name, scenario->nodes[i].label, places[i].height_m};
        g_string_append(text, i > 0 ? ",\n  " : "\n  ");
        cli_globe_append_feature(text, &places[i], NULL, &NODE_FORM, &node);
    }
    append_links(text, rows, world, places);
    g_string_append(text, "]}\n");
}
