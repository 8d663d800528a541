/* report.h - a result as text
 *
 * A view: nothing is worked out here that the result does not hold.  Equal results are equal
 * bytes, on every machine and in every locale.
 */
#pragma once

#include "report/detail-report.h"
#include "study/result.h"

typedef enum {
    SPATE_FORMAT_TABLE, /* for people */
    SPATE_FORMAT_JSON,  /* spate-result/1 */
    SPATE_FORMAT_CSV    /* the same rows, flat */
} SpateFormat;

typedef struct {
    bool colour; /* of a terminal */
} SpateTableStyle;

/* Appends the result; the text ends with a newline.  The style matters to the table alone. */
void spate_report_append(GString *text, const SpateResult *result, SpateFormat format,
                         const SpateTableStyle *style);
/* As JSON, with details; NULL without. */
void spate_report_append_detailed(GString *text, const SpateResult *result,
                                  const SpateDetailReport *detail);
