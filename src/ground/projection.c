/* projection.c - from WGS 84 to the system of a map and back, by PROJ */
#include "ground/projection.h"

#include "ground/proj.h"
#include <math.h>

#define WGS_84 "+proj=longlat +datum=WGS84 +no_defs +type=crs"

typedef struct {
    PJ_CONTEXT *context;
    PJ *way;
} Way;

struct SpateProjection {
    char *definition;
    GMutex mutex;
    GPtrArray *idle; /* Way */
};

static void
free_way(gpointer user)
{
    Way *way = user;
    spate_proj()->proj_destroy(way->way);
    spate_proj()->proj_context_destroy(way->context);
    g_free(way);
}

/* NULL on failure. */
static Way *
new_way(const char *definition)
{
    Way *way = g_new0(Way, 1);
    way->context = spate_proj()->proj_context_create();
    spate_proj()->proj_log_level(way->context, PJ_LOG_NONE);
    PJ *found = spate_proj()->proj_create_crs_to_crs(way->context, WGS_84, definition, NULL);
    if (found != NULL)
        way->way = spate_proj()->proj_normalize_for_visualization(way->context, found);
    spate_proj()->proj_destroy(found);
    if (way->way == NULL)
        g_clear_pointer(&way, free_way);
    return way;
}

SpateProjection *
spate_projection_new(const char *definition)
{
    Way *first = new_way(definition);
    if (first == NULL)
        return NULL;
    SpateProjection *projection = g_new0(SpateProjection, 1);
    g_mutex_init(&projection->mutex);
    projection->definition = g_strdup(definition);
    projection->idle = g_ptr_array_new_with_free_func(free_way);
    g_ptr_array_add(projection->idle, first);
    return projection;
}

void
spate_projection_free(SpateProjection *projection)
{
    if (projection == NULL)
        return;
    g_ptr_array_unref(projection->idle);
    g_mutex_clear(&projection->mutex);
    g_free(projection->definition);
    g_free(projection);
}

static Way *
take_way(SpateProjection *projection)
{
    g_mutex_lock(&projection->mutex);
    guint n = projection->idle->len;
    Way *way = n > 0 ? g_ptr_array_steal_index_fast(projection->idle, n - 1) : NULL;
    g_mutex_unlock(&projection->mutex);
    return way != NULL ? way : new_way(projection->definition);
}

static void
give_back(SpateProjection *projection, Way *way)
{
    g_mutex_lock(&projection->mutex);
    g_ptr_array_add(projection->idle, way);
    g_mutex_unlock(&projection->mutex);
}

static void
transform(SpateProjection *projection, PJ_DIRECTION direction, double (*places)[2], size_t n)
{
    Way *way = take_way(projection);
    g_assert(way != NULL); /* the first of its kind was made */
    for (size_t i = 0; i < n; i++) {
        PJ_COORD there = spate_proj()->proj_trans(
            way->way, direction, (PJ_COORD){.v = {places[i][0], places[i][1], 0.0, HUGE_VAL}});
        bool is_there = isfinite(there.xy.x) && isfinite(there.xy.y);
        places[i][0] = is_there ? there.xy.x : NAN;
        places[i][1] = is_there ? there.xy.y : NAN;
    }
    give_back(projection, way);
}

void
spate_projection_from_globe(SpateProjection *projection, double (*places)[2], size_t n)
{
    transform(projection, PJ_FWD, places, n);
}

void
spate_projection_to_globe(SpateProjection *projection, double (*places)[2], size_t n)
{
    transform(projection, PJ_INV, places, n);
}
