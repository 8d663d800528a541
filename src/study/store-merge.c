/* store-merge.c - the shards of a sweep become one store
 *
 * Stores of one sweep know all its points, each with the same number, so that runs are
 * joined by number.  Measures are numbered as they come and are matched by their names.
 */
#include "study/store-private.h"

#include <string.h>

/* ---- what the other store is about ----------------------------------------------------------- */

static bool
read_variants(SpateStore *store, SpateDesign *design, GError **error)
{
    g_autoptr(SpateStatement) points =
        spate_sql_prepare(&store->sql, "SELECT variant FROM points ORDER BY point", error);
    if (points == NULL || !spate_store_count_points(store, &design->n_points, error))
        return false;
    design->variants = g_new0(const char *, design->n_points + 1);
    GError *failure = NULL;
    uint32_t n = 0;
    while (n < design->n_points && spate_sql_next(&store->sql, points, &failure))
        design->variants[n++] =
            g_string_chunk_insert_const(design->texts, spate_sql_some_text(points, 0));
    if (failure != NULL)
        g_propagate_error(error, failure);
    return failure == NULL;
}

static bool
read_values(SpateStore *store, SpateDesign *design, GError **error)
{
    g_autoptr(SpateStatement) settings =
        spate_sql_prepare(&store->sql, "SELECT point, path, value FROM settings", error);
    if (settings == NULL)
        return false;
    uint64_t n_values = (uint64_t)design->n_points * design->n_paths;
    if (n_values > SPATE_DESIGN_MAX_SETTINGS) {
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: it has more settings than a sweep can have", store->sql.name);
        return false;
    }
    design->values = g_new0(const char *, n_values + 1);
    GError *failure = NULL;
    while (spate_sql_next(&store->sql, settings, &failure)) {
        int64_t point = sqlite3_column_int64(settings, 0), path = sqlite3_column_int64(settings, 1);
        if (point >= 0 && point < design->n_points && path >= 0 && path < design->n_paths)
            design->values[point * design->n_paths + path] =
                g_string_chunk_insert_const(design->texts, spate_sql_some_text(settings, 2));
    }
    if (failure != NULL)
        g_propagate_error(error, failure);
    return failure == NULL;
}

static SpateDesign *
read_design(SpateStore *store, GError **error)
{
    g_autoptr(SpateDesign) design = g_new0(SpateDesign, 1);
    design->texts = g_string_chunk_new(4096);
    design->paths = spate_store_paths(store, error);
    if (design->paths == NULL)
        return NULL;
    design->n_paths = g_strv_length(design->paths);
    if (!read_variants(store, design, error) || !read_values(store, design, error))
        return NULL;
    return g_steal_pointer(&design);
}

/* Begins the store as the other one was begun, or checks that it was. */
static bool
adopt(SpateStore *store, SpateStore *other, GError **error)
{
    static const char *const KEYS[] = {"title", "scenario", "sha256", "version", "settings"};
    g_autoptr(GPtrArray) values = g_ptr_array_new_with_free_func(g_free);
    for (size_t i = 0; i < G_N_ELEMENTS(KEYS); i++) {
        char *value = spate_store_about(other, KEYS[i], error);
        if (value == NULL)
            return false;
        g_ptr_array_add(values, value);
    }
    g_autoptr(SpateDesign) design = read_design(other, error);
    if (design == NULL)
        return false;
    const SpateStoreSubject subject = {
        .title = g_ptr_array_index(values, 0),
        .scenario = g_ptr_array_index(values, 1),
        .sha256 = g_ptr_array_index(values, 2),
        .version = g_ptr_array_index(values, 3),
        .settings = g_ptr_array_index(values, 4),
    };
    if (spate_store_begin(store, &subject, design, error))
        return true;
    g_prefix_error(error, "%s cannot be merged: ", other->sql.name);
    return false;
}

/* ---- runs ------------------------------------------------------------------------------------ */

/* Pairs of numbers, theirs and ours, in a table of its own. */
static bool
match_measures(SpateStore *store, GError **error)
{
    if (!spate_sql_run(&store->sql,
                       "DROP TABLE IF EXISTS temp.matched;"
                       "CREATE TEMP TABLE matched (theirs INTEGER PRIMARY KEY, ours INTEGER)",
                       error))
        return false;
    g_autoptr(SpateStatement) theirs = spate_sql_prepare(
        &store->sql, "SELECT measure, name, traffic, bearer, node, bridge FROM shard.measures",
        error);
    g_autoptr(SpateStatement) add =
        theirs != NULL
            ? spate_sql_prepare(&store->sql, "INSERT INTO temp.matched VALUES (?, ?)", error)
            : NULL;
    if (add == NULL)
        return false;
    GError *failure = NULL;
    while (failure == NULL && spate_sql_next(&store->sql, theirs, &failure)) {
        SpateResultRow row = {0};
        int64_t ours = 0;
        if (!spate_store_name_row(&row, theirs, 1)) {
            g_set_error(&failure, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                        "%s: it holds a measure that this spate does not know", store->sql.name);
        } else if (spate_store_find_measure(store, &row, &ours, &failure)) {
            spate_sql_bind_whole(add, 1, sqlite3_column_int64(theirs, 0));
            spate_sql_bind_whole(add, 2, ours);
            spate_sql_finish(&store->sql, add, &failure);
        }
        spate_result_row_clear(&row);
    }
    if (failure != NULL)
        g_propagate_error(error, failure);
    return failure == NULL;
}

/* Of runs that both have: a sample of one that the other lacks, or has with another value. */
static const char CONTRADICTION[] =
    "WITH both AS (SELECT point, replication FROM shard.runs"
    "              INTERSECT SELECT point, replication FROM main.runs),"
    " theirs AS (SELECT point, replication, ours AS measure, value, counted, out_of"
    "            FROM shard.samples JOIN temp.matched ON measure = theirs),"
    " differing AS (SELECT point, replication FROM both JOIN theirs USING (point, replication)"
    "   LEFT JOIN main.samples AS own USING (point, replication, measure)"
    "   WHERE own.point IS NULL OR own.value IS NOT theirs.value"
    "   OR own.counted IS NOT theirs.counted OR own.out_of IS NOT theirs.out_of"
    "  UNION ALL SELECT point, replication FROM both"
    "   JOIN main.samples AS own USING (point, replication)"
    "   WHERE NOT EXISTS (SELECT 1 FROM shard.samples AS t JOIN temp.matched ON t.measure = theirs"
    "     WHERE t.point = own.point AND t.replication = own.replication AND ours = own.measure))"
    " SELECT point, replication FROM differing ORDER BY point, replication LIMIT 1";

static bool
check_agreement(SpateStore *store, const char *path, GError **error)
{
    g_autoptr(SpateStatement) found = spate_sql_prepare(&store->sql, CONTRADICTION, error);
    if (found == NULL)
        return false;
    GError *failure = NULL;
    if (spate_sql_next(&store->sql, found, &failure))
        g_set_error(&failure, SPATE_STORE_ERROR, SPATE_STORE_ERROR_CHANGED,
                    "%s contradicts what was merged before: point %d, replication %d has other "
                    "values",
                    path, sqlite3_column_int(found, 0), sqlite3_column_int(found, 1));
    if (failure != NULL)
        g_propagate_error(error, failure);
    return failure == NULL;
}

/* Sums of points that get runs are worked out anew. */
static const char COPY[] =
    "CREATE TEMP TABLE added AS SELECT point, replication FROM shard.runs"
    " EXCEPT SELECT point, replication FROM main.runs;"
    "DELETE FROM main.sums WHERE point IN (SELECT point FROM temp.added);"
    "INSERT INTO main.samples SELECT point, ours, replication, value, counted, out_of"
    " FROM shard.samples JOIN temp.matched ON measure = theirs"
    " JOIN temp.added USING (point, replication);"
    "INSERT INTO main.runs SELECT point, replication FROM temp.added;"
    "DROP TABLE temp.added";

static bool
copy_runs(SpateStore *store, const char *path, GError **error)
{
    if (spate_store_begin_batch(store, error) && match_measures(store, error) &&
        check_agreement(store, path, error) && spate_sql_run(&store->sql, COPY, error) &&
        spate_store_sum_up_all(store, error) && spate_store_end_batch(store, error))
        return true;
    spate_store_drop_batch(store);
    return false;
}

static bool
attach(SpateStore *store, const char *path, GError **error)
{
    g_autofree char *name =
        g_path_is_absolute(path) ? g_strdup(path) : g_strconcat("./", path, NULL);
    g_autoptr(SpateStatement) statement =
        spate_sql_prepare(&store->sql, "ATTACH ? AS shard", error);
    if (statement == NULL)
        return false;
    spate_sql_bind_text(statement, 1, name);
    return spate_sql_finish(&store->sql, statement, error);
}

bool
spate_store_merge(SpateStore *store, const char *path, GError **error)
{
    bool is_empty = false;
    {
        g_autoptr(SpateStore) other = spate_store_open(path, false, error);
        if (other == NULL || !spate_store_is_empty(other, &is_empty, error))
            return false;
        if (is_empty) {
            g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                        "%s: no sweep was begun in it", other->sql.name);
            return false;
        }
        if (!adopt(store, other, error))
            return false;
    }
    if (!attach(store, path, error))
        return false;
    bool is_copied = copy_runs(store, path, error);
    sqlite3_exec(store->sql.handle, "DETACH shard", NULL, NULL, NULL);
    return is_copied;
}
