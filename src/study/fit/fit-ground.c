/* fit-ground.c - what the ground takes from the samples of a walk */
#include "study/fit/fit-ground.h"

#include <math.h>

/* Of a table that has samples: all say their places in one way. */
static const SpateWalkSample *
first_of(const SpateWalk *walk)
{
    return walk->samples->len > 0 ? &g_array_index(walk->samples, SpateWalkSample, 0) : NULL;
}

bool
spate_fit_has_only_distances(const SpateWalk *walk)
{
    const SpateWalkSample *first = first_of(walk);
    return first != NULL && first->is_apart;
}

bool
spate_fit_takes_places(const SpateTerrain *terrain, const SpateWalk *walk, SpateFaults *faults)
{
    const SpateWalkSample *first = first_of(walk);
    SpateRasterSystem system = spate_raster_system(spate_terrain_raster(terrain));
    if (first == NULL)
        return true;
    if (first->from.is_geographic && system == SPATE_RASTER_LOCAL) {
        spate_faults_note(faults, walk->head,
                          "a .prj file beside it says so, or the places are given by x and y",
                          "the height model does not say where on earth it lies, and the places "
                          "are in lat and lon");
        return false;
    }
    if (!first->from.is_geographic && system != SPATE_RASTER_LOCAL &&
        system != SPATE_RASTER_PROJECTED) {
        spate_faults_note(faults, walk->head, "a height model in metres, or places in lat and lon",
                          "the height model is in %s, and the places are in x and y, in metres",
                          system == SPATE_RASTER_GEOGRAPHIC ? "degrees"
                                                            : "a unit other than metres");
        return false;
    }
    return true;
}

bool
spate_fit_settle(const SpateTerrain *terrain, double frequency_hz, SpatePlace row,
                 SpateLossSample *sample, SpateFaults *faults)
{
    g_autoptr(GError) error = NULL;
    SpateObstacle obstacle;
    if (!spate_terrain_settle(terrain, &sample->from, &error) ||
        !spate_terrain_settle(terrain, &sample->to, &error) ||
        !spate_terrain_obstacle(terrain, sample->from, sample->to, &obstacle, &error)) {
        spate_faults_note(faults, row,
                          "leave out the row, or use a height model that reaches there", "%s",
                          error->message);
        return false;
    }
    sample->diffraction_db = spate_terrain_loss_db(&obstacle, frequency_hz);
    return true;
}
