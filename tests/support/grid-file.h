/* grid-file.h - height models for tests, as ASCII grids in a folder of their own */
#pragma once

#include <glib.h>
#include <stdio.h>
#include <unistd.h>

#define NO_DATA (-9999.0)
/* WGS 84, and a transverse Mercator of it with its meridian at 15 degrees: EPSG 4326 and 32633. */
#define PRJ_DEGREES                                                                                \
    "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137,298.257223563]],"  \
    "PRIMEM[\"Greenwich\",0],UNIT[\"Degree\",0.0174532925199433]]"
#define PRJ_METRES                                                                                 \
    "PROJCS[\"zone 33\"," PRJ_DEGREES ",PROJECTION[\"Transverse_Mercator\"],"                      \
    "PARAMETER[\"False_Easting\",500000],PARAMETER[\"False_Northing\",0],"                         \
    "PARAMETER[\"Central_Meridian\",15],PARAMETER[\"Scale_Factor\",0.9996],"                       \
    "PARAMETER[\"Latitude_Of_Origin\",0],UNIT[\"Meter\",1]]"

typedef double (*HeightFunc)(double x, double y);

typedef struct {
    int n_columns, n_rows;
    double west, south, cell; /* corner of the first column and the last row */
    HeightFunc height;        /* at the centres of cells */
    const char *prj;          /* NULL: no file says where it lies */
} GridFile;

/* The path; free with g_free(). */
static inline char *
grid_file_write(const GridFile *grid, const char *folder, const char *name)
{
    GString *text = g_string_new(NULL);
    g_string_printf(text,
                    "ncols %d\nnrows %d\nxllcorner %.12g\nyllcorner %.12g\ncellsize %.12g\n"
                    "NODATA_value %g\n",
                    grid->n_columns, grid->n_rows, grid->west, grid->south, grid->cell, NO_DATA);
    for (int r = 0; r < grid->n_rows; r++)
        for (int c = 0; c < grid->n_columns; c++) {
            double x = grid->west + (c + 0.5) * grid->cell;
            double y = grid->south + (grid->n_rows - r - 0.5) * grid->cell;
            g_string_append_printf(text, "%.9g%c", grid->height(x, y),
                                   c + 1 < grid->n_columns ? ' ' : '\n');
        }
    g_autofree char *file = g_strconcat(name, ".asc", NULL);
    char *path = g_build_filename(folder, file, NULL);
    g_file_set_contents(path, text->str, (gssize)text->len, NULL);
    g_autofree char *prj_file = g_strconcat(name, ".prj", NULL);
    g_autofree char *prj_path = g_build_filename(folder, prj_file, NULL);
    unlink(prj_path); /* of a grid of that name before */
    if (grid->prj != NULL)
        g_file_set_contents(prj_path, grid->prj, -1, NULL);
    g_string_free(text, TRUE);
    return path;
}

/* Removes the folder and the plain files in it. */
static inline void
grid_folder_remove(const char *folder)
{
    GDir *dir = g_dir_open(folder, 0, NULL);
    for (const char *name; dir != NULL && (name = g_dir_read_name(dir)) != NULL;) {
        g_autofree char *path = g_build_filename(folder, name, NULL);
        unlink(path);
    }
    if (dir != NULL)
        g_dir_close(dir);
    rmdir(folder);
}
