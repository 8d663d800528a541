/* blur.c - places moved, so that no home is published */
#include "report/privacy/privacy.h"

#include "core/random.h"
#include "report/result/detail-form.h"
#include <math.h>
#include <stdbool.h>

/* Margins are rounded to these, up to the largest; heights likewise. */
#define MARGIN_STEP_DB    10.0
#define LARGEST_MARGIN_DB 20.0
#define HEIGHT_STEP_M     10.0
/* Places in degrees are rounded to these, about a metre as in the plane. */
#define STEPS_PER_DEG 1e5

/* Steps that hide the places of one node. */
typedef struct {
    double radius_m;
    uint64_t key, node;
} Blur;

/* The radius of an even distribution over a disc goes with the root. */
static SpatePosition
moved(const Blur *blur, SpatePosition at, uint64_t entity)
{
    SpateRandom draw = spate_random_stream(blur->key, entity);
    double distance_m = blur->radius_m * sqrt(spate_random_unit(&draw));
    double angle = 2.0 * G_PI * spate_random_unit(&draw);
    at = spate_position_towards(at, 90.0 - angle * 180.0 / G_PI, distance_m);
    double steps = at.is_geographic ? STEPS_PER_DEG : 1.0;
    at.east = rint(at.east * steps) / steps;
    at.north = rint(at.north * steps) / steps;
    return at;
}

/* In the form of the node's own place. */
static SpatePosition
point_at(SpatePosition own, JsonArray *along, guint i)
{
    JsonArray *point = json_array_get_array_element(along, i);
    own.east = json_array_get_double_element(point, 0);
    own.north = json_array_get_double_element(point, 1);
    return own;
}

/* The step of a point: that of the first place of the way which it is as near to as places are
 * moved, from 1, or 0, the node's own.  Of places at one home that were moved apart the middle
 * would be near it. */
static guint
step_of(const Blur *blur, SpatePosition own, JsonArray *along, guint i, const guint *steps)
{
    SpatePosition at = point_at(own, along, i);
    if (spate_ground_distance_m(at, own) <= blur->radius_m)
        return 0;
    for (guint k = 0; k < i; k++)
        if (spate_ground_distance_m(at, point_at(own, along, k)) <= blur->radius_m)
            return steps[k];
    return i + 1;
}

/* Its legs are as long as it is drawn: how long they are would tell where they lead. */
static void
move_way(const Blur *blur, JsonObject *moves, SpatePosition own)
{
    JsonArray *along = json_object_get_array_member(moves, "along");
    JsonArray *points = json_array_new(), *legs_m = json_array_new();
    guint n = json_array_get_length(along);
    g_autofree guint *steps = g_new0(guint, n + 1u);
    SpatePosition before = moved(blur, own, blur->node);
    for (guint i = 0; i < n; i++) {
        steps[i] = step_of(blur, own, along, i, steps);
        SpatePosition at =
            moved(blur, point_at(own, along, i),
                  steps[i] == 0 ? blur->node : spate_hash_combine(blur->node, steps[i]));
        JsonArray *point = json_array_new();
        json_array_add_double_element(point, at.east);
        json_array_add_double_element(point, at.north);
        json_array_add_array_element(points, point);
        json_array_add_double_element(legs_m, rint(spate_ground_distance_m(at, before)));
        before = at;
    }
    json_object_set_array_member(moves, "along", points);
    json_object_set_array_member(moves, "legs_m", legs_m);
}

static void
move(JsonObject *node, double radius_m, uint64_t seed)
{
    const Blur blur = {radius_m, spate_random_key(seed, 0, SPATE_FOR_BLUR),
                       spate_hash_name(json_object_get_string_member(node, "name"))};
    SpatePosition own = spate_detail_node_place(node), now = moved(&blur, own, blur.node);
    json_object_set_double_member(node, own.is_geographic ? "lon" : "x_m", now.east);
    json_object_set_double_member(node, own.is_geographic ? "lat" : "y_m", now.north);
    double height_m = json_object_get_double_member(node, "height_m");
    json_object_set_double_member(node, "height_m", HEIGHT_STEP_M * rint(height_m / HEIGHT_STEP_M));
    if (json_object_has_member(node, "moves"))
        move_way(&blur, json_object_get_object_member(node, "moves"), own);
}

static void
coarsen_margin(JsonArray *link, guint column)
{
    JsonNode *node = json_array_get_element(link, column);
    if (JSON_NODE_HOLDS_NULL(node))
        return;
    double margin_db = floor(json_node_get_double(node) / MARGIN_STEP_DB) * MARGIN_STEP_DB;
    json_node_set_double(node, fmin(margin_db, LARGEST_MARGIN_DB));
}

/* What was drawn of places, such as "nodes.farm.at.x", would tell them. */
static void
drop_drawn_places(JsonObject *result)
{
    static const char *const OF_PLACES[] = {"at", "place", "along"};
    if (!json_object_has_member(result, "doubts"))
        return;
    JsonArray *doubts = json_object_get_array_member(result, "doubts");
    for (guint i = json_array_get_length(doubts); i-- > 0;) {
        JsonObject *doubt = json_array_get_object_element(doubts, i);
        g_auto(GStrv) steps = g_strsplit(json_object_get_string_member(doubt, "path"), ".", -1);
        for (size_t k = 0; k < G_N_ELEMENTS(OF_PLACES); k++)
            if (g_strv_contains((const char *const *)steps, OF_PLACES[k])) {
                json_array_remove_element(doubts, i);
                break;
            }
    }
}

void
spate_result_blur(JsonObject *result, double radius_m, uint64_t seed)
{
    drop_drawn_places(result);
    if (!json_object_has_member(result, "detail"))
        return;
    JsonObject *detail = json_object_get_object_member(result, "detail");
    JsonArray *variants = json_object_get_array_member(detail, "variants");
    JsonObject *places = json_object_get_object_member(detail, "places");
    for (guint i = 0; i < json_array_get_length(variants); i++) {
        JsonObject *variant = json_array_get_object_element(variants, i);
        json_object_remove_member(variant, "coverage");
        JsonArray *nodes = json_object_get_array_member(variant, "nodes");
        JsonArray *links =
            json_object_get_array_member(json_object_get_object_member(variant, "links"), "rows");
        for (guint k = 0; k < json_array_get_length(nodes); k++)
            move(json_array_get_object_element(nodes, k), radius_m, seed);
        for (guint k = 0; k < json_array_get_length(links); k++) {
            coarsen_margin(json_array_get_array_element(links, k), 2);
            coarsen_margin(json_array_get_array_element(links, k), 3);
        }
    }
    json_object_set_null_member(detail, "text");
    json_object_set_array_member(detail, "settings", json_array_new());
    json_object_remove_member(detail, "relief");
    json_object_set_double_member(places, "blurred_m", radius_m);
}
