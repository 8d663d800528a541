/* nearest-word.c - which known word someone may have meant */
#include "scenario/text/faults.h"

#include <string.h>

#define LONGEST_WORD 64

static bool
is_same(char a, char b)
{
    return g_ascii_tolower(a) == g_ascii_tolower(b);
}

/* Edits (insert, drop, change, swap of neighbours) from one word to another: F. J. Damerau, CACM
 * 7(3), 1964, in the form that edits no place twice.  Capitals count as small letters. */
static size_t
edit_distance(const char *a, const char *b)
{
    size_t n = strlen(a), m = strlen(b);
    size_t rows[3][LONGEST_WORD + 1];
    size_t *before = rows[0], *previous = rows[1], *current = rows[2];
    for (size_t j = 0; j <= m; j++)
        previous[j] = j;
    for (size_t i = 1; i <= n; i++) {
        current[0] = i;
        for (size_t j = 1; j <= m; j++) {
            size_t change = previous[j - 1] + !is_same(a[i - 1], b[j - 1]);
            current[j] = MIN(change, MIN(previous[j], current[j - 1]) + 1);
            if (i > 1 && j > 1 && is_same(a[i - 1], b[j - 2]) && is_same(a[i - 2], b[j - 1]))
                current[j] = MIN(current[j], before[j - 2] + 1);
        }
        size_t *oldest = before;
        before = previous;
        previous = current;
        current = oldest;
    }
    return previous[m];
}

const char *
spate_nearest_word(const char *word, const char *const *candidates)
{
    const char *nearest = NULL;
    size_t length = strlen(word), least = MAX(1, length / 3) + 1;
    if (length == 0 || length > LONGEST_WORD)
        return NULL;
    for (size_t i = 0; candidates[i] != NULL; i++) {
        if (strlen(candidates[i]) > LONGEST_WORD)
            continue;
        size_t distance = edit_distance(word, candidates[i]);
        /* A word of which nothing is left is not near. */
        if (distance < least && distance < length) {
            least = distance;
            nearest = candidates[i];
        }
    }
    return nearest;
}
