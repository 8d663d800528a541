/* outline.h - a text of nested maps, lists and words that can be cut and prints itself as YAML
 *
 * Scenarios are made as outlines, so that whatever stands in one can be taken out again without
 * knowing what it means: the reader of scenarios tells whether the rest still makes sense.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

typedef enum { OUTLINE_WORD, OUTLINE_MAP, OUTLINE_LIST } OutlineKind;

typedef struct Outline {
    OutlineKind kind;
    char *key;        /* in a map; NULL elsewhere */
    char *word;       /* WORD */
    GPtrArray *parts; /* Outline*, of a MAP or LIST */
} Outline;

Outline *outline_new(OutlineKind kind);
Outline *outline_new_word(const char *word);
Outline *outline_copy(const Outline *outline);
void outline_free(Outline *outline);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(Outline, outline_free)

/* All three take the part over and return it. */
Outline *outline_put(Outline *map, const char *key, Outline *value);
Outline *outline_say(Outline *map, const char *key, const char *format, ...) G_GNUC_PRINTF(3, 4);
Outline *outline_append(Outline *list, Outline *item);

/* NULL if there is none; borrowed. */
Outline *outline_get(const Outline *map, const char *key);

/* Takes out whatever is called `name`, as a key or as a word, and what says nothing without it: a
 * list or map that is empty then, a pair of one, a crossing that leads nowhere. */
void outline_forget(Outline *outline, const char *name);

/* Whether anything in it is called that, as a key or as a word. */
bool outline_mentions(const Outline *outline, const char *name);

/* Maps, lists and words in all. */
guint outline_size(const Outline *outline);

/* Sections of the top and their entries each have a line of their own; free with g_free(). */
char *outline_to_yaml(const Outline *outline);
