/* store.c - a store as a file: opened, begun, checked
 *
 * A rollback journal, not a write-ahead log: the log needs memory that is shared through the file
 * system, which network file systems do not have, and shards of a sweep often lie there. The lock
 * is held from the first to the last moment, so the journal is emptied after a batch rather
 * than removed, which spares a change of the folder.  `synchronous = EXTRA` syncs all that a commit
 * needs, the folder included, before it counts as done.
 */
#include "study/sweep/store-private.h"

#include "core/stop.h"
#include <string.h>
#include <unistd.h>

/* "Spte" */
#define APPLICATION 0x53707465
#define BUSY_MS     1000

/* What a check may cost, in thousands of SQLite's steps: a row takes some ten of them and at least
 * some ten bytes of the file. */
#define FIRST_STEPS     20000
#define BYTES_PER_STEPS 50

const char *const SPATE_STORE_SCHEMA[] = {
    "CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID",
    "CREATE TABLE paths (path INTEGER PRIMARY KEY, name TEXT NOT NULL)",
    "CREATE TABLE points (point INTEGER PRIMARY KEY, variant TEXT NOT NULL)",
    "CREATE TABLE settings (point INTEGER NOT NULL, path INTEGER NOT NULL, value TEXT NOT NULL,"
    " PRIMARY KEY (point, path)) WITHOUT ROWID",
    "CREATE TABLE measures (measure INTEGER PRIMARY KEY, name TEXT NOT NULL, traffic TEXT,"
    " bearer TEXT, node TEXT, bridge TEXT, unit TEXT NOT NULL)",
    "CREATE TABLE runs (point INTEGER NOT NULL, replication INTEGER NOT NULL,"
    " PRIMARY KEY (point, replication)) WITHOUT ROWID",
    "CREATE TABLE samples (point INTEGER NOT NULL, measure INTEGER NOT NULL,"
    " replication INTEGER NOT NULL, value REAL, counted REAL, out_of REAL,"
    " PRIMARY KEY (point, measure, replication)) WITHOUT ROWID",
    "CREATE TABLE sums (point INTEGER NOT NULL, measure INTEGER NOT NULL, mean REAL,"
    " ci95_low REAL, ci95_high REAL, n INTEGER NOT NULL,"
    " PRIMARY KEY (point, measure)) WITHOUT ROWID",
    "CREATE VIEW results AS SELECT point, variant, name AS measure, traffic, bearer, node, bridge,"
    " unit, mean, ci95_low, ci95_high, n"
    " FROM sums JOIN measures USING (measure) JOIN points USING (point)",
    "CREATE VIEW run_results AS SELECT point, variant, replication, name AS measure, traffic,"
    " bearer, node, bridge, unit, value"
    " FROM samples JOIN measures USING (measure) JOIN points USING (point)",
    NULL,
};

/* ---- lifetime -------------------------------------------------------------------------------- */

void
spate_store_free(SpateStore *store)
{
    if (store == NULL)
        return;
    sqlite3_finalize(store->add_run);
    sqlite3_finalize(store->add_sample);
    sqlite3_finalize(store->forget_sums);
    sqlite3_finalize(store->list_sums);
    int result = sqlite3_close(store->sql.handle);
    g_assert(result == SQLITE_OK);
    g_array_unref(store->measures);
    g_free(store->sql.name);
    g_free(store);
}

bool
spate_store_damaged(const SpateStore *store, GError **error, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    g_autofree char *what = g_strdup_vprintf(format, arguments);
    va_end(arguments);
    g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_DAMAGED,
                "%s: the store is damaged or was edited: %s; restore a backup, or remove it and "
                "sweep again",
                store->sql.name, what);
    return false;
}

/* Whether nothing was ever written; false with an error. */
static bool
find_empty(SpateStore *store, bool *is_empty, GError **error)
{
    int64_t n = 0;
    if (!spate_sql_ask(&store->sql, "SELECT EXISTS (SELECT 1 FROM sqlite_master)", &n, error))
        return false;
    *is_empty = n == 0;
    return true;
}

static bool
is_ours(SpateStore *store, GError **error)
{
    bool is_empty = false;
    int64_t application = 0, form = 0;
    if (!spate_sql_ask(&store->sql, "PRAGMA application_id", &application, error) ||
        !spate_sql_ask(&store->sql, "PRAGMA user_version", &form, error) ||
        !find_empty(store, &is_empty, error))
        return false;
    if (is_empty && application == 0 && form == 0)
        return true;
    if (application == APPLICATION && form == SPATE_STORE_FORM) {
        store->is_begun = true;
        return spate_store_check(store, error);
    }
    if (application != APPLICATION)
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: it is an SQLite file, but not the store of a sweep", store->sql.name);
    else
        g_set_error(
            error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
            "%s: the store has format %d and this spate reads format %d: sweep into another "
            "store, or use the spate that wrote it",
            store->sql.name, (int)form, SPATE_STORE_FORM);
    return false;
}

/* Every thousand steps of SQLite: 1 ends what it does. */
static int
may_not_go_on(void *user)
{
    SpateStore *store = user;
    if (store->steps_left > 0)
        store->steps_left--;
    return store->steps_left == 0 || spate_is_stopped(store->stop);
}

/* A file may hold more than tables: nothing of it is ever carried out. */
static void
be_careful(SpateStore *store, bool is_file)
{
    static const struct {
        int option, value;
    } OPTIONS[] = {{SQLITE_DBCONFIG_DEFENSIVE, 1},
                   {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0},
                   {SQLITE_DBCONFIG_ENABLE_TRIGGER, 0},
                   {SQLITE_DBCONFIG_ENABLE_VIEW, 0}};
    sqlite3 *handle = store->sql.handle;
    for (size_t i = 0; i < G_N_ELEMENTS(OPTIONS); i++)
        sqlite3_db_config(handle, OPTIONS[i].option, OPTIONS[i].value, (int *)NULL);
    sqlite3_limit(handle, SQLITE_LIMIT_ATTACHED, 0);
    sqlite3_busy_timeout(handle, BUSY_MS);
    store->is_file = is_file;
    sqlite3_progress_handler(handle, 1000, may_not_go_on, store);
}

/* Whether the file still has its name: whoever removed or replaced it would not find what is
 * written from now on. */
static bool
is_in_place(SpateStore *store, GError **error)
{
    int has_moved = 0;
    if (store->is_file)
        sqlite3_file_control(store->sql.handle, "main", SQLITE_FCNTL_HAS_MOVED, &has_moved);
    return has_moved == 0 || spate_sql_fail_as(&store->sql, SPATE_STORE_ERROR_MOVED, error);
}

/* Takes the lock, which undoes first what a kill left half done.  A kill between a batch and the
 * end leaves a journal that undoes nothing.  SQLite may have it open: it goes with the end of the
 * next change, which is that of the form to what it is. */
static bool
take(SpateStore *store, GError **error)
{
    g_autofree char *change =
        g_strdup_printf("BEGIN IMMEDIATE; PRAGMA user_version = %d; COMMIT", SPATE_STORE_FORM);
    if (!spate_sql_run(&store->sql,
                       "PRAGMA temp_store = MEMORY;"
                       "PRAGMA cell_size_check = ON;"
                       "PRAGMA main.locking_mode = EXCLUSIVE;"
                       "PRAGMA main.journal_mode = DELETE;"
                       "PRAGMA main.synchronous = EXTRA;"
                       "BEGIN EXCLUSIVE; COMMIT",
                       error) ||
        !is_in_place(store, error) || !is_ours(store, error))
        return false;
    return !store->is_begun || !spate_store_has_journal(store) ||
           spate_sql_run(&store->sql, change, error);
}

/* What a batch that is dropped goes back to. */
static void
keep(SpateStore *store)
{
    store->kept.is_begun = store->is_begun;
    store->kept.n_measures = store->measures->len;
    store->kept.row_sum = store->row_sum;
}

SpateStore *
spate_store_open(const char *path, bool may_create, GError **error)
{
    g_autoptr(SpateStore) store = g_new0(SpateStore, 1);
    /* A file's name is never taken for one of SQLite's special names. */
    g_autofree char *name = path == NULL               ? g_strdup("")
                            : g_path_is_absolute(path) ? g_strdup(path)
                                                       : g_strconcat("./", path, NULL);
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX |
                (may_create || path == NULL ? SQLITE_OPEN_CREATE : 0);
    store->sql.name = path != NULL ? g_utf8_make_valid(path, -1) : g_strdup("the joined store");
    store->measures = g_array_new(FALSE, FALSE, sizeof(uint64_t));
    int64_t bytes = 0;
    bool is_new = path != NULL && !g_file_test(path, G_FILE_TEST_EXISTS);
    if (path != NULL && !spate_store_check_file(path, store->sql.name, &bytes, error))
        return NULL;
    if (sqlite3_open_v2(name, &store->sql.handle, flags, NULL) != SQLITE_OK) {
        spate_sql_fail(&store->sql, error);
        /* Made, but not to be read; whoever began a store in it meanwhile would notice. */
        if (is_new && spate_store_check_file(path, store->sql.name, &bytes, NULL) && bytes == 0)
            unlink(path);
        return NULL;
    }
    be_careful(store, path != NULL);
    store->steps_left = FIRST_STEPS + bytes / BYTES_PER_STEPS;
    GError *failure = NULL;
    if (!take(store, &failure)) {
        /* Whoever has the lock keeps it, and what it wrote. */
        if (is_new && !store->is_begun && failure->code == SPATE_STORE_ERROR_FAILED)
            spate_store_remove(store);
        g_propagate_error(error, failure);
        return NULL;
    }
    store->steps_left = -1;
    keep(store);
    return g_steal_pointer(&store);
}

bool
spate_store_is_begun(const SpateStore *store)
{
    return store->is_begun;
}

void
spate_store_stop_on(SpateStore *store, const volatile int *stop)
{
    store->stop = stop;
}

/* ---- batches --------------------------------------------------------------------------------- */

bool
spate_store_begin_batch(SpateStore *store, GError **error)
{
    return is_in_place(store, error) && spate_sql_run(&store->sql, "BEGIN IMMEDIATE", error);
}

/* A statement of two texts. */
static bool
write_texts(SpateStore *store, const char *change, const char *first, const char *second,
            GError **error)
{
    g_autoptr(SpateStatement) statement = spate_sql_prepare(&store->sql, change, error);
    if (statement == NULL)
        return false;
    spate_sql_bind_text(statement, 1, first);
    spate_sql_bind_text(statement, 2, second);
    return spate_sql_finish(&store->sql, statement, error);
}

bool
spate_store_end_batch(SpateStore *store, GError **error)
{
    g_autofree char *row_sum = g_strdup_printf("%016" G_GINT64_MODIFIER "x", store->row_sum);
    if (store->is_begun &&
        !write_texts(store, "UPDATE about SET value = ? WHERE key = ?", row_sum, "row-sum", error))
        return false;
    if (!spate_sql_run(&store->sql, "COMMIT", error))
        return false;
    keep(store);
    return is_in_place(store, error);
}

void
spate_store_drop_batch(SpateStore *store)
{
    /* A failure may have rolled it back already. */
    if (sqlite3_get_autocommit(store->sql.handle) == 0)
        sqlite3_exec(store->sql.handle, "ROLLBACK", NULL, NULL, NULL);
    store->is_begun = store->kept.is_begun;
    g_array_set_size(store->measures, store->kept.n_measures);
    store->row_sum = store->kept.row_sum;
}

/* ---- what a store is about ------------------------------------------------------------------- */

char *
spate_store_about(SpateStore *store, const char *key, GError **error)
{
    g_autoptr(SpateStatement) statement =
        spate_sql_prepare(&store->sql, "SELECT value FROM about WHERE key = ?", error);
    if (statement == NULL)
        return NULL;
    spate_sql_bind_text(statement, 1, key);
    if (spate_sql_next(&store->sql, statement, error))
        return g_strdup(spate_sql_some_text(statement, 0));
    if (store->sql.is_done)
        spate_store_damaged(store, error, "'%s' is missing in the table about", key);
    return NULL;
}

char **
spate_store_head(SpateStore *store, GError **error)
{
    g_auto(GStrv) values = g_new0(char *, SPATE_STORE_N_KEYS + 1);
    for (size_t i = 0; i < SPATE_STORE_N_KEYS; i++) {
        values[i] = spate_store_about(store, SPATE_STORE_KEYS[i], error);
        if (values[i] == NULL)
            return NULL;
    }
    return g_steal_pointer(&values);
}

static bool
check_same(SpateStore *store, const char *const *here, GError **error)
{
    g_auto(GStrv) there = spate_store_head(store, error);
    if (there == NULL)
        return false;
    g_autofree char *difference = spate_store_difference((const char *const *)there, here);
    if (difference == NULL)
        return true;
    g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_CHANGED,
                "%s belongs to another sweep: %s", store->sql.name, difference);
    return false;
}

/* ---- beginning ------------------------------------------------------------------------------- */

static bool
write_about(SpateStore *store, const char *key, const char *value, GError **error)
{
    return write_texts(store, "INSERT INTO about VALUES (?, ?)", key, value, error);
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
write_points(SpateStore *store, const SpateDesign *design, GError **error)
{
    g_autoptr(SpateStatement) points =
        spate_sql_prepare(&store->sql, "INSERT INTO points VALUES (?, ?)", error);
    g_autoptr(SpateStatement) settings =
        points != NULL
            ? spate_sql_prepare(&store->sql, "INSERT INTO settings VALUES (?, ?, ?)", error)
            : NULL;
    const char *const *value = design->values;
    for (uint32_t i = 0; settings != NULL && i < design->n_points; i++) {
        spate_sql_bind_whole(points, 1, i);
        spate_sql_bind_text(points, 2, design->variants[i]);
        if (!spate_sql_finish(&store->sql, points, error))
            return false;
        for (uint32_t k = 0; k < design->n_paths; k++, value++) {
            spate_sql_bind_whole(settings, 1, i);
            spate_sql_bind_whole(settings, 2, k);
            spate_sql_bind_text(settings, 3, *value);
            if (*value != NULL && !spate_sql_finish(&store->sql, settings, error))
                return false;
        }
    }
    return settings != NULL;
}

static bool
write_tables(SpateStore *store, const SpateDesign *design, GError **error)
{
    g_autofree char *marks = g_strdup_printf("PRAGMA application_id = %d; PRAGMA user_version = %d",
                                             APPLICATION, SPATE_STORE_FORM);
    g_autofree char *view = spate_store_design_view(design->paths);
    bool is_written = spate_sql_run(&store->sql, marks, error);
    for (size_t i = 0; is_written && SPATE_STORE_SCHEMA[i] != NULL; i++)
        is_written = spate_sql_run(&store->sql, SPATE_STORE_SCHEMA[i], error);
    return is_written && spate_sql_run(&store->sql, view, error);
}

static bool
write_head(SpateStore *store, const char *title, const char *const *values, GError **error)
{
    g_autofree char *sum = spate_store_head_sum(title, values);
    bool is_written = write_about(store, "title", title, error) &&
                      write_about(store, "head-sum", sum, error) &&
                      write_about(store, "row-sum", "", error);
    for (size_t i = 0; is_written && i < SPATE_STORE_N_KEYS; i++)
        is_written = write_about(store, SPATE_STORE_KEYS[i], values[i], error);
    return is_written;
}

bool
spate_store_begin_within(SpateStore *store, const SpateStoreSubject *subject,
                         const SpateDesign *design, GError **error)
{
    g_autofree char *points = spate_store_describe_design(design);
    const char *const values[SPATE_STORE_N_KEYS] = {subject->version, subject->scenario,
                                                    subject->sha256, subject->settings, points};
    if (store->is_begun)
        return check_same(store, values, error);
    store->is_begun = true;
    return write_tables(store, design, error) &&
           write_head(store, subject->title != NULL ? subject->title : "", values, error) &&
           write_paths(store, design, error) && write_points(store, design, error);
}

bool
spate_store_begin(SpateStore *store, const SpateStoreSubject *subject, const SpateDesign *design,
                  GError **error)
{
    if (spate_store_begin_batch(store, error) &&
        spate_store_begin_within(store, subject, design, error) &&
        spate_store_end_batch(store, error))
        return true;
    spate_store_drop_batch(store);
    return false;
}
