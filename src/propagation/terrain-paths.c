/* terrain-paths.c - what stands between all pairs of many places, worked out once */
#include "propagation/terrain-paths.h"

#include <math.h>
#include <stdlib.h>

#define MOST_PAIRS UINT64_C(5000000)

/* As SpateObstacle, without what all have in common. */
typedef struct {
    double distance_m; /* NAN: there is no ground */
    double edge, smooth_edge, first_m, last_m;
} Known;

struct SpateTerrainPaths {
    const SpateTerrain *terrain;
    SpatePosition *places; /* the wanted ones */
    uint32_t n;
    uint32_t *number; /* by place: its number among these; UINT32_MAX: not wanted */
    Known *pairs;     /* of numbers i < k: [k (k - 1) / 2 + i] */
    gint next;        /* the row that a thread takes next */
};

static size_t
pair_at(uint32_t i, uint32_t k)
{
    return (size_t)k * (k - 1) / 2 + i;
}

typedef struct {
    double angle;
    uint32_t number;
} Bound;

static int
by_angle(const void *a, const void *b)
{
    const Bound *left = a, *right = b;
    return left->angle < right->angle ? -1 : left->angle > right->angle;
}

/* All paths from k to those before it, all around: neighbours need much the same of the ground, and
 * find it in the cache. */
static void
fill_row(SpateTerrainPaths *paths, uint32_t k)
{
    g_autofree Bound *bound = g_new(Bound, MAX(k, 1));
    SpatePosition here = paths->places[k];
    for (uint32_t i = 0; i < k; i++)
        bound[i] = (Bound){
            atan2(paths->places[i].north - here.north, paths->places[i].east - here.east), i};
    qsort(bound, k, sizeof bound[0], by_angle);
    for (uint32_t b = 0; b < k; b++) {
        uint32_t i = bound[b].number;
        SpateObstacle found;
        bool is_known =
            spate_terrain_obstacle(paths->terrain, paths->places[i], here, &found, NULL);
        paths->pairs[pair_at(i, k)] = is_known
                                          ? (Known){found.distance_m, found.edge, found.smooth_edge,
                                                    found.first_m, found.last_m}
                                          : (Known){.distance_m = NAN};
    }
}

/* Long rows first, so that all threads are done at about the same time. */
static gpointer
fill_rows(gpointer user)
{
    SpateTerrainPaths *paths = user;
    for (;;) {
        uint32_t taken = (uint32_t)g_atomic_int_add(&paths->next, 1);
        if (taken >= paths->n)
            return NULL;
        fill_row(paths, paths->n - 1 - taken);
    }
}

static void
fill(SpateTerrainPaths *paths, unsigned n_threads)
{
    g_autoptr(GPtrArray) threads = g_ptr_array_new();
    for (unsigned i = 1; i < MIN(n_threads, paths->n); i++)
        g_ptr_array_add(threads, g_thread_new("paths", fill_rows, paths));
    fill_rows(paths);
    for (guint i = 0; i < threads->len; i++)
        g_thread_join(g_ptr_array_index(threads, i));
}

SpateTerrainPaths *
spate_terrain_paths_new(const SpateTerrain *terrain, const SpatePosition *places,
                        const bool *wanted, uint32_t n_places, unsigned n_threads)
{
    uint64_t n = 0;
    for (uint32_t i = 0; i < n_places; i++)
        n += wanted[i];
    if (n * (n + 1) / 2 > MOST_PAIRS)
        return NULL;
    SpateTerrainPaths *paths = g_new0(SpateTerrainPaths, 1);
    paths->terrain = terrain;
    paths->places = g_new(SpatePosition, MAX(n, 1));
    paths->number = g_new(uint32_t, MAX(n_places, 1));
    for (uint32_t i = 0; i < n_places; i++) {
        paths->number[i] = wanted[i] ? paths->n : UINT32_MAX;
        if (wanted[i])
            paths->places[paths->n++] = places[i];
    }
    paths->pairs = g_new(Known, MAX(pair_at(0, paths->n + 1), 1));
    fill(paths, n_threads);
    return paths;
}

void
spate_terrain_paths_free(SpateTerrainPaths *paths)
{
    if (paths == NULL)
        return;
    g_free(paths->places);
    g_free(paths->number);
    g_free(paths->pairs);
    g_free(paths);
}

static bool
is_there(SpatePosition was, SpatePosition is)
{
    return was.x_m == is.x_m && was.y_m == is.y_m && was.height_m == is.height_m;
}

bool
spate_terrain_paths_find(const SpateTerrainPaths *paths, uint32_t a, SpatePosition at_a, uint32_t b,
                         SpatePosition at_b, SpateObstacle *obstacle)
{
    uint32_t i = paths->number[a], k = paths->number[b];
    if (i == UINT32_MAX || k == UINT32_MAX || i == k || !is_there(paths->places[i], at_a) ||
        !is_there(paths->places[k], at_b))
        return false;
    const Known *known = &paths->pairs[pair_at(MIN(i, k), MAX(i, k))];
    if (isnan(known->distance_m))
        return false;
    *obstacle = (SpateObstacle){
        .distance_m = known->distance_m,
        .earth_radius_m = spate_terrain_earth_radius_m(paths->terrain),
        .edge = known->edge,
        .smooth_edge = known->smooth_edge,
        .first_m = known->first_m,
        .last_m = known->last_m,
    };
    return true;
}
