/* csv-text.c - cells of comma-separated values */
#include "document/csv-text.h"

#include <stdbool.h>
#include <string.h>

void
spate_append_csv_cell(GString *text, const char *cell)
{
    if (cell == NULL)
        return;
    if (strpbrk(cell, ",\"\r\n") == NULL) {
        g_string_append(text, cell);
        return;
    }
    g_string_append_c(text, '"');
    for (const char *c = cell; *c != '\0'; c++) {
        if (*c == '"')
            g_string_append_c(text, '"');
        g_string_append_c(text, *c);
    }
    g_string_append_c(text, '"');
}

void
spate_append_csv_field(GString *text, const char *field)
{
    g_string_append_c(text, ',');
    spate_append_csv_cell(text, field);
}

static bool
is_number(const char *text, gsize length)
{
    g_autofree char *copy = g_strndup(text, length);
    char *end = NULL;
    g_ascii_strtod(copy, &end);
    /* Infinities, NAN and hexadecimal figures are read too, but are no numbers of a spreadsheet. */
    return end != copy && *end == '\0' && strspn(copy, "+-.0123456789eE") == strlen(copy);
}

static bool
may_be_formula(const char *text, gsize length)
{
    static const char *const STARTS[] = {"=",      "+",      "-",      "@",
                                         "\uFF1D", "\uFF0B", "\uFF0D", "\uFF20"};
    const char *end = text + length;
    const char *first = text;
    while (first < end && (*first == ' ' || *first == '\t' || *first == '\r' || *first == '\n'))
        first++;
    for (size_t i = 0; i < G_N_ELEMENTS(STARTS); i++) {
        size_t n = strlen(STARTS[i]);
        if ((size_t)(end - first) >= n && memcmp(first, STARTS[i], n) == 0)
            return !is_number(text, length);
    }
    return false;
}

static void
append_text_cell(GString *into, const char *cell, gsize length)
{
    bool is_quoted = length >= 2 && cell[0] == '"';
    const char *inside = is_quoted ? cell + 1 : cell;
    gsize n = is_quoted ? length - 2 : length;
    if (may_be_formula(inside, n)) {
        g_string_append(into, "\"'");
        g_string_append_len(into, inside, (gssize)n);
        g_string_append_c(into, '"');
    } else {
        g_string_append_len(into, cell, (gssize)length);
    }
}

void
spate_append_csv_text_cells(GString *into, const char *csv, gsize length)
{
    const char *end = csv + length;
    while (csv < end) {
        /* A cell ends at the comma or line feed after it that is in no quotes. */
        const char *after = csv;
        bool is_quoted = false;
        for (; after < end && (is_quoted || (*after != ',' && *after != '\n')); after++)
            is_quoted ^= *after == '"';
        append_text_cell(into, csv, (gsize)(after - csv));
        if (after < end)
            g_string_append_c(into, *after);
        csv = after + 1;
    }
}
