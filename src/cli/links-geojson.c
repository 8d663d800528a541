/* links-geojson.c - links as a map: RFC 7946 */
#include "cli/links.h"

#include "document/geojson.h"
#include <math.h>
#include <stdlib.h>

typedef struct {
    SpatePosition at, there; /* `there`: the other end of a link */
} Place;

typedef struct {
    const char *name, *label; /* label: NULL without */
    double height_m;
} NodeOfMap;

/* Both ways of a pair; NAN for one that was not wanted. */
typedef struct {
    CliLink there;
    double loss_back_db, received_back_dbm, margin_back_db;
} LinkOfMap;

typedef struct {
    const Place *place;
    const void *properties;
} Feature;

static void
append_point(GString *text, gconstpointer of)
{
    const Place *place = of;
    spate_geojson_append_point(text, place->at.longitude_deg, place->at.latitude_deg);
}

static void
append_line(GString *text, gconstpointer of)
{
    const Place *place = of;
    const double from_deg[] = {place->at.longitude_deg, place->at.latitude_deg};
    const double to_deg[] = {place->there.longitude_deg, place->there.latitude_deg};
    spate_geojson_append_line(text, from_deg, to_deg);
}

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
static const SpateMember NODE_FEATURE[] = {
    {"type", SPATE_CELL_FIXED, .fixed = "Feature"},
    {"geometry", SPATE_CELL_OTHER, offsetof(Feature, place), .append = append_point},
    {"properties", SPATE_CELL_POINTED, offsetof(Feature, properties),
     SPATE_OF(NodeOfMap, NODE_OF_MAP)},
};
static const SpateMember LINK_FEATURE[] = {
    {"type", SPATE_CELL_FIXED, .fixed = "Feature"},
    {"geometry", SPATE_CELL_OTHER, offsetof(Feature, place), .append = append_line},
    {"properties", SPATE_CELL_POINTED, offsetof(Feature, properties),
     SPATE_OF(LinkOfMap, LINK_OF_MAP)},
};
static const SpateForm NODE_FORM = SPATE_FORM(Feature, NODE_FEATURE);
static const SpateForm LINK_FORM = SPATE_FORM(Feature, LINK_FEATURE);

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
        Place place = {places[plan->radios[row->sender].node],
                       places[plan->radios[row->receiver].node]};
        g_string_append(text, ",\n  ");
        spate_form_append(text, &LINK_FORM, &(Feature){&place, &link});
    }
}

void
cli_links_append_geojson(GString *text, GArray *rows, const SpateWorld *world,
                         const SpatePosition *places)
{
    const SpateScenario *scenario = spate_world_scenario(world);
    g_string_append(text, "{\"type\": \"FeatureCollection\", \"features\": [");
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        Place place = {.at = places[i]};
        NodeOfMap node = {scenario->nodes[i].name, scenario->nodes[i].label, place.at.height_m};
        g_string_append(text, i > 0 ? ",\n  " : "\n  ");
        spate_form_append(text, &NODE_FORM, &(Feature){&place, &node});
    }
    append_links(text, rows, world, places);
    g_string_append(text, "]}\n");
}
