/* blur.c - places moved, so that no home is published */
#include "report/privacy/privacy.h"

#include "core/random.h"
#include <math.h>
#include <stdbool.h>

/* Margins are rounded to these, up to the largest; heights likewise. */
#define MARGIN_STEP_DB    10.0
#define LARGEST_MARGIN_DB 20.0
#define HEIGHT_STEP_M     10.0

/* The radius of an even distribution over a disc goes with the root. */
static void
move(JsonObject *node, double radius_m, uint64_t seed)
{
    uint64_t key = spate_random_key(seed, 0, SPATE_FOR_BLUR);
    SpateRandom draw =
        spate_random_stream(key, spate_hash_name(json_object_get_string_member(node, "name")));
    double distance_m = radius_m * sqrt(spate_random_unit(&draw));
    double angle = 2.0 * G_PI * spate_random_unit(&draw);
    double x_m = json_object_get_double_member(node, "x_m") + distance_m * cos(angle);
    double y_m = json_object_get_double_member(node, "y_m") + distance_m * sin(angle);
    double height_m = json_object_get_double_member(node, "height_m");
    json_object_set_double_member(node, "x_m", rint(x_m));
    json_object_set_double_member(node, "y_m", rint(y_m));
    json_object_set_double_member(node, "height_m", HEIGHT_STEP_M * rint(height_m / HEIGHT_STEP_M));
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
    if (!json_object_has_member(result, "doubts"))
        return;
    JsonArray *doubts = json_object_get_array_member(result, "doubts");
    for (guint i = json_array_get_length(doubts); i-- > 0;) {
        JsonObject *doubt = json_array_get_object_element(doubts, i);
        g_auto(GStrv) steps = g_strsplit(json_object_get_string_member(doubt, "path"), ".", -1);
        if (g_strv_contains((const char *const *)steps, "at") ||
            g_strv_contains((const char *const *)steps, "place"))
            json_array_remove_element(doubts, i);
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
    json_object_set_null_member(places, "origin");
    json_object_set_double_member(places, "blurred_m", radius_m);
}
