/* report.h - a result as text */
#pragma once

#include "study/result.h"

typedef enum { SPATE_FORMAT_TABLE, SPATE_FORMAT_JSON, SPATE_FORMAT_CSV } SpateFormat;

typedef struct {
    bool colour;    /* of the terminal */
    unsigned width; /* columns; 0: no limit */
} SpateTableStyle;

/* Appends the result.  JSON is the format of docs/result-format.md. */
void spate_report_append(GString *text, const SpateResult *result, SpateFormat format,
                         const SpateTableStyle *style);
