/* yaml-path.c - changing one value of a tree by its path */
#include "scenario/text/yaml-tree.h"

#include <string.h>

/* "nodes.soil.count" as its steps; a step in double quotes may hold dots.  NULL if it is no path.
 */
static GPtrArray *
split_path(const char *path)
{
    g_autoptr(GPtrArray) steps = g_ptr_array_new_with_free_func(g_free);
    const char *c = path;
    for (;;) {
        if (*c == '"') {
            const char *end = strchr(c + 1, '"');
            if (end == NULL || (end[1] != '.' && end[1] != '\0'))
                return NULL;
            g_ptr_array_add(steps, g_strndup(c + 1, (gsize)(end - c - 1)));
            c = end + 1;
        } else {
            size_t length = strcspn(c, ".");
            if (length == 0)
                return NULL;
            g_ptr_array_add(steps, g_strndup(c, length));
            c += length;
        }
        if (*c == '\0')
            return g_steal_pointer(&steps);
        c++;
    }
}

/* The position that a step names in a list; -1 if it is no position up to the next one. */
static int
list_position(const SpateYaml *list, const char *step)
{
    guint64 position;
    if (!g_ascii_string_to_unsigned(step, 10, 0, list->items->len, &position, NULL))
        return -1;
    return (int)position;
}

static void
note_dead_end(const GPtrArray *steps, guint at, const SpateYaml *node, SpatePlace place,
              SpateFaults *faults)
{
    g_autoptr(GString) before = g_string_new(NULL); /* the steps, as they were written */
    for (guint i = 0; i < at; i++)
        g_string_append_printf(before, "%s%s", i > 0 ? "." : "",
                               (const char *)g_ptr_array_index(steps, i));
    const char *step = g_ptr_array_index(steps, at);
    if (node->kind == SPATE_YAML_LIST) {
        g_autofree char *hint =
            node->items->len > 0 ? g_strdup_printf("its entries are 0 to %u; %u would be a new one",
                                                   node->items->len - 1, node->items->len)
                                 : g_strdup("it is empty; 0 would be a new entry");
        spate_faults_note(faults, place, hint, "the list '%s' has no entry '%s'", before->str,
                          step);
    } else {
        spate_faults_note(faults, place, NULL, "'%s' is a single value: it has no '%s'",
                          before->str, step);
    }
}

/* The value that a step leads to, made if it is missing in a map. */
static SpateYaml *
step_into(SpateYaml *node, const char *step, SpatePlace place)
{
    if (node->kind == SPATE_YAML_LIST) {
        int position = list_position(node, step);
        if (position < 0 || (guint)position >= node->items->len)
            return NULL;
        return g_ptr_array_index(node->items, position);
    }
    if (node->kind != SPATE_YAML_MAP)
        return NULL;
    SpateYamlPair *pair = spate_yaml_pair(node, step);
    if (pair != NULL)
        return pair->value;
    SpateYaml *map = spate_yaml_new(SPATE_YAML_MAP, place);
    SpateYamlPair added = {g_strdup(step), place, map};
    g_array_append_val(node->pairs, added);
    return map;
}

/* Puts the value at the last step; takes it over if it can. */
static bool
put(SpateYaml *node, const char *step, SpatePlace place, SpateYaml *value)
{
    if (node->kind == SPATE_YAML_MAP) {
        SpateYamlPair *pair = spate_yaml_pair(node, step);
        if (pair != NULL) {
            spate_yaml_free(pair->value);
            pair->value = value;
            pair->key_place = place;
        } else {
            SpateYamlPair added = {g_strdup(step), place, value};
            g_array_append_val(node->pairs, added);
        }
        return true;
    }
    int position = node->kind == SPATE_YAML_LIST ? list_position(node, step) : -1;
    if (position < 0)
        return false;
    if ((guint)position < node->items->len) {
        spate_yaml_free(g_ptr_array_index(node->items, position));
        g_ptr_array_index(node->items, position) = value;
    } else {
        g_ptr_array_add(node->items, value);
    }
    return true;
}

bool
spate_yaml_set(SpateYaml *root, const char *path, SpatePlace place, SpateYaml *value,
               SpateFaults *faults)
{
    g_autoptr(SpateYaml) owned = value;
    g_autoptr(GPtrArray) steps = split_path(path);
    if (steps == NULL) {
        spate_faults_note(faults, place, "as in nodes.soil.count", "'%s' is not a path", path);
        return false;
    }
    if (steps->len > SPATE_YAML_MAX_DEPTH) {
        spate_faults_note(faults, place, "at most " G_STRINGIFY(SPATE_YAML_MAX_DEPTH) " steps",
                          "the path is too long");
        return false;
    }
    SpateYaml *node = root;
    for (guint i = 0; i + 1 < steps->len; i++) {
        SpateYaml *next = step_into(node, g_ptr_array_index(steps, i), place);
        if (next == NULL) {
            note_dead_end(steps, i, node, place, faults);
            return false;
        }
        node = next;
    }
    if (!put(node, g_ptr_array_index(steps, steps->len - 1), place, owned)) {
        note_dead_end(steps, steps->len - 1, node, place, faults);
        return false;
    }
    g_steal_pointer(&owned);
    return true;
}
