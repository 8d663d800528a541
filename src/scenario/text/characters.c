/* characters.c - steps through a text that may be anything */
#include "scenario/text/characters.h"

#include <string.h>

static const char *
next_character(const char *c, const char *end)
{
    c++;
    while (c < end && ((unsigned char)*c & 0xC0) == 0x80)
        c++;
    return c;
}

const char *
spate_step_forward(const char *c, const char *end, int n)
{
    while (n-- > 0 && c < end)
        c = next_character(c, end);
    return c;
}

const char *
spate_step_back(const char *c, const char *start, int n)
{
    while (n-- > 0 && c > start) {
        c--;
        while (c > start && ((unsigned char)*c & 0xC0) == 0x80)
            c--;
    }
    return c;
}

size_t
spate_line_break_bytes(const char *c, const char *end)
{
    size_t left = (size_t)(end - c);
    if (left > 0 && *c == '\n')
        return 1;
    if (left > 0 && *c == '\r')
        return left > 1 && c[1] == '\n' ? 2 : 1;
    if (left > 1 && memcmp(c, "\xC2\x85", 2) == 0)
        return 2;
    if (left > 2 && memcmp(c, "\xE2\x80", 2) == 0 && (c[2] == '\xA8' || c[2] == '\xA9'))
        return 3;
    return 0;
}
