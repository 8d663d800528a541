/* store.h - what a sweep found, kept in an SQLite file
 *
 * A store holds one sweep: the scenario that it is about, the points of its design, a row for each
 * finished run, and what its values sum up to.  The tables are described in docs/store.md;
 * ordinary SQLite tools read them.
 *
 * What was added in a batch is there whole or not at all, and once the batch has ended no kill and
 * no power cut takes it away.  A store in use is locked: a second program is refused.
 *
 * A store is checked when it is opened: its tables must be those of a store and nothing else, its
 * texts UTF-8, its rows those that its sums were made of.  No view or trigger of a file is ever
 * carried out, and the work is bounded by the size of the file.
 * One thread at a time.
 */
#pragma once

#include "study/run/result.h"
#include "study/sweep/design.h"
#include "study/sweep/sql.h"

/* Of the tables; one that has another is refused. */
#define SPATE_STORE_FORM 2

/* What a store is about: the store of one is not the store of another. */
typedef struct {
    const char *title;
    const char *scenario; /* its text */
    const char *sha256;   /* of the scenario and its tables */
    const char *version;  /* of spate */
    const char *settings; /* of the command line, a line each */
} SpateStoreSubject;

typedef struct SpateStore SpateStore;

/* A file that is missing or empty gives an empty store, if `may_create`, unless the journal of a
 * store that is gone lies beside it.  path NULL: a store that is gone when it is freed. */
SpateStore *spate_store_open(const char *path, bool may_create, GError **error);
void spate_store_free(SpateStore *store);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateStore, spate_store_free)

/* Removes the file, for whoever made it and has nothing to keep, before the lock on it goes.  Only
 * spate_store_free() may follow. */
void spate_store_remove(SpateStore *store);
/* Once the flag is set, work on the store fails (STOPPED); NULL: nothing stops it. */
void spate_store_stop_on(SpateStore *store, const volatile int *stop);
/* Whether a sweep was begun in it: false after a first batch that was dropped. */
bool spate_store_is_begun(const SpateStore *store);

/* A batch of its own: begins an empty store.  Of another, checks that it is one of this subject and
 * design: else the error (CHANGED) says what has changed. */
bool spate_store_begin(SpateStore *store, const SpateStoreSubject *subject,
                       const SpateDesign *design, GError **error);

/* ---- adding ---- */

bool spate_store_begin_batch(SpateStore *store, GError **error);
bool spate_store_end_batch(SpateStore *store, GError **error);
/* Gives up what was added since. */
void spate_store_drop_batch(SpateStore *store);

/* The rest is called within a batch, which must be dropped when something fails. */

/* The number under which the store knows a row; only its names matter. */
bool spate_store_find_measure(SpateStore *store, const SpateResultRow *row, int64_t *number,
                              GError **error);

typedef struct {
    uint32_t point, replication;
    const int64_t *measures; /* numbers */
    const SpateMeasureValue *values;
    size_t n_values;
} SpateStoreRun;
/* Takes the sums of its point away: they are to be worked out again. */
bool spate_store_add_run(SpateStore *store, const SpateStoreRun *run, GError **error);

/* Means and intervals over the replications that are there without a gap from 0. */
bool spate_store_sum_up(SpateStore *store, uint32_t point, GError **error);
/* The same for all points that have runs but no sums. */
bool spate_store_sum_up_all(SpateStore *store, GError **error);

/* Takes over what another store of the same subject and design has; an empty store becomes one of
 * them.  Runs that both have must agree.  Sums are not yet worked out. */
bool spate_store_merge(SpateStore *store, const char *path, GError **error);

/* ---- reading ---- */

/* How much of its design a store has. */
#define SPATE_STORE_MOST_LISTED 8
typedef struct {
    uint32_t n_points, n_begun; /* have runs */
    uint32_t n_runs, most;      /* of all; of a point */
    uint32_t n_few;             /* points that have runs, but fewer than the most */
    /* the first points without runs, and with few of them */
    uint32_t missing[SPATE_STORE_MOST_LISTED], few[SPATE_STORE_MOST_LISTED];
    uint32_t n_listed_missing, n_listed_few;
} SpateStoreExtent;
bool spate_store_extent(SpateStore *store, SpateStoreExtent *extent, GError **error);

/* By point, then replication. */
typedef void (*SpateStoreEach)(gpointer user, uint32_t point, uint32_t replication);
bool spate_store_each_run(SpateStore *store, SpateStoreEach each, gpointer user, GError **error);

/* "title", "scenario", "sha256", "version", "settings"; free with g_free(). */
char *spate_store_about(SpateStore *store, const char *key, GError **error);

/* Whether random places are the same in all replications of a point (scenario/layout.h). */
bool spate_store_is_of_one_layout(SpateStore *store, bool *one_layout, GError **error);

/* A point with the replications that are there without a gap from 0. */
typedef struct {
    uint32_t point;
    char *variant;
    char **paths, **values; /* of its settings; end with NULL */
    uint32_t n_replications;
    SpateResultRow *rows; /* in the order of a result */
    size_t n_rows;
} SpateStorePoint;

/* All that is varied; NULL at the end. */
char **spate_store_paths(SpateStore *store, GError **error);
bool spate_store_count_points(SpateStore *store, uint32_t *n_points, GError **error);
SpateStorePoint *spate_store_read_point(SpateStore *store, uint32_t point, GError **error);
void spate_store_point_free(SpateStorePoint *point);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateStorePoint, spate_store_point_free)
