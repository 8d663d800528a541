/* store-check.c - whether a file that says it is a store is as one was written
 *
 * Anyone may hand over a store.  First its tables are compared with those that we make, as text:
 * with any other, a query could mean something else.  Then SQLite looks at every page, so that keys
 * are found where they are looked for and no page is read twice.  Only then is the content read:
 * texts, numbers, and the sums over all rows.  The time is that of reading the file some times
 * over.
 */
#include "study/sweep/store-private.h"

#include <string.h>

/* ---- tables ---------------------------------------------------------------------------------- */

/* The view of the design is compared once the design is known. */
static bool
check_tables(SpateStore *store, GError **error)
{
    g_autoptr(SpateStatement) tables = spate_sql_prepare(
        &store->sql, "SELECT name, sql FROM sqlite_master WHERE type <> 'view' OR name <> 'design'",
        error);
    size_t n_found = 0;
    while (spate_sql_next(&store->sql, tables, error)) {
        n_found++;
        if (g_strv_contains(SPATE_STORE_SCHEMA, spate_sql_some_text(tables, 1)))
            continue;
        g_autofree char *name = g_utf8_make_valid(spate_sql_some_text(tables, 0), -1);
        return spate_store_damaged(store, error, "'%s' is not part of a store", name);
    }
    return store->sql.is_done &&
           (n_found == g_strv_length((char **)(uintptr_t)SPATE_STORE_SCHEMA) ||
            spate_store_damaged(store, error, "a table or a view is missing"));
}

static bool
check_pages(SpateStore *store, GError **error)
{
    g_autoptr(SpateStatement) encoding = spate_sql_prepare(&store->sql, "PRAGMA encoding", error);
    if (!spate_sql_next(&store->sql, encoding, error))
        return false;
    if (strcmp(spate_sql_some_text(encoding, 0), "UTF-8") != 0)
        return spate_store_damaged(store, error, "its text is not UTF-8");
    g_autoptr(SpateStatement) check =
        spate_sql_prepare(&store->sql, "PRAGMA quick_check(1)", error);
    if (!spate_sql_next(&store->sql, check, error))
        return false;
    if (strcmp(spate_sql_some_text(check, 0), "ok") == 0)
        return true;
    g_autofree char *what = g_utf8_make_valid(spate_sql_some_text(check, 0), -1);
    return spate_store_damaged(store, error, "%s", g_strdelimit(what, "\n", ' '));
}

/* ---- texts ----------------------------------------------------------------------------------- */

/* The first column of the row that holds something other than UTF-8 text, or -1. */
static int
find_bad_text(SpateStatement *row)
{
    for (int i = 0; i < sqlite3_column_count(row); i++)
        if (sqlite3_column_type(row, i) != SQLITE_NULL && !spate_sql_is_plain_text(row, i))
            return i;
    return -1;
}

static bool
check_texts(SpateStore *store, GError **error)
{
    static const char *const TABLES[][2] = {
        {"about", "key, value"},
        {"paths", "name"},
        {"points", "variant"},
        {"settings", "value"},
        {"measures", "name, traffic, bearer, node, bridge, unit"},
    };
    for (size_t t = 0; t < G_N_ELEMENTS(TABLES); t++) {
        g_autofree char *query = g_strdup_printf("SELECT %s FROM %s", TABLES[t][1], TABLES[t][0]);
        g_autoptr(SpateStatement) rows = spate_sql_prepare(&store->sql, query, error);
        while (spate_sql_next(&store->sql, rows, error)) {
            int bad = find_bad_text(rows);
            if (bad >= 0)
                return spate_store_damaged(store, error, "a %s in %s is not UTF-8 text",
                                           sqlite3_column_name(rows, bad), TABLES[t][0]);
        }
        if (!store->sql.is_done)
            return false;
    }
    return true;
}

/* ---- what it is about ------------------------------------------------------------------------ */

/* Numbers that follow each other without a gap. */
static bool
check_numbers(SpateStore *store, const char *table, const char *number, int first, GError **error)
{
    g_autofree char *query = g_strdup_printf(
        "SELECT count(*) = 0 OR (min(%s) = %d AND max(%s) = count(*) - 1 + %d) FROM %s", number,
        first, number, first, table);
    int64_t is_whole = 0;
    if (!spate_sql_ask(&store->sql, query, &is_whole, error))
        return false;
    return is_whole == 1 || spate_store_damaged(store, error, "a %s is missing", number);
}

static bool
check_head(SpateStore *store, GError **error)
{
    g_auto(GStrv) values = spate_store_head(store, error);
    g_autofree char *title = values != NULL ? spate_store_about(store, "title", error) : NULL;
    g_autofree char *written = title != NULL ? spate_store_about(store, "head-sum", error) : NULL;
    if (written == NULL)
        return false;
    g_autofree char *sum = spate_store_head_sum(title, (const char *const *)values);
    if (strcmp(sum, written) != 0)
        return spate_store_damaged(store, error, "its description does not match its checksum");
    g_autoptr(SpateDesign) design = spate_store_read_design(store, error);
    if (design == NULL)
        return false;
    g_autofree char *points = spate_store_describe_design(design);
    return strcmp(points, values[SPATE_STORE_N_KEYS - 1]) == 0 ||
           spate_store_damaged(store, error, "its points do not match their checksum");
}

static bool
check_design_view(SpateStore *store, GError **error)
{
    g_auto(GStrv) paths = spate_store_paths(store, error);
    g_autoptr(SpateStatement) found =
        paths != NULL ? spate_sql_prepare(&store->sql,
                                          "SELECT sql FROM sqlite_master"
                                          " WHERE type = 'view' AND name = 'design'",
                                          error)
                      : NULL;
    bool has_one = spate_sql_next(&store->sql, found, error);
    if (!has_one && !store->sql.is_done)
        return false;
    g_autofree char *expected = spate_store_design_view(paths);
    return (has_one && strcmp(expected, spate_sql_some_text(found, 0)) == 0) ||
           spate_store_damaged(store, error, "the view 'design' is not as expected");
}

/* ---- measures -------------------------------------------------------------------------------- */

static bool
take_measure(SpateStore *store, SpateStatement *measures, GError **error)
{
    SpateResultRow row = {0};
    if (!spate_store_name_row(&row, measures, 0)) {
        g_autofree char *name = g_strndup(spate_sql_some_text(measures, 0), 100);
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: this spate does not know the measure '%s': use the spate that wrote the "
                    "store",
                    store->sql.name, name);
        return false;
    }
    uint64_t hash = spate_store_hash_measure(spate_measure_info(row.measure)->name, row.traffic,
                                             row.bearer, spate_store_node(&row), row.bridge);
    bool is_ours = strcmp(spate_unit_name(spate_measure_info(row.measure)->unit),
                          spate_sql_some_text(measures, 5)) == 0;
    spate_result_row_clear(&row);
    g_array_append_val(store->measures, hash);
    return is_ours || spate_store_damaged(store, error, "a measure has another unit");
}

static bool
read_measures(SpateStore *store, GError **error)
{
    g_autoptr(SpateStatement) measures = spate_sql_prepare(
        &store->sql,
        "SELECT name, traffic, bearer, node, bridge, unit FROM measures ORDER BY measure", error);
    while (spate_sql_next(&store->sql, measures, error))
        if (!take_measure(store, measures, error))
            return false;
    return store->sql.is_done;
}

/* ---- rows ------------------------------------------------------------------------------------ */

/* While rows are read in the order of their keys. */
typedef struct {
    SpateStore *store;
    SpateStatement *rows;
    uint32_t n_points;
    int64_t key[3]; /* of the row before */
    size_t n_keys;
    uint64_t sum;
    GArray *n_runs;                    /* uint32_t, by point */
    int64_t point, measure, n_samples; /* of a point and measure */
} Scan;

/* Keys must be whole numbers that ascend, or a row could be there and not be found. */
static bool
take_key(Scan *scan)
{
    int64_t key[3] = {0};
    bool ascends = false, is_equal = true;
    for (size_t i = 0; i < scan->n_keys; i++) {
        if (sqlite3_column_type(scan->rows, (int)i) != SQLITE_INTEGER)
            return false;
        key[i] = sqlite3_column_int64(scan->rows, (int)i);
        ascends = ascends || (is_equal && key[i] > scan->key[i]);
        is_equal = is_equal && key[i] == scan->key[i];
    }
    memcpy(scan->key, key, sizeof key);
    return ascends && key[0] >= 0 && key[0] < scan->n_points;
}

static bool
are_numbers(SpateStatement *rows, int first, int n)
{
    for (int i = first; i < first + n; i++) {
        int type = sqlite3_column_type(rows, i);
        if (type != SQLITE_FLOAT && type != SQLITE_INTEGER && type != SQLITE_NULL)
            return false;
    }
    return true;
}

static bool
take_run(Scan *scan)
{
    int64_t replication = scan->key[1];
    if (replication < 0 || replication > UINT32_MAX)
        return false;
    g_array_index(scan->n_runs, uint32_t, scan->key[0])++;
    scan->sum += spate_store_hash_run(scan->key[0], replication);
    return true;
}

/* Each run of a point has a sample of each of the point's measures. */
static bool
is_complete(const Scan *scan)
{
    return scan->n_samples == 0 ||
           scan->n_samples == g_array_index(scan->n_runs, uint32_t, scan->point);
}

static bool
find_hash(const Scan *scan, uint64_t *hash)
{
    const GArray *measures = scan->store->measures;
    if (scan->key[1] < 1 || scan->key[1] > measures->len)
        return false;
    *hash = g_array_index(measures, uint64_t, scan->key[1] - 1);
    return true;
}

static bool
take_sample(Scan *scan)
{
    uint64_t measure = 0;
    if (!find_hash(scan, &measure) || !are_numbers(scan->rows, 3, 3))
        return false;
    if (scan->point != scan->key[0] || scan->measure != scan->key[1]) {
        if (!is_complete(scan))
            return false;
        scan->point = scan->key[0];
        scan->measure = scan->key[1];
        scan->n_samples = 0;
    }
    scan->n_samples++;
    const SpateMeasureValue value = {
        .value = spate_sql_number(scan->rows, 3),
        .count = spate_sql_number(scan->rows, 4),
        .of = spate_sql_number(scan->rows, 5),
    };
    scan->sum += spate_store_hash_sample(scan->key[0], measure, scan->key[2], &value);
    return true;
}

static bool
take_summed(Scan *scan)
{
    uint64_t measure = 0;
    if (!find_hash(scan, &measure) || !are_numbers(scan->rows, 2, 3) ||
        sqlite3_column_type(scan->rows, 5) != SQLITE_INTEGER)
        return false;
    const SpateInterval ci95 = {spate_sql_number(scan->rows, 3), spate_sql_number(scan->rows, 4)};
    scan->sum += spate_store_hash_summed(scan->key[0], measure, spate_sql_number(scan->rows, 2),
                                         ci95, sqlite3_column_int64(scan->rows, 5));
    return true;
}

static bool
scan_table(Scan *scan, const char *query, size_t n_keys, bool (*take)(Scan *scan), GError **error)
{
    SpateSql *sql = &scan->store->sql;
    g_autoptr(SpateStatement) rows = spate_sql_prepare(sql, query, error);
    scan->rows = rows;
    scan->n_keys = n_keys;
    for (size_t i = 0; i < G_N_ELEMENTS(scan->key); i++)
        scan->key[i] = -1;
    while (spate_sql_next(sql, rows, error))
        if (!take_key(scan) || !take(scan))
            return spate_store_damaged(scan->store, error, "a row of a run is wrong or missing");
    return sql->is_done;
}

static bool
check_rows(SpateStore *store, GError **error)
{
    Scan scan = {.store = store};
    if (!spate_store_count_points(store, &scan.n_points, error))
        return false;
    g_autoptr(GArray) n_runs = g_array_new(FALSE, TRUE, sizeof(uint32_t));
    g_array_set_size(n_runs, scan.n_points);
    scan.n_runs = n_runs;
    if (!scan_table(&scan, "SELECT point, replication FROM runs ORDER BY point, replication", 2,
                    take_run, error) ||
        !scan_table(&scan,
                    "SELECT point, measure, replication, value, counted, out_of FROM samples"
                    " ORDER BY point, measure, replication",
                    3, take_sample, error) ||
        !scan_table(&scan,
                    "SELECT point, measure, mean, ci95_low, ci95_high, n FROM sums"
                    " ORDER BY point, measure",
                    2, take_summed, error))
        return false;
    if (!is_complete(&scan))
        return spate_store_damaged(store, error, "a sample of a run is missing");
    g_autofree char *written = spate_store_about(store, "row-sum", error);
    if (written == NULL)
        return false;
    g_autofree char *sum = g_strdup_printf("%016" G_GINT64_MODIFIER "x", scan.sum);
    store->row_sum = scan.sum;
    return strcmp(sum, written) == 0 ||
           spate_store_damaged(store, error, "its runs do not match their checksum");
}

bool
spate_store_check(SpateStore *store, GError **error)
{
    return check_tables(store, error) && check_pages(store, error) && check_texts(store, error) &&
           check_numbers(store, "paths", "path", 0, error) &&
           check_numbers(store, "points", "point", 0, error) &&
           check_numbers(store, "measures", "measure", 1, error) && check_head(store, error) &&
           check_design_view(store, error) && read_measures(store, error) &&
           check_rows(store, error);
}
