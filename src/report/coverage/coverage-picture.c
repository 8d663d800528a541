/* coverage-picture.c - a map of cells as a PNG, a pixel each, and where it lies */
#include "report/coverage/coverage-report.h"

#include "document/numbers.h"
#include "ground/gdal.h"
#include <gio/gio.h>

/* The six parameters of an affine map from pixels to places, with the centre of the first pixel. */
void
spate_coverage_append_world_file(GString *text, const SpateGrid *grid)
{
    const double lines[] = {
        grid->width,
        0.0,
        0.0,
        -grid->height,
        grid->west + grid->width / 2.0,
        spate_grid_north(grid, 0) - grid->height / 2.0,
    };
    for (size_t i = 0; i < G_N_ELEMENTS(lines); i++) {
        spate_append_number(text, lines[i]);
        g_string_append_c(text, '\n');
    }
}

#ifdef SPATE_HAS_GDAL

#define FILE_NAME "/vsimem/spate-coverage.png"

static const char *const LEGEND =
    "DESCRIPTION=Relays that hear the carried radio and are heard by it, from dark to light: none, "
    "only one way, 1, 2, 3, 4 or more. Transparent: not judged.";

bool
spate_coverage_has_pictures(void)
{
    return spate_gdal_load(NULL) && spate_gdal.GDALGetDriverByName("PNG") != NULL &&
           spate_gdal.GDALGetDriverByName("MEM") != NULL;
}

/* The pixels in memory; NULL where GDAL says no. */
static GDALDatasetH
fill(const SpateCoverage *coverage)
{
    const SpateGrid *grid = &coverage->grid;
    int n_columns = (int)grid->n_columns, n_rows = (int)grid->n_rows;
    g_autofree uint8_t *pixels = g_new(uint8_t, (size_t)n_columns * (size_t)n_rows);
    for (uint32_t i = 0; i < grid->n_columns * grid->n_rows; i++)
        pixels[i] = (uint8_t)spate_coverage_step(&coverage->layers[0].cells[i]);
    GDALDatasetH map = spate_gdal.GDALCreate(spate_gdal.GDALGetDriverByName("MEM"), "", n_columns,
                                             n_rows, 1, GDT_Byte, NULL);
    if (map == NULL)
        return NULL;
    GDALRasterBandH band = spate_gdal.GDALGetRasterBand(map, 1);
    GDALColorTableH colours = spate_gdal.GDALCreateColorTable(GPI_RGB);
    for (int i = 0; i < SPATE_N_STEPS; i++) {
        const uint8_t *colour = SPATE_COVERAGE_LOOKS[i].colour;
        spate_gdal.GDALSetColorEntry(colours, i,
                                     &(GDALColorEntry){colour[0], colour[1], colour[2], colour[3]});
    }
    spate_gdal.GDALSetRasterColorTable(band, colours);
    spate_gdal.GDALDestroyColorTable(colours);
    if (spate_gdal.GDALRasterIO(band, GF_Write, 0, 0, n_columns, n_rows, pixels, n_columns, n_rows,
                                GDT_Byte, 0, 0) == CE_None)
        return map;
    spate_gdal.GDALClose(map);
    return NULL;
}

GByteArray *
spate_coverage_picture(const SpateCoverage *coverage, GError **error)
{
    g_assert(coverage->n_layers == 1 && spate_coverage_has_pictures());
    const char *const options[] = {LEGEND, "WRITE_METADATA_AS_TEXT=YES", NULL};
    spate_gdal.CPLPushErrorHandler(spate_gdal.CPLQuietErrorHandler);
    GDALDatasetH map = fill(coverage);
    GDALDatasetH file = NULL;
    if (map != NULL)
        file = spate_gdal.GDALCreateCopy(spate_gdal.GDALGetDriverByName("PNG"), FILE_NAME, map,
                                         TRUE, (char **)(uintptr_t)options, NULL, NULL);
    if (file != NULL)
        spate_gdal.GDALClose(file);
    if (map != NULL)
        spate_gdal.GDALClose(map);
    spate_gdal.CPLPopErrorHandler();
    vsi_l_offset length = 0;
    GByte *bytes = file != NULL ? spate_gdal.VSIGetMemFileBuffer(FILE_NAME, &length, FALSE) : NULL;
    GByteArray *picture =
        bytes != NULL ? g_byte_array_append(g_byte_array_new(), bytes, (guint)length) : NULL;
    spate_gdal.VSIUnlink(FILE_NAME);
    spate_gdal.VSIUnlink(FILE_NAME ".aux.xml");
    if (picture == NULL)
        g_set_error(error, G_IO_ERROR, G_IO_ERROR_FAILED, "the picture cannot be made: %s",
                    spate_gdal.CPLGetLastErrorMsg());
    return picture;
}

#else

bool
spate_coverage_has_pictures(void)
{
    return false;
}

GByteArray *
spate_coverage_picture(const SpateCoverage *coverage, GError **error)
{
    g_assert_not_reached();
}

#endif
