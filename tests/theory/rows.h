/* rows.h - claims from rows of tests/reference/ */
#pragma once

#include "judge.h"
#include "support/reference.h"

#include <string.h>

/* The first row of a model at or behind `i`; the number of rows if there is none. */
static inline guint
next_row(const Reference *rows, guint i, const char *model)
{
    while (i < rows->rows->len && strcmp(reference_text(rows, i, "model"), model) != 0)
        i++;
    return i;
}

#define FOR_ROWS(rows, i, model)                                                                   \
    for (guint i = next_row(rows, 0, model); i < (rows)->rows->len;                                \
         i = next_row(rows, i + 1, model))

/* Its texts last as long as the program. */
static inline JudgeClaim
claim_of_row(const Reference *rows, guint i, const char *subject, const char *quantity,
             double tolerance)
{
    g_autofree char *whole = g_strdup_printf("%s (%s)", subject, reference_text(rows, i, "inputs"));
    g_autofree char *source = g_strdup_printf("%s: %s; %s", reference_text(rows, i, "source"),
                                              reference_text(rows, i, "formula"),
                                              reference_text(rows, i, "confirmation"));
    return (JudgeClaim){.subject = g_intern_string(whole),
                        .quantity = quantity,
                        .unit = "1",
                        .expected = reference_number(rows, i, "value"),
                        .tolerance = tolerance,
                        .source = g_intern_string(source)};
}
