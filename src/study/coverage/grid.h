/* grid.h - an area as cells of a grid
 *
 * In a plane cells are squares of whole metres' sides, whatever side is asked for.  On the
 * ellipsoid they are as many degrees wide and high as make such a square in the middle of the area,
 * so that rows and columns follow parallels and meridians.  The grid begins at the south-west
 * corner of the area; its last row and column may reach over the other edges.  Rows count from the
 * north, as pictures do.
 */
#pragma once

#include "ground/position.h"
#include <glib.h>
#include <stddef.h>
#include <stdint.h>

/* x and y in metres, or longitude and latitude in degrees; east of the 180th meridian longitudes
 * go on. */
typedef struct {
    double west, south, east, north;
    bool is_geographic;
} SpateArea;

typedef struct {
    double west, south;   /* its corner: as in the area */
    double width, height; /* of a cell: m, or degrees */
    double cell_m;
    uint32_t n_columns, n_rows;
    bool is_geographic;
} SpateGrid;

#define SPATE_GRID_MOST_CELLS 4000000u

typedef enum {
    SPATE_GRID_ERROR_TOO_LARGE, /* the message names a side of cells that fits */
    SPATE_GRID_ERROR_NO_PLACE   /* it reaches over a pole */
} SpateGridError;
#define SPATE_GRID_ERROR (spate_grid_error_quark())
GQuark spate_grid_error_quark(void);

/* The box around at least one place. */
SpateArea spate_area_around(const SpatePosition *places, size_t n_places);
/* How wide and how high it is, in its middle. */
void spate_area_sides_m(const SpateArea *area, double *width_m, double *height_m);
/* What a map shows around it: a tenth of its longer side, and 100 m at least. */
double spate_area_margin_m(const SpateArea *area);
/* The shortest side of cells of 1, 2 or 5 times a power of ten, at least a metre, of which the area
 * with its margin has at most `most`. */
double spate_grid_round_cell_m(const SpateArea *area, double margin_m, double most);
/* At most `most` cells, and at most SPATE_GRID_MOST_CELLS. */
bool spate_grid_lay(SpateGrid *grid, SpateArea area, double margin_m, double cell_m, uint32_t most,
                    GError **error);

/* Centres and edges; a place on the ellipsoid has its longitude within 180 degrees. */
SpatePosition spate_grid_centre(const SpateGrid *grid, uint32_t column, uint32_t row,
                                double height_m);
double spate_grid_west(const SpateGrid *grid, uint32_t column); /* edge of that column */
double spate_grid_north(const SpateGrid *grid, uint32_t row);   /* edge of that row */
/* The same longitude within [-180, 180). */
double spate_longitude_deg(double longitude_deg);
