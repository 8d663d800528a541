/* columns.c - lines of cells, side by side */
#include "report/words/columns.h"

struct SpateColumns {
    GPtrArray *lines; /* GPtrArray of char*; the last one is being filled */
};

static GPtrArray *
new_line(void)
{
    return g_ptr_array_new_with_free_func(g_free);
}

SpateColumns *
spate_columns_new(void)
{
    SpateColumns *columns = g_new0(SpateColumns, 1);
    columns->lines = g_ptr_array_new_with_free_func((GDestroyNotify)g_ptr_array_unref);
    g_ptr_array_add(columns->lines, new_line());
    return columns;
}

void
spate_columns_free(SpateColumns *columns)
{
    if (columns == NULL)
        return;
    g_ptr_array_unref(columns->lines);
    g_free(columns);
}

void
spate_columns_take(SpateColumns *columns, char *cell)
{
    g_ptr_array_add(g_ptr_array_index(columns->lines, columns->lines->len - 1), cell);
}

void
spate_columns_add(SpateColumns *columns, const char *cell)
{
    spate_columns_take(columns, g_strdup(cell));
}

void
spate_columns_end_line(SpateColumns *columns)
{
    g_ptr_array_add(columns->lines, new_line());
}

static glong
width_of(const SpateColumns *columns, guint column)
{
    glong width = 0;
    for (guint i = 0; i < columns->lines->len; i++) {
        const GPtrArray *line = g_ptr_array_index(columns->lines, i);
        if (column < line->len)
            width = MAX(width, g_utf8_strlen(g_ptr_array_index(line, column), -1));
    }
    return width;
}

static void
append_spaces(GString *text, glong n)
{
    for (glong i = 0; i < n; i++)
        g_string_append_c(text, ' ');
}

void
spate_columns_append(GString *text, const SpateColumns *columns, guint indent)
{
    for (guint i = 0; i + 1 < columns->lines->len; i++) {
        const GPtrArray *line = g_ptr_array_index(columns->lines, i);
        append_spaces(text, (glong)indent);
        for (guint k = 0; k < line->len; k++) {
            const char *cell = g_ptr_array_index(line, k);
            glong room = width_of(columns, k) - g_utf8_strlen(cell, -1);
            append_spaces(text, k > 0 ? room + 2 : 0);
            g_string_append(text, cell);
            append_spaces(text, k == 0 && line->len > 1 ? room : 0);
        }
        while (text->len > 0 && text->str[text->len - 1] == ' ')
            g_string_truncate(text, text->len - 1);
        g_string_append_c(text, '\n');
    }
}
