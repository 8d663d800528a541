/* detail-relief.c - the ground under a map, as light from one side shows it */
#include "study/detail/detail-relief.h"

#include "ground/hillshade.h"
#include <math.h>

void
spate_relief_free(SpateRelief *relief)
{
    if (relief == NULL)
        return;
    g_free(relief->shades);
    g_free(relief);
}

/* The height model that all lie over; NULL where they do not. */
static const SpateTerrain *
common_terrain(const SpateWorld *const *worlds, size_t n_worlds)
{
    const SpateScenario *first = spate_world_scenario(worlds[0]);
    for (size_t i = 0; i < n_worlds; i++) {
        const SpateScenario *scenario = spate_world_scenario(worlds[i]);
        if (scenario->terrain == NULL || scenario->is_geographic != first->is_geographic ||
            !g_str_equal(spate_raster_sha256(spate_terrain_raster(scenario->terrain)),
                         spate_raster_sha256(spate_terrain_raster(first->terrain))))
            return NULL;
    }
    return first->terrain;
}

/* Where nodes are and where they go. */
static SpateArea
area_of(const SpateWorld *const *worlds, size_t n_worlds)
{
    g_autoptr(GArray) places = g_array_new(FALSE, FALSE, sizeof(SpatePosition));
    for (size_t i = 0; i < n_worlds; i++) {
        const SpateScenario *scenario = spate_world_scenario(worlds[i]);
        for (uint32_t n = 0; n < scenario->n_nodes; n++) {
            const SpateMoves *moves = &scenario->nodes[n].moves;
            SpatePosition at = spate_world_position(worlds[i], n, 0);
            g_array_append_val(places, at);
            for (uint32_t k = 0; k < moves->n_points; k++)
                g_array_append_val(places, moves->points[k]);
        }
    }
    return spate_area_around((const SpatePosition *)(const void *)places->data, places->len);
}

/* NAN: there is no ground. */
static double *
heights_of(const SpateTerrain *terrain, const SpateGrid *grid)
{
    double *heights_m = g_new(double, (size_t)grid->n_columns * grid->n_rows);
    for (uint32_t row = 0; row < grid->n_rows; row++)
        for (uint32_t column = 0; column < grid->n_columns; column++) {
            SpatePosition place = spate_grid_centre(grid, column, row, 0.0);
            bool is_there = spate_terrain_settle(terrain, &place, NULL);
            heights_m[(size_t)row * grid->n_columns + column] = is_there ? place.ground_m : NAN;
        }
    return heights_m;
}

/* Of all but the outer points, which only serve their neighbours.  False where none has a shade. */
static bool
fill_shades(double *shades, const SpateGrid *grid, const double *heights_m)
{
    bool is_any = false;
    for (uint32_t row = 1; row + 1 < grid->n_rows; row++) {
        double east_m = spate_ground_distance_m(spate_grid_centre(grid, 0, row, 0.0),
                                                spate_grid_centre(grid, 1, row, 0.0));
        for (uint32_t column = 1; column + 1 < grid->n_columns; column++) {
            double around_m[9];
            for (uint32_t k = 0; k < 9; k++)
                around_m[k] =
                    heights_m[(size_t)(row + k / 3 - 1) * grid->n_columns + column + k % 3 - 1];
            *shades = spate_hillshade(around_m, east_m, grid->cell_m);
            is_any = is_any || !isnan(*shades);
            shades++;
        }
    }
    return is_any;
}

SpateRelief *
spate_relief_new(const SpateWorld *const *worlds, size_t n_worlds)
{
    const SpateTerrain *terrain = common_terrain(worlds, n_worlds);
    if (terrain == NULL)
        return NULL;
    const SpateRaster *raster = spate_terrain_raster(terrain);
    SpateArea area = area_of(worlds, n_worlds);
    double width_m, height_m, margin_m = spate_area_margin_m(&area);
    spate_area_sides_m(&area, &width_m, &height_m);
    double side_m = fmax(width_m, height_m) + 2.0 * margin_m;
    double cell_m = fmax(side_m / SPATE_RELIEF_SIDE, spate_raster_cell_m(raster));
    SpateGrid grid;
    if (!spate_grid_lay(&grid, area, margin_m + cell_m, cell_m, SPATE_GRID_MOST_CELLS, NULL))
        return NULL;
    g_autofree double *heights_m = heights_of(terrain, &grid);
    g_autoptr(SpateRelief) relief = g_new0(SpateRelief, 1);
    relief->elevation = spate_raster_name(raster);
    relief->shades = g_new(double, (size_t)grid.n_columns *grid.n_rows);
    if (!fill_shades(relief->shades, &grid, heights_m))
        return NULL;
    relief->grid = grid;
    relief->grid.west += grid.width;
    relief->grid.south += grid.height;
    relief->grid.n_columns -= 2;
    relief->grid.n_rows -= 2;
    return g_steal_pointer(&relief);
}
