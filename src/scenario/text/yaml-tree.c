/* yaml-tree.c - what a tree is made of, copied, searched and measured */
#include "scenario/text/yaml-tree.h"

#include <string.h>

void
spate_yaml_free(SpateYaml *node)
{
    if (node == NULL)
        return;
    g_free(node->text);
    if (node->items != NULL)
        g_ptr_array_unref(node->items);
    if (node->pairs != NULL)
        g_array_unref(node->pairs);
    g_free(node);
}

static void
pair_clear(gpointer data)
{
    SpateYamlPair *pair = data;
    g_free(pair->key);
    spate_yaml_free(pair->value);
}

SpateYaml *
spate_yaml_new(SpateYamlKind kind, SpatePlace place)
{
    SpateYaml *node = g_new0(SpateYaml, 1);
    node->kind = kind;
    node->place = place;
    if (kind == SPATE_YAML_LIST)
        node->items = g_ptr_array_new_with_free_func((GDestroyNotify)spate_yaml_free);
    if (kind == SPATE_YAML_MAP) {
        node->pairs = g_array_new(FALSE, FALSE, sizeof(SpateYamlPair));
        g_array_set_clear_func(node->pairs, pair_clear);
    }
    return node;
}

SpateYaml *
spate_yaml_copy_without(const SpateYaml *map, const char *key)
{
    SpateYaml *copy = spate_yaml_new(map->kind, map->place);
    copy->text = g_strdup(map->text);
    copy->quoted = map->quoted;
    copy->is_cell = map->is_cell;
    for (guint i = 0; map->items != NULL && i < map->items->len; i++)
        g_ptr_array_add(copy->items, spate_yaml_copy(g_ptr_array_index(map->items, i)));
    for (guint i = 0; map->pairs != NULL && i < map->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(map->pairs, SpateYamlPair, i);
        if (key != NULL && strcmp(pair->key, key) == 0)
            continue;
        SpateYamlPair twin = {g_strdup(pair->key), pair->key_place, spate_yaml_copy(pair->value)};
        g_array_append_val(copy->pairs, twin);
    }
    return copy;
}

SpateYaml *
spate_yaml_copy(const SpateYaml *node)
{
    return spate_yaml_copy_without(node, NULL);
}

SpateYamlPair *
spate_yaml_pair(const SpateYaml *map, const char *key)
{
    for (guint i = 0; map != NULL && map->kind == SPATE_YAML_MAP && i < map->pairs->len; i++) {
        SpateYamlPair *pair = &g_array_index(map->pairs, SpateYamlPair, i);
        if (strcmp(pair->key, key) == 0)
            return pair;
    }
    return NULL;
}

SpateYaml *
spate_yaml_get(const SpateYaml *map, const char *key)
{
    const SpateYamlPair *pair = spate_yaml_pair(map, key);
    return pair != NULL ? pair->value : NULL;
}

SpateYamlExtent
spate_yaml_extent(const SpateYaml *node)
{
    SpateYamlExtent whole = {.n_nodes = 1, .n_bytes = node->text != NULL ? strlen(node->text) : 0};
    guint n = node->items != NULL ? node->items->len : node->pairs != NULL ? node->pairs->len : 0;
    for (guint i = 0; i < n; i++) {
        const SpateYaml *inner = NULL;
        if (node->items != NULL) {
            inner = g_ptr_array_index(node->items, i);
        } else {
            const SpateYamlPair *pair = &g_array_index(node->pairs, SpateYamlPair, i);
            whole.n_bytes += strlen(pair->key);
            inner = pair->value;
        }
        SpateYamlExtent part = spate_yaml_extent(inner);
        whole.n_nodes += part.n_nodes;
        whole.n_bytes += part.n_bytes;
        whole.depth = MAX(whole.depth, part.depth);
    }
    whole.depth++;
    return whole;
}
