/* shrink.c - the smallest scenario that still shows a difference */
#include "oracle/shrink.h"

#include <string.h>

/* Halving stops there: 10 ms, say, is as good an example as any shorter time. */
#define LEAST_NUMBER 10

typedef struct {
    Outline *smallest;
    ShrinkJudge judge;
    gpointer user;
} Shrinker;

/* Keeps the candidate, which it takes over, if it shows a difference. */
static bool
try(Shrinker *shrinker, Outline *candidate)
{
    g_autofree char *difference = shrinker->judge(candidate, shrinker->user);
    if (difference == NULL) {
        outline_free(candidate);
        return false;
    }
    outline_free(shrinker->smallest);
    shrinker->smallest = candidate;
    return true;
}

/* ---- names ----------------------------------------------------------------------------------- */

static bool
forget_names_of(Shrinker *shrinker, const char *section)
{
    bool has_shrunk = false;
    for (guint i = 0;;) {
        const Outline *entries = outline_get(shrinker->smallest, section);
        if (entries == NULL || entries->parts == NULL || i >= entries->parts->len)
            return has_shrunk;
        const Outline *entry = g_ptr_array_index(entries->parts, i);
        Outline *candidate = outline_copy(shrinker->smallest);
        outline_forget(candidate, entry->key);
        if (try(shrinker, candidate))
            has_shrunk = true;
        else
            i++;
    }
}

/* ---- parts ----------------------------------------------------------------------------------- */

/* The owner of the n-th part in all, counted from the top, and which of its own that is. */
static Outline *
owner_of(Outline *outline, guint *n, guint *index)
{
    for (guint i = 0; outline->parts != NULL && i < outline->parts->len; i++) {
        if (*n == 0) {
            *index = i;
            return outline;
        }
        (*n)--;
        Outline *owner = owner_of(g_ptr_array_index(outline->parts, i), n, index);
        if (owner != NULL)
            return owner;
    }
    return NULL;
}

/* True, with the candidate changed, if there is something to try. */
typedef bool (*Change)(Outline *owner, guint index);

static bool
take_out(Outline *owner, guint index)
{
    g_ptr_array_remove_index(owner->parts, index);
    return true;
}

/* A list of one is often more than is needed. */
static bool
unwrap(Outline *owner, guint index)
{
    Outline *part = g_ptr_array_index(owner->parts, index);
    if (part->kind != OUTLINE_LIST || part->parts->len != 1)
        return false;
    const Outline *only = g_ptr_array_index(part->parts, 0);
    if (only->kind != OUTLINE_WORD)
        return false;
    part->kind = OUTLINE_WORD;
    part->word = g_strdup(only->word);
    g_clear_pointer(&part->parts, g_ptr_array_unref);
    return true;
}

/* "250 ms" */
static bool
is_time(const char *word)
{
    static const char *const units[] = {" us", " ms", " s", " min", " h", NULL};
    size_t n_digits = word != NULL ? strspn(word, "0123456789") : 0;
    return n_digits > 0 && g_strv_contains(units, word + n_digits);
}

static bool
halve(Outline *owner, guint index)
{
    Outline *part = g_ptr_array_index(owner->parts, index);
    if (!is_time(part->word))
        return false;
    char *unit = NULL;
    guint64 number = g_ascii_strtoull(part->word, &unit, 10);
    if (number < 2 * LEAST_NUMBER)
        return false;
    char *halved = g_strdup_printf("%" G_GUINT64_FORMAT "%s", number / 2, unit);
    g_free(part->word);
    part->word = halved;
    return true;
}

static bool
change_parts(Shrinker *shrinker, Change change)
{
    bool has_shrunk = false;
    for (guint i = 0; i + 1 < outline_size(shrinker->smallest);) {
        Outline *candidate = outline_copy(shrinker->smallest);
        guint n = i, index = 0;
        Outline *owner = owner_of(candidate, &n, &index);
        g_assert(owner != NULL);
        if (!change(owner, index)) {
            outline_free(candidate);
            i++;
        } else if (try(shrinker, candidate)) {
            has_shrunk = true;
        } else {
            i++;
        }
    }
    return has_shrunk;
}

Outline *
shrink(const Outline *outline, ShrinkJudge judge, gpointer user)
{
    static const char *const sections[] = {"nodes", "bearers", "traffic", "groups", "bridges"};
    Shrinker shrinker = {outline_copy(outline), judge, user};
    bool has_shrunk = true;
    while (has_shrunk) {
        has_shrunk = false;
        for (size_t i = 0; i < G_N_ELEMENTS(sections); i++)
            has_shrunk |= forget_names_of(&shrinker, sections[i]);
        has_shrunk |= change_parts(&shrinker, take_out);
        has_shrunk |= change_parts(&shrinker, halve);
        has_shrunk |= change_parts(&shrinker, unwrap);
    }
    return shrinker.smallest;
}
