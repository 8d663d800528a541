/* result.h - what a study found: many runs, summed up
 *
 * Shared by run and compare; a report is a view of it.
 */
#pragma once

#include "core/statistics.h"
#include "measure/detail-tally.h"
#include "measure/measures.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

/* A row by names, so that rows of different scenarios can be matched; NULL where a dimension does
 * not apply. */
typedef struct {
    SpateMeasure measure;
    char *traffic, *bearer, *node, *bridge;
    char *to; /* a node: only pairs with this recipient */
    /* over replications */
    double mean; /* NAN: no replication has a value */
    SpateInterval ci95;
    uint32_t n;     /* replications that have a value */
    double *values; /* by replication, NAN where there is none; n_replications of the result */
    double *counts, *ofs; /* likewise; NULL unless a share */
} SpateResultRow;

/* Uncertain in one variant at least: the same draws for all. */
typedef struct {
    char *path, *unit; /* "" without */
    double low, high;
    double *values; /* by replication */
} SpateDrawn;

/* Delivered pairs of a traffic in all replications, by bins of their latency. */
typedef struct {
    char *traffic;
    uint64_t bins[SPATE_LATENCY_BINS];
} SpateResultLatency;

typedef struct {
    char *name;    /* "base", a variant's name, or for two files what distinguishes them */
    char *summary; /* may be NULL */
    SpateResultRow *rows;
    size_t n_rows;
    bool *is_drawn;                /* by what was drawn: false where the variant says what it is */
    SpateResultLatency *latencies; /* by traffic; NULL unless they were kept */
    size_t n_latencies;
} SpateResultVariant;

/* A paired difference: variant - versus, replication by replication. */
typedef struct {
    const char *variant, *versus;
    const SpateResultRow *row; /* of the variant, for its names */
    double mean;
    SpateInterval ci95;
    uint32_t n; /* pairs that have a value on both sides */
} SpateDifference;

typedef struct {
    char *command; /* "run", "compare" */
    char *title, *sha256;
    uint64_t seed;
    uint32_t n_replications; /* finished */
    int64_t duration_ns, warm_up_ns;
    bool interrupted;
    bool one_layout; /* random places are held in one variant at least (scenario/layout.h) */
    SpateResultVariant *variants;
    size_t n_variants;
    SpateDifference *differences;
    size_t n_differences;
    SpateDrawn *drawn; /* in the order of the file */
    size_t n_drawn;
} SpateResult;

/* The names of a row; the plan numbers all things that a row is counted by. */
void spate_result_row_name(SpateResultRow *named, const SpateMeasureRow *row,
                           const SpatePlan *plan);
void spate_result_row_clear(SpateResultRow *row);
/* What distinguishes a row from all others of its variant.  Free with g_free(). */
char *spate_result_row_key(const SpateResultRow *row);
/* The row of a variant that is called the same; NULL if it has none. */
const SpateResultRow *spate_result_find_row(const SpateResultVariant *variant,
                                            const SpateResultRow *like);
/* The row of a traffic alone: all its recipients, on all bearers. */
const SpateResultRow *spate_result_find_of_traffic(const SpateResultVariant *variant,
                                                   SpateMeasure measure, const char *traffic);

void spate_result_free(SpateResult *result);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateResult, spate_result_free)
