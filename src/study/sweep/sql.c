/* sql.c - SQLite, as the store of a sweep uses it */
#include "study/sweep/sql.h"

#include <math.h>
#include <string.h>

G_DEFINE_QUARK(spate - store - error - quark, spate_store_error)

/* Of an extended code; the lowest byte says the kind. */
static SpateStoreError
kind_of(int result)
{
    if (result == SQLITE_READONLY_DBMOVED)
        return SPATE_STORE_ERROR_MOVED;
    switch (result & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return SPATE_STORE_ERROR_BUSY;
    case SQLITE_NOTADB:
        return SPATE_STORE_ERROR_FOREIGN;
    case SQLITE_CORRUPT:
        return SPATE_STORE_ERROR_DAMAGED;
    case SQLITE_INTERRUPT:
        return SPATE_STORE_ERROR_STOPPED;
    default:
        return SPATE_STORE_ERROR_FAILED;
    }
}

bool
spate_sql_fail_as(const SpateSql *sql, SpateStoreError kind, GError **error)
{
    static const char *const WHYS[] = {
        [SPATE_STORE_ERROR_BUSY] = "another program is using it: wait for it, or stop it",
        [SPATE_STORE_ERROR_FOREIGN] = "it is not an SQLite file",
        [SPATE_STORE_ERROR_DAMAGED] =
            "the file is damaged: restore a backup, or remove it and sweep again",
        [SPATE_STORE_ERROR_MOVED] =
            "it was removed or replaced while in use, so the new runs are lost; start again",
        [SPATE_STORE_ERROR_STOPPED] = "stopped: it took too long, or was interrupted",
    };
    const char *why = (size_t)kind < G_N_ELEMENTS(WHYS) ? WHYS[kind] : NULL;
    int problem = (sqlite3_extended_errcode(sql->handle) & 0xff) == SQLITE_CANTOPEN
                      ? sqlite3_system_errno(sql->handle)
                      : 0;
    if (why == NULL && problem != 0) {
        g_set_error(error, SPATE_STORE_ERROR, (int)kind, "%s: it cannot be opened: %s", sql->name,
                    g_strerror(problem));
        return false;
    }
    g_set_error(error, SPATE_STORE_ERROR, (int)kind, "%s: %s", sql->name,
                why != NULL ? why : sqlite3_errmsg(sql->handle));
    return false;
}

bool
spate_sql_fail(const SpateSql *sql, GError **error)
{
    return spate_sql_fail_as(sql, kind_of(sqlite3_extended_errcode(sql->handle)), error);
}

bool
spate_sql_run(const SpateSql *sql, const char *text, GError **error)
{
    return sqlite3_exec(sql->handle, text, NULL, NULL, NULL) == SQLITE_OK ||
           spate_sql_fail(sql, error);
}

SpateStatement *
spate_sql_prepare(const SpateSql *sql, const char *text, GError **error)
{
    SpateStatement *statement = NULL;
    if (sqlite3_prepare_v3(sql->handle, text, -1, SQLITE_PREPARE_PERSISTENT, &statement, NULL) !=
        SQLITE_OK)
        spate_sql_fail(sql, error);
    return statement;
}

bool
spate_sql_next(SpateSql *sql, SpateStatement *statement, GError **error)
{
    int result = statement != NULL ? sqlite3_step(statement) : SQLITE_ROW;
    sql->is_done = result == SQLITE_DONE;
    if (result != SQLITE_ROW && result != SQLITE_DONE)
        spate_sql_fail(sql, error);
    return result == SQLITE_ROW && statement != NULL;
}

bool
spate_sql_finish(SpateSql *sql, SpateStatement *statement, GError **error)
{
    spate_sql_next(sql, statement, error);
    sqlite3_reset(statement);
    return sql->is_done;
}

/* Binding fails only where memory or the parameter is missing; the step would then tell, but of
 * NULL, which is worse. */
static void
expect_bound(int result)
{
    g_assert(result == SQLITE_OK);
}

void
spate_sql_bind_text(SpateStatement *statement, int number, const char *text)
{
    expect_bound(sqlite3_bind_text(statement, number, text, -1, SQLITE_TRANSIENT));
}

void
spate_sql_bind_whole(SpateStatement *statement, int number, int64_t value)
{
    expect_bound(sqlite3_bind_int64(statement, number, value));
}

void
spate_sql_bind_number(SpateStatement *statement, int number, double value)
{
    expect_bound(sqlite3_bind_double(statement, number, value));
}

const char *
spate_sql_text(SpateStatement *statement, int column)
{
    return (const char *)sqlite3_column_text(statement, column);
}

const char *
spate_sql_some_text(SpateStatement *statement, int column)
{
    const char *text = spate_sql_text(statement, column);
    return text != NULL ? text : "";
}

bool
spate_sql_is_plain_text(SpateStatement *statement, int column)
{
    if (sqlite3_column_type(statement, column) != SQLITE_TEXT)
        return false;
    const char *text = spate_sql_text(statement, column);
    int length = sqlite3_column_bytes(statement, column);
    return text != NULL && memchr(text, '\0', (size_t)length) == NULL &&
           g_utf8_validate(text, length, NULL);
}

double
spate_sql_number(SpateStatement *statement, int column)
{
    bool is_null = sqlite3_column_type(statement, column) == SQLITE_NULL;
    return is_null ? NAN : sqlite3_column_double(statement, column);
}

bool
spate_sql_ask(SpateSql *sql, const char *query, int64_t *answer, GError **error)
{
    g_autoptr(SpateStatement) statement = spate_sql_prepare(sql, query, error);
    bool has_row = spate_sql_next(sql, statement, error);
    *answer = has_row ? sqlite3_column_int64(statement, 0) : -1;
    return has_row || sql->is_done;
}
