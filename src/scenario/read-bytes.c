/* read-bytes.c - what an open file holds, as far as it may be read */
#include "scenario/read-bytes.h"

#include <errno.h>
#include <unistd.h>

bool
spate_read_bytes(int file, size_t most, GByteArray *into)
{
    guint8 block[65536];
    while (into->len <= most) {
        ssize_t n = read(file, block, sizeof block);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return n == 0;
        g_byte_array_append(into, block, (guint)n);
    }
    return true;
}
