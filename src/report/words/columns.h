/* columns.h - lines of cells, side by side
 *
 * Widths are counted in characters; the first cell of a line is aligned left, the others right.
 */
#pragma once

#include <glib.h>

typedef struct SpateColumns SpateColumns;

SpateColumns *spate_columns_new(void);
void spate_columns_free(SpateColumns *columns);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateColumns, spate_columns_free)

/* The next cell of the last line; takes the text over. */
void spate_columns_take(SpateColumns *columns, char *cell);
void spate_columns_add(SpateColumns *columns, const char *cell);
void spate_columns_end_line(SpateColumns *columns);
/* All lines, each after `indent` spaces; none ends with a space. */
void spate_columns_append(GString *text, const SpateColumns *columns, guint indent);
