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
