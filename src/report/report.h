/* report.h - a result as text
 *
 * A view: nothing is worked out here that the result does not hold.  Equal results are equal
 * bytes, on every machine and in every locale.
 */
#pragma once

#include "scenario/scenario.h"
#include "study/coverage/coverage.h"
#include "study/detail/detail.h"
#include "study/run/result.h"

typedef enum {
    SPATE_FORMAT_TABLE, /* for people */
    SPATE_FORMAT_JSON,  /* spate-result/1 */
    SPATE_FORMAT_CSV    /* the same rows, flat */
} SpateFormat;

/* Takes a text piece by piece that may be too long to be kept. */
typedef void (*SpateTextSink)(gpointer user, const void *text, gsize length);

/* Of a terminal; all 0 for what is to be kept, or read by a program. */
typedef struct {
    bool colour;
    unsigned columns; /* its width, to draw pictures in; 0: none are drawn */
    bool is_ascii;    /* it shows no other characters */
} SpateTableStyle;

/* The text of a scenario up to which it is carried along. */
#define SPATE_DETAIL_TEXT_BYTES 200000

/* What the details are of, beside what was run; borrowed. */
typedef struct {
    const SpateDetail *detail;
    const SpateResult *result; /* of the same study */
    const char *text;          /* of the (first) scenario file */
    const SpateSetting *settings;
    size_t n_settings;
    const SpateCoverage *const *coverage; /* by variant; NULL: not asked for */
} SpateDetailReport;

/* Appends the result; the text ends with a newline.  The style matters to the table alone. */
void spate_report_append(GString *text, const SpateResult *result, SpateFormat format,
                         const SpateTableStyle *style);
/* As JSON, with details; NULL without. */
void spate_report_append_detailed(GString *text, const SpateResult *result,
                                  const SpateDetailReport *detail);

/* private: the other formats, one file each */

void spate_report_table(GString *text, const SpateResult *result, const SpateTableStyle *style);
void spate_report_csv(GString *text, const SpateResult *result);
