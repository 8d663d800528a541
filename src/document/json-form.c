/* json-form.c - whether a text has the form of JSON, before a parser takes it */
#include "document/json-form.h"

#include <stdbool.h>
#include <string.h>

#define BLANKS " \t\n\r"
/* Of numbers, true, false and null, and between values. */
#define PLAIN "+-.0123456789eEtrufalsn,:" BLANKS

static bool
is_one_of(char c, const char *set)
{
    return c != '\0' && strchr(set, c) != NULL;
}

/* The last byte of the escape that begins here; NULL if JSON knows none like it. */
static const char *
skip_escape(const char *c, const char *end)
{
    size_t n_digits = 0, n_left = (size_t)(end - c);
    if (n_left < 2)
        return NULL;
    if (c[1] != 'u')
        return is_one_of(c[1], "\"\\/bfnrt") ? c + 1 : NULL;
    while (n_digits < 4 && 2 + n_digits < n_left && g_ascii_isxdigit(c[2 + n_digits]))
        n_digits++;
    return n_digits == 4 ? c + 5 : NULL;
}

/* After the string whose opening quote is here; NULL if it is not closed, or contains what JSON
 * does not allow. */
static const char *
skip_text(const char *c, const char *end)
{
    for (c++; c < end && *c != '"'; c++) {
        if ((unsigned char)*c < 0x20)
            return NULL;
        if (*c == '\\' && (c = skip_escape(c, end)) == NULL)
            return NULL;
    }
    return c < end ? c + 1 : NULL;
}

static char *
at_byte(const char *what, const char *text, const char *c)
{
    return g_strdup_printf("this is not JSON: %s, byte %zu", what, (size_t)(c - text) + 1);
}

char *
spate_json_fault(const char *text, size_t length, int most_levels)
{
    const char *c = text, *end = text + length, *bad = NULL;
    int level = 0;
    bool is_done = false;
    if (!g_utf8_validate_len(text, length, &bad))
        return at_byte("it is not UTF-8", text, bad);
    while (c < end) {
        if (is_done && !is_one_of(*c, BLANKS))
            return at_byte("there is text after its end", text, c);
        if (*c == '"') {
            const char *after = skip_text(c, end);
            if (after == NULL)
                return at_byte("a string is not closed, or contains what JSON does not allow", text,
                               c);
            c = after;
            continue;
        }
        if (*c == '{' || *c == '[')
            level++;
        else if (*c == '}' || *c == ']')
            is_done = --level <= 0;
        else if (!is_one_of(*c, PLAIN))
            return at_byte("this character is only allowed inside a string", text, c);
        if (level > most_levels)
            return at_byte("it is nested too deeply", text, c);
        c++;
    }
    return is_done ? NULL : g_strdup("this is not JSON: it ends too early");
}
