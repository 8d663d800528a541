/* raster-file.c - heights out of files, by GDAL */
#include "ground/raster-private.h"

#include "ground/gdal.h"
#include <errno.h>
#include <sys/stat.h>

static void
set_error(GError **error, const char *why)
{
    g_set_error_literal(error, SPATE_RASTER_ERROR, SPATE_RASTER_ERROR_UNREADABLE, why);
}

#ifdef SPATE_HAS_GDAL

#include <math.h>
#include <stdio.h>
#include <string.h>

typedef struct {
    GDALDatasetH file;
    GDALRasterBandH heights, mask;
    double scale_m, offset_m; /* of what the file holds */
    GByte *masked;            /* scratch for a tile */
} Source;

void
spate_raster_close(void *source)
{
    Source *from = source;
    spate_gdal.CPLPushErrorHandler(spate_gdal.CPLQuietErrorHandler);
    spate_gdal.GDALClose(from->file);
    spate_gdal.CPLPopErrorHandler();
    g_free(from->masked);
    g_free(from);
}

bool
spate_raster_read_cells(void *source, int column, int row, int n_columns, int n_rows, float *into)
{
    Source *from = source;
    GSpacing line = SPATE_TILE_WIDTH * sizeof(float);
    spate_gdal.CPLPushErrorHandler(spate_gdal.CPLQuietErrorHandler);
    bool is_read =
        spate_gdal.GDALRasterIOEx(from->heights, GF_Read, column, row, n_columns, n_rows, into,
                                  n_columns, n_rows, GDT_Float32, 0, line, NULL) == CE_None &&
        spate_gdal.GDALRasterIOEx(from->mask, GF_Read, column, row, n_columns, n_rows, from->masked,
                                  n_columns, n_rows, GDT_Byte, 0, SPATE_TILE_WIDTH,
                                  NULL) == CE_None;
    spate_gdal.CPLPopErrorHandler();
    for (int r = 0; is_read && r < n_rows; r++)
        for (int c = 0; c < n_columns; c++) {
            float *cell = &into[r * SPATE_TILE_WIDTH + c];
            double height_m = *cell * from->scale_m + from->offset_m;
            bool is_known = from->masked[r * SPATE_TILE_WIDTH + c] != 0 && isfinite(height_m);
            *cell = is_known ? (float)height_m : NAN;
        }
    return is_read;
}

/* ---- opening --------------------------------------------------------------------------------- */

/* Adds the bytes of a plain file; false if they cannot be read. */
static bool
add_to_sum(GChecksum *sum, const char *path)
{
    static const size_t CHUNK = 1u << 20;
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return false;
    g_autofree guchar *bytes = g_malloc(CHUNK);
    size_t n;
    while ((n = fread(bytes, 1, CHUNK, file)) > 0)
        g_checksum_update(sum, bytes, (gssize)n);
    bool is_read = ferror(file) == 0;
    fclose(file);
    return is_read;
}

/* All plain files that the raster is made of, but for notes that other programs leave beside it. */
static char *
sum_of(GDALDatasetH file)
{
    g_autoptr(GChecksum) sum = g_checksum_new(G_CHECKSUM_SHA256);
    char **paths = spate_gdal.GDALGetFileList(file);
    for (char **path = paths; path != NULL && *path != NULL; path++) {
        struct stat status;
        if (!g_str_has_suffix(*path, ".aux.xml") && stat(*path, &status) == 0 &&
            S_ISREG(status.st_mode))
            add_to_sum(sum, *path);
    }
    spate_gdal.CSLDestroy(paths);
    return g_strdup(g_checksum_get_string(sum));
}

/* Metres in the unit of its heights; NAN if that is unknown. */
static double
height_unit_m(GDALRasterBandH band)
{
    static const struct {
        const char *name;
        double metres;
    } UNITS[] = {
        {"", 1.0},        {"m", 1.0},
        {"metre", 1.0},   {"metres", 1.0},
        {"meter", 1.0},   {"meters", 1.0},
        {"ft", 0.3048},   {"foot", 0.3048},
        {"feet", 0.3048}, {"US survey foot", 1200.0 / 3937.0},
    };
    const char *unit = spate_gdal.GDALGetRasterUnitType(band);
    for (size_t i = 0; i < G_N_ELEMENTS(UNITS); i++)
        if (g_ascii_strcasecmp(unit != NULL ? unit : "", UNITS[i].name) == 0)
            return UNITS[i].metres;
    return NAN;
}

/* False with an error where the system cannot be used. */
static bool
find_system(SpateRaster *raster, GDALDatasetH file, GError **error)
{
    raster->cell_m = 1.0; /* of its unit */
    raster->system = SPATE_RASTER_LOCAL;
    OGRSpatialReferenceH given = spate_gdal.GDALGetSpatialRef(file);
    if (given == NULL || spate_gdal.OSRIsLocal(given))
        return true;
    OGRSpatialReferenceH system = spate_gdal.OSRClone(given),
                         globe = spate_gdal.OSRNewSpatialReference(NULL);
    spate_gdal.OSRDemoteTo2D(system, NULL);
    spate_gdal.OSRSetWellKnownGeogCS(globe, "WGS84");
    spate_gdal.OSRSetAxisMappingStrategy(globe, OAMS_TRADITIONAL_GIS_ORDER);
    spate_gdal.OSRSetAxisMappingStrategy(system, OAMS_TRADITIONAL_GIS_ORDER);
    if (spate_gdal.OSRIsGeographic(system)) {
        raster->system = SPATE_RASTER_GEOGRAPHIC;
    } else {
        raster->cell_m = spate_gdal.OSRGetLinearUnits(system, NULL);
        raster->system = raster->cell_m == 1.0 ? SPATE_RASTER_PROJECTED : SPATE_RASTER_OTHER_UNIT;
    }
    bool is_usable = true;
    if (raster->system != SPATE_RASTER_GEOGRAPHIC || !spate_gdal.OSRIsSame(system, globe)) {
        char *definition = NULL;
        const char *const options[] = {"FORMAT=WKT2_2019", NULL};
        is_usable = spate_gdal.OSRExportToWktEx(system, &definition, options) == OGRERR_NONE;
        raster->projection = is_usable ? spate_projection_new(definition) : NULL;
        is_usable = raster->projection != NULL;
        spate_gdal.VSIFree(definition);
    }
    if (!is_usable)
        set_error(error, "its coordinate system is none that leads to WGS 84");
    spate_gdal.OSRDestroySpatialReference(system);
    spate_gdal.OSRDestroySpatialReference(globe);
    return is_usable;
}

/* False with an error. */
static bool
find_heights(Source *source, GError **error)
{
    if (spate_gdal.GDALGetRasterCount(source->file) < 1) {
        set_error(error, "it holds no raster");
        return false;
    }
    source->heights = spate_gdal.GDALGetRasterBand(source->file, 1);
    source->mask = spate_gdal.GDALGetMaskBand(source->heights);
    double unit_m = height_unit_m(source->heights);
    if (isnan(unit_m)) {
        g_set_error(error, SPATE_RASTER_ERROR, SPATE_RASTER_ERROR_UNREADABLE,
                    "its heights are in '%s', neither metres nor feet",
                    spate_gdal.GDALGetRasterUnitType(source->heights));
        return false;
    }
    int is_given;
    double scale = spate_gdal.GDALGetRasterScale(source->heights, &is_given);
    source->scale_m = unit_m * (is_given ? scale : 1.0);
    double offset = spate_gdal.GDALGetRasterOffset(source->heights, &is_given);
    source->offset_m = unit_m * (is_given ? offset : 0.0);
    source->masked = g_malloc((size_t)SPATE_TILE_WIDTH * SPATE_TILE_WIDTH);
    return true;
}

static SpateRaster *
open_quietly(const char *path, GError **error)
{
    spate_gdal.CPLErrorReset();
    GDALDatasetH file =
        spate_gdal.GDALOpenEx(path, GDAL_OF_RASTER | GDAL_OF_READONLY, NULL, NULL, NULL);
    if (file == NULL) {
        const char *why = spate_gdal.CPLGetLastErrorMsg();
        set_error(error, why != NULL && why[0] != '\0' ? why : "it is no raster that GDAL reads");
        return NULL;
    }
    g_autoptr(SpateRaster) raster = g_new0(SpateRaster, 1);
    Source *source = g_new0(Source, 1);
    g_atomic_ref_count_init(&raster->references);
    g_mutex_init(&raster->mutex);
    raster->source = source;
    source->file = file;
    raster->n_columns = spate_gdal.GDALGetRasterXSize(file);
    raster->n_rows = spate_gdal.GDALGetRasterYSize(file);
    if (!find_heights(source, error))
        return NULL;
    if (spate_gdal.GDALGetGeoTransform(file, raster->to) != CE_None) {
        set_error(error, "it does not say where it lies");
        return NULL;
    }
    if (!find_system(raster, file, error))
        return NULL;
    raster->name = g_path_get_basename(path);
    raster->sha256 = sum_of(file);
    return spate_raster_finish(g_steal_pointer(&raster), error);
}

static SpateRaster *
open_plain(const char *path, GError **error)
{
    g_autoptr(GError) why = NULL;
    if (!spate_gdal_load(&why)) {
        set_error(error, why->message);
        return NULL;
    }
    spate_gdal.CPLPushErrorHandler(spate_gdal.CPLQuietErrorHandler);
    SpateRaster *raster = open_quietly(path, error);
    spate_gdal.CPLPopErrorHandler();
    return raster;
}

#else

static SpateRaster *
open_plain(const char *path, GError **error)
{
    set_error(error, "this program was built without GDAL, which reads height models");
    return NULL;
}

bool
spate_raster_read_cells(void *source, int column, int row, int n_columns, int n_rows, float *into)
{
    g_assert_not_reached();
}

void
spate_raster_close(void *source)
{
    g_assert_not_reached();
}

#endif

SpateRaster *
spate_raster_open(const char *path, GError **error)
{
    /* GDAL also takes names that are no files, addresses of the network among them. */
    struct stat status;
    if (stat(path, &status) != 0) {
        set_error(error, g_strerror(errno));
        return NULL;
    }
    if (!S_ISREG(status.st_mode)) {
        set_error(error, "it is not a plain file");
        return NULL;
    }
    return open_plain(path, error);
}
