/* tables.h - the tables and height models that a scenario names: CSV files, maps by their suffix
 *
 * Each is read once, whatever the number of variants that name it; so all of them see the same
 * content.  Names are relative to one folder.  Only plain files are read, and not too much of them.
 */
#pragma once

#include "ground/raster.h"
#include "scenario/text/csv-table.h"

/* All tables of a scenario together. */
#define SPATE_TABLES_MAX_BYTES (16u << 20)

typedef struct SpateTables SpateTables;

/* folder NULL: the current one.  The first text gets `first_origin` among those of the faults. */
SpateTables *spate_tables_new(const char *folder, int first_origin);
void spate_tables_free(SpateTables *tables);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateTables, spate_tables_free)

/* What a table is known by. */
typedef struct {
    const char *what;           /* "a table of nodes" */
    const char *const *columns; /* ends with NULL */
} SpateTableKind;

/* The table of that name, borrowed (may be called from several threads); NULL with faults: at
 * `place` if the file cannot be read or has none of the columns, so that no line of another file is
 * ever shown, else within it.  The faults must know the texts of all tables
 * that were found so far. */
const SpateCsvTable *spate_tables_find(SpateTables *tables, const char *name,
                                       const SpateTableKind *kind, SpatePlace place,
                                       SpateFaults *faults);
/* The height model of that name, borrowed (may be called from several threads); NULL with a fault
 * at `place`. */
SpateRaster *spate_tables_find_raster(SpateTables *tables, const char *name, SpatePlace place,
                                      SpateFaults *faults);
/* Called with the path of each of these files before it is opened, whether or not it can be read,
 * by any thread; for all tables of the process, from now on.  A program that writes files learns
 * from it which ones it must not overwrite.  NULL, as at the start: nobody is called. */
typedef void (*SpateTableWatch)(const char *path);
void spate_tables_set_watch(SpateTableWatch watch);
/* Tells faults that are new the texts of all tables that were found so far. */
void spate_tables_add_texts(const SpateTables *tables, SpateFaults *faults);

/* The sum of a scenario: that of its text, and with tables or height models the SHA-256 of lines:
 * first that of the text, then those of the other files in ascending order.  Free with g_free(). */
char *spate_tables_sha256(const SpateTables *tables, const char *text_sha256);
