/* sql.h - SQLite, as the store of a sweep uses it
 *
 * A thin layer: each call that fails sets an error that names the file.  Nothing here knows the
 * tables.
 */
#pragma once

#include <glib.h>
#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#define SPATE_STORE_ERROR (spate_store_error_quark())
GQuark spate_store_error_quark(void);
typedef enum {
    SPATE_STORE_ERROR_FAILED,  /* could not be read or written: a full disk, no permission */
    SPATE_STORE_ERROR_BUSY,    /* another program works on it */
    SPATE_STORE_ERROR_FOREIGN, /* no store, one of another form, or the journal of another */
    SPATE_STORE_ERROR_CHANGED, /* a store of something else */
    SPATE_STORE_ERROR_DAMAGED, /* not as it was written */
    SPATE_STORE_ERROR_MOVED,   /* removed or replaced while it was open */
    SPATE_STORE_ERROR_STOPPED  /* by the flag of spate_store_stop_on() */
} SpateStoreError;

typedef struct {
    sqlite3 *handle;
    char *name;   /* of the file, as shown */
    bool is_done; /* the statement that was stepped last came to its end */
} SpateSql;

typedef sqlite3_stmt SpateStatement;
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateStatement, sqlite3_finalize)

/* Sets the error from what SQLite says last; always false. */
bool spate_sql_fail(const SpateSql *sql, GError **error);
/* The same where it is known what went wrong. */
bool spate_sql_fail_as(const SpateSql *sql, SpateStoreError kind, GError **error);

/* Statements without results. */
bool spate_sql_run(const SpateSql *sql, const char *text, GError **error);
/* Kept: prepared once, used often. */
SpateStatement *spate_sql_prepare(const SpateSql *sql, const char *text, GError **error);

/* To the next row.  False at the end, or with an error if it failed (`is_done` tells which); of
 * NULL, what could not be prepared, false too. */
bool spate_sql_next(SpateSql *sql, SpateStatement *statement, GError **error);
/* A statement without results, made ready to be used again. */
bool spate_sql_finish(SpateSql *sql, SpateStatement *statement, GError **error);

/* Parameters and columns; NULL texts and NAN are NULL. */
void spate_sql_bind_text(SpateStatement *statement, int number, const char *text);
void spate_sql_bind_whole(SpateStatement *statement, int number, int64_t value);
void spate_sql_bind_number(SpateStatement *statement, int number, double value);
/* Until the next step; free nothing. */
const char *spate_sql_text(SpateStatement *statement, int column);
/* The same, "" for NULL. */
const char *spate_sql_some_text(SpateStatement *statement, int column);
/* Whether it is text of UTF-8, whole. */
bool spate_sql_is_plain_text(SpateStatement *statement, int column);
double spate_sql_number(SpateStatement *statement, int column);

/* The whole number that a query gives, -1 without any row. */
bool spate_sql_ask(SpateSql *sql, const char *query, int64_t *answer, GError **error);
