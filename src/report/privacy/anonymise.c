/* anonymise.c - names that become numbers */
#include "report/privacy/privacy.h"

#include "core/random.h"
#include "report/result/result-form.h"
#include <stdbool.h>
#include <string.h>

/* Names shorter than that stand in other words by chance. */
#define LEAST_LETTERS 3

typedef struct {
    uint64_t seed;
    GHashTable *renamed; /* name of a node or bridge -> what it becomes */
    GPtrArray *names;    /* its keys, the groups of these, and labels of nodes */
} Hiding;

/* ---- names ----------------------------------------------------------------------------------- */

static void
add_name(GPtrArray *names, const char *name)
{
    if (!g_ptr_array_find_with_equal_func(names, name, g_str_equal, NULL))
        g_ptr_array_add(names, g_strdup(name));
}

static void
add_names_of(GPtrArray *names, JsonArray *things, const char *key)
{
    for (guint i = 0; things != NULL && i < json_array_get_length(things); i++) {
        JsonObject *thing = json_array_get_object_element(things, i);
        if (json_object_has_member(thing, key))
            add_name(names, json_object_get_string_member(thing, key));
    }
}

static JsonArray *
list_of(JsonObject *object, const char *key)
{
    return json_object_has_member(object, key) ? json_object_get_array_member(object, key) : NULL;
}

/* The details of all variants; NULL without. */
static JsonArray *
details_of(JsonObject *result)
{
    return json_object_has_member(result, "detail")
               ? json_object_get_array_member(json_object_get_object_member(result, "detail"),
                                              "variants")
               : NULL;
}

/* Nodes of a group are called after it: "soil" of "soil-12" is hidden too. */
static void
add_stem(GPtrArray *names, const char *name)
{
    const char *dash = strrchr(name, '-');
    if (dash == NULL || dash == name || dash[1] == '\0' ||
        dash[1 + strspn(dash + 1, "0123456789")] != '\0')
        return;
    g_autofree char *stem = g_strndup(name, (gsize)(dash - name));
    add_name(names, stem);
}

/* Of the details where there are some, and of the measures (`to` is a node). */
static GPtrArray *
names_of(JsonObject *result, const char *things, const char *dimension)
{
    GPtrArray *names = g_ptr_array_new_with_free_func(g_free);
    JsonArray *variants = json_object_get_array_member(result, "variants");
    for (guint i = 0; i < json_array_get_length(variants); i++) {
        JsonArray *measures = list_of(json_array_get_object_element(variants, i), "measures");
        add_names_of(names, measures, dimension);
        if (strcmp(dimension, "node") == 0)
            add_names_of(names, measures, "to");
    }
    JsonArray *details = details_of(result);
    for (guint i = 0; details != NULL && i < json_array_get_length(details); i++)
        add_names_of(names, list_of(json_array_get_object_element(details, i), things), "name");
    return names;
}

static int
compare_names(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* In an order that reveals nothing: shuffled by the seed. */
static void
rename_all(Hiding *hiding, JsonObject *result, const char *things, const char *dimension)
{
    g_autoptr(GPtrArray) names = names_of(result, things, dimension);
    SpateRandom draw = spate_random_stream(spate_random_key(hiding->seed, 1, SPATE_FOR_BLUR),
                                           spate_hash_name(things));
    g_ptr_array_sort(names, compare_names);
    for (guint i = names->len; i > 1; i--) { /* Fisher and Yates */
        guint other = (guint)spate_random_below(&draw, i);
        gpointer kept = names->pdata[i - 1];
        names->pdata[i - 1] = names->pdata[other];
        names->pdata[other] = kept;
    }
    for (guint i = 0; i < names->len; i++) {
        const char *name = g_ptr_array_index(names, i);
        if (!g_hash_table_contains(hiding->renamed, name))
            g_hash_table_insert(hiding->renamed, g_strdup(name),
                                g_strdup_printf("%s %u", dimension, i + 1));
    }
}

/* ---- what holds names ------------------------------------------------------------------------ */

static bool
holds_name(const Hiding *hiding, const char *text)
{
    g_autofree char *folded = g_utf8_casefold(text, -1);
    for (guint i = 0; i < hiding->names->len; i++) {
        const char *name = g_ptr_array_index(hiding->names, i);
        g_autofree char *sought = g_utf8_casefold(name, -1);
        if (strcmp(text, name) == 0 ||
            (strlen(name) >= LEAST_LETTERS && strstr(folded, sought) != NULL))
            return true;
    }
    return false;
}

/* Names that hold a hidden one become numbers, in the order in which they come. */
static void
rename_words(const Hiding *hiding, GHashTable *renamed, JsonArray *things, const char *key,
             const char *word)
{
    for (guint i = 0; i < json_array_get_length(things); i++) {
        JsonObject *thing = json_array_get_object_element(things, i);
        const char *name =
            json_object_has_member(thing, key) ? json_object_get_string_member(thing, key) : NULL;
        if (name == NULL || g_hash_table_contains(renamed, name) || strcmp(name, "base") == 0 ||
            !holds_name(hiding, name))
            continue;
        g_hash_table_insert(renamed, g_strdup(name),
                            g_strdup_printf("%s %u", word, g_hash_table_size(renamed) + 1));
    }
}

/* A text, or a list of texts, at one of the keys; the same words at other keys mean something
 * else. */
typedef struct {
    const char *const *keys;
    GHashTable *renamed;
} Words;

static void
replace_words(JsonNode *node, bool is_at_key, const Words *words)
{
    if (JSON_NODE_HOLDS_ARRAY(node)) {
        JsonArray *list = json_node_get_array(node);
        for (guint i = 0; i < json_array_get_length(list); i++)
            replace_words(json_array_get_element(list, i), is_at_key, words);
    } else if (JSON_NODE_HOLDS_OBJECT(node)) {
        JsonObject *object = json_node_get_object(node);
        g_autoptr(GList) keys = json_object_get_members(object);
        for (GList *key = keys; key != NULL; key = key->next)
            replace_words(json_object_get_member(object, key->data),
                          g_strv_contains(words->keys, key->data), words);
    } else if (is_at_key && JSON_NODE_HOLDS_VALUE(node) &&
               json_node_get_value_type(node) == G_TYPE_STRING) {
        const char *now = g_hash_table_lookup(words->renamed, json_node_get_string(node));
        if (now != NULL)
            json_node_set_string(node, now);
    }
}

static void
replace_names(JsonArray *variants, GHashTable *renamed)
{
    for (guint i = 0; variants != NULL && i < json_array_get_length(variants); i++) {
        JsonNode *name = json_object_get_member(json_array_get_object_element(variants, i), "name");
        const char *now = g_hash_table_lookup(renamed, json_node_get_string(name));
        if (now != NULL)
            json_node_set_string(name, now);
    }
}

/* Variants, traffics, uncertain inputs, the title. */
static void
hide_words(const Hiding *hiding, JsonObject *result)
{
    static const char *const OF_VARIANTS[] = {"variant", "versus", "variants", NULL};
    static const char *const OF_TRAFFICS[] = {"traffic", "source_of", NULL};
    g_autoptr(GHashTable) renamed = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    g_autoptr(GHashTable) traffics = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    g_autoptr(JsonNode) root = json_node_new(JSON_NODE_OBJECT);
    JsonArray *variants = json_object_get_array_member(result, "variants");
    JsonArray *doubts = list_of(result, "doubts");
    JsonObject *scenario = json_object_get_object_member(result, "scenario");
    json_node_set_object(root, result);
    rename_words(hiding, renamed, variants, "name", "variant");
    for (guint i = 0; i < json_array_get_length(variants); i++)
        rename_words(
            hiding, traffics,
            json_object_get_array_member(json_array_get_object_element(variants, i), "measures"),
            "traffic", "traffic");
    replace_words(root, false, &(Words){OF_VARIANTS, renamed});
    replace_words(root, false, &(Words){OF_TRAFFICS, traffics});
    replace_names(variants, renamed);
    replace_names(details_of(result), renamed);
    for (guint i = 0; doubts != NULL && i < json_array_get_length(doubts); i++) {
        JsonObject *doubt = json_array_get_object_element(doubts, i);
        g_autofree char *input = g_strdup_printf("input %u", i + 1);
        if (holds_name(hiding, json_object_get_string_member(doubt, "path")))
            json_object_set_string_member(doubt, "path", input);
    }
    if (holds_name(hiding, json_object_get_string_member(scenario, "title")))
        json_object_set_string_member(scenario, "title", "");
}

/* ---- the whole ------------------------------------------------------------------------------- */

/* Names of nodes and bridges, wherever they stand. */
static void
rename_cell(const SpateMember *member, JsonNode *cell, gpointer user)
{
    const Hiding *hiding = user;
    const char *now = json_node_get_value_type(cell) == G_TYPE_STRING
                          ? g_hash_table_lookup(hiding->renamed, json_node_get_string(cell))
                          : NULL;
    if (now != NULL)
        json_node_set_string(cell, now);
}

static void
hide_detail(const Hiding *hiding, JsonObject *detail)
{
    JsonArray *variants = json_object_get_array_member(detail, "variants");
    for (guint i = 0; i < json_array_get_length(variants); i++) {
        JsonObject *variant = json_array_get_object_element(variants, i);
        spate_detail_renumber(variant, hiding->renamed);
        JsonArray *nodes = json_object_get_array_member(variant, "nodes");
        add_names_of(hiding->names, nodes, "label"); /* what people call them: a title may too */
        for (guint k = 0; k < json_array_get_length(nodes); k++)
            json_object_remove_member(json_array_get_object_element(nodes, k), "label");
        json_object_set_null_member(variant, "summary");
    }
    if (json_object_has_member(detail, "relief"))
        json_object_set_null_member(json_object_get_object_member(detail, "relief"), "elevation");
    json_object_set_null_member(detail, "text");
    json_object_set_array_member(detail, "settings", json_array_new());
    json_object_set_boolean_member(json_object_get_object_member(detail, "places"), "anonymous",
                                   TRUE);
}

void
spate_result_anonymise(JsonObject *result, uint64_t seed)
{
    g_autoptr(GHashTable) renamed = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
    Hiding hiding = {seed, renamed, names};
    rename_all(&hiding, result, "nodes", "node");
    rename_all(&hiding, result, "bridges", "bridge");
    GHashTableIter iter;
    gpointer name;
    g_hash_table_iter_init(&iter, renamed);
    while (g_hash_table_iter_next(&iter, &name, NULL)) {
        add_name(names, name);
        add_stem(names, name);
    }
    if (json_object_has_member(result, "detail"))
        hide_detail(&hiding, json_object_get_object_member(result, "detail"));
    spate_form_walk(&SPATE_RESULT_FORM, result, rename_cell, &hiding);
    hide_words(&hiding, result);
}
