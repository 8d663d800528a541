/* store-merge.c - the shards of a sweep become one store
 *
 * Stores of one sweep know all its points, each with the same number, so that runs are
 * joined by number.  Measures are numbered as they come and are matched by their names.
 */
#include "study/sweep/store-private.h"

#include <math.h>

/* ---- what the other store is about ----------------------------------------------------------- */

/* Begins the store as the other one was begun, or checks that it was. */
static bool
adopt(SpateStore *store, SpateStore *other, GError **error)
{
    g_autofree char *title = spate_store_about(other, "title", error);
    g_auto(GStrv) head = title != NULL ? spate_store_head(other, error) : NULL;
    g_autoptr(SpateDesign) design = head != NULL ? spate_store_read_design(other, error) : NULL;
    if (design == NULL)
        return false;
    const SpateStoreSubject subject = {.title = title,
                                       .version = head[0],
                                       .scenario = head[1],
                                       .sha256 = head[2],
                                       .settings = head[3]};
    if (spate_store_begin_within(store, &subject, design, error))
        return true;
    g_prefix_error(error, "%s cannot be merged: ", other->sql.name);
    return false;
}

/* ---- runs ------------------------------------------------------------------------------------ */

typedef struct {
    SpateStore *store, *other;
    GArray *measures;              /* int64_t: our number, by theirs - 1 */
    SpateStatement *theirs, *ours; /* samples of a point; a sample */
    uint32_t point;                /* at the moment */
    GHashTable *has, *gets;        /* replications of the point: ours, theirs */
    int64_t n_compared;
} Merge;

/* Our number for each of theirs, which follow each other from 1. */
static bool
match_measures(Merge *merge, GError **error)
{
    SpateStore *other = merge->other;
    g_autoptr(SpateStatement) theirs = spate_sql_prepare(
        &other->sql, "SELECT name, traffic, bearer, node, bridge FROM measures ORDER BY measure",
        error);
    while (spate_sql_next(&other->sql, theirs, error)) {
        SpateResultRow row = {0};
        int64_t ours = 0;
        bool is_known = spate_store_name_row(&row, theirs, 0);
        g_assert(is_known); /* the store was checked */
        bool is_found = spate_store_find_measure(merge->store, &row, &ours, error);
        spate_result_row_clear(&row);
        if (!is_found)
            return false;
        g_array_append_val(merge->measures, ours);
    }
    return other->sql.is_done;
}

static bool
contradict(const Merge *merge, const char *how, GError **error)
{
    g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_CHANGED,
                "%s contradicts an earlier store: point %u, %s", merge->other->sql.name,
                merge->point, how);
    return false;
}

/* The replications of a point, as a set of numbers. */
static GHashTable *
read_replications(SpateStore *store, uint32_t point, GError **error)
{
    g_autoptr(SpateStatement) runs =
        spate_sql_prepare(&store->sql, "SELECT replication FROM runs WHERE point = ?", error);
    if (runs == NULL)
        return NULL;
    spate_sql_bind_whole(runs, 1, point);
    g_autoptr(GHashTable) found = g_hash_table_new(NULL, NULL);
    while (spate_sql_next(&store->sql, runs, error))
        g_hash_table_add(found, GUINT_TO_POINTER((guint)sqlite3_column_int64(runs, 0)));
    return store->sql.is_done ? g_steal_pointer(&found) : NULL;
}

static bool
is_same_number(SpateStatement *ours, int column, double theirs)
{
    double number = spate_sql_number(ours, column);
    return number == theirs || (isnan(number) && isnan(theirs));
}

/* A sample of a run that both have. */
static bool
compare_sample(Merge *merge, int64_t measure, uint32_t replication, const SpateMeasureValue *value,
               GError **error)
{
    SpateStatement *ours = merge->ours;
    spate_sql_bind_whole(ours, 1, merge->point);
    spate_sql_bind_whole(ours, 2, measure);
    spate_sql_bind_whole(ours, 3, replication);
    bool is_there = spate_sql_next(&merge->store->sql, ours, error);
    bool is_same = is_there && is_same_number(ours, 0, value->value) &&
                   is_same_number(ours, 1, value->count) && is_same_number(ours, 2, value->of);
    sqlite3_reset(ours);
    merge->n_compared++;
    if (is_same || (!is_there && !merge->store->sql.is_done))
        return is_same;
    g_autofree char *how = g_strdup_printf("replication %u has other values", replication);
    return contradict(merge, how, error);
}

/* The samples of their runs that we do not have; those of the others must agree with ours. */
static bool
take_samples(Merge *merge, GError **error)
{
    SpateStatement *theirs = merge->theirs;
    bool is_taken = true;
    spate_sql_bind_whole(theirs, 1, merge->point);
    merge->n_compared = 0;
    while (is_taken && spate_sql_next(&merge->other->sql, theirs, error)) {
        int64_t measure =
            g_array_index(merge->measures, int64_t, sqlite3_column_int64(theirs, 0) - 1);
        uint32_t replication = (uint32_t)sqlite3_column_int64(theirs, 1);
        const SpateMeasureValue value = {
            .value = spate_sql_number(theirs, 2),
            .count = spate_sql_number(theirs, 3),
            .of = spate_sql_number(theirs, 4),
        };
        is_taken = g_hash_table_contains(merge->has, GUINT_TO_POINTER(replication))
                       ? compare_sample(merge, measure, replication, &value, error)
                       : spate_store_add_sample(merge->store, merge->point, measure, replication,
                                                &value, error);
    }
    sqlite3_reset(theirs);
    return is_taken && merge->other->sql.is_done;
}

/* All runs of a point have the same measures, so that counting them finds what only we have. */
static bool
check_measures(Merge *merge, uint32_t n_shared, GError **error)
{
    g_autofree char *query = g_strdup_printf(
        "SELECT count(DISTINCT measure) FROM samples WHERE point = %u", merge->point);
    int64_t n_theirs = 0, n_ours = 0;
    if (!spate_sql_ask(&merge->other->sql, query, &n_theirs, error) ||
        !spate_sql_ask(&merge->store->sql, query, &n_ours, error))
        return false;
    return (n_theirs == n_ours && merge->n_compared == n_ours * n_shared) ||
           contradict(merge, "has other measures", error);
}

static bool
merge_point(Merge *merge, GError **error)
{
    g_clear_pointer(&merge->has, g_hash_table_unref);
    g_clear_pointer(&merge->gets, g_hash_table_unref);
    merge->has = read_replications(merge->store, merge->point, error);
    merge->gets = merge->has != NULL ? read_replications(merge->other, merge->point, error) : NULL;
    if (merge->gets == NULL || !take_samples(merge, error))
        return false;
    GHashTableIter each;
    gpointer key = NULL;
    uint32_t n_shared = 0;
    g_hash_table_iter_init(&each, merge->gets);
    while (g_hash_table_iter_next(&each, &key, NULL)) {
        if (g_hash_table_contains(merge->has, key))
            n_shared++;
        else if (!spate_store_add_run_alone(merge->store, merge->point, GPOINTER_TO_UINT(key),
                                            error))
            return false;
    }
    if (!check_measures(merge, n_shared, error))
        return false;
    /* Sums of points that get runs are worked out anew. */
    return n_shared == g_hash_table_size(merge->gets) ||
           spate_store_forget_sums(merge->store, merge->point, error);
}

static bool
merge_points(Merge *merge, GError **error)
{
    g_autoptr(SpateStatement) points =
        spate_sql_prepare(&merge->other->sql, "SELECT DISTINCT point FROM runs", error);
    while (spate_sql_next(&merge->other->sql, points, error)) {
        merge->point = (uint32_t)sqlite3_column_int64(points, 0);
        if (!merge_point(merge, error))
            return false;
    }
    return merge->other->sql.is_done;
}

static bool
copy_runs(SpateStore *store, SpateStore *other, GError **error)
{
    g_autoptr(GArray) measures = g_array_new(FALSE, FALSE, sizeof(int64_t));
    g_autoptr(SpateStatement) theirs = spate_sql_prepare(
        &other->sql,
        "SELECT measure, replication, value, counted, out_of FROM samples WHERE point = ?"
        " ORDER BY measure, replication",
        error);
    g_autoptr(SpateStatement) ours =
        theirs != NULL ? spate_sql_prepare(&store->sql,
                                           "SELECT value, counted, out_of FROM samples"
                                           " WHERE point = ? AND measure = ? AND replication = ?",
                                           error)
                       : NULL;
    if (ours == NULL)
        return false;
    Merge merge = {
        .store = store, .other = other, .measures = measures, .theirs = theirs, .ours = ours};
    bool is_copied = match_measures(&merge, error) && merge_points(&merge, error);
    g_clear_pointer(&merge.has, g_hash_table_unref);
    g_clear_pointer(&merge.gets, g_hash_table_unref);
    return is_copied;
}

bool
spate_store_merge(SpateStore *store, const char *path, GError **error)
{
    g_autoptr(SpateStore) other = spate_store_open(path, false, error);
    if (other == NULL)
        return false;
    spate_store_stop_on(other, store->stop);
    if (!other->is_begun) {
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN, "%s: it has no sweep",
                    other->sql.name);
        return false;
    }
    return adopt(store, other, error) && copy_runs(store, other, error);
}
