/* change.c - values of a scenario that are set by their paths */
#include "scenario/file/change.h"

#include "scenario/read/read-sections.h"
#include <string.h>

static void
note_no_name(const SpateYaml *map, const char *owner, const char *name, SpatePlace place,
             SpateFaults *faults)
{
    g_autoptr(GPtrArray) names = g_ptr_array_new_null_terminated(16, NULL, TRUE);
    for (guint i = 0; i < map->pairs->len; i++)
        g_ptr_array_add(names, g_array_index(map->pairs, SpateYamlPair, i).key);
    const char *near = names->len > 10000 || names->len == 0
                           ? NULL
                           : spate_nearest_word(name, (const char *const *)names->pdata);
    g_autofree char *hint = near != NULL ? g_strdup_printf("did you mean '%s'?", near) : NULL;
    spate_faults_note(faults, place, hint, "'%s' has no '%s'", owner, name);
}

/* Whether the names on the way to a key are there: a path may name a new key, but what it means by
 * "nodes.sail.count" is no new node.  False with a fault. */
static bool
has_names(const SpateYaml *root, const char *path, SpatePlace place, SpateFaults *faults)
{
    g_auto(GStrv) parts = g_strsplit(path, ".", 5);
    guint n = g_strv_length(parts);
    guint n_names =
        strcmp(parts[0], "bridges") == 0                                                        ? 2
        : g_strv_contains((const char *const[]){"bearers", "nodes", "traffic", NULL}, parts[0]) ? 1
                                                                                                : 0;
    const SpateYaml *map = spate_yaml_get(root, parts[0]);
    for (guint i = 1; i <= n_names && i + 1 < n && strchr(path, '"') == NULL; i++) {
        if (map == NULL || map->kind != SPATE_YAML_MAP)
            return true;
        const SpateYaml *named = spate_yaml_get(map, parts[i]);
        if (named == NULL) {
            note_no_name(map, parts[i - 1], parts[i], place, faults);
            return false;
        }
        map = named;
    }
    return true;
}

void
spate_change(SpateYaml *root, const char *path, SpatePlace place, const SpateYaml *value,
             SpateFaults *faults)
{
    if (!has_names(root, path, place, faults))
        return;
    spate_yaml_set(root, path, place, spate_yaml_copy(value), faults);
}

void
spate_change_by_set(SpateYaml *root, const SpateYaml *set, SpateFaults *faults)
{
    for (guint i = 0; i < set->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(set->pairs, SpateYamlPair, i);
        if (spate_path_is_free(pair->key))
            spate_change(root, pair->key, pair->key_place, pair->value, faults);
        else
            spate_faults_note(faults, pair->key_place, "as in nodes.soil.count",
                              "a variant cannot set '%s'", pair->key);
    }
}

void
spate_change_by_variant(SpateYaml *root, const SpateYamlPair *variant, SpateFaults *faults)
{
    const SpateYaml *set = spate_yaml_get(variant->value, "set");
    if (set == NULL || set->kind != SPATE_YAML_MAP)
        return;
    if (set->pairs->len > SPATE_CHANGE_MAX_SET)
        spate_faults_note(faults, variant->key_place, "at most 1000",
                          "variant '%s' sets too many values", variant->key);
    else
        spate_change_by_set(root, set, faults);
}

void
spate_change_by_settings(SpateYaml *root, const SpateSettings *settings, SpateFaults *faults)
{
    for (size_t i = 0; i < settings->n; i++) {
        const SpateGivenSetting *setting = &settings->all[i];
        if (setting->value != NULL)
            spate_change(root, setting->path, setting->place, setting->value, faults);
    }
}

bool
spate_change_covers(const char *path, const char *inner)
{
    size_t length = strlen(path);
    return strncmp(path, inner, length) == 0 && (inner[length] == '\0' || inner[length] == '.');
}
