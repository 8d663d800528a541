/* shown-text.c - text that is safe to show on a terminal */
#include "core/shown-text.h"

#include <stdbool.h>
#include <string.h>

#define REPLACEMENT "\xEF\xBF\xBD" /* U+FFFD */

gboolean
spate_is_unsafe_character(gunichar c)
{
    return c < 0x20 || (c >= 0x7f && c <= 0x9f) || c == 0x61c || c == 0x200e || c == 0x200f ||
           (c >= 0x2028 && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069);
}

static void
append(GString *into, const char *text, gsize length, const char *kept)
{
    const char *end = text + length;
    while (text < end) {
        /* 0 for a byte that is not UTF-8. */
        gunichar c = (guchar)*text;
        if (c >= 0x80)
            c = g_utf8_get_char_validated(text, end - text);
        if (c == (gunichar)-1 || c == (gunichar)-2)
            c = 0;
        const char *next = c != 0 ? g_utf8_next_char(text) : text + 1;
        bool is_kept = c != 0 && c < 0x80 && strchr(kept, (int)c) != NULL;
        if (is_kept || !spate_is_unsafe_character(c))
            g_string_append_len(into, text, next - text);
        else
            g_string_append(into, REPLACEMENT);
        text = next;
    }
}

void
spate_append_shown(GString *into, const char *text, gsize length)
{
    append(into, text, length, "\n\t");
}

void
spate_append_shown_line(GString *into, const char *text)
{
    append(into, text, strlen(text), "");
}

char *
spate_shown_line(const char *text)
{
    GString *line = g_string_new(NULL);
    spate_append_shown_line(line, text);
    return g_string_free(line, FALSE);
}
