/* read-terrain.c - `terrain:` at the top: the height model */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-sections.h"

#include <math.h>

typedef struct {
    const SpateYamlPair *elevation;
    double earth_radius_factor;
} Draft;

/* 4/3 is the median of temperate climates (Recommendation ITU-R P.530); waves may also be bent away
 * from the earth (below 1), or along it (beyond all bounds). */
static const SpateField TERRAIN_FIELDS[] = {
    {SPATE_PAIR("elevation", Draft, elevation), .required = true},
    {SPATE_NUMBER("earth-radius-factor", Draft, earth_radius_factor, NUMBER, 0.1, 1e6)},
};
static const SpateTable TERRAIN = SPATE_TABLE("terrain", TERRAIN_FIELDS, NULL);

/* Whether places as the nodes give theirs can be found on it; false with a fault. */
static bool
fits_places(SpateReader *reader, const SpateYaml *name, const SpateRaster *raster)
{
    static const char *const PLANE_HINT =
        "a height model in metres, or nodes that are given by lat and lon";
    SpateFaults *faults = reader->faults;
    SpateRasterSystem system = spate_raster_system(raster);
    switch (reader->geo) {
    case SPATE_GEO_UNKNOWN:
        return true;
    case SPATE_GEO_GLOBE:
        if (system != SPATE_RASTER_LOCAL)
            return true;
        spate_faults_note(faults, name->place,
                          "a .prj file beside it says so, or the nodes are given by x and y",
                          "'%s' does not say where on earth it lies, and the nodes are in lat "
                          "and lon",
                          name->text);
        return false;
    case SPATE_GEO_PLANE:
        if (system == SPATE_RASTER_LOCAL || system == SPATE_RASTER_PROJECTED)
            return true;
        spate_faults_note(faults, name->place, PLANE_HINT,
                          "'%s' is in %s, and the nodes are in x and y, in metres", name->text,
                          system == SPATE_RASTER_GEOGRAPHIC ? "degrees"
                                                            : "a unit other than metres");
        return false;
    }
    g_assert_not_reached();
}

void
spate_read_terrain(SpateReader *reader, const SpateYamlPair *pair)
{
    Draft draft = {.earth_radius_factor = 4.0 / 3.0};
    size_t before = spate_faults_noted(reader->faults);
    reader->has_terrain = true;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key) ||
        !spate_read_map(reader, &TERRAIN, 0, pair->key_place, pair->value, &draft) ||
        spate_faults_since(reader, before))
        return;
    const SpateYaml *name = draft.elevation->value;
    if (!spate_is_kind(reader, name, SPATE_YAML_SCALAR, draft.elevation->key))
        return;
    SpateRaster *raster =
        spate_tables_find_raster(reader->tables, name->text, name->place, reader->faults);
    if (raster != NULL && fits_places(reader, name, raster))
        reader->scenario->terrain = spate_terrain_new(raster, draft.earth_radius_factor);
}
