/* table-pictures.h - what a terminal shows beside the figures of a table
 *
 * Bars of means and their intervals, and of differences around a line at 0.  One variant's bars
 * share a scale by unit in their block, from 0; those of several variants share a scale by measure,
 * whose ends stand above them.
 */
#pragma once

#include "report/report.h"
#include "report/table/picture.h"
#include "report/table/table-grid.h"
#include "report/table/table-lines.h"

typedef struct {
    bool is_drawn;
    SpatePictureStyle means, differences; /* width 0: not drawn */
} SpateTablePictures;

/* What has room in the terminal beside a table that takes so many columns; if it is one of both,
 * that of the differences, which intervals of means say little of: they are paired. */
SpateTablePictures spate_table_pictures_fit(const SpateTableStyle *style, unsigned taken,
                                            bool has_differences);
/* A line on how to read them; nothing where none are drawn. */
void spate_table_pictures_append_key(GString *text, const SpateTablePictures *pictures,
                                     size_t n_variants);

/* Of one line of the table. */
typedef struct {
    SpatePictureStyle means, differences; /* width 0: nothing to see */
    SpateScale scale, difference_scale;
    double factor; /* from the measure's unit to that of the scales */
} SpateLinePictures;

SpateLinePictures spate_line_pictures_of_variants(const SpateTableLine *line, size_t n_variants,
                                                  const SpateTablePictures *pictures);
/* The only variant's; `block` has all lines (SpateTableLine*) that are shown with it. */
SpateLinePictures spate_line_pictures_of_one(const SpateTableLine *line, const GPtrArray *block,
                                             const SpateTablePictures *pictures);
void spate_line_pictures_fill(SpateTableRow *cells, const SpateLinePictures *pictures,
                              const SpateTableLine *line, size_t variant);
void spate_line_pictures_fill_ends(SpateTableRow *cells, const SpateLinePictures *pictures);

/* How latencies are distributed, a line for each traffic and variant (table-latency.c); nothing
 * where that was not kept, or the terminal is too narrow. */
void spate_table_append_latencies(GString *text, const SpateResult *result,
                                  const SpateTableStyle *style);
