/* reference.h - rows of tests/reference/, by the names of their columns
 *
 * Each file keeps the columns `source` and `confirmation` of the collection that it comes
 * from; tests name the row that failed.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

typedef struct {
    GPtrArray *columns; /* char* */
    GPtrArray *rows;    /* GPtrArray* of char* */
} Reference;

Reference *reference_read(const char *file);
void reference_free(Reference *reference);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(Reference, reference_free)

/* "" where the row has no such field. */
const char *reference_text(const Reference *reference, guint row, const char *column);
double reference_number(const Reference *reference, guint row, const char *column);
/* From a column `inputs`: "name=value;name=value"; NAN if it is not there. */
double reference_input(const Reference *reference, guint row, const char *name);
/* The same as text, "" if it is not there; free with g_free(). */
char *reference_input_text(const Reference *reference, guint row, const char *name);
/* Absolute tolerance for the row's value: "1e-6", "1e-6 relative", "1 %". */
double reference_tolerance(const Reference *reference, guint row);
