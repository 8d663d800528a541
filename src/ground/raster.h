/* raster.h - heights of the ground on a grid, from any file that GDAL reads
 *
 * A raster knows places as columns and rows: (0, 0) is the centre of its first cell.  Between
 * centres heights are bilinear; the outer half of the outer cells is outside.  Cells are read when
 * they are first needed, in tiles that stay in memory: what nobody asks for costs nothing.  All but
 * opening may be done by several threads at once.
 *
 * A build without GDAL has no rasters: spate_raster_open() fails and says so.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

typedef struct SpateRaster SpateRaster;

/* What its coordinates are. */
typedef enum {
    SPATE_RASTER_LOCAL,      /* metres in a plane of its own, nowhere on earth */
    SPATE_RASTER_PROJECTED,  /* metres in a plane of a known projection */
    SPATE_RASTER_OTHER_UNIT, /* the same in feet or another unit */
    SPATE_RASTER_GEOGRAPHIC  /* degrees */
} SpateRasterSystem;

#define SPATE_RASTER_ERROR (spate_raster_error_quark())
GQuark spate_raster_error_quark(void);
typedef enum { SPATE_RASTER_ERROR_UNREADABLE } SpateRasterError;

SpateRaster *spate_raster_open(const char *path, GError **error);
SpateRaster *spate_raster_ref(SpateRaster *raster);
void spate_raster_unref(SpateRaster *raster);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateRaster, spate_raster_unref)

SpateRasterSystem spate_raster_system(const SpateRaster *raster);
/* The smaller side of a cell; of degrees, at the middle of the raster. */
double spate_raster_cell_m(const SpateRaster *raster);
/* The name of its file, without a path. */
const char *spate_raster_name(const SpateRaster *raster);
/* Of the files that it is made of. */
const char *spate_raster_sha256(const SpateRaster *raster);

typedef struct {
    double column, row;
} SpateGridPoint;

/* Of a place in the raster's own plane: LOCAL or PROJECTED. */
SpateGridPoint spate_raster_cell_of_plane(const SpateRaster *raster, double x_m, double y_m);
/* Of places on WGS 84, longitude and latitude in degrees, which it changes: any system but LOCAL.
 * NAN where the raster's system ends.  Places of a path: from each to the next less than half
 * around the earth, so that one that leaves the raster does not come back on its other side. */
void spate_raster_cells_of_globe(const SpateRaster *raster, double (*places_deg)[2], size_t n,
                                 SpateGridPoint *cells);
/* From the plane of a PROJECTED raster to WGS 84, in degrees; false where its system ends. */
bool spate_raster_plane_to_globe(const SpateRaster *raster, double x_m, double y_m,
                                 double *longitude_deg, double *latitude_deg);

/* Why there is no height. */
typedef enum {
    SPATE_GAP_NONE,
    SPATE_GAP_OUTSIDE,
    SPATE_GAP_NO_DATA,    /* of a cell that has a share in it */
    SPATE_GAP_UNREADABLE, /* the file is damaged there */
    SPATE_GAP_TOO_MUCH    /* more of the raster is needed than memory should hold */
} SpateGap;

/* Fills the heights of n places.  At the first that has none it stops: returns its number, and
 * n if all have one. */
size_t spate_raster_heights_m(const SpateRaster *raster, const SpateGridPoint *cells, size_t n,
                              double *heights_m, SpateGap *gap);
