/* csv-text.h - cells of comma-separated values (RFC 4180) */
#pragma once

#include <glib.h>

/* In quotes where it needs them; NULL is empty. */
void spate_append_csv_cell(GString *text, const char *cell);
/* A comma and the cell. */
void spate_append_csv_field(GString *text, const char *field);

/* Appends whole lines of CSV in which no text can be a formula: a spreadsheet takes a cell that
 * begins with =, +, - or @ (or their wide forms, or a tab or carriage return before them) for one.
 * Such a cell is quoted and begins with an apostrophe; numbers stay as they are. */
void spate_append_csv_text_cells(GString *into, const char *csv, gsize length);
