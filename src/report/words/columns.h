/* columns.h - lines of cells, side by side
 *
 * Widths are counted in characters; the first cells of a line are aligned left, the others right.
 */
#pragma once

#include <glib.h>

typedef struct SpateColumns SpateColumns;

SpateColumns *spate_columns_new(guint n_left);
void spate_columns_free(SpateColumns *columns);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateColumns, spate_columns_free)

/* The next cell of the last line; takes the text over. */
void spate_columns_take(SpateColumns *columns, char *cell);
void spate_columns_add(SpateColumns *columns, const char *cell);
void spate_columns_end_line(SpateColumns *columns);
/* A line of headings, up to NULL. */
void spate_columns_add_heads(SpateColumns *columns, const char *const *heads);
/* All lines, each after `indent` spaces; none ends with a space. */
void spate_columns_append(GString *text, const SpateColumns *columns, guint indent);
