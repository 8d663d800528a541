/* store-private.h - the internals of a store, for the files that make it up */
#pragma once

#include "study/sweep/store.h"

struct SpateStore {
    SpateSql sql;
    bool is_file; /* not one that is gone when it is freed */
    /* Kept; made when they are first used. */
    SpateStatement *add_run, *add_sample, *forget_sums, *list_sums;
    bool is_begun;
    GArray *measures; /* uint64_t: the hash of each name, by number; the first number is 1 */
    uint64_t row_sum; /* over all rows, see store-digest.c */
    /* as they were when the last batch ended */
    struct {
        bool is_begun;
        guint n_measures;
        uint64_t row_sum;
    } kept;
    const volatile int *stop; /* may be NULL */
    int64_t steps_left;       /* of the check when it is opened, in thousands; -1: no limit */
};

/* ---- store.c ---- */

/* The tables and views, but for the view of the design; ends with NULL. */
extern const char *const SPATE_STORE_SCHEMA[];
/* The values of SPATE_STORE_KEYS, ended by NULL; free with g_strfreev(). */
char **spate_store_head(SpateStore *store, GError **error);
/* spate_store_begin() within a batch. */
bool spate_store_begin_within(SpateStore *store, const SpateStoreSubject *subject,
                              const SpateDesign *design, GError **error);
/* Sets the error (DAMAGED); always false. */
bool spate_store_damaged(const SpateStore *store, GError **error, const char *format, ...)
    G_GNUC_PRINTF(3, 4);

/* ---- store-difference.c ---- */

/* The first thing that `there` (a store of another thing) and `here` differ in.  `there` and `here`
 * are values by key, in the order of SPATE_STORE_KEYS; free with g_free(). */
#define SPATE_STORE_N_KEYS 5
extern const char *const SPATE_STORE_KEYS[SPATE_STORE_N_KEYS];
/* NULL if they are the same. */
char *spate_store_difference(const char *const *there, const char *const *here);

/* ---- store-design.c ---- */

SpateDesign *spate_store_read_design(SpateStore *store, GError **error);
/* Number of points, what is varied, a sum over all values, and whether it is for one layout; free
 * with g_free(). */
char *spate_store_describe_design(const SpateDesign *design);
/* The view with a column for each path, for queries by hand; free with g_free(). */
char *spate_store_design_view(char *const *paths);

/* ---- store-digest.c ---- */

/* SHA-256 of the title and of the values by key; free with g_free(). */
char *spate_store_head_sum(const char *title, const char *const *values);
/* Of what a measure of the store is called; any name but `measure` may be NULL. */
uint64_t spate_store_hash_measure(const char *measure, const char *traffic, const char *bearer,
                                  const char *node, const char *bridge);
uint64_t spate_store_hash_run(int64_t point, int64_t replication);
/* `measure` is a hash, here and below. */
uint64_t spate_store_hash_sample(int64_t point, uint64_t measure, int64_t replication,
                                 const SpateMeasureValue *value);
uint64_t spate_store_hash_summed(int64_t point, uint64_t measure, double mean, SpateInterval ci95,
                                 int64_t n);

/* ---- store-file.c ---- */

/* Before it is opened: whether it may be a store, and its size.  `name` is its name in messages.
 */
bool spate_store_check_file(const char *path, const char *name, int64_t *bytes, GError **error);

bool spate_store_has_journal(const SpateStore *store);

/* ---- store-check.c ---- */

/* Whether the store, which is not empty, is as one was written; also reads what the store keeps in
 * memory. */
bool spate_store_check(SpateStore *store, GError **error);

/* ---- store-runs.c ---- */

/* Of a row that is read from columns that start with its name: name, traffic, bearer, node, bridge.
 * False if the measure is unknown. */
bool spate_store_name_row(SpateResultRow *row, SpateStatement *statement, int column);
/* What is in the column `node`: of a row by traffic, the recipient. */
const char *spate_store_node(const SpateResultRow *row);
/* Parts of spate_store_add_run(). */
bool spate_store_add_run_alone(SpateStore *store, uint32_t point, uint32_t replication,
                               GError **error);
bool spate_store_add_sample(SpateStore *store, uint32_t point, int64_t measure,
                            uint32_t replication, const SpateMeasureValue *value, GError **error);
/* Takes away what was summed up of a point. */
bool spate_store_forget_sums(SpateStore *store, uint32_t point, GError **error);
