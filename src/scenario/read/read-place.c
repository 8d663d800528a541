/* read-place.c - where nodes stand: `at:` and `place:`
 *
 * All places of a file are given in one form: x and y, metres of a plane, or lat and lon, degrees
 * on WGS 84.  Borders of rectangles and polygons, and the rows of a grid, are straight in either
 * form; a line between two places in degrees is a geodesic, and a circle is of those from its
 * centre.
 */
#include "scenario/read/read-place.h"
#include "core/random.h"
#include "scenario/read/read-sections.h"

#include <math.h>
#include <string.h>

/* Where the file says nothing of height: a device held by a person or fixed low (common practice,
 * no source). */
#define DEFAULT_HEIGHT_M 1.0

static const SpateField SPOT_FIELDS_FLAT[] = {SPATE_SPOT_FIELDS};
static const SpateField SPOT_FIELDS_HIGH[] = {SPATE_SPOT_FIELDS,
                                              SPATE_HEIGHT_FIELD(SpateSpot, height_m)};
static const SpateTable SPOT_FLAT = SPATE_TABLE("a corner or centre", SPOT_FIELDS_FLAT, NULL);
static const SpateTable SPOT_HIGH = SPATE_TABLE("a place", SPOT_FIELDS_HIGH, NULL);

SpateGeo
spate_geo_form(SpateReader *reader, SpatePlace owner, const SpateYaml *map)
{
    static const char *const keys[] = {"x", "y", "lat", "lon"};
    bool has[4];
    for (size_t i = 0; i < 4; i++)
        has[i] = spate_yaml_pair(map, keys[i]) != NULL;
    bool is_plane = has[0] && has[1] && !has[2] && !has[3];
    bool is_globe = !has[0] && !has[1] && has[2] && has[3];
    SpateGeo form = is_plane ? SPATE_GEO_PLANE : is_globe ? SPATE_GEO_GLOBE : SPATE_GEO_UNKNOWN;
    if (form == SPATE_GEO_UNKNOWN)
        spate_faults_note(reader->faults, owner, "{x: 0 m, y: 0 m} or {lat: 10 deg, lon: 20 deg}",
                          "a place needs x and y, or lat and lon");
    else if (reader->geo != SPATE_GEO_UNKNOWN && form != reader->geo)
        spate_faults_note(reader->faults, owner, "use one form for all places of a file",
                          "this place is in %s, others in %s", is_plane ? "x and y" : "lat and lon",
                          is_plane ? "lat and lon" : "x and y");
    return form;
}

SpatePosition
spate_settle_spot(SpateReader *reader, SpateGeo form, const SpateSpot *spot)
{
    reader->geo = form;
    reader->scenario->is_geographic = form == SPATE_GEO_GLOBE;
    SpatePosition position = {.height_m = spot->height_m, .is_geographic = form == SPATE_GEO_GLOBE};
    position.east = position.is_geographic ? spot->lon_deg : spot->x_m;
    position.north = position.is_geographic ? spot->lat_deg : spot->y_m;
    return position;
}

static bool
read_spot(SpateReader *reader, const SpateTable *table, SpatePlace owner, const SpateYaml *map,
          SpatePosition *position)
{
    size_t before = spate_faults_noted(reader->faults);
    SpateSpot spot = {.height_m = position->height_m};
    if (!spate_read_map(reader, table, 0, owner, map, &spot))
        return false;
    SpateGeo form = spate_geo_form(reader, owner, map);
    if (spate_faults_since(reader, before))
        return false;
    *position = spate_settle_spot(reader, form, &spot);
    return true;
}

bool
spate_read_position(SpateReader *reader, const SpateYamlPair *pair, SpatePosition *position)
{
    *position = (SpatePosition){.height_m = DEFAULT_HEIGHT_M};
    return spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key) &&
           read_spot(reader, &SPOT_HIGH, pair->key_place, pair->value, position);
}

static SpatePlacement *
new_placement(const char *entry, SpatePlacementKind kind, uint32_t n_points)
{
    SpatePlacement *placement = g_new0(SpatePlacement, 1);
    placement->kind = kind;
    placement->name_hash = spate_hash_name(entry);
    placement->height_m = DEFAULT_HEIGHT_M;
    placement->points = g_new0(SpatePosition, n_points + 1u);
    placement->n_points = n_points;
    return placement;
}

SpatePlacement *
spate_read_standpoint(SpateReader *reader, const SpateYamlPair *pair, const char *entry,
                      uint32_t count)
{
    SpatePosition position;
    if (!spate_read_position(reader, pair, &position))
        return NULL;
    SpatePlacement *placement = new_placement(entry, SPATE_PLACE_POINTS, count);
    placement->height_m = position.height_m;
    for (uint32_t i = 0; i < count; i++)
        placement->points[i] = position;
    return placement;
}

/* `place:` on the way. */
typedef struct {
    double height_m;
    bool redraw;
} PlaceDraft;

static const SpateWord REDRAWS[] = {{"each-replication", true}, {"once", false}, {NULL}};

static const SpateField PLACE_FIELDS[] = {
    {.key = "grid", .read = spate_read_elsewhere},
    {.key = "circle", .read = spate_read_elsewhere},
    {.key = "rectangle", .read = spate_read_elsewhere},
    {.key = "polygon", .read = spate_read_elsewhere},
    {.key = "line", .read = spate_read_elsewhere},
    {.key = "points", .read = spate_read_elsewhere},
    {.key = "table", .read = spate_read_elsewhere},
    SPATE_HEIGHT_FIELD(PlaceDraft, height_m),
    {SPATE_EITHER("redraw", PlaceDraft, redraw, REDRAWS)},
};
static const SpateTable PLACE = SPATE_TABLE("a place", PLACE_FIELDS, NULL);

/* The shape of a place on the way. */
typedef struct {
    const SpateYamlPair *from, *to, *centre;
    double radius_m;
    uint32_t columns;
} Shape;

#define END_FIELDS                                                                                 \
    {SPATE_PAIR("from", Shape, from), .required = true},                                           \
    {                                                                                              \
        SPATE_PAIR("to", Shape, to), .required = true                                              \
    }

static const SpateField ENDS_FIELDS[] = {END_FIELDS};
static const SpateField GRID_FIELDS[] = {
    END_FIELDS, {SPATE_WHOLE("columns", Shape, columns, COUNT, 1, 100000), .required = true}};
static const SpateField CIRCLE_FIELDS[] = {
    {SPATE_PAIR("centre", Shape, centre), .required = true},
    {SPATE_NUMBER("radius", Shape, radius_m, LENGTH, 0, SPATE_FARTHEST_M), .required = true}};
static const SpateTable LINE = SPATE_TABLE("a line", ENDS_FIELDS, NULL);
static const SpateTable RECTANGLE = SPATE_TABLE("a rectangle", ENDS_FIELDS, NULL);
static const SpateTable GRID = SPATE_TABLE("a grid", GRID_FIELDS, NULL);
static const SpateTable CIRCLE = SPATE_TABLE("a circle", CIRCLE_FIELDS, NULL);

/* False with a fault. */
static bool
read_shape(SpateReader *reader, const SpateTable *table, const SpateYamlPair *pair, Shape *shape)
{
    size_t before = spate_faults_noted(reader->faults);
    *shape = (Shape){0};
    return spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key) &&
           spate_read_map(reader, table, 0, pair->key_place, pair->value, shape) &&
           !spate_faults_since(reader, before);
}

static bool
read_corner(SpateReader *reader, const SpateYamlPair *pair, SpatePosition *corner)
{
    return spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key) &&
           read_spot(reader, &SPOT_FLAT, pair->key_place, pair->value, corner);
}

/* Counts the longitude of `to` on from that of `from`, the shorter way around, beyond 180 degrees
 * where that crosses this meridian.  False with a fault if both ways are as long. */
static bool
count_on(SpateReader *reader, SpatePlace owner, SpatePosition from, SpatePosition *to)
{
    if (!to->is_geographic)
        return true;
    to->longitude_deg -= 360.0 * rint((to->longitude_deg - from.longitude_deg) / 360.0);
    if (fabs(to->longitude_deg - from.longitude_deg) < 180.0)
        return true;
    spate_faults_note(reader->faults, owner, "less than 180 deg of longitude from one to the next",
                      "these corners are half the earth apart: it lies between them on both sides");
    return false;
}

/* The ends of a line, or the corners of a rectangle or grid. */
static bool
read_ends(SpateReader *reader, const Shape *shape, SpatePosition *from, SpatePosition *to)
{
    bool has_from = read_corner(reader, shape->from, from);
    bool has_to = read_corner(reader, shape->to, to);
    return has_from && has_to;
}

static bool
read_corners(SpateReader *reader, const Shape *shape, SpatePosition *from, SpatePosition *to)
{
    return read_ends(reader, shape, from, to) && count_on(reader, shape->to->key_place, *from, to);
}

/* From `from` to `to`, both included, in n - 1 equal steps; a single one stands at `from`. */
static double
spread(double from, double to, uint32_t i, uint32_t n)
{
    return n < 2 ? from : from + (to - from) * (double)i / (double)(n - 1);
}

static SpatePlacement *
read_line(SpateReader *reader, const SpateYamlPair *pair, const char *entry, uint32_t count)
{
    Shape shape;
    SpatePosition from = {0}, to = {0};
    if (!read_shape(reader, &LINE, pair, &shape) || !read_ends(reader, &shape, &from, &to))
        return NULL;
    SpatePlacement *placement = new_placement(entry, SPATE_PLACE_POINTS, count);
    for (uint32_t i = 0; i < count; i++)
        placement->points[i] = spate_position_between(from, to, spread(0.0, 1.0, i, count));
    return placement;
}

static SpatePlacement *
read_grid(SpateReader *reader, const SpateYamlPair *pair, const char *entry, uint32_t count)
{
    Shape shape;
    SpatePosition from = {0}, to = {0};
    if (!read_shape(reader, &GRID, pair, &shape) || !read_corners(reader, &shape, &from, &to))
        return NULL;
    uint32_t columns = shape.columns, rows = (count + columns - 1) / columns;
    SpatePlacement *placement = new_placement(entry, SPATE_PLACE_POINTS, count);
    for (uint32_t i = 0; i < count; i++) {
        SpatePosition at = from;
        at.east = spread(from.east, to.east, i % columns, columns);
        at.north = spread(from.north, to.north, i / columns, rows);
        placement->points[i] = spate_position_rolled(at);
    }
    return placement;
}

static SpatePlacement *
read_rectangle(SpateReader *reader, const SpateYamlPair *pair, const char *entry)
{
    Shape shape;
    SpatePosition from = {0}, to = {0};
    if (!read_shape(reader, &RECTANGLE, pair, &shape) || !read_corners(reader, &shape, &from, &to))
        return NULL;
    SpatePlacement *placement = new_placement(entry, SPATE_PLACE_RECTANGLE, 2);
    placement->points[0] = from;
    placement->points[1] = to;
    return placement;
}

static SpatePlacement *
read_circle(SpateReader *reader, const SpateYamlPair *pair, const char *entry)
{
    Shape shape;
    SpatePosition centre = {0};
    if (!read_shape(reader, &CIRCLE, pair, &shape) || !read_corner(reader, shape.centre, &centre))
        return NULL;
    SpatePlacement *placement = new_placement(entry, SPATE_PLACE_CIRCLE, 1);
    placement->points[0] = centre;
    placement->radius_m = shape.radius_m;
    return placement;
}

/* The list of `points` or `polygon`; NULL with a fault. */
static SpatePlacement *
read_list(SpateReader *reader, const SpateYamlPair *pair, const char *entry,
          const SpateTable *table, double height_m)
{
    size_t before = spate_faults_noted(reader->faults);
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return NULL;
    GPtrArray *items = pair->value->items;
    SpatePlacement *placement = new_placement(entry, SPATE_PLACE_POINTS, items->len);
    for (guint i = 0; i < items->len; i++) {
        const SpateYaml *item = g_ptr_array_index(items, i);
        placement->points[i].height_m = height_m;
        read_spot(reader, table, item->place, item, &placement->points[i]);
    }
    if (spate_faults_since(reader, before))
        g_clear_pointer(&placement, spate_placement_free);
    return placement;
}

/* Twice the area between corners, by the shoelace formula, in square metres or degrees. */
static double
shoelace(const SpatePlacement *polygon)
{
    double sum = 0;
    for (uint32_t i = 0; i < polygon->n_points; i++) {
        SpatePosition a = polygon->points[i], b = polygon->points[(i + 1) % polygon->n_points];
        sum += a.east * b.north - b.east * a.north;
    }
    return sum;
}

/* Counts longitudes on around the border.  False with a fault. */
static bool
count_around(SpateReader *reader, const SpateYamlPair *pair, SpatePlacement *polygon)
{
    SpatePosition *corners = polygon->points;
    for (uint32_t i = 1; i < polygon->n_points; i++) {
        const SpateYaml *item = g_ptr_array_index(pair->value->items, i);
        if (!count_on(reader, item->place, corners[i - 1], &corners[i]))
            return false;
    }
    SpatePosition last = corners[polygon->n_points - 1];
    if (!corners[0].is_geographic || fabs(last.longitude_deg - corners[0].longitude_deg) < 180.0)
        return true;
    spate_faults_note(reader->faults, pair->key_place,
                      "a circle, or polygons on both sides of the pole",
                      "this polygon goes around a pole");
    return false;
}

/* Corners that enclose next to nothing would leave nowhere to stand. */
static double
share_inside(const SpatePlacement *polygon)
{
    double width = 0, depth = 0;
    for (uint32_t i = 1; i < polygon->n_points; i++) {
        width = fmax(width, fabs(polygon->points[i].east - polygon->points[0].east));
        depth = fmax(depth, fabs(polygon->points[i].north - polygon->points[0].north));
    }
    bool has_area = polygon->n_points >= 3 && polygon->n_points <= 10000 &&
                    fabs(shoelace(polygon)) > 1e-3 * width * depth;
    return has_area ? spate_placement_share_inside(polygon) : 0;
}

/* Some seconds. */
#define MOST_LOOKS 4e9

static SpatePlacement *
read_polygon(SpateReader *reader, const SpateYamlPair *pair, const char *entry, uint32_t count)
{
    g_autoptr(SpatePlacement) placement = read_list(reader, pair, entry, &SPOT_FLAT, 0);
    if (placement == NULL || !count_around(reader, pair, placement))
        return NULL;
    placement->kind = SPATE_PLACE_POLYGON;
    double share = share_inside(placement);
    /* Each node looks along all corners until a draw lies inside. */
    if (share > 0 && count * (double)placement->n_points / share <= MOST_LOOKS)
        return g_steal_pointer(&placement);
    spate_faults_note(reader->faults, pair->key_place,
                      share > 0 ? "fewer nodes, fewer corners, or a polygon that fills its box"
                                : "give at least three corners, in order",
                      share > 0 ? "it would take too long to find places in this polygon"
                                : "these corners enclose no area");
    return NULL;
}

static SpatePlacement *
agree_with_count(SpateReader *reader, const SpateYamlPair *pair, SpatePlacement *placement,
                 const char *what, uint32_t *count)
{
    if (placement == NULL)
        return NULL;
    if (*count == UINT32_MAX)
        *count = placement->n_points;
    if (placement->n_points == *count)
        return placement;
    spate_faults_note(reader->faults, pair->key_place, "leave 'count' out, or make them agree",
                      "there are %u %s for %u nodes", placement->n_points, what, *count);
    spate_placement_free(placement);
    return NULL;
}

static SpatePlacement *
read_table(SpateReader *reader, const SpateYamlPair *pair, const char *entry, double height_m,
           SpateNodesWanted *wanted)
{
    wanted->rows = spate_read_node_table(reader, pair, height_m);
    if (wanted->rows == NULL)
        return NULL;
    SpatePlacement *placement = new_placement(entry, SPATE_PLACE_POINTS, wanted->rows->len);
    for (guint i = 0; i < wanted->rows->len; i++)
        placement->points[i] = g_array_index(wanted->rows, SpateNodeRow, i).position;
    return agree_with_count(reader, pair, placement, "rows", &wanted->count);
}

static SpatePlacement *
read_by_shape(SpateReader *reader, const SpateYamlPair *shape, const char *entry, double height_m,
              SpateNodesWanted *wanted)
{
    if (strcmp(shape->key, "points") == 0)
        return agree_with_count(reader, shape,
                                read_list(reader, shape, entry, &SPOT_HIGH, height_m), "points",
                                &wanted->count);
    if (strcmp(shape->key, "table") == 0)
        return read_table(reader, shape, entry, height_m, wanted);
    if (strcmp(shape->key, "circle") == 0)
        return read_circle(reader, shape, entry);
    if (strcmp(shape->key, "rectangle") == 0)
        return read_rectangle(reader, shape, entry);
    if (strcmp(shape->key, "polygon") == 0)
        return read_polygon(reader, shape, entry, wanted->count);
    uint32_t count = wanted->count == UINT32_MAX ? 0 : wanted->count;
    bool is_grid = strcmp(shape->key, "grid") == 0;
    SpatePlacement *placement =
        is_grid ? read_grid(reader, shape, entry, count) : read_line(reader, shape, entry, count);
    for (uint32_t i = 0; placement != NULL && i < placement->n_points; i++)
        placement->points[i].height_m = height_m;
    return placement;
}

SpatePlacement *
spate_read_placement(SpateReader *reader, const SpateYamlPair *pair, const char *entry,
                     SpateNodesWanted *wanted)
{
    static const char *const shapes[] = {"grid", "circle", "rectangle", "polygon",
                                         "line", "points", "table",     NULL};
    PlaceDraft draft = {.height_m = DEFAULT_HEIGHT_M, .redraw = true};
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key) ||
        !spate_read_map(reader, &PLACE, 0, pair->key_place, pair->value, &draft))
        return NULL;
    const SpateYamlPair *shape = spate_only_one(reader, pair->value, shapes);
    if (shape == NULL)
        spate_faults_note(reader->faults, pair->key_place,
                          "grid, circle, rectangle, polygon, line, points or table",
                          "'place' has no shape");
    SpatePlacement *placement =
        shape != NULL ? read_by_shape(reader, shape, entry, draft.height_m, wanted) : NULL;
    if (placement == NULL)
        return NULL;
    placement->height_m = draft.height_m;
    placement->redraw = placement->kind != SPATE_PLACE_POINTS && draft.redraw;
    const SpateYamlPair *redraw = spate_yaml_pair(pair->value, "redraw");
    if (placement->kind == SPATE_PLACE_POINTS && redraw != NULL)
        spate_faults_note(reader->faults, redraw->key_place,
                          "leave it out; it applies to circle, rectangle or polygon",
                          "'redraw' does not apply to a %s: its places are not random", shape->key);
    return placement;
}
