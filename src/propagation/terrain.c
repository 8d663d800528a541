/* terrain.c - the ground under antennas and between them */
#include "propagation/terrain.h"

#include "propagation/path-loss.h"
#include <math.h>

#define MEAN_EARTH_RADIUS_M 6371e3 /* docs/model.md */

#define LEAST_STEPS 10
#define MOST_STEPS  10e6

/* A glance at a path is at so many of its points, where that spares most of them. */
#define GLANCE_STEPS 16
#define LEAST_SHARE  4

/* On the ellipsoid, cells are worked out at stations not farther apart than this, and by the cubic
 * through four of them in between.  A cubic is off by h^4 f'''' / 24 at most.  Of a geodesic on a
 * map f'''' is about tan^3(latitude) / R^3: a hundredth of a millimetre at 45 degrees, a fifth of
 * one at
 * 70.  Nearer the poles, and over paths that may come near them, every cell is worked out. */
#define STATION_M         10e3
#define MOST_LATITUDE_DEG 70.0
#define LONGEST_SMOOTH_M  500e3
#define MOST_STATIONS     64

struct SpateTerrain {
    SpateRaster *raster;
    double earth_radius_m;
};

SpateTerrain *
spate_terrain_new(SpateRaster *raster, double earth_radius_factor)
{
    SpateTerrain *terrain = g_new0(SpateTerrain, 1);
    terrain->raster = spate_raster_ref(raster);
    terrain->earth_radius_m = earth_radius_factor * MEAN_EARTH_RADIUS_M;
    return terrain;
}

void
spate_terrain_free(SpateTerrain *terrain)
{
    if (terrain == NULL)
        return;
    spate_raster_unref(terrain->raster);
    g_free(terrain);
}

const SpateRaster *
spate_terrain_raster(const SpateTerrain *terrain)
{
    return terrain->raster;
}

double
spate_terrain_earth_radius_m(const SpateTerrain *terrain)
{
    return terrain->earth_radius_m;
}

/* ---- errors ---------------------------------------------------------------------------------- */

static char *
place_text(SpatePosition at)
{
    return at.is_geographic
               ? g_strdup_printf("lat %.6f deg, lon %.6f deg", at.latitude_deg, at.longitude_deg)
               : g_strdup_printf("x %.0f m, y %.0f m", at.x_m, at.y_m);
}

/* `what` is there: "the place" or "the path". */
static void
set_gap_error(GError **error, SpateGap gap, const char *what, SpatePosition at)
{
    if (error == NULL)
        return;
    g_autofree char *place = place_text(at);
    switch (gap) {
    case SPATE_GAP_NONE:
        g_assert_not_reached();
    case SPATE_GAP_OUTSIDE:
        g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE,
                    "%s lies outside the height model at %s", what, place);
        return;
    case SPATE_GAP_NO_DATA:
        g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE,
                    "the height model has no data for %s at %s", what, place);
        return;
    case SPATE_GAP_UNREADABLE:
        g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE,
                    "the height model cannot be read for %s at %s: the file is damaged", what,
                    place);
        return;
    case SPATE_GAP_TOO_MUCH:
        g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE,
                    "%s needs more of the height model than the 2 GB that are held, at %s", what,
                    place);
        return;
    }
}

/* ---- places ---------------------------------------------------------------------------------- */

static void
cells_of(const SpateTerrain *terrain, const SpatePosition *places, size_t n, SpateGridPoint *cells)
{
    if (!places[0].is_geographic) {
        for (size_t i = 0; i < n; i++)
            cells[i] = spate_raster_cell_of_plane(terrain->raster, places[i].x_m, places[i].y_m);
        return;
    }
    double few[MOST_STATIONS][2];
    g_autofree double(*many)[2] = n > MOST_STATIONS ? g_malloc(n * sizeof many[0]) : NULL;
    double(*degrees)[2] = many != NULL ? many : few;
    for (size_t i = 0; i < n; i++) {
        degrees[i][0] = places[i].longitude_deg;
        degrees[i][1] = places[i].latitude_deg;
    }
    spate_raster_cells_of_globe(terrain->raster, degrees, n, cells);
}

bool
spate_terrain_settle(const SpateTerrain *terrain, SpatePosition *position, GError **error)
{
    SpateGridPoint cell;
    SpateGap gap;
    cells_of(terrain, position, 1, &cell);
    if (spate_raster_heights_m(terrain->raster, &cell, 1, &position->ground_m, &gap) == 1)
        return true;
    set_gap_error(error, gap, "the place", *position);
    return false;
}

/* ---- paths ----------------------------------------------------------------------------------- */

/* Room for a path, kept by each thread. */
typedef struct {
    size_t n_room;
    SpateGridPoint *cells;
    double *distance_m, *ground_m;
} Room;

static void
free_room(gpointer user)
{
    Room *room = user;
    g_free(room->cells);
    g_free(room->distance_m);
    g_free(room->ground_m);
    g_free(room);
}

static Room *
room_for(size_t n)
{
    static GPrivate rooms = G_PRIVATE_INIT(free_room);
    Room *room = g_private_get(&rooms);
    if (room == NULL) {
        room = g_new0(Room, 1);
        g_private_set(&rooms, room);
    }
    if (n > room->n_room) {
        room->n_room = n + n / 2;
        room->cells = g_renew(SpateGridPoint, room->cells, room->n_room);
        room->distance_m = g_renew(double, room->distance_m, room->n_room);
        room->ground_m = g_renew(double, room->ground_m, room->n_room);
    }
    return room;
}

/* The straight line, or the geodesic. */
typedef struct {
    SpatePosition from, to;
    double length_m;
    double bearing_deg; /* on the ellipsoid */
    size_t n_steps;
} Path;

static SpatePosition
place_on(const Path *path, double share)
{
    return path->from.is_geographic
               ? spate_position_towards(path->from, path->bearing_deg, share * path->length_m)
               : spate_position_between(path->from, path->to, share);
}

/* Of every so many points of the profile from its first on, and of its last. */
static void
cells_in_plane(const SpateTerrain *terrain, const Path *path, size_t every, SpateGridPoint *cells)
{
    const SpatePosition ends[2] = {path->from, path->to};
    SpateGridPoint between[2];
    cells_of(terrain, ends, 2, between);
    double n = (double)path->n_steps;
    double columns = (between[1].column - between[0].column) / n;
    double rows = (between[1].row - between[0].row) / n;
    for (size_t i = 0; i < path->n_steps; i += every) {
        cells->column = between[0].column + (double)i * columns;
        cells->row = between[0].row + (double)i * rows;
        cells++;
    }
    *cells = between[1];
}

/* Places at equal steps; of these every so many and the last. */
static void
cells_at_stations(const SpateTerrain *terrain, const Path *path, size_t n_steps, size_t every,
                  SpateGridPoint *cells)
{
    SpatePosition few[MOST_STATIONS];
    size_t n = (n_steps - 1) / every + 2;
    g_autofree SpatePosition *many = n > MOST_STATIONS ? g_new(SpatePosition, n) : NULL;
    SpatePosition *places = many != NULL ? many : few;
    for (size_t i = 0; i + 1 < n; i++)
        places[i] = place_on(path, (double)(i * every) / (double)n_steps);
    places[n - 1] = path->to;
    cells_of(terrain, places, n, cells);
}

/* Through four places at 0, 1, 2 and 3. */
static SpateGridPoint
cubic(double t, const SpateGridPoint *places)
{
    double before = t * (t - 1.0), after = (t - 2.0) * (t - 3.0);
    const double shares[4] = {(t - 1.0) * after / -6.0, t * after / 2.0, before * (t - 3.0) / -2.0,
                              before * (t - 2.0) / 6.0};
    SpateGridPoint there = {0.0, 0.0};
    for (int i = 0; i < 4; i++) {
        there.column += shares[i] * places[i].column;
        there.row += shares[i] * places[i].row;
    }
    return there;
}

static void
cells_on_globe(const SpateTerrain *terrain, const Path *path, size_t every, SpateGridPoint *cells)
{
    size_t n_stations = 3 * MAX((size_t)ceil(path->length_m / (3.0 * STATION_M)), 1);
    if (n_stations >= path->n_steps || path->length_m > LONGEST_SMOOTH_M ||
        fabs(path->from.latitude_deg) > MOST_LATITUDE_DEG ||
        fabs(path->to.latitude_deg) > MOST_LATITUDE_DEG) {
        cells_at_stations(terrain, path, path->n_steps, every, cells);
        return;
    }
    SpateGridPoint stations[MOST_STATIONS];
    g_assert(n_stations < MOST_STATIONS);
    cells_at_stations(terrain, path, n_stations, 1, stations);
    double step = (double)n_stations / (double)path->n_steps;
    for (size_t i = 0; i < path->n_steps; i += every) {
        double at = (double)i * step;
        size_t first = MIN((size_t)at / 3 * 3, n_stations - 3);
        *cells++ = cubic(at - (double)first, &stations[first]);
    }
    *cells = stations[n_stations];
}

/* False with an error where the path is absurdly long; without length, n_steps is 0. */
static bool
path_between(const SpateTerrain *terrain, SpatePosition from, SpatePosition to, Path *path,
             GError **error)
{
    *path = (Path){.from = from, .to = to, .length_m = spate_ground_distance_m(from, to)};
    if (!(path->length_m > 0.0))
        return true;
    if (from.is_geographic)
        path->bearing_deg = spate_bearing_deg(from, to);
    double n_steps = ceil(path->length_m / spate_raster_cell_m(terrain->raster));
    path->n_steps = (size_t)CLAMP(n_steps, LEAST_STEPS, MOST_STEPS);
    if (n_steps <= MOST_STEPS)
        return true;
    g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE,
                "the path crosses more than 10 million cells of the height model");
    return false;
}

/* The profile, or of its points every so many and the last; it stays in this thread's room.  False
 * with an error where there is no ground. */
static bool
walk(const SpateTerrain *terrain, const Path *path, size_t every, SpateProfile *profile,
     GError **error)
{
    size_t n = (path->n_steps - 1) / every + 2;
    Room *room = room_for(n);
    if (path->from.is_geographic)
        cells_on_globe(terrain, path, every, room->cells);
    else
        cells_in_plane(terrain, path, every, room->cells);
    SpateGap gap;
    size_t n_known = spate_raster_heights_m(terrain->raster, room->cells, n, room->ground_m, &gap);
    if (n_known < n) {
        if (error != NULL)
            set_gap_error(error, gap, "the path",
                          place_on(path, (double)MIN(n_known * every, path->n_steps) /
                                             (double)path->n_steps));
        return false;
    }
    double step_m = path->length_m / (double)path->n_steps;
    for (size_t i = 0; i + 1 < n; i++)
        room->distance_m[i] = (double)(i * every) * step_m;
    room->distance_m[n - 1] = path->length_m;
    *profile = (SpateProfile){
        .distance_m = room->distance_m,
        .ground_m = room->ground_m,
        .n_points = n,
        .first_m = room->ground_m[0] + path->from.height_m,
        .last_m = room->ground_m[n - 1] + path->to.height_m,
    };
    return true;
}

/* An order of places, so that both ways are worked out as one: the same to the last bit. */
static bool
comes_first(SpatePosition a, SpatePosition b)
{
    if (a.x_m != b.x_m)
        return a.x_m < b.x_m;
    return a.y_m != b.y_m ? a.y_m < b.y_m : a.height_m <= b.height_m;
}

static bool
path_in_order(const SpateTerrain *terrain, SpatePosition a, SpatePosition b, Path *path,
              GError **error)
{
    bool is_in_order = comes_first(a, b);
    return path_between(terrain, is_in_order ? a : b, is_in_order ? b : a, path, error);
}

bool
spate_terrain_obstacle(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                       SpateObstacle *obstacle, GError **error)
{
    Path path;
    SpateProfile profile;
    if (!path_in_order(terrain, a, b, &path, error))
        return false;
    *obstacle = (SpateObstacle){0};
    if (path.n_steps == 0)
        return true;
    if (!walk(terrain, &path, 1, &profile, error))
        return false;
    *obstacle = spate_profile_obstacle(&profile, terrain->earth_radius_m);
    return true;
}

double
spate_terrain_least_loss_db(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                            double frequency_hz)
{
    Path path;
    SpateProfile profile;
    if (!path_in_order(terrain, a, b, &path, NULL))
        return 0.0;
    size_t every = path.n_steps / GLANCE_STEPS;
    if (every < LEAST_SHARE || !walk(terrain, &path, every, &profile, NULL))
        return 0.0;
    double edge = spate_profile_edge(&profile, terrain->earth_radius_m);
    return spate_bullington_db(edge, path.length_m, frequency_hz);
}

bool
spate_terrain_append_ground(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                            GArray *ground_m, GError **error)
{
    Path path;
    SpateProfile profile;
    if (!path_between(terrain, a, b, &path, error))
        return false;
    if (path.n_steps == 0) {
        if (!spate_terrain_settle(terrain, &a, error))
            return false;
        g_array_append_val(ground_m, a.ground_m);
        return true;
    }
    if (!walk(terrain, &path, 1, &profile, error))
        return false;
    g_array_append_vals(ground_m, profile.ground_m, (guint)profile.n_points);
    return true;
}

bool
spate_terrain_covers(const SpateTerrain *terrain, SpatePosition a, SpatePosition b, GError **error)
{
    SpateObstacle obstacle;
    return spate_terrain_settle(terrain, &a, error) &&
           spate_terrain_obstacle(terrain, a, b, &obstacle, error);
}

double
spate_terrain_loss_db(const SpateObstacle *obstacle, double frequency_hz)
{
    return obstacle->distance_m > 0.0 ? spate_diffraction_db(obstacle, frequency_hz) : 0.0;
}
