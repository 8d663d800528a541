/* globe.c - where nodes are on the earth */
#include "cli/globe.h"

#include "cli/cli.h"
#include "document/geojson.h"

/* Whether it is there now. */
static bool
move_to_globe(SpatePosition *place, const SpateRaster *raster)
{
    if (place->is_geographic)
        return true;
    if (raster == NULL || spate_raster_system(raster) != SPATE_RASTER_PROJECTED)
        return false;
    double longitude_deg, latitude_deg;
    if (!spate_raster_plane_to_globe(raster, place->x_m, place->y_m, &longitude_deg, &latitude_deg))
        return false;
    place->longitude_deg = longitude_deg;
    place->latitude_deg = latitude_deg;
    place->is_geographic = true;
    return true;
}

SpatePosition *
cli_globe_places(const SpateWorld *world, CliStatus *status)
{
    const SpateScenario *scenario = spate_world_scenario(world);
    const SpateTerrain *terrain = scenario->terrain;
    const SpateRaster *raster = terrain != NULL ? spate_terrain_raster(terrain) : NULL;
    g_autofree SpatePosition *places = g_new(SpatePosition, scenario->n_nodes + 1u);
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        places[i] = spate_world_position(world, i, 0);
        if (!move_to_globe(&places[i], raster)) {
            *status = cli_complain(
                CLI_USAGE, "--format geojson: places in x and y are nowhere on the earth; give the "
                           "nodes lat and lon, or a terrain whose file says where its plane lies");
            return NULL;
        }
    }
    return g_steal_pointer(&places);
}

void
cli_globe_append_feature(GString *text, const SpatePosition *at, const SpatePosition *to,
                         const SpateForm *form, gconstpointer properties)
{
    g_string_append(text, "{\"type\": \"Feature\", \"geometry\": ");
    if (to == NULL)
        spate_geojson_append_point(text, at->longitude_deg, at->latitude_deg);
    else
        spate_geojson_append_line(text, (double[]){at->longitude_deg, at->latitude_deg},
                                  (double[]){to->longitude_deg, to->latitude_deg});
    g_string_append(text, ", \"properties\": ");
    spate_form_append(text, form, properties);
    g_string_append_c(text, '}');
}
