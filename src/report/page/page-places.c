/* page-places.c - places on a sheet of paper */
#include "report/page/page-places.h"

#include "document/numbers.h"
#include "report/result/detail-form.h"
#include <math.h>

#define RAD (G_PI / 180.0)

static bool
is_in_degrees(JsonObject *detail)
{
    JsonObject *places = json_object_get_object_member(detail, "places");
    return g_str_equal(json_object_get_string_member(places, "form"), "degrees");
}

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

typedef struct {
    double x_m, y_m;
} Spot;

static Spot
spot_of(SpatePosition middle, SpatePosition at)
{
    if (!at.is_geographic)
        return (Spot){at.x_m, at.y_m};
    double distance_m = spate_ground_distance_m(middle, at);
    double bearing = spate_bearing_deg(middle, at) * RAD;
    Spot spot = {.x_m = distance_m * sin(bearing)};
    spot.y_m = distance_m * cos(bearing);
    return spot;
}

static void
append_spot(GString *text, Spot spot)
{
    g_string_append_c(text, '[');
    spate_append_number(text, rint(10.0 * spot.x_m) / 10.0);
    g_string_append(text, ", ");
    spate_append_number(text, rint(10.0 * spot.y_m) / 10.0);
    g_string_append_c(text, ']');
}

/* Its place, and where it goes. */
static void
append_way(GString *text, SpatePosition middle, JsonObject *node)
{
    SpatePosition at = spate_detail_node_place(node);
    g_string_append_c(text, '[');
    append_spot(text, spot_of(middle, at));
    JsonObject *moves =
        json_object_has_member(node, "moves") ? json_object_get_object_member(node, "moves") : NULL;
    JsonArray *along = moves != NULL ? json_object_get_array_member(moves, "along") : NULL;
    for (guint i = 0; along != NULL && i < json_array_get_length(along); i++) {
        at.east = json_array_get_double_element(json_array_get_array_element(along, i), 0);
        at.north = json_array_get_double_element(json_array_get_array_element(along, i), 1);
        g_string_append(text, ", ");
        append_spot(text, spot_of(middle, at));
    }
    g_string_append_c(text, ']');
}

void
spate_page_append_places(GString *text, JsonObject *detail)
{
    if (!is_in_degrees(detail)) {
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

/* A place of the grid, by shares of its width and height from the south-west. */
static Spot
spot_within(SpatePosition middle, const SpateGrid *grid, double along, double up)
{
    SpatePosition at = {.is_geographic = grid->is_geographic};
    at.east = grid->west + along * grid->n_columns * grid->width;
    at.north = grid->south + up * grid->n_rows * grid->height;
    if (grid->is_geographic)
        at.longitude_deg = spate_longitude_deg(at.longitude_deg);
    return spot_of(middle, at);
}

static Spot
way_between(Spot a, Spot b)
{
    return (Spot){b.x_m - a.x_m, b.y_m - a.y_m};
}

/* The layer that is a member of this object; null if there is none. */
static void
append_layer(GString *text, SpatePosition middle, JsonObject *around, const char *key)
{
    if (!json_object_has_member(around, key)) {
        g_string_append(text, "null");
        return;
    }
    SpateGrid grid =
        spate_detail_grid(json_object_get_object_member(around, key), middle.is_geographic);
    Spot across =
        way_between(spot_within(middle, &grid, 0.0, 0.5), spot_within(middle, &grid, 1.0, 0.5));
    Spot down =
        way_between(spot_within(middle, &grid, 0.5, 1.0), spot_within(middle, &grid, 0.5, 0.0));
    Spot corner = spot_within(middle, &grid, 0.5, 0.5);
    corner.x_m -= (across.x_m + down.x_m) / 2.0;
    corner.y_m -= (across.y_m + down.y_m) / 2.0;
    g_string_append_c(text, '[');
    append_spot(text, corner);
    g_string_append(text, ", ");
    append_spot(text, across);
    g_string_append(text, ", ");
    append_spot(text, down);
    g_string_append_c(text, ']');
}

void
spate_page_append_layers(GString *text, JsonObject *detail)
{
    JsonArray *variants = json_object_get_array_member(detail, "variants");
    SpatePosition middle = {0};
    if (is_in_degrees(detail))
        middle = middle_of(nodes_of(variants, 0));
    g_string_append(text, "{\"relief\": ");
    append_layer(text, middle, detail, "relief");
    g_string_append(text, ", \"coverage\": [");
    for (guint v = 0; v < json_array_get_length(variants); v++) {
        g_string_append(text, v > 0 ? ", " : "");
        append_layer(text, middle, json_array_get_object_element(variants, v), "coverage");
    }
    g_string_append(text, "]}");
}
