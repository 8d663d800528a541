/* map-points.c - points of a map as a table of nodes */
#include "scenario/text/map-points.h"

#include "ground/gdal.h"
#include <string.h>

static const struct {
    const char *suffix, *name;
    bool has_columns; /* other properties than the name are those of the user */
    const char *drivers[3];
} FORMATS[] = {
    {".geojson", "GeoJSON", true, {"GeoJSON"}},
    {".gpx", "GPX", false, {"GPX"}},
    {".kml", "KML", false, {"LIBKML", "KML"}},
};

static int
format_of(const char *path)
{
    g_autofree char *lower = g_ascii_strdown(path, -1);
    for (size_t i = 0; i < G_N_ELEMENTS(FORMATS); i++)
        if (g_str_has_suffix(lower, FORMATS[i].suffix))
            return (int)i;
    return -1;
}

const char *
spate_map_format(const char *path)
{
    int format = format_of(path);
    return format < 0 ? NULL : FORMATS[format].name;
}

#ifdef SPATE_HAS_GDAL

typedef struct {
    int format, origin;
    SpateCsvTable *table;
    GPtrArray *units; /* char *, of the columns; NULL: cells bear their own */
    SpateFaults *faults;
    int n_features;
} Reader;

static int
column_of(Reader *reader, const char *key, SpatePlace place)
{
    g_autofree char *name = g_strdup(key);
    g_autofree char *unit = spate_csv_cut_unit(name);
    GArray *columns = reader->table->columns->pairs;
    for (guint i = 0; i < columns->len; i++)
        if (strcmp(g_array_index(columns, SpateYamlPair, i).key, name) == 0)
            return (int)i;
    SpateYamlPair pair = {g_steal_pointer(&name), place, spate_yaml_new(SPATE_YAML_SCALAR, place)};
    pair.value->text = g_strdup("");
    g_array_append_val(columns, pair);
    g_ptr_array_add(reader->units, g_steal_pointer(&unit));
    return (int)columns->len - 1;
}

static void
add_cell(Reader *reader, SpateYaml *row, const char *key, const char *text)
{
    guint number = (guint)column_of(reader, key, reader->table->columns->place);
    const SpateYamlPair *column =
        &g_array_index(reader->table->columns->pairs, SpateYamlPair, number);
    if (text[0] == '\0' || spate_yaml_get(row, column->key) != NULL)
        return;
    const char *unit = g_ptr_array_index(reader->units, number);
    SpateYaml *cell = spate_yaml_new(SPATE_YAML_SCALAR, row->place);
    g_autofree char *valid = g_utf8_make_valid(text, -1);
    cell->text = unit != NULL ? g_strdup_printf("%s %s", valid, unit) : g_strdup(valid);
    cell->is_cell = unit == NULL;
    SpateYamlPair pair = {g_strdup(column->key), column->key_place, cell};
    g_array_append_val(row->pairs, pair);
}

static void
add_degrees(Reader *reader, SpateYaml *row, const char *key, double degrees)
{
    char text[64];
    g_ascii_formatd(text, sizeof text, "%.9f", degrees);
    add_cell(reader, row, key, text);
}

/* "lat" of a feature says again where it is. */
static bool
is_place(const char *key)
{
    static const char *const PLACES[] = {"lat", "lon", "x", "y", NULL};
    return g_strv_contains(PLACES, key);
}

static void
add_properties(Reader *reader, SpateYaml *row, OGRFeatureH feature)
{
    for (int i = 0; i < spate_gdal.OGR_F_GetFieldCount(feature); i++) {
        const char *key =
            spate_gdal.OGR_Fld_GetNameRef(spate_gdal.OGR_F_GetFieldDefnRef(feature, i));
        bool is_set = spate_gdal.OGR_F_IsFieldSetAndNotNull(feature, i);
        if (g_ascii_strcasecmp(key, "name") == 0)
            add_cell(reader, row, "name",
                     is_set ? spate_gdal.OGR_F_GetFieldAsString(feature, i) : "");
        else if (FORMATS[reader->format].has_columns && !is_place(key))
            add_cell(reader, row, key, is_set ? spate_gdal.OGR_F_GetFieldAsString(feature, i) : "");
    }
}

static void
add_feature(Reader *reader, OGRFeatureH feature)
{
    SpatePlace place = {reader->origin, ++reader->n_features, 1};
    OGRGeometryH geometry = spate_gdal.OGR_F_GetGeometryRef(feature);
    OGRwkbGeometryType type =
        geometry != NULL ? spate_gdal.OGR_GT_Flatten(spate_gdal.OGR_G_GetGeometryType(geometry))
                         : wkbNone;
    if (type != wkbPoint || spate_gdal.OGR_G_IsEmpty(geometry)) {
        spate_faults_note(
            reader->faults, place, "nodes are points; leave all else out",
            type == wkbNone || type == wkbPoint ? "this feature has no place%s"
                                                : "this is not a point but a %s",
            type == wkbNone || type == wkbPoint ? "" : spate_gdal.OGRGeometryTypeToName(type));
        return;
    }
    SpateYaml *row = spate_yaml_new(SPATE_YAML_MAP, place);
    g_ptr_array_add(reader->table->rows->items, row);
    add_degrees(reader, row, "lat", spate_gdal.OGR_G_GetY(geometry, 0));
    add_degrees(reader, row, "lon", spate_gdal.OGR_G_GetX(geometry, 0));
    add_properties(reader, row, feature);
}

/* GPX: the points of routes and tracks, which come as lines too. */
static bool
is_repeated(OGRLayerH layer)
{
    const char *name = spate_gdal.OGR_L_GetName(layer);
    return strcmp(name, "route_points") == 0 || strcmp(name, "track_points") == 0;
}

static bool
is_wgs84(OGRLayerH layer)
{
    OGRSpatialReferenceH system = spate_gdal.OGR_L_GetSpatialRef(layer);
    const char *datum = system != NULL ? spate_gdal.OSRGetAttrValue(system, "DATUM", 0) : NULL;
    return system == NULL ||
           (spate_gdal.OSRIsGeographic(system) && datum != NULL &&
            (strstr(datum, "WGS_1984") != NULL || strstr(datum, "WGS 84") != NULL ||
             strstr(datum, "World Geodetic System 1984") != NULL));
}

/* What is wrong with all of it; NULL: nothing. */
static const char *
read_layers(Reader *reader, GDALDatasetH map)
{
    for (int i = 0; i < spate_gdal.GDALDatasetGetLayerCount(map); i++) {
        OGRLayerH layer = spate_gdal.GDALDatasetGetLayer(map, i);
        OGRFeatureH feature;
        if (reader->format == 1 && is_repeated(layer))
            continue;
        if (!is_wgs84(layer))
            return "its places must be longitudes and latitudes on WGS 84";
        while ((feature = spate_gdal.OGR_L_GetNextFeature(layer)) != NULL) {
            add_feature(reader, feature);
            spate_gdal.OGR_F_Destroy(feature);
            guint n_columns = reader->table->columns->pairs->len;
            if (n_columns > SPATE_CSV_MAX_COLUMNS ||
                (gsize)reader->n_features * n_columns > SPATE_CSV_MAX_CELLS)
                return "it has too many features or properties";
        }
    }
    return spate_gdal.CPLGetLastErrorType() >= CE_Failure ? "it breaks off, or is broken" : NULL;
}

static const char *
read_map(Reader *reader, const char *text, size_t length)
{
    if (!spate_gdal_load(NULL))
        return "this machine lacks GDAL, which reads maps";
    g_autofree char *path = g_strdup_printf("/vsimem/spate-points-%p%s", (const void *)text,
                                            FORMATS[reader->format].suffix);
    VSILFILE *file = spate_gdal.VSIFileFromMemBuffer(path, (GByte *)(uintptr_t)text, length, FALSE);
    if (file == NULL)
        return "there is not enough memory";
    spate_gdal.VSIFCloseL(file);
    spate_gdal.CPLPushErrorHandler(spate_gdal.CPLQuietErrorHandler);
    spate_gdal.CPLErrorReset();
    GDALDatasetH map =
        spate_gdal.GDALOpenEx(path, GDAL_OF_VECTOR, FORMATS[reader->format].drivers, NULL, NULL);
    const char *why = map == NULL ? "it is of another format, or broken" : read_layers(reader, map);
    if (map != NULL)
        spate_gdal.GDALClose(map);
    spate_gdal.CPLPopErrorHandler();
    spate_gdal.VSIUnlink(path);
    return why;
}

SpateCsvTable *
spate_map_points_parse(const char *path, const char *text, size_t length, int origin,
                       SpatePlace place, SpateFaults *faults)
{
    size_t before = spate_faults_noted(faults);
    g_autoptr(SpateCsvTable) table = g_new0(SpateCsvTable, 1);
    g_autoptr(GPtrArray) units = g_ptr_array_new_with_free_func(g_free);
    table->columns = spate_yaml_new(SPATE_YAML_MAP, (SpatePlace){origin, 0, 0});
    table->rows = spate_yaml_new(SPATE_YAML_LIST, (SpatePlace){origin, 0, 0});
    Reader reader = {format_of(path), origin, table, units, faults, 0};
    column_of(&reader, "name", table->columns->place);
    column_of(&reader, "lat", table->columns->place);
    column_of(&reader, "lon", table->columns->place);
    const char *why = read_map(&reader, text, length);
    if (why != NULL)
        spate_faults_note(faults, place, "points with names, as GDAL can read them",
                          "'%s' cannot be read as %s: %s", path, FORMATS[reader.format].name, why);
    return spate_faults_noted(faults) == before ? g_steal_pointer(&table) : NULL;
}

#else

SpateCsvTable *
spate_map_points_parse(const char *path, const char *text, size_t length, int origin,
                       SpatePlace place, SpateFaults *faults)
{
    spate_faults_note(faults, place, "save the points as CSV: name, lat, lon",
                      "'%s' cannot be read: this build of spate has no GDAL, which reads maps",
                      path);
    return NULL;
}

#endif
