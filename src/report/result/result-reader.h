/* result-reader.h - a result that was written as JSON, read back
 *
 * Reads `spate-result/1` (docs/result-format.md) and nothing else: another format or version is an
 * error that says so.  Members that it does not know are passed over, so that later versions may
 * add some; what it knows must be whole and fit together.  null is NAN.  What JSON does not hold
 * (summaries of variants, counts of shares) is NULL in the result.
 */
#pragma once

#include "study/run/result.h"
#include <json-glib/json-glib.h>

#define SPATE_RESULT_ERROR (spate_result_error_quark())
GQuark spate_result_error_quark(void);
typedef enum {
    SPATE_RESULT_ERROR_BAD,        /* it is no result that this program reads */
    SPATE_RESULT_ERROR_UNREADABLE, /* the file could not be read */
} SpateResultError;

#define SPATE_RESULT_MAX_BYTES (64u << 20)
#define SPATE_RESULT_MAX_DEPTH 32

/* `name` is the file's name in messages. */
SpateResult *spate_result_parse(const char *name, const char *text, size_t length, GError **error);
/* The same; `tree`: all that is in it, also what this does not read; the caller's to free, and set
 * only if there is no error. */
SpateResult *spate_result_parse_whole(const char *name, const char *text, size_t length,
                                      JsonNode **tree, GError **error);
/* The bytes of a file, whatever they are; a little more than a result may have if it has more. */
GByteArray *spate_result_bytes(const char *path, GError **error);
/* Path "-" is standard input. */
SpateResult *spate_result_read(const char *path, GError **error);
