/* store-difference.c - what has changed since a store was begun */
#include "study/sweep/store-private.h"

#include <string.h>

#define MOST_LINES 8

const char *const SPATE_STORE_KEYS[SPATE_STORE_N_KEYS] = {"version", "scenario", "sha256",
                                                          "settings", "design"};

static void
append_lines(GString *text, char sign, char **lines, guint from, guint to)
{
    for (guint i = from; i < to && i < from + MOST_LINES; i++)
        g_string_append_printf(text, "\n    line %u: %c %s", i + 1, sign, lines[i]);
    if (to > from + MOST_LINES)
        g_string_append_printf(text, "\n    ... and %u more", to - from - MOST_LINES);
}

/* Where two texts differ: from the first line that does to the last. */
static char *
describe_lines(const char *there, const char *here)
{
    g_auto(GStrv) before = g_strsplit(there, "\n", -1);
    g_auto(GStrv) after = g_strsplit(here, "\n", -1);
    guint n_before = g_strv_length(before), n_after = g_strv_length(after), first = 0;
    while (first < n_before && first < n_after && strcmp(before[first], after[first]) == 0)
        first++;
    while (n_before > first && n_after > first &&
           strcmp(before[n_before - 1], after[n_after - 1]) == 0) {
        n_before--;
        n_after--;
    }
    GString *text = g_string_new("the scenario has changed (- in the store, + now):");
    append_lines(text, '-', before, first, n_before);
    append_lines(text, '+', after, first, n_after);
    return g_string_free(text, FALSE);
}

static char *
on_one_line(const char *settings)
{
    if (settings[0] == '\0')
        return g_strdup("none");
    g_auto(GStrv) lines = g_strsplit(settings, "\n", -1);
    return g_strjoinv(", ", lines);
}

char *
spate_store_difference(const char *const *there, const char *const *here)
{
    size_t key = 0;
    while (key < SPATE_STORE_N_KEYS && strcmp(there[key], here[key]) == 0)
        key++;
    switch (key) {
    case 0:
        return g_strdup_printf("it is from spate %s, not %s", there[key], here[key]);
    case 1:
        return describe_lines(there[key], here[key]);
    case 2:
        return g_strdup("a table that the scenario names has changed");
    case 3: {
        g_autofree char *before = on_one_line(there[key]), *after = on_one_line(here[key]);
        return g_strdup_printf("settings differ: %s in the store, %s now", before, after);
    }
    case 4: {
        /* After the semicolon is a sum. */
        size_t before = strcspn(there[key], ";"), after = strcspn(here[key], ";");
        bool look_alike = before == after && strncmp(there[key], here[key], before) == 0;
        return g_strdup_printf("other points%s: %.*s in the store, %.*s now",
                               look_alike ? ", by their values" : "", (int)before, there[key],
                               (int)after, here[key]);
    }
    default:
        return NULL;
    }
}
