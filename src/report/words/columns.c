/* columns.c - lines of cells, side by side */
#include "report/words/columns.h"

struct SpateColumns {
    GPtrArray *lines; /* GPtrArray of char*; the last one is being filled */
    guint n_left;
};

SpateColumns *
spate_columns_new(guint n_left)
{
    SpateColumns *columns = g_new0(SpateColumns, 1);
    columns->lines = g_ptr_array_new_with_free_func((GDestroyNotify)g_ptr_array_unref);
    columns->n_left = n_left;
    spate_columns_end_line(columns);
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
    g_ptr_array_add(columns->lines, g_ptr_array_new_with_free_func(g_free));
}

void
spate_columns_add_heads(SpateColumns *columns, const char *const *heads)
{
    for (; *heads != NULL; heads++)
        spate_columns_add(columns, *heads);
    spate_columns_end_line(columns);
}

/* By column. */
static GArray *
widths_of(const SpateColumns *columns)
{
    GArray *widths = g_array_new(FALSE, TRUE, sizeof(glong));
    for (guint i = 0; i < columns->lines->len; i++) {
        const GPtrArray *line = g_ptr_array_index(columns->lines, i);
        if (widths->len < line->len)
            g_array_set_size(widths, line->len);
        for (guint k = 0; k < line->len; k++) {
            glong *width = &g_array_index(widths, glong, k);
            *width = MAX(*width, g_utf8_strlen(g_ptr_array_index(line, k), -1));
        }
    }
    return widths;
}

void
spate_columns_append(GString *text, const SpateColumns *columns, guint indent)
{
    g_autoptr(GArray) widths = widths_of(columns);
    for (guint i = 0; i + 1 < columns->lines->len; i++) {
        const GPtrArray *line = g_ptr_array_index(columns->lines, i);
        g_string_append_printf(text, "%*s", (int)indent, "");
        for (guint k = 0; k < line->len; k++) {
            const char *cell = g_ptr_array_index(line, k);
            int room = (int)(g_array_index(widths, glong, k) - g_utf8_strlen(cell, -1));
            int before = (k > 0 ? 2 : 0) + (k < columns->n_left ? 0 : room);
            g_string_append_printf(text, "%*s%s%*s", before, "", cell,
                                   k < columns->n_left ? room : 0, "");
        }
        while (text->len > 0 && text->str[text->len - 1] == ' ')
            g_string_truncate(text, text->len - 1);
        g_string_append_c(text, '\n');
    }
}
