/* csv-table.h - a table of values separated by commas or semicolons, every cell with its place
 *
 * RFC 4180: the first line names the columns, rows end with CR LF or LF, a cell in double quotes
 * may hold commas, line ends and, doubled, quotes.  Strict: every row has a cell for each column,
 * each column has a name of its own, quotes are where quotes belong.  Beyond the standard: a byte
 * order mark, empty lines, and blanks about a cell that is not quoted are passed over; "height (m)"
 * names a column `height` whose cells bear that unit.
 *
 * A first line with semicolons and no commas says that semicolons separate, as spreadsheets write
 * where the comma is the decimal mark.  Then a number may have a decimal comma, "12,5 m", which is
 * read as "12.5 m"; all numbers of a table have the same mark.
 *
 * The outcome has the form of a YAML tree, so that tables are read by the same means as scenarios.
 */
#pragma once

#include "scenario/text/yaml-tree.h"

typedef struct {
    SpateYaml *columns; /* a map with a key for each column and nothing in it */
    SpateYaml
        *rows; /* a list of maps: cells by the name of their column, the empty ones left out */
} SpateCsvTable;

#define SPATE_CSV_MAX_COLUMNS 100
#define SPATE_CSV_MAX_CELLS   1000000

/* NULL if something is wrong, all of which is noted as faults.  `origin` comes from
 * spate_faults_add_text(). */
SpateCsvTable *spate_csv_parse(const char *text, size_t length, int origin, SpateFaults *faults);
/* Whether the first line names any column that passes the test: what does not is no such table, and
 * must not be quoted in faults.  True of an empty text. */
typedef bool (*SpateCsvNameTest)(const char *name, gconstpointer user);
bool spate_csv_names_any(const char *text, size_t length, SpateCsvNameTest test,
                         gconstpointer user);
/* "height (m)": the unit, cut off the name; NULL without.  Free with g_free(). */
char *spate_csv_cut_unit(char *name);
void spate_csv_free(SpateCsvTable *table);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateCsvTable, spate_csv_free)
