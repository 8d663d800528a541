/* csv-text.h - cells of comma-separated values (RFC 4180) */
#pragma once

#include <glib.h>

/* A comma and the cell, in quotes where it needs them; NULL is empty. */
void spate_append_csv_field(GString *text, const char *field);
/* The same for a number; NAN is empty. */
void spate_append_csv_number(GString *text, double value);
