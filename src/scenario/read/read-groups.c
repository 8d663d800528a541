/* read-groups.c - `groups:`, and which nodes every name means */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include <stdlib.h>
#include <string.h>

/* Groups of groups of groups ... */
#define MAX_NESTING 32

/* A name of `groups:` while members are collected. */
typedef struct {
    const SpateYamlPair *pair;
    GArray *members; /* NULL: not yet resolved */
    bool is_open;    /* being resolved: meeting it again is a circle */
} Named;

typedef struct {
    GHashTable *named; /* name -> Named, owned */
    GArray *into;
    int depth;
} Resolution;

static void
free_named(gpointer user)
{
    Named *named = user;
    if (named->members != NULL)
        g_array_unref(named->members);
    g_free(named);
}

static void resolve(SpateReader *reader, Named *named, Resolution *resolution);

static bool
add_member(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    Resolution *resolution = user;
    uint32_t node;
    if (spate_names_has(&reader->nodes, scalar->text, &node)) {
        g_array_append_val(resolution->into, node);
        return spate_reader_spend(reader, scalar->place, 1);
    }
    Named *named = g_hash_table_lookup(resolution->named, scalar->text);
    if (named == NULL)
        return spate_find_name(reader, &reader->groups, scalar, &node);
    if (named->is_open || resolution->depth > MAX_NESTING) {
        spate_faults_note(
            reader->faults, scalar->place, "a group cannot contain itself, even through others",
            named->is_open ? "group '%s' contains itself" : "group '%s' is nested too deeply",
            scalar->text);
        return false;
    }
    resolve(reader, named, resolution);
    if (!spate_reader_spend(reader, scalar->place, named->members->len))
        return false;
    if (named->members->len > 0)
        g_array_append_vals(resolution->into, named->members->data, named->members->len);
    return true;
}

/* Members that cannot be resolved are noted and left out. */
static void
resolve(SpateReader *reader, Named *named, Resolution *resolution)
{
    if (named->members != NULL)
        return;
    named->is_open = true;
    g_autoptr(GArray) members = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    Resolution inner = {resolution->named, members, resolution->depth + 1};
    spate_each_scalar(reader, named->pair->value, named->pair->key, add_member, &inner);
    spate_keep_each_once(members);
    named->members = g_steal_pointer(&members);
    named->is_open = false;
}

static void
add_name(SpateReader *reader, GHashTable *named, const SpateYamlPair *pair)
{
    Named *group = g_new0(Named, 1);
    group->pair = pair;
    g_hash_table_insert(named, pair->key, group);
    spate_names_add(&reader->groups, pair->key, 0, true);
}

/* The nodes of each entry that is a group. */
static void
add_entry_groups(SpateReader *reader, const SpateYaml *map, GHashTable *named)
{
    const SpateScenario *scenario = reader->scenario;
    g_autofree Named **by_entry = g_new0(Named *, map->pairs->len + 1);
    for (guint i = 0; i < map->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(map->pairs, SpateYamlPair, i);
        if (spate_names_has(&reader->nodes, pair->key, NULL)) {
            spate_names_add(&reader->groups, pair->key, 0, true);
            if (spate_yaml_pair(pair->value, "count") != NULL ||
                spate_yaml_pair(pair->value, "place") != NULL)
                spate_note_name_taken(reader, pair->key, pair->key_place);
            continue;
        }
        add_name(reader, named, pair);
        by_entry[i] = g_hash_table_lookup(named, pair->key);
        by_entry[i]->members = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    }
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        Named *group = by_entry[scenario->nodes[i].entry];
        if (group != NULL)
            g_array_append_val(group->members, i);
    }
    for (uint32_t i = 0; i < scenario->n_sites; i++) {
        Named *group = g_hash_table_lookup(named, scenario->sites[i].entry);
        uint32_t number = SPATE_FIRST_SITE + i;
        if (group != NULL)
            g_array_append_val(group->members, number);
    }
}

/* Names of `groups:` that are free. */
static void
add_named_groups(SpateReader *reader, const SpateYaml *map, GHashTable *named)
{
    for (guint i = 0; i < map->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(map->pairs, SpateYamlPair, i);
        if (!spate_is_name(reader, pair->key, pair->key_place) ||
            !spate_is_free_name(reader, pair->key, pair->key_place)) {
            g_ptr_array_add(reader->unread, pair->key);
            continue;
        }
        if (g_hash_table_contains(named, pair->key) ||
            spate_names_has(&reader->nodes, pair->key, NULL))
            spate_note_name_taken(reader, pair->key, pair->key_place);
        else
            add_name(reader, named, pair);
    }
}

/* Of ascending numbers, whose sites come last. */
static SpateScenarioGroup
group_of(const char *name, const uint32_t *numbers, uint32_t n)
{
    uint32_t n_members = 0;
    while (n_members < n && numbers[n_members] < SPATE_FIRST_SITE)
        n_members++;
    return (SpateScenarioGroup){g_strdup(name), g_memdup2(numbers, n * sizeof *numbers), n_members,
                                n - n_members};
}

/* All names, sorted: groups with their members, and each node or site as a group of one. */
static void
settle_groups(SpateReader *reader, GHashTable *named)
{
    SpateScenario *scenario = reader->scenario;
    uint32_t n = 0;
    scenario->groups = g_new0(SpateScenarioGroup, scenario->n_nodes + scenario->n_sites +
                                                      g_hash_table_size(named) + 1u);
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        scenario->groups[n++] = group_of(scenario->nodes[i].name, &i, 1);
    for (uint32_t i = 0; i < scenario->n_sites; i++) {
        uint32_t number = SPATE_FIRST_SITE + i;
        scenario->groups[n++] = group_of(scenario->sites[i].name, &number, 1);
    }
    GHashTableIter iter;
    gpointer name, value;
    g_hash_table_iter_init(&iter, named);
    while (g_hash_table_iter_next(&iter, &name, &value)) {
        const Named *group = value;
        const uint32_t *numbers = (const uint32_t *)(const void *)group->members->data;
        scenario->groups[n++] = group_of(name, numbers, group->members->len);
    }
    scenario->n_groups = n;
    qsort(scenario->groups, n, sizeof *scenario->groups, spate_compare_names);
    for (uint32_t i = 0; i < n; i++)
        spate_names_add(&reader->groups, scenario->groups[i].name, i, false);
}

void
spate_read_groups(SpateReader *reader, const SpateYaml *nodes, const SpateYamlPair *groups)
{
    g_autoptr(GHashTable) named = g_hash_table_new_full(g_str_hash, g_str_equal, NULL, free_named);
    if (nodes != NULL)
        add_entry_groups(reader, nodes, named);
    if (groups != NULL && spate_is_kind(reader, groups->value, SPATE_YAML_MAP, groups->key)) {
        add_named_groups(reader, groups->value, named);
        Resolution resolution = {named, NULL, 0};
        for (guint i = 0; i < groups->value->pairs->len; i++) {
            const SpateYamlPair *pair = &g_array_index(groups->value->pairs, SpateYamlPair, i);
            Named *group = g_hash_table_lookup(named, pair->key);
            if (group != NULL)
                resolve(reader, group, &resolution);
        }
    }
    settle_groups(reader, named);
}
