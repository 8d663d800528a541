/* json-form.h - whether a text has the form of JSON, before a parser takes it
 *
 * json-glib's parser calls itself for each level, without a bound, and also takes comments, texts
 * in single quotes, several values in a row, and escapes by which a text can hold any bytes.  What
 * passes here is one value, of no more than so many levels, made of what RFC 8259 allows outside of
 * texts and within them.
 */
#pragma once

#include <glib.h>

/* NULL if it is good; else what is wrong, to be freed. */
char *spate_json_fault(const char *text, size_t length, int most_levels);
