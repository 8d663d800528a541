/* raster.c - heights of the ground on a grid */
#include "ground/raster-private.h"

#include "core/huge-pages.h"
#include "ground/position.h"
#include <math.h>
#include <stdint.h>

/* In memory: 2 GB. */
#define MOST_TILES_READ 2048
/* Memory of tiles is taken in blocks of two, each a large page of memory where the system has such:
 * paths cross a lot of small pages, and looking these up takes a third of the time. */
#define TILE_BYTES  ((size_t)SPATE_TILE_WIDTH * SPATE_TILE_WIDTH * sizeof(float))
#define BLOCK_BYTES (2 * TILE_BYTES)
/* Of a square of 5 million cells a side. */
#define MOST_TILES 100000000

/* What arithmetic may lose of a place on the border, in cells. */
#define ON_THE_BORDER 1e-6

G_DEFINE_QUARK(spate - raster - error - quark, spate_raster_error)

SpateRaster *
spate_raster_ref(SpateRaster *raster)
{
    g_atomic_ref_count_inc(&raster->references);
    return raster;
}

void
spate_raster_unref(SpateRaster *raster)
{
    if (raster == NULL || !g_atomic_ref_count_dec(&raster->references))
        return;
    g_clear_pointer(&raster->blocks, g_ptr_array_unref);
    g_free(raster->tiles);
    spate_projection_free(raster->projection);
    g_clear_pointer(&raster->source, spate_raster_close);
    g_free(raster->name);
    g_free(raster->sha256);
    g_mutex_clear(&raster->mutex);
    g_free(raster);
}

SpateRasterSystem
spate_raster_system(const SpateRaster *raster)
{
    return raster->system;
}

double
spate_raster_cell_m(const SpateRaster *raster)
{
    return raster->cell_m;
}

const char *
spate_raster_name(const SpateRaster *raster)
{
    return raster->name;
}

const char *
spate_raster_sha256(const SpateRaster *raster)
{
    return raster->sha256;
}

/* ---- completing ------------------------------------------------------------------------------ */

static void
coordinates_of(const SpateRaster *raster, double column, double row, double *x, double *y)
{
    const double *to = raster->to;
    *x = to[0] + (column + 0.5) * to[1] + (row + 0.5) * to[2];
    *y = to[3] + (column + 0.5) * to[4] + (row + 0.5) * to[5];
}

/* Of a raster in degrees: from the middle to the next cell. */
static double
side_on_globe_m(const SpateRaster *raster, double columns, double rows)
{
    double middle_column = (raster->n_columns - 1) / 2.0, middle_row = (raster->n_rows - 1) / 2.0;
    SpatePosition here = {.is_geographic = true}, there = here;
    coordinates_of(raster, middle_column - columns / 2.0, middle_row - rows / 2.0,
                   &here.longitude_deg, &here.latitude_deg);
    coordinates_of(raster, middle_column + columns / 2.0, middle_row + rows / 2.0,
                   &there.longitude_deg, &there.latitude_deg);
    return spate_ground_distance_m(here, there);
}

/* The bits of a number, each followed by a 0. */
static uint32_t
spread(uint32_t number)
{
    uint32_t spread = 0;
    for (unsigned bit = 0; number >> bit != 0; bit++)
        spread |= (number >> bit & 1u) << 2 * bit;
    return spread;
}

static void
fill_order(SpateCellOrder *order)
{
    for (uint32_t i = 0; i < SPATE_TILE_WIDTH; i++) {
        order->of_column[i] = spread(i);
        order->of_row[i] = spread(i) << 1;
    }
}

SpateRaster *
spate_raster_finish(SpateRaster *raster, GError **error)
{
    g_autoptr(SpateRaster) owned = raster;
    const double *to = raster->to;
    double determinant = to[1] * to[5] - to[2] * to[4];
    if (raster->system == SPATE_RASTER_GEOGRAPHIC)
        raster->cell_m = fmin(side_on_globe_m(raster, 1, 0), side_on_globe_m(raster, 0, 1));
    else
        raster->cell_m = fmin(hypot(to[1], to[4]), hypot(to[2], to[5])) * raster->cell_m;
    bool is_grid = isfinite(to[0]) && isfinite(to[3]) && isfinite(determinant) &&
                   determinant != 0.0 && isfinite(raster->cell_m) && raster->cell_m > 0.0;
    if (!is_grid) {
        g_set_error(error, SPATE_RASTER_ERROR, SPATE_RASTER_ERROR_UNREADABLE,
                    "its cells have no size, or lie nowhere");
        return NULL;
    }
    raster->n_tile_columns = (raster->n_columns - 1) / SPATE_TILE_SIDE + 1;
    int n_tile_rows = (raster->n_rows - 1) / SPATE_TILE_SIDE + 1;
    size_t n_tiles = (size_t)raster->n_tile_columns * (size_t)n_tile_rows;
    if (n_tiles > MOST_TILES) {
        g_set_error(error, SPATE_RASTER_ERROR, SPATE_RASTER_ERROR_UNREADABLE,
                    "it has %d x %d cells, more than can be kept track of", raster->n_columns,
                    raster->n_rows);
        return NULL;
    }
    raster->n_tiles = n_tiles;
    fill_order(&raster->order);
    raster->tiles = g_new0(float *, raster->n_tiles);
    raster->blocks = g_ptr_array_new_with_free_func(g_aligned_free);
    return g_steal_pointer(&owned);
}

/* ---- places ---------------------------------------------------------------------------------- */

static SpateGridPoint
cell_of(const SpateRaster *raster, double x, double y)
{
    const double *to = raster->to;
    double determinant = to[1] * to[5] - to[2] * to[4];
    double east = x - to[0], north = y - to[3];
    return (SpateGridPoint){
        .column = (east * to[5] - north * to[2]) / determinant - 0.5,
        .row = (north * to[1] - east * to[4]) / determinant - 0.5,
    };
}

SpateGridPoint
spate_raster_cell_of_plane(const SpateRaster *raster, double x_m, double y_m)
{
    g_assert(raster->system == SPATE_RASTER_LOCAL || raster->system == SPATE_RASTER_PROJECTED);
    return cell_of(raster, x_m, y_m);
}

void
spate_raster_cells_of_globe(const SpateRaster *raster, double (*places_deg)[2], size_t n,
                            SpateGridPoint *cells)
{
    g_assert(raster->system != SPATE_RASTER_LOCAL);
    if (raster->projection != NULL)
        spate_projection_from_globe(raster->projection, places_deg, n);
    double before_deg, middle_north_deg;
    coordinates_of(raster, (raster->n_columns - 1) / 2.0, (raster->n_rows - 1) / 2.0, &before_deg,
                   &middle_north_deg);
    for (size_t i = 0; i < n; i++) {
        double x = places_deg[i][0];
        /* It may count from 0 to 360 degrees, or from 170 to 190. */
        if (raster->system == SPATE_RASTER_GEOGRAPHIC)
            x = before_deg + remainder(x - before_deg, 360.0);
        before_deg = x;
        cells[i] = cell_of(raster, x, places_deg[i][1]);
    }
}

bool
spate_raster_plane_to_globe(const SpateRaster *raster, double x_m, double y_m,
                            double *longitude_deg, double *latitude_deg)
{
    g_assert(raster->system == SPATE_RASTER_PROJECTED && raster->projection != NULL);
    double place[1][2] = {{x_m, y_m}};
    spate_projection_to_globe(raster->projection, place, 1);
    *longitude_deg = place[0][0];
    *latitude_deg = place[0][1];
    return !isnan(place[0][0]);
}

/* ---- heights --------------------------------------------------------------------------------- */

/* Room for the tile that is read next. */
static float *
next_tile(SpateRaster *raster)
{
    if (raster->n_read % 2 == 0) {
        void *block = g_aligned_alloc(1, BLOCK_BYTES, BLOCK_BYTES);
        spate_ask_for_huge_pages(block, BLOCK_BYTES);
        g_ptr_array_add(raster->blocks, block);
    }
    char *block = g_ptr_array_index(raster->blocks, raster->n_read / 2);
    return (float *)(void *)(block + raster->n_read++ % 2 * TILE_BYTES);
}

static void
put_in_order(const SpateCellOrder *order, const float *rows, float *tile)
{
    for (size_t r = 0; r < SPATE_TILE_WIDTH; r++)
        for (size_t c = 0; c < SPATE_TILE_WIDTH; c++)
            tile[order->of_row[r] + order->of_column[c]] = rows[r * SPATE_TILE_WIDTH + c];
}

/* NULL with the reason. */
static const float *
read_tile(SpateRaster *raster, size_t number, SpateGap *gap)
{
    int column = (int)(number % (size_t)raster->n_tile_columns) * SPATE_TILE_SIDE;
    int row = (int)(number / (size_t)raster->n_tile_columns) * SPATE_TILE_SIDE;
    g_autoptr(GMutexLocker) locker G_GNUC_UNUSED = g_mutex_locker_new(&raster->mutex);
    if (raster->tiles[number] != NULL)
        return raster->tiles[number];
    *gap = SPATE_GAP_TOO_MUCH;
    if (raster->n_read >= MOST_TILES_READ)
        return NULL;
    size_t n = (size_t)SPATE_TILE_WIDTH * SPATE_TILE_WIDTH;
    g_autofree float *rows = g_new(float, n);
    for (size_t i = 0; i < n; i++)
        rows[i] = NAN;
    *gap = SPATE_GAP_UNREADABLE;
    if (!spate_raster_read_cells(raster->source, column, row,
                                 MIN(SPATE_TILE_WIDTH, raster->n_columns - column),
                                 MIN(SPATE_TILE_WIDTH, raster->n_rows - row), rows))
        return NULL;
    float *tile = next_tile(raster);
    put_in_order(&raster->order, rows, tile);
    g_atomic_pointer_set(&raster->tiles[number], tile);
    return tile;
}

static inline const float *
tile_of(const SpateRaster *raster, unsigned tile_column, unsigned tile_row, SpateGap *gap)
{
    size_t number = (size_t)tile_row * (size_t)raster->n_tile_columns + tile_column;
    const float *tile = g_atomic_pointer_get(&raster->tiles[number]);
    return tile != NULL ? tile : read_tile((SpateRaster *)(uintptr_t)raster, number, gap);
}

/* The tile in which the last place lay: the next one mostly lies there too. */
typedef struct {
    const float *cells; /* NULL: none yet */
    unsigned left, top; /* its first column and row */
} Tile;

static bool
enter_tile(const SpateRaster *raster, unsigned column, unsigned row, Tile *tile, SpateGap *gap)
{
    unsigned tile_column = column / SPATE_TILE_SIDE, tile_row = row / SPATE_TILE_SIDE;
    *tile = (Tile){
        .cells = tile_of(raster, tile_column, tile_row, gap),
        .left = tile_column * SPATE_TILE_SIDE,
        .top = tile_row * SPATE_TILE_SIDE,
    };
    if (tile->cells == NULL)
        return false;
    *gap = SPATE_GAP_NONE;
    return true;
}

/* The four cells around a place. */
typedef struct {
    const float *cells; /* of the tile; the rest are their numbers there */
    uint32_t upper_left, upper_right, lower_left, lower_right;
    double along, down; /* shares of the way to the next column and row */
} Spot;

/* Of a place that is not well within: what arithmetic lost of the border is given back.  False
 * where it is outside. */
static bool
draw_in(const SpateRaster *raster, SpateGridPoint *point)
{
    double last_column = raster->n_columns - 1, last_row = raster->n_rows - 1;
    bool is_inside = point->column >= -ON_THE_BORDER && point->row >= -ON_THE_BORDER &&
                     point->column <= last_column + ON_THE_BORDER &&
                     point->row <= last_row + ON_THE_BORDER;
    if (!is_inside)
        return false;
    point->column = CLAMP(point->column, 0.0, last_column);
    point->row = CLAMP(point->row, 0.0, last_row);
    return true;
}

/* False with the reason. */
static inline bool
find_spot(const SpateRaster *raster, SpateGridPoint point, Tile *tile, Spot *spot, SpateGap *gap)
{
    bool is_well_inside = point.column >= 0.0 && point.row >= 0.0 &&
                          point.column < raster->n_columns - 1 && point.row < raster->n_rows - 1;
    if (!is_well_inside && !draw_in(raster, &point)) {
        *gap = SPATE_GAP_OUTSIDE;
        return false;
    }
    int column = (int)point.column, row = (int)point.row;
    bool is_in_tile = tile->cells != NULL && (unsigned)column - tile->left < SPATE_TILE_SIDE &&
                      (unsigned)row - tile->top < SPATE_TILE_SIDE;
    if (!is_in_tile && !enter_tile(raster, (unsigned)column, (unsigned)row, tile, gap))
        return false;
    const uint32_t *across = &raster->order.of_column[(unsigned)column - tile->left];
    const uint32_t *down = &raster->order.of_row[(unsigned)row - tile->top];
    spot->cells = tile->cells;
    spot->upper_left = across[0] + down[0];
    spot->upper_right = across[1] + down[0];
    spot->lower_left = across[0] + down[1];
    spot->lower_right = across[1] + down[1];
    spot->along = point.column - column;
    spot->down = point.row - row;
    return true;
}

/* Cells without a share in it do not count, whatever they hold. */
static double
shared_height_m(const Spot *spot)
{
    double along = spot->along, down = spot->down;
    const double weights[4] = {(1.0 - along) * (1.0 - down), along * (1.0 - down),
                               (1.0 - along) * down, along * down};
    const float heights_m[4] = {spot->cells[spot->upper_left], spot->cells[spot->upper_right],
                                spot->cells[spot->lower_left], spot->cells[spot->lower_right]};
    double sum_m = 0.0;
    for (int i = 0; i < 4; i++)
        if (weights[i] > 0.0)
            sum_m += weights[i] * (double)heights_m[i];
    return sum_m;
}

/* NAN: no data. */
static inline double
height_m(const Spot *spot)
{
    const float *cells = spot->cells;
    double upper_m = (double)cells[spot->upper_left], lower_m = (double)cells[spot->lower_left];
    upper_m += spot->along * ((double)cells[spot->upper_right] - upper_m);
    lower_m += spot->along * ((double)cells[spot->lower_right] - lower_m);
    double here_m = upper_m + spot->down * (lower_m - upper_m);
    return isnan(here_m) ? shared_height_m(spot) : here_m;
}

/* The cells of the next places are fetched while these are worked out. */
#define AT_ONCE 64

size_t
spate_raster_heights_m(const SpateRaster *raster, const SpateGridPoint *cells, size_t n,
                       double *heights_m, SpateGap *gap)
{
    *gap = SPATE_GAP_NONE;
    Tile tile = {0};
    for (size_t from = 0; from < n; from += AT_ONCE) {
        Spot spots[AT_ONCE];
        size_t n_spots = 0, most = MIN(n - from, AT_ONCE);
        while (n_spots < most &&
               find_spot(raster, cells[from + n_spots], &tile, &spots[n_spots], gap)) {
            const Spot *spot = &spots[n_spots++];
            __builtin_prefetch(&spot->cells[spot->upper_left]);
            __builtin_prefetch(&spot->cells[spot->lower_right]);
        }
        for (size_t i = 0; i < n_spots; i++) {
            heights_m[from + i] = height_m(&spots[i]);
            if (!isnan(heights_m[from + i]))
                continue;
            *gap = SPATE_GAP_NO_DATA;
            return from + i;
        }
        if (n_spots < most) {
            heights_m[from + n_spots] = NAN;
            return from + n_spots;
        }
    }
    return n;
}
