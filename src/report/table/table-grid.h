/* table-grid.h - cells of a table of results or verdicts, and how they stand side by side
 *
 * Cells hold no colours: those come with the row and the column.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

enum {
    SPATE_COLUMN_LABEL,
    SPATE_COLUMN_VARIANT,
    SPATE_COLUMN_MEAN,
    SPATE_COLUMN_INTERVAL,
    SPATE_COLUMN_N, /* where some replications have no value */
    SPATE_COLUMN_DIFFERENCE,
    SPATE_COLUMN_DIFFERENCE_INTERVAL,
    SPATE_COLUMN_MARK,
    SPATE_COLUMN_PICTURE,
    SPATE_COLUMN_DIFFERENCE_PICTURE,
    SPATE_N_COLUMNS
};

typedef struct {
    char *cells[SPATE_N_COLUMNS]; /* NULL: empty */
    bool is_heading;              /* the subject's name and the columns' headings */
    bool is_label;                /* its label may reach over the columns beside it */
    const char *colour;           /* of its label, report/words/escapes.h; NULL: plain */
} SpateTableRow;

/* SpateTableRow*; free with g_ptr_array_unref(). */
GPtrArray *spate_table_grid_new(void);
SpateTableRow *spate_table_grid_add(GPtrArray *grid);

/* 0 for a column that is empty but for its heading. */
void spate_table_grid_measure(const GPtrArray *grid, unsigned widths[SPATE_N_COLUMNS]);
/* Of a line from end to end. */
unsigned spate_table_grid_width(const unsigned widths[SPATE_N_COLUMNS]);
/* All rows, a blank line before each heading. */
void spate_table_grid_append(GString *text, const GPtrArray *grid,
                             const unsigned widths[SPATE_N_COLUMNS], bool colour);
