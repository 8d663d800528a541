/* grid.c - an area as cells of a grid */
#include "study/coverage/grid.h"

#include <math.h>

G_DEFINE_QUARK(spate - grid - error - quark, spate_grid_error)

/* A side that is a multiple of a cell is one in spite of rounding. */
#define NEARLY_NO_CELL 1e-6

double
spate_longitude_deg(double longitude_deg)
{
    double turned = remainder(longitude_deg, 360.0);
    return turned >= 180.0 ? turned - 360.0 : turned;
}

SpateArea
spate_area_around(const SpatePosition *places, size_t n_places)
{
    SpateArea area = {.west = INFINITY,
                      .south = INFINITY,
                      .east = -INFINITY,
                      .north = -INFINITY,
                      .is_geographic = places[0].is_geographic};
    for (size_t i = 0; i < n_places; i++) {
        double x = places[i].x_m, y = places[i].y_m;
        if (area.is_geographic) {
            /* Beside the first, also across the 180th meridian. */
            x = places[0].longitude_deg +
                remainder(places[i].longitude_deg - places[0].longitude_deg, 360.0);
            y = places[i].latitude_deg;
        }
        area.west = fmin(area.west, x);
        area.east = fmax(area.east, x);
        area.south = fmin(area.south, y);
        area.north = fmax(area.north, y);
    }
    return area;
}

/* Metres that a unit of the area is long eastwards and northwards, in its middle. */
static void
measure_unit(const SpateArea *area, double *east_m, double *north_m)
{
    const double small_deg = 0.01;
    *east_m = *north_m = 1.0;
    if (!area->is_geographic)
        return;
    SpatePosition middle = {.longitude_deg = (area->west + area->east) / 2.0,
                            .latitude_deg = (area->south + area->north) / 2.0,
                            .is_geographic = true};
    SpatePosition east = middle, south = middle, north = middle;
    east.longitude_deg += small_deg;
    south.latitude_deg -= small_deg / 2.0;
    north.latitude_deg += small_deg / 2.0;
    *east_m = spate_ground_distance_m(middle, east) / small_deg;
    *north_m = spate_ground_distance_m(south, north) / small_deg;
}

void
spate_area_sides_m(const SpateArea *area, double *width_m, double *height_m)
{
    double east_m, north_m;
    measure_unit(area, &east_m, &north_m);
    *width_m = (area->east - area->west) * east_m;
    *height_m = (area->north - area->south) * north_m;
}

double
spate_area_margin_m(const SpateArea *area)
{
    double width_m, height_m;
    spate_area_sides_m(area, &width_m, &height_m);
    return fmax(fmax(width_m, height_m) / 10.0, 100.0);
}

static double
count_cells(double side_m, double cell_m)
{
    return fmax(ceil(side_m / cell_m - NEARLY_NO_CELL), 1.0);
}

double
spate_grid_round_cell_m(const SpateArea *area, double margin_m, double most)
{
    static const double STEPS[] = {2.0, 2.5, 2.0}; /* 1, 2, 5, 10 */
    double width_m, height_m, cell_m = 1.0;
    spate_area_sides_m(area, &width_m, &height_m);
    width_m += 2.0 * margin_m;
    height_m += 2.0 * margin_m;
    for (size_t i = 0; count_cells(width_m, cell_m) * count_cells(height_m, cell_m) > most; i++)
        cell_m *= STEPS[i % G_N_ELEMENTS(STEPS)];
    return cell_m;
}

/* The next side of two significant digits with which the area fits. */
static double
fitting_cell_m(double width_m, double height_m, double cell_m, double most)
{
    do {
        double tenth_m = pow(10.0, floor(log10(cell_m * 1.001)) - 1.0);
        cell_m = (floor(cell_m / tenth_m + NEARLY_NO_CELL) + 1.0) * tenth_m;
    } while (count_cells(width_m, cell_m) * count_cells(height_m, cell_m) > most);
    return cell_m;
}

static bool
refuse_many(double width_m, double height_m, double cell_m, double most, GError **error)
{
    double columns = count_cells(width_m, cell_m), rows = count_cells(height_m, cell_m);
    g_set_error(error, SPATE_GRID_ERROR, SPATE_GRID_ERROR_TOO_LARGE,
                "an area of %.6g x %.6g km has %.0f cells of %.6g m, at most %.0f can be judged: "
                "--cell \"%.6g m\" fits, or a smaller --area",
                width_m / 1e3, height_m / 1e3, columns * rows, cell_m, most,
                fitting_cell_m(width_m, height_m, cell_m, most));
    return false;
}

bool
spate_grid_lay(SpateGrid *grid, SpateArea area, double margin_m, double cell_m, uint32_t most,
               GError **error)
{
    double east_m, north_m;
    measure_unit(&area, &east_m, &north_m);
    *grid = (SpateGrid){
        .west = area.west - margin_m / east_m,
        .south = area.south - margin_m / north_m,
        .width = cell_m / east_m,
        .height = cell_m / north_m,
        .cell_m = cell_m,
        .is_geographic = area.is_geographic,
    };
    double width_m = (area.east - area.west) * east_m + 2.0 * margin_m;
    double height_m = (area.north - area.south) * north_m + 2.0 * margin_m;
    double columns = count_cells(width_m, cell_m), rows = count_cells(height_m, cell_m);
    if (columns * rows > fmin(most, SPATE_GRID_MOST_CELLS))
        return refuse_many(width_m, height_m, cell_m, fmin(most, SPATE_GRID_MOST_CELLS), error);
    grid->n_columns = (uint32_t)columns;
    grid->n_rows = (uint32_t)rows;
    if (!grid->is_geographic || (grid->south >= -90.0 && spate_grid_north(grid, 0) <= 90.0 &&
                                 columns * grid->width <= 360.0))
        return true;
    g_set_error(error, SPATE_GRID_ERROR, SPATE_GRID_ERROR_NO_PLACE,
                "the area reaches over a pole or around the earth");
    return false;
}

double
spate_grid_west(const SpateGrid *grid, uint32_t column)
{
    return grid->west + column * grid->width;
}

double
spate_grid_north(const SpateGrid *grid, uint32_t row)
{
    return grid->south + (grid->n_rows - row) * grid->height;
}

SpatePosition
spate_grid_centre(const SpateGrid *grid, uint32_t column, uint32_t row, double height_m)
{
    double x = grid->west + (column + 0.5) * grid->width;
    double y = grid->south + (grid->n_rows - row - 0.5) * grid->height;
    if (grid->is_geographic)
        return (SpatePosition){.longitude_deg = spate_longitude_deg(x),
                               .latitude_deg = y,
                               .height_m = height_m,
                               .is_geographic = true};
    return (SpatePosition){.x_m = x, .y_m = y, .height_m = height_m};
}
