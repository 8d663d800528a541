/* read-bytes.c - what a file holds, as far as it may be read */
#include "scenario/read/read-bytes.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
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

GByteArray *
spate_read_file(const char *path, size_t most)
{
    bool is_input = strcmp(path, "-") == 0;
    int file = is_input ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    g_autoptr(GByteArray) bytes = g_byte_array_new();
    bool is_read = file >= 0 && spate_read_bytes(file, most, bytes);
    int why = errno;
    if (file >= 0 && !is_input)
        close(file);
    errno = why;
    if (!is_read)
        return NULL;
    g_byte_array_append(bytes, (const guint8 *)"", 1);
    g_byte_array_set_size(bytes, bytes->len - 1);
    return g_steal_pointer(&bytes);
}
