/* result-form.h - spate-result/1 by tables: docs/result-format.md */
#pragma once

#include "document/form.h"
#include "report/report.h"
#include "study/run/result.h"

/* A difference with names of its own. */
typedef struct {
    char *variant, *versus;
    SpateResultRow row; /* mean, ci95 and n are those of the difference */
} SpateDifferenceForm;

/* What was drawn, and in which variants. */
typedef struct {
    SpateDrawn drawn;
    char **variants;
} SpateDrawnForm;

/* A result as it is written. */
typedef struct {
    SpateResult result; /* its own differences and draws are not read */
    SpateDifferenceForm *differences;
    size_t n_differences;
    SpateDrawnForm *drawn; /* NULL: nothing was */
    size_t n_drawn;
    const SpateDetailReport *detail; /* NULL: without */
} SpateResultForm;

extern const SpateForm SPATE_RESULT_FORM;
extern const SpateForm SPATE_RESULT_ROW;   /* SpateResultRow, with its values */
extern const SpateForm SPATE_RESULT_DRAWN; /* SpateDrawnForm */

/* As CSV, and as a difference. */
extern const SpateForm SPATE_RESULT_COLUMNS; /* SpateResultRow */
SpateDifferenceForm spate_difference_form(const SpateDifference *difference);
