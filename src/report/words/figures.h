/* figures.h - figures of a table, with the digits that they need */
#pragma once

#include "study/run/result.h"

/* How figures that are compared with each other are shown. */
typedef struct {
    double factor;
    int decimals;
    bool sign; /* a + before what is positive */
} SpateShown;

/* Three digits of the largest mean; of percents at least tenths.  A row may be NULL. */
SpateShown spate_shown_of(SpateMeasure measure, const SpateResultRow **rows, size_t n_rows);
/* With the digits that the interval needs. */
SpateShown spate_shown_for(SpateShown shown, SpateInterval interval);
/* "-" for NAN; free with g_free(). */
char *spate_figure_text(double value, SpateShown shown);
/* "[11.0, 13.5]"; NULL for none; free with g_free(). */
char *spate_interval_text(SpateInterval interval, SpateShown shown);
/* ", %", ", s", or nothing. */
void spate_append_unit(GString *text, const SpateMeasureInfo *measure);
