/* table-lines.h - the rows of a result by what they tell of, and side by side
 *
 * A subject is a traffic, a bearer, a bridge or a node.  A line is one measure of it in every
 * variant.
 */
#pragma once

#include "study/run/result.h"

typedef enum {
    SPATE_SUBJECT_TRAFFIC,
    SPATE_SUBJECT_BEARER,
    SPATE_SUBJECT_BRIDGE,
    SPATE_SUBJECT_NODE,
    SPATE_N_SUBJECT_KINDS
} SpateSubjectKind;

/* Arrays by variant. */
typedef struct {
    const SpateResultRow **rows;         /* NULL where the variant has no such row */
    const SpateDifference **differences; /* to the first; NULL where there is none */
} SpateTableLine;

typedef struct {
    SpateSubjectKind kind;
    const char *name;
    GPtrArray *lines; /* SpateTableLine* */
} SpateSubject;

/* SpateSubject*, by kind, then in the order of the first variant, then what only later variants
 * have.  Borrows from the result; free with g_ptr_array_unref(). */
GPtrArray *spate_table_subjects(const SpateResult *result);
/* The row of the first variant that has it. */
const SpateResultRow *spate_table_line_row(const SpateTableLine *line, size_t n_variants);

/* The latencies of a traffic that were kept; NULL if none were. */
const SpateResultLatency *spate_find_latency(const SpateResultVariant *variant,
                                             const char *traffic);
/* The first and the last bin that holds anything in any variant; false if none does. */
bool spate_find_latency_bins(const SpateResult *result, unsigned *first, unsigned *last);
