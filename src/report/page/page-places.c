/* page-places.c - places in degrees on a sheet of paper */
#include "report/page/page-places.h"

#include "document/numbers.h"
#include "report/result/detail-form.h"
#include <math.h>

#define RAD (G_PI / 180.0)

static JsonArray *
nodes_of(JsonArray *variants, guint number)
{
    return json_object_get_array_member(json_array_get_object_element(variants, number), "nodes");
}

/* The mean of the directions from the centre of the earth: it knows no meridian at which places
 * are torn apart, and no pole.  Where they cancel out, any place will do. */
static SpatePosition
middle_of(JsonArray *nodes)
{
    double x = 0, y = 0, z = 0;
    for (guint i = 0; i < json_array_get_length(nodes); i++) {
        SpatePosition at = spate_detail_node_place(json_array_get_object_element(nodes, i));
        x += cos(at.latitude_deg * RAD) * cos(at.longitude_deg * RAD);
        y += cos(at.latitude_deg * RAD) * sin(at.longitude_deg * RAD);
        z += sin(at.latitude_deg * RAD);
    }
    SpatePosition middle = {.is_geographic = true};
    middle.longitude_deg = atan2(y, x) / RAD;
    middle.latitude_deg = atan2(z, hypot(x, y)) / RAD;
    return middle;
}

static void
append_spot(GString *text, SpatePosition middle, SpatePosition at)
{
    double distance_m = spate_ground_distance_m(middle, at);
    double bearing_deg = spate_bearing_deg(middle, at);
    g_string_append_c(text, '[');
    spate_append_number(text, rint(10.0 * distance_m * sin(bearing_deg * RAD)) / 10.0);
    g_string_append(text, ", ");
    spate_append_number(text, rint(10.0 * distance_m * cos(bearing_deg * RAD)) / 10.0);
    g_string_append_c(text, ']');
}

/* Its place, and where it goes. */
static void
append_way(GString *text, SpatePosition middle, JsonObject *node)
{
    SpatePosition at = spate_detail_node_place(node);
    g_string_append_c(text, '[');
    append_spot(text, middle, at);
    JsonObject *moves =
        json_object_has_member(node, "moves") ? json_object_get_object_member(node, "moves") : NULL;
    JsonArray *along = moves != NULL ? json_object_get_array_member(moves, "along") : NULL;
    for (guint i = 0; along != NULL && i < json_array_get_length(along); i++) {
        at.east = json_array_get_double_element(json_array_get_array_element(along, i), 0);
        at.north = json_array_get_double_element(json_array_get_array_element(along, i), 1);
        g_string_append(text, ", ");
        append_spot(text, middle, at);
    }
    g_string_append_c(text, ']');
}

void
spate_page_append_places(GString *text, JsonObject *detail)
{
    JsonObject *places = json_object_get_object_member(detail, "places");
    if (!g_str_equal(json_object_get_string_member(places, "form"), "degrees")) {
        g_string_append(text, "null");
        return;
    }
    JsonArray *variants = json_object_get_array_member(detail, "variants");
    SpatePosition middle = middle_of(nodes_of(variants, 0));
    for (guint v = 0; v < json_array_get_length(variants); v++) {
        JsonArray *nodes = nodes_of(variants, v);
        g_string_append(text, v > 0 ? ", [" : "[[");
        for (guint i = 0; i < json_array_get_length(nodes); i++) {
            g_string_append(text, i > 0 ? ", " : "");
            append_way(text, middle, json_array_get_object_element(nodes, i));
        }
        g_string_append_c(text, ']');
    }
    g_string_append_c(text, ']');
}
