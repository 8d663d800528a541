/* store.c - a store as a file: opened, begun, checked
 *
 * A rollback journal, not a write-ahead log: the log needs memory that is shared through the file
 * system, which network file systems do not have, and shards of a sweep often lie there. The lock
 * is held from the first to the last moment, so the journal is emptied after a batch rather
 * than removed, which spares a change of the folder.  `synchronous = EXTRA` syncs all that a commit
 * needs, the folder included, before it is taken for done.
 */
#include "study/store-private.h"

#include <string.h>

/* "Spte" */
#define APPLICATION 0x53707465
#define BUSY_MS     1000

static const char SCHEMA[] =
    "CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;"
    "CREATE TABLE paths (path INTEGER PRIMARY KEY, name TEXT NOT NULL);"
    "CREATE TABLE points (point INTEGER PRIMARY KEY, variant TEXT NOT NULL);"
    "CREATE TABLE settings (point INTEGER NOT NULL, path INTEGER NOT NULL, value TEXT NOT NULL,"
    " PRIMARY KEY (point, path)) WITHOUT ROWID;"
    "CREATE TABLE measures (measure INTEGER PRIMARY KEY, name TEXT NOT NULL, traffic TEXT,"
    " bearer TEXT, node TEXT, bridge TEXT, unit TEXT NOT NULL);"
    "CREATE TABLE runs (point INTEGER NOT NULL, replication INTEGER NOT NULL,"
    " PRIMARY KEY (point, replication)) WITHOUT ROWID;"
    "CREATE TABLE samples (point INTEGER NOT NULL, measure INTEGER NOT NULL,"
    " replication INTEGER NOT NULL, value REAL, counted REAL, out_of REAL,"
    " PRIMARY KEY (point, measure, replication)) WITHOUT ROWID;"
    "CREATE TABLE sums (point INTEGER NOT NULL, measure INTEGER NOT NULL, mean REAL,"
    " ci95_low REAL, ci95_high REAL, n INTEGER NOT NULL,"
    " PRIMARY KEY (point, measure)) WITHOUT ROWID;"
    "CREATE VIEW results AS SELECT point, variant, name AS measure, traffic, bearer, node, bridge,"
    " unit, mean, ci95_low, ci95_high, n"
    " FROM sums JOIN measures USING (measure) JOIN points USING (point);"
    "CREATE VIEW run_results AS SELECT point, variant, replication, name AS measure, traffic,"
    " bearer, node, bridge, unit, value"
    " FROM samples JOIN measures USING (measure) JOIN points USING (point);";

/* ---- lifetime -------------------------------------------------------------------------------- */

void
spate_store_free(SpateStore *store)
{
    if (store == NULL)
        return;
    sqlite3_finalize(store->add_run);
    sqlite3_finalize(store->add_sample);
    sqlite3_finalize(store->forget_sums);
    int result = sqlite3_close(store->sql.handle);
    g_assert(result == SQLITE_OK);
    g_free(store->sql.name);
    g_free(store);
}

bool
spate_store_is_empty(SpateStore *store, bool *is_empty, GError **error)
{
    int64_t n = 0;
    if (!spate_sql_ask(&store->sql, "SELECT count(*) FROM sqlite_master", &n, error))
        return false;
    *is_empty = n == 0;
    return true;
}

static bool
is_ours(SpateStore *store, GError **error)
{
    bool is_empty = false;
    int64_t application = 0, form = 0;
    if (!spate_store_is_empty(store, &is_empty, error) ||
        !spate_sql_ask(&store->sql, "PRAGMA application_id", &application, error) ||
        !spate_sql_ask(&store->sql, "PRAGMA user_version", &form, error))
        return false;
    bool is_new = is_empty && application == 0 && form == 0;
    if (is_new || (application == APPLICATION && form == SPATE_STORE_FORM))
        return true;
    if (application != APPLICATION)
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: it is an SQLite file, but not the store of a sweep", store->sql.name);
    else
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: it is a store of form %d, and this spate knows form %d", store->sql.name,
                    (int)form, SPATE_STORE_FORM);
    return false;
}

/* A file's name is never taken for one of SQLite's special names. */
static char *
plain_name(const char *path)
{
    if (path == NULL)
        return g_strdup("");
    return g_path_is_absolute(path) ? g_strdup(path) : g_strconcat("./", path, NULL);
}

SpateStore *
spate_store_open(const char *path, bool may_create, GError **error)
{
    g_autoptr(SpateStore) store = g_new0(SpateStore, 1);
    g_autofree char *name = plain_name(path);
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX |
                (may_create || path == NULL ? SQLITE_OPEN_CREATE : 0);
    store->sql.name = path != NULL ? g_utf8_make_valid(path, -1) : g_strdup("the joined store");
    if (sqlite3_open_v2(name, &store->sql.handle, flags, NULL) != SQLITE_OK) {
        spate_sql_fail(&store->sql, error);
        return NULL;
    }
    sqlite3_busy_timeout(store->sql.handle, BUSY_MS);
    if (!spate_sql_run(&store->sql,
                       "PRAGMA temp_store = MEMORY;"
                       "PRAGMA main.locking_mode = EXCLUSIVE;"
                       "PRAGMA main.journal_mode = DELETE;"
                       "PRAGMA main.synchronous = EXTRA;"
                       "BEGIN EXCLUSIVE; COMMIT",
                       error) ||
        !is_ours(store, error))
        return NULL;
    return g_steal_pointer(&store);
}

/* ---- batches --------------------------------------------------------------------------------- */

bool
spate_store_begin_batch(SpateStore *store, GError **error)
{
    return spate_sql_run(&store->sql, "BEGIN IMMEDIATE", error);
}

bool
spate_store_end_batch(SpateStore *store, GError **error)
{
    return spate_sql_run(&store->sql, "COMMIT", error);
}

void
spate_store_drop_batch(SpateStore *store)
{
    /* A failure may have rolled it back already. */
    if (sqlite3_get_autocommit(store->sql.handle) == 0)
        sqlite3_exec(store->sql.handle, "ROLLBACK", NULL, NULL, NULL);
}

/* ---- what a store is about ------------------------------------------------------------------- */

static void
add_to_sum(GChecksum *sum, const char *text)
{
    /* What is missing differs from what is empty. */
    if (text != NULL)
        g_checksum_update(sum, (const guchar *)text, (gssize)strlen(text) + 1);
    else
        g_checksum_update(sum, (const guchar *)"\1", 2);
}

/* "12 points of nodes.soil.count; sum ..." */
static char *
describe_design(const SpateDesign *design)
{
    g_autoptr(GChecksum) sum = g_checksum_new(G_CHECKSUM_SHA256);
    for (uint32_t i = 0; i < design->n_paths; i++)
        add_to_sum(sum, design->paths[i]);
    for (uint32_t i = 0; i < design->n_points; i++)
        add_to_sum(sum, design->variants[i]);
    for (size_t i = 0; i < (size_t)design->n_points * design->n_paths; i++)
        add_to_sum(sum, design->values[i]);
    g_autofree char *paths = g_strjoinv(", ", design->paths);
    return g_strdup_printf("%u point%s%s%s; sha256 %s", design->n_points,
                           design->n_points == 1 ? "" : "s", design->n_paths > 0 ? " of " : "",
                           paths, g_checksum_get_string(sum));
}

char *
spate_store_about(SpateStore *store, const char *key, GError **error)
{
    g_autoptr(SpateStatement) statement =
        spate_sql_prepare(&store->sql, "SELECT value FROM about WHERE key = ?", error);
    if (statement == NULL)
        return NULL;
    spate_sql_bind_text(statement, 1, key);
    GError *failure = NULL;
    if (spate_sql_next(&store->sql, statement, &failure))
        return g_strdup(spate_sql_some_text(statement, 0));
    if (failure == NULL)
        g_set_error(&failure, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: the store does not tell its '%s'", store->sql.name, key);
    g_propagate_error(error, failure);
    return NULL;
}

static bool
check_same(SpateStore *store, const char *const *here, GError **error)
{
    g_autoptr(GPtrArray) there = g_ptr_array_new_with_free_func(g_free);
    for (size_t i = 0; i < SPATE_STORE_N_KEYS; i++) {
        char *value = spate_store_about(store, SPATE_STORE_KEYS[i], error);
        if (value == NULL)
            return false;
        g_ptr_array_add(there, value);
    }
    g_autofree char *difference = spate_store_difference((const char *const *)there->pdata, here);
    if (difference == NULL)
        return true;
    g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_CHANGED,
                "%s is the store of another sweep: %s", store->sql.name, difference);
    return false;
}

/* ---- beginning ------------------------------------------------------------------------------- */

static bool
write_about(SpateStore *store, const char *key, const char *value, GError **error)
{
    g_autoptr(SpateStatement) statement =
        spate_sql_prepare(&store->sql, "INSERT INTO about VALUES (?, ?)", error);
    if (statement == NULL)
        return false;
    spate_sql_bind_text(statement, 1, key);
    spate_sql_bind_text(statement, 2, value);
    return spate_sql_finish(&store->sql, statement, error);
}

static bool
write_paths(SpateStore *store, const SpateDesign *design, GError **error)
{
    g_autoptr(SpateStatement) statement =
        spate_sql_prepare(&store->sql, "INSERT INTO paths VALUES (?, ?)", error);
    for (uint32_t i = 0; statement != NULL && i < design->n_paths; i++) {
        spate_sql_bind_whole(statement, 1, i);
        spate_sql_bind_text(statement, 2, design->paths[i]);
        if (!spate_sql_finish(&store->sql, statement, error))
            return false;
    }
    return statement != NULL;
}

static bool
write_point(SpateStore *store, SpateStatement *points, SpateStatement *settings,
            const SpateDesign *design, uint32_t point, GError **error)
{
    spate_sql_bind_whole(points, 1, point);
    spate_sql_bind_text(points, 2, design->variants[point]);
    if (!spate_sql_finish(&store->sql, points, error))
        return false;
    for (uint32_t i = 0; i < design->n_paths; i++) {
        const char *value = design->values[(size_t)point * design->n_paths + i];
        if (value == NULL)
            continue;
        spate_sql_bind_whole(settings, 1, point);
        spate_sql_bind_whole(settings, 2, i);
        spate_sql_bind_text(settings, 3, value);
        if (!spate_sql_finish(&store->sql, settings, error))
            return false;
    }
    return true;
}

static bool
write_points(SpateStore *store, const SpateDesign *design, GError **error)
{
    g_autoptr(SpateStatement) points =
        spate_sql_prepare(&store->sql, "INSERT INTO points VALUES (?, ?)", error);
    g_autoptr(SpateStatement) settings =
        points != NULL
            ? spate_sql_prepare(&store->sql, "INSERT INTO settings VALUES (?, ?, ?)", error)
            : NULL;
    for (uint32_t i = 0; settings != NULL && i < design->n_points; i++)
        if (!write_point(store, points, settings, design, i, error))
            return false;
    return settings != NULL;
}

/* A column for each path, for queries by hand. */
static bool
write_design_view(SpateStore *store, const SpateDesign *design, GError **error)
{
    g_autoptr(GString) view = g_string_new("CREATE VIEW design AS SELECT point, variant");
    for (uint32_t i = 0; i < design->n_paths; i++) {
        char *column = sqlite3_mprintf(", (SELECT value FROM settings WHERE settings.point ="
                                       " points.point AND path = %u) AS \"%w\"",
                                       i, design->paths[i]);
        g_string_append(view, column);
        sqlite3_free(column);
    }
    g_string_append(view, " FROM points");
    return spate_sql_run(&store->sql, view->str, error);
}

static bool
write_head(SpateStore *store, const SpateStoreSubject *subject, const char *const *values,
           const SpateDesign *design, GError **error)
{
    g_autofree char *marks = g_strdup_printf("PRAGMA application_id = %d; PRAGMA user_version = %d",
                                             APPLICATION, SPATE_STORE_FORM);
    if (!spate_sql_run(&store->sql, marks, error) || !spate_sql_run(&store->sql, SCHEMA, error) ||
        !write_about(store, "title", subject->title != NULL ? subject->title : "", error))
        return false;
    for (size_t i = 0; i < SPATE_STORE_N_KEYS; i++)
        if (!write_about(store, SPATE_STORE_KEYS[i], values[i], error))
            return false;
    return write_paths(store, design, error) && write_points(store, design, error) &&
           write_design_view(store, design, error);
}

bool
spate_store_begin(SpateStore *store, const SpateStoreSubject *subject, const SpateDesign *design,
                  GError **error)
{
    g_autofree char *points = describe_design(design);
    const char *const values[SPATE_STORE_N_KEYS] = {subject->version, subject->scenario,
                                                    subject->sha256, subject->settings, points};
    bool is_empty = false;
    if (!spate_store_is_empty(store, &is_empty, error))
        return false;
    if (!is_empty)
        return check_same(store, values, error);
    if (spate_store_begin_batch(store, error) &&
        write_head(store, subject, values, design, error) && spate_store_end_batch(store, error))
        return true;
    spate_store_drop_batch(store);
    return false;
}
