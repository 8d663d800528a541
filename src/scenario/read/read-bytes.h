/* read-bytes.h - what a file holds, as far as it may be read */
#pragma once

#include <glib.h>
#include <stdbool.h>
#include <stddef.h>

/* Appends all to the end of the file, or at least one byte more than `most`, so that endless input
 * ends.  A signal does not end it.  False: errno says why. */
bool spate_read_bytes(int file, size_t most, GByteArray *into);
/* The same of the file at the path ("-": standard input), whatever it is, and a NUL after it that
 * does not count.  NULL: errno says why. */
GByteArray *spate_read_file(const char *path, size_t most);
