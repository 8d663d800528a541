/* read-bytes.h - what an open file holds, as far as it may be read */
#pragma once

#include <glib.h>
#include <stdbool.h>
#include <stddef.h>

/* Appends all to the end of the file, or at least one byte more than `most`, so that endless input
 * ends.  A signal does not end it.  False: errno says why. */
bool spate_read_bytes(int file, size_t most, GByteArray *into);
