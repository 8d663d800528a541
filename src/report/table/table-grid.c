/* table-grid.c - cells of a result's table, and how they stand side by side */
#include "report/table/table-grid.h"

#include "report/words/escapes.h"
#include <string.h>

#define BETWEEN 2 /* blanks between columns */

static void
free_row(gpointer row)
{
    SpateTableRow *dying = row;
    for (int c = 0; c < SPATE_N_COLUMNS; c++)
        g_free(dying->cells[c]);
    g_free(dying);
}

GPtrArray *
spate_table_grid_new(void)
{
    return g_ptr_array_new_with_free_func(free_row);
}

SpateTableRow *
spate_table_grid_add(GPtrArray *grid)
{
    SpateTableRow *row = g_new0(SpateTableRow, 1);
    g_ptr_array_add(grid, row);
    return row;
}

static unsigned
width_of(const char *cell)
{
    return (unsigned)g_utf8_strlen(cell, -1);
}

void
spate_table_grid_measure(const GPtrArray *grid, unsigned widths[SPATE_N_COLUMNS])
{
    bool is_used[SPATE_N_COLUMNS] = {false};
    memset(widths, 0, SPATE_N_COLUMNS * sizeof *widths);
    for (guint i = 0; i < grid->len; i++) {
        const SpateTableRow *row = g_ptr_array_index(grid, i);
        for (int c = row->is_label ? SPATE_COLUMN_VARIANT : 0; c < SPATE_N_COLUMNS; c++) {
            if (row->cells[c] == NULL)
                continue;
            widths[c] = MAX(widths[c], width_of(row->cells[c]));
            is_used[c] = is_used[c] || !row->is_heading;
        }
    }
    for (int c = 0; c < SPATE_N_COLUMNS; c++)
        widths[c] = is_used[c] ? widths[c] : 0;
}

unsigned
spate_table_grid_width(const unsigned widths[SPATE_N_COLUMNS])
{
    unsigned width = 0;
    for (int c = 0; c < SPATE_N_COLUMNS; c++)
        if (widths[c] > 0)
            width += widths[c] + (width > 0 ? BETWEEN : 0);
    return width;
}

static void
append_row(GString *text, const SpateTableRow *row, const unsigned widths[SPATE_N_COLUMNS],
           bool colour)
{
    unsigned start = 0, at = 0; /* of the column; where the text ends */
    for (int c = 0; c < SPATE_N_COLUMNS; c++) {
        const char *cell = row->cells[c];
        if (widths[c] == 0 && !(row->is_label && c == SPATE_COLUMN_LABEL))
            continue;
        if (cell != NULL && cell[0] != '\0') {
            bool is_picture = c >= SPATE_COLUMN_PICTURE;
            bool is_left = c <= SPATE_COLUMN_VARIANT || is_picture;
            unsigned place = start + (is_left ? 0 : widths[c] - width_of(cell));
            const char *its = c == SPATE_COLUMN_LABEL        ? row->colour
                              : is_picture && !row->is_label ? SPATE_CYAN
                                                             : NULL;
            const char *escape = colour ? its : NULL;
            g_string_append_printf(text, "%*s", place > at ? (int)(place - at) : 0, "");
            g_string_append(text, escape != NULL ? escape : "");
            g_string_append(text, cell);
            g_string_append(text, escape != NULL ? SPATE_PLAIN : "");
            at = MAX(place, at) + width_of(cell);
        }
        start += widths[c] + BETWEEN;
    }
}

void
spate_table_grid_append(GString *text, const GPtrArray *grid,
                        const unsigned widths[SPATE_N_COLUMNS], bool colour)
{
    for (guint i = 0; i < grid->len; i++) {
        const SpateTableRow *row = g_ptr_array_index(grid, i);
        bool is_bold = row->is_heading && colour;
        g_string_append(text, row->is_heading ? "\n" : "");
        g_string_append(text, is_bold ? SPATE_BOLD : "");
        append_row(text, row, widths, colour);
        g_string_append(text, is_bold ? SPATE_PLAIN : "");
        g_string_append_c(text, '\n');
    }
}
