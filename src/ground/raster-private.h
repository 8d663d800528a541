/* raster-private.h - what a raster is made of, and where its cells come from */
#pragma once

#include "ground/projection.h"
#include "ground/raster.h"
#include <stdint.h>

/* Cells a side.  A tile holds the first column and row of its neighbours too, so that the four
 * cells around a place always lie in one. */
#define SPATE_TILE_SIDE  511
#define SPATE_TILE_WIDTH (SPATE_TILE_SIDE + 1)

/* In memory the cells of a tile follow Morton's curve: the bits of column and row alternate.  Paths
 * run in all directions, and whichever it is, the next cells of one are mostly in the same line of
 * the cache (4 x 4 cells) and in the same page (32 x 32). */
typedef struct {
    uint32_t of_column[SPATE_TILE_WIDTH], of_row[SPATE_TILE_WIDTH]; /* to be added */
} SpateCellOrder;

struct SpateRaster {
    gatomicrefcount references;
    SpateRasterSystem system;
    int n_columns, n_rows;
    /* From columns and rows, counted from the corner of the first cell, to coordinates:
     * x = to[0] + column * to[1] + row * to[2], y = to[3] + column * to[4] + row * to[5]. */
    double to[6];
    double cell_m;
    char *name, *sha256;
    SpateProjection *projection; /* NULL: LOCAL, or WGS 84 itself */

    GMutex mutex;      /* of all below; a tile that is there is read without */
    float **tiles;     /* NAN: no data; NULL: not read yet */
    GPtrArray *blocks; /* of memory, two tiles each */
    SpateCellOrder order;
    int n_tile_columns;
    size_t n_tiles, n_read;
    void *source; /* of raster-file.c */
};

/* Checks a raster whose figures are set, and completes it; takes it over, on failure too. */
SpateRaster *spate_raster_finish(SpateRaster *raster, GError **error);

/* raster-file.c: cells from a column and row on, into rows of SPATE_TILE_WIDTH; false if they
 * cannot be read.  One thread at a time. */
bool spate_raster_read_cells(void *source, int column, int row, int n_columns, int n_rows,
                             float *into);
void spate_raster_close(void *source);
