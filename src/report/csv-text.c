/* csv-text.c - cells of comma-separated values */
#include "report/csv-text.h"

#include "report/numbers.h"
#include <math.h>
#include <string.h>

void
spate_append_csv_field(GString *text, const char *field)
{
    g_string_append_c(text, ',');
    if (field == NULL)
        return;
    if (strpbrk(field, ",\"\r\n") == NULL) {
        g_string_append(text, field);
        return;
    }
    g_string_append_c(text, '"');
    for (const char *c = field; *c != '\0'; c++) {
        if (*c == '"')
            g_string_append_c(text, '"');
        g_string_append_c(text, *c);
    }
    g_string_append_c(text, '"');
}

void
spate_append_csv_number(GString *text, double value)
{
    g_string_append_c(text, ',');
    if (!isnan(value))
        spate_append_number(text, value);
}
