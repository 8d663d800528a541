/* outline.c - a text of nested maps, lists and words */
#include "oracle/outline.h"

#include <stdarg.h>

static void
free_part(gpointer outline)
{
    outline_free(outline);
}

Outline *
outline_new(OutlineKind kind)
{
    Outline *outline = g_new0(Outline, 1);
    outline->kind = kind;
    if (kind != OUTLINE_WORD)
        outline->parts = g_ptr_array_new_with_free_func(free_part);
    return outline;
}

Outline *
outline_new_word(const char *word)
{
    Outline *outline = outline_new(OUTLINE_WORD);
    outline->word = g_strdup(word);
    return outline;
}

Outline *
outline_copy(const Outline *outline)
{
    Outline *copy = outline_new(outline->kind);
    copy->key = g_strdup(outline->key);
    copy->word = g_strdup(outline->word);
    for (guint i = 0; outline->parts != NULL && i < outline->parts->len; i++)
        outline_append(copy, outline_copy(g_ptr_array_index(outline->parts, i)));
    return copy;
}

void
outline_free(Outline *outline)
{
    if (outline == NULL)
        return;
    g_clear_pointer(&outline->parts, g_ptr_array_unref);
    g_free(outline->key);
    g_free(outline->word);
    g_free(outline);
}

Outline *
outline_append(Outline *list, Outline *item)
{
    g_ptr_array_add(list->parts, item);
    return item;
}

Outline *
outline_put(Outline *map, const char *key, Outline *value)
{
    g_assert(map->kind == OUTLINE_MAP && outline_get(map, key) == NULL);
    g_free(value->key);
    value->key = g_strdup(key);
    return outline_append(map, value);
}

Outline *
outline_say(Outline *map, const char *key, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    g_autofree char *word = g_strdup_vprintf(format, arguments);
    va_end(arguments);
    return outline_put(map, key, outline_new_word(word));
}

Outline *
outline_get(const Outline *map, const char *key)
{
    for (guint i = 0; i < map->parts->len; i++) {
        Outline *part = g_ptr_array_index(map->parts, i);
        if (g_strcmp0(part->key, key) == 0)
            return part;
    }
    return NULL;
}

static bool
is_called(const Outline *part, const char *name)
{
    return g_strcmp0(part->key, name) == 0 || g_strcmp0(part->word, name) == 0;
}

static bool
is_one_of(const char *key, const char *const *keys)
{
    return key != NULL && g_strv_contains(keys, key);
}

/* Whether a map says nothing without this part; a condition only says less. */
static bool
hangs_on(const Outline *map, const Outline *part)
{
    static const char *const needed[] = {"between", "groups", "from", "to", "bearer", "node", NULL};
    return map->kind == OUTLINE_MAP && part->kind != OUTLINE_MAP && is_one_of(part->key, needed) &&
           g_strcmp0(map->key, "when") != 0;
}

static bool
is_too_short(const Outline *outline)
{
    static const char *const pairs[] = {"between", "groups", NULL};
    if (outline->parts->len == 0)
        return true;
    const Outline *first = g_ptr_array_index(outline->parts, 0);
    return outline->kind == OUTLINE_LIST && first->kind == OUTLINE_WORD &&
           is_one_of(outline->key, pairs) && outline->parts->len < 2;
}

/* True: what is left says nothing. */
static bool
forget(Outline *outline, const char *name)
{
    bool has_lost = false;
    for (guint i = 0; outline->parts != NULL && i < outline->parts->len;) {
        Outline *part = g_ptr_array_index(outline->parts, i);
        if (!is_called(part, name) && !forget(part, name)) {
            i++;
            continue;
        }
        if (hangs_on(outline, part))
            return true;
        g_ptr_array_remove_index(outline->parts, i);
        has_lost = true;
    }
    return has_lost && is_too_short(outline);
}

void
outline_forget(Outline *outline, const char *name)
{
    forget(outline, name);
}

bool
outline_mentions(const Outline *outline, const char *name)
{
    for (guint i = 0; outline->parts != NULL && i < outline->parts->len; i++) {
        const Outline *part = g_ptr_array_index(outline->parts, i);
        if (is_called(part, name) || outline_mentions(part, name))
            return true;
    }
    return false;
}

guint
outline_size(const Outline *outline)
{
    guint size = 1;
    for (guint i = 0; outline->parts != NULL && i < outline->parts->len; i++)
        size += outline_size(g_ptr_array_index(outline->parts, i));
    return size;
}

/* ---- printing -------------------------------------------------------------------------------- */

static void
print_key(GString *text, const Outline *part)
{
    if (part->key != NULL)
        g_string_append_printf(text, "%s: ", part->key);
}

static void
print_flow(GString *text, const Outline *outline)
{
    if (outline->kind == OUTLINE_WORD) {
        g_string_append(text, outline->word);
        return;
    }
    g_string_append_c(text, outline->kind == OUTLINE_MAP ? '{' : '[');
    for (guint i = 0; i < outline->parts->len; i++) {
        const Outline *part = g_ptr_array_index(outline->parts, i);
        g_string_append(text, i > 0 ? ", " : "");
        print_key(text, part);
        print_flow(text, part);
    }
    g_string_append_c(text, outline->kind == OUTLINE_MAP ? '}' : ']');
}

/* A map or list of nothing but maps is told line by line. */
static bool
has_entries(const Outline *section)
{
    for (guint i = 0; section->parts != NULL && i < section->parts->len; i++)
        if (((const Outline *)g_ptr_array_index(section->parts, i))->kind != OUTLINE_MAP)
            return false;
    return section->parts != NULL && section->parts->len > 0;
}

char *
outline_to_yaml(const Outline *outline)
{
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < outline->parts->len; i++) {
        const Outline *section = g_ptr_array_index(outline->parts, i);
        if (!has_entries(section)) {
            print_key(text, section);
            print_flow(text, section);
            g_string_append_c(text, '\n');
            continue;
        }
        g_string_append_printf(text, "%s:\n", section->key);
        for (guint k = 0; k < section->parts->len; k++) {
            const Outline *entry = g_ptr_array_index(section->parts, k);
            g_string_append(text, section->kind == OUTLINE_LIST ? "  - " : "  ");
            print_key(text, entry);
            print_flow(text, entry);
            g_string_append_c(text, '\n');
        }
    }
    return g_string_free(text, FALSE);
}
