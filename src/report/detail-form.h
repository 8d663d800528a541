/* detail-form.h - of which rows the details of a result are made: docs/result-format.md
 *
 * One table says what stands in each column.  Who reads details checks them by it, so that a page
 * never meets a number that names nothing; who hides names renumbers them by it.
 */
#pragma once

#include <json-glib/json-glib.h>
#include <stdbool.h>
#include <stdint.h>

typedef enum {
    SPATE_CELL_NODE,
    SPATE_CELL_BEARER,
    SPATE_CELL_RADIO,
    SPATE_CELL_RADIO_OR_NONE,
    SPATE_CELL_RADIOS, /* a list of them */
    SPATE_CELL_PAIRS,  /* a list of [radio, radio or null] */
    SPATE_CELL_NUMBER, /* or null */
    SPATE_CELL_WHOLE,  /* from 0 */
    SPATE_CELL_SINCE,  /* whole, before 0 too */
    SPATE_CELL_TEXT,
    SPATE_CELL_TEXT_OR_NONE,
    SPATE_CELL_FLAG
} SpateCell;

typedef struct {
    const char *name;
    SpateCell cell;
} SpateColumn;

typedef struct {
    const char *key;
    const SpateColumn *columns; /* ends with {NULL} */
} SpateRowForm;

/* Of a variant, and of one replay; both end with {NULL}. */
extern const SpateRowForm SPATE_VARIANT_ROWS[];
extern const SpateRowForm SPATE_REPLAY_ROWS[];

/* Whether `detail` and `doubts` of the result are whole: NULL, or what is wrong with it; free with
 * g_free().  The result itself has been read before.  Without a `detail` it is. */
char *spate_detail_fault(JsonObject *result);
