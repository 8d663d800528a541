/* anonymise.c - names that become numbers */
#include "report/privacy.h"

#include "core/random.h"
#include "report/detail-form.h"
#include <string.h>

/* Names shorter than that stand in other words by chance. */
#define LEAST_LETTERS 3

typedef struct {
    uint64_t seed;
    GHashTable *renamed; /* name of a node or bridge -> what it becomes */
    GPtrArray *names;    /* its keys, and the groups of these */
} Hiding;

/* ---- names ----------------------------------------------------------------------------------- */

static void
add_name(GPtrArray *names, const char *name)
{
    for (guint i = 0; i < names->len; i++)
        if (strcmp(g_ptr_array_index(names, i), name) == 0)
            return;
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

/* Of the details where there are some, and of the measures. */
static GPtrArray *
names_of(JsonObject *result, const char *things, const char *dimension)
{
    GPtrArray *names = g_ptr_array_new_with_free_func(g_free);
    JsonArray *variants = json_object_get_array_member(result, "variants");
    for (guint i = 0; i < json_array_get_length(variants); i++)
        add_names_of(names, list_of(json_array_get_object_element(variants, i), "measures"),
                     dimension);
    if (!json_object_has_member(result, "detail"))
        return names;
    JsonArray *details =
        json_object_get_array_member(json_object_get_object_member(result, "detail"), "variants");
    for (guint i = 0; i < json_array_get_length(details); i++)
        add_names_of(names, list_of(json_array_get_object_element(details, i), things), "name");
    return names;
}

/* Fisher and Yates, by the seed. */
static void
shuffle(GPtrArray *list, uint64_t seed, const char *what)
{
    SpateRandom draw =
        spate_random_stream(spate_random_key(seed, 1, SPATE_FOR_BLUR), spate_hash_name(what));
    for (guint i = list->len; i > 1; i--) {
        guint other = (guint)spate_random_below(&draw, i);
        gpointer kept = list->pdata[i - 1];
        list->pdata[i - 1] = list->pdata[other];
        list->pdata[other] = kept;
    }
}

static int
compare_names(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void
rename_all(Hiding *hiding, JsonObject *result, const char *things, const char *dimension)
{
    g_autoptr(GPtrArray) names = names_of(result, things, dimension);
    g_ptr_array_sort(names, compare_names);
    shuffle(names, hiding->seed, things);
    for (guint i = 0; i < names->len; i++) {
        const char *name = g_ptr_array_index(names, i);
        if (!g_hash_table_contains(hiding->renamed, name))
            g_hash_table_insert(hiding->renamed, g_strdup(name),
                                g_strdup_printf("%s %u", dimension, i + 1));
    }
}

static void
rename_member(const Hiding *hiding, JsonObject *object, const char *key)
{
    if (!json_object_has_member(object, key) || json_object_get_null_member(object, key))
        return;
    const char *now =
        g_hash_table_lookup(hiding->renamed, json_object_get_string_member(object, key));
    if (now != NULL)
        json_object_set_string_member(object, key, now);
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

/* Names of variants or traffics: those that hold a name become numbers, in their order. */
static GHashTable *
renamed_words(const Hiding *hiding, JsonArray *things, const char *key, const char *word)
{
    GHashTable *renamed = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    guint n = 0;
    for (guint i = 0; things != NULL && i < json_array_get_length(things); i++) {
        JsonObject *thing = json_array_get_object_element(things, i);
        const char *name =
            json_object_has_member(thing, key) ? json_object_get_string_member(thing, key) : NULL;
        if (name == NULL || g_hash_table_contains(renamed, name) || strcmp(name, "base") == 0)
            continue;
        n++;
        if (holds_name(hiding, name))
            g_hash_table_insert(renamed, g_strdup(name), g_strdup_printf("%s %u", word, n));
    }
    return renamed;
}

/* Every string of the tree that is one of these. */
static void
replace_words(JsonNode *node, GHashTable *renamed)
{
    if (JSON_NODE_HOLDS_ARRAY(node)) {
        JsonArray *list = json_node_get_array(node);
        for (guint i = 0; i < json_array_get_length(list); i++)
            replace_words(json_array_get_element(list, i), renamed);
    } else if (JSON_NODE_HOLDS_OBJECT(node)) {
        JsonObject *object = json_node_get_object(node);
        g_autoptr(GList) values = json_object_get_values(object);
        for (GList *value = values; value != NULL; value = value->next)
            replace_words(value->data, renamed);
    } else if (JSON_NODE_HOLDS_VALUE(node) && json_node_get_value_type(node) == G_TYPE_STRING) {
        const char *now = g_hash_table_lookup(renamed, json_node_get_string(node));
        if (now != NULL)
            json_node_set_string(node, now);
    }
}

static void
replace_all(const Hiding *hiding, JsonObject *result, JsonArray *things, const char *key,
            const char *word)
{
    g_autoptr(GHashTable) renamed = renamed_words(hiding, things, key, word);
    g_autoptr(JsonNode) root = json_node_new(JSON_NODE_OBJECT);
    json_node_set_object(root, result);
    replace_words(root, renamed);
}

static void
hide_words(const Hiding *hiding, JsonObject *result)
{
    JsonArray *variants = json_object_get_array_member(result, "variants");
    JsonObject *scenario = json_object_get_object_member(result, "scenario");
    JsonArray *doubts = list_of(result, "doubts");
    replace_all(hiding, result, variants, "name", "variant");
    for (guint i = 0; i < json_array_get_length(variants); i++)
        replace_all(hiding, result, list_of(json_array_get_object_element(variants, i), "measures"),
                    "traffic", "traffic");
    for (guint i = 0; doubts != NULL && i < json_array_get_length(doubts); i++) {
        JsonObject *doubt = json_array_get_object_element(doubts, i);
        g_autofree char *input = g_strdup_printf("input %u", i + 1);
        if (holds_name(hiding, json_object_get_string_member(doubt, "path")))
            json_object_set_string_member(doubt, "path", input);
    }
    if (holds_name(hiding, json_object_get_string_member(scenario, "title")))
        json_object_set_string_member(scenario, "title", "");
}

/* ---- measures -------------------------------------------------------------------------------- */

static void
rename_rows(const Hiding *hiding, JsonArray *rows)
{
    for (guint i = 0; i < json_array_get_length(rows); i++) {
        rename_member(hiding, json_array_get_object_element(rows, i), "node");
        rename_member(hiding, json_array_get_object_element(rows, i), "bridge");
    }
}

static void
rename_measures(const Hiding *hiding, JsonObject *result)
{
    JsonArray *variants = json_object_get_array_member(result, "variants");
    for (guint i = 0; i < json_array_get_length(variants); i++)
        rename_rows(hiding, json_object_get_array_member(json_array_get_object_element(variants, i),
                                                         "measures"));
    rename_rows(hiding, json_object_get_array_member(result, "differences"));
}

/* ---- numbers of a variant's nodes and radios ------------------------------------------------- */

/* From old numbers to new ones. */
typedef struct {
    gint64 *node, *radio;
} Numbers;

static gint64
number_of(const char *renamed)
{
    return g_ascii_strtoll(strrchr(renamed, ' ') + 1, NULL, 10);
}

static int
compare_numbers(gconstpointer a, gconstpointer b)
{
    gint64 first = ((const gint64 *)a)[0], second = ((const gint64 *)b)[0];
    return (first > second) - (first < second);
}

/* Ranks of the keys: [key, old number] sorted. */
static gint64 *
ranks_of(GArray *pairs)
{
    gint64 *ranks = g_new0(gint64, pairs->len + 1);
    g_array_sort(pairs, compare_numbers);
    for (guint i = 0; i < pairs->len; i++)
        ranks[((gint64 *)(void *)pairs->data)[2 * i + 1]] = i;
    return ranks;
}

static JsonArray *
rows_of(JsonObject *object, const char *key)
{
    return json_object_get_array_member(json_object_get_object_member(object, key), "rows");
}

/* Nodes by their new names, radios by their nodes. */
static Numbers
numbers_of(const Hiding *hiding, JsonObject *variant)
{
    JsonArray *nodes = json_object_get_array_member(variant, "nodes");
    JsonArray *radios = rows_of(variant, "radios");
    g_autoptr(GArray) pairs = g_array_new(FALSE, FALSE, 2 * sizeof(gint64));
    for (guint i = 0; i < json_array_get_length(nodes); i++) {
        const char *name =
            json_object_get_string_member(json_array_get_object_element(nodes, i), "name");
        const gint64 pair[] = {number_of(g_hash_table_lookup(hiding->renamed, name)), i};
        g_array_append_vals(pairs, pair, 1);
    }
    Numbers numbers = {.node = ranks_of(pairs)};
    g_array_set_size(pairs, 0);
    for (guint i = 0; i < json_array_get_length(radios); i++) {
        JsonArray *radio = json_array_get_array_element(radios, i);
        gint64 node = numbers.node[json_array_get_int_element(radio, 0)];
        const gint64 pair[] = {node * 1000 + json_array_get_int_element(radio, 1), i};
        g_array_append_vals(pairs, pair, 1);
    }
    numbers.radio = ranks_of(pairs);
    return numbers;
}

static void
renumber(JsonNode *node, const gint64 *numbers)
{
    if (!JSON_NODE_HOLDS_NULL(node))
        json_node_set_int(node, numbers[json_node_get_int(node)]);
}

static void
renumber_list(JsonArray *list, const gint64 *numbers)
{
    for (guint i = 0; i < json_array_get_length(list); i++)
        renumber(json_array_get_element(list, i), numbers);
}

static void
renumber_cell(JsonNode *cell, SpateCell kind, const Numbers *numbers)
{
    if (kind == SPATE_CELL_NODE)
        renumber(cell, numbers->node);
    if (kind == SPATE_CELL_RADIO || kind == SPATE_CELL_RADIO_OR_NONE)
        renumber(cell, numbers->radio);
    if (kind == SPATE_CELL_RADIOS)
        renumber_list(json_node_get_array(cell), numbers->radio);
    if (kind == SPATE_CELL_PAIRS)
        for (guint i = 0; i < json_array_get_length(json_node_get_array(cell)); i++)
            renumber_list(json_array_get_array_element(json_node_get_array(cell), i),
                          numbers->radio);
}

static void
renumber_rows(JsonObject *object, const SpateRowForm *forms, const Numbers *numbers)
{
    for (; forms->key != NULL; forms++) {
        JsonArray *rows = rows_of(object, forms->key);
        for (guint i = 0; i < json_array_get_length(rows); i++) {
            JsonArray *row = json_array_get_array_element(rows, i);
            for (guint k = 0; forms->columns[k].name != NULL; k++)
                renumber_cell(json_array_get_element(row, k), forms->columns[k].cell, numbers);
        }
    }
}

/* What is no whole number stands before them. */
static gint64
whole_at(JsonArray *row, guint column)
{
    JsonNode *node = json_array_get_element(row, column);
    bool is_whole = JSON_NODE_HOLDS_VALUE(node) && json_node_get_value_type(node) == G_TYPE_INT64;
    return is_whole ? json_node_get_int(node) : -1;
}

static int
compare_first(gconstpointer a, gconstpointer b)
{
    JsonArray *const *first = a, *const *second = b;
    for (guint i = 0; i < 2; i++) {
        gint64 one = whole_at(*first, i), other = whole_at(*second, i);
        if (one != other)
            return one < other ? -1 : 1;
    }
    return 0;
}

/* By what stands first: an order that told the names is lost. */
static void
sort_rows(JsonObject *object, const char *key)
{
    JsonObject *holder = json_object_get_object_member(object, key);
    JsonArray *rows = json_object_get_array_member(holder, "rows");
    g_autoptr(GPtrArray) sorted = g_ptr_array_new();
    for (guint i = 0; i < json_array_get_length(rows); i++)
        g_ptr_array_add(sorted, json_array_ref(json_array_get_array_element(rows, i)));
    g_ptr_array_sort(sorted, compare_first);
    JsonArray *list = json_array_new();
    for (guint i = 0; i < sorted->len; i++)
        json_array_add_array_element(list, g_ptr_array_index(sorted, i));
    json_object_set_array_member(holder, "rows", list);
}

/* Those of the list go to their new places. */
static JsonArray *
reordered(JsonArray *list, const gint64 *numbers)
{
    guint n = json_array_get_length(list);
    g_autofree JsonNode **placed = g_new0(JsonNode *, n + 1u);
    JsonArray *now = json_array_new();
    for (guint i = 0; i < n; i++)
        placed[numbers[i]] = json_node_copy(json_array_get_element(list, i));
    for (guint i = 0; i < n; i++)
        json_array_add_element(now, placed[i]);
    return now;
}

static void
renumber_replay(JsonNode *node, const Numbers *numbers)
{
    if (JSON_NODE_HOLDS_NULL(node))
        return;
    JsonObject *replay = json_node_get_object(node);
    renumber(json_object_get_member(replay, "origin"), numbers->node);
    renumber_list(json_object_get_array_member(replay, "recipients"), numbers->node);
    renumber_rows(replay, SPATE_REPLAY_ROWS, numbers);
}

static void
renumber_nodes(JsonObject *variant, const Numbers *numbers)
{
    JsonArray *nodes = json_object_get_array_member(variant, "nodes");
    for (guint i = 0; i < json_array_get_length(nodes); i++)
        renumber_list(
            json_object_get_array_member(json_array_get_object_element(nodes, i), "radios"),
            numbers->radio);
    json_object_set_array_member(variant, "nodes", reordered(nodes, numbers->node));
}

static void
renumber_variant(JsonObject *variant, const Numbers *numbers)
{
    JsonArray *bridges = json_object_get_array_member(variant, "bridges");
    JsonArray *replays = json_object_get_array_member(variant, "replay");
    renumber_rows(variant, SPATE_VARIANT_ROWS, numbers);
    JsonObject *radios = json_object_get_object_member(variant, "radios");
    json_object_set_array_member(
        radios, "rows", reordered(json_object_get_array_member(radios, "rows"), numbers->radio));
    static const char *const SORTED[] = {"links", "node_measures", "radio_measures", "disturbers"};
    for (size_t i = 0; i < G_N_ELEMENTS(SORTED); i++)
        sort_rows(variant, SORTED[i]);
    for (guint i = 0; i < json_array_get_length(bridges); i++)
        renumber(json_object_get_member(json_array_get_object_element(bridges, i), "node"),
                 numbers->node);
    for (guint i = 0; i < json_array_get_length(replays); i++)
        renumber_replay(json_array_get_element(replays, i), numbers);
    renumber_nodes(variant, numbers);
}

/* ---- details --------------------------------------------------------------------------------- */

static void
rename_decisions(const Hiding *hiding, JsonObject *variant)
{
    JsonArray *replays = json_object_get_array_member(variant, "replay");
    for (guint i = 0; i < json_array_get_length(replays); i++) {
        JsonNode *replay = json_array_get_element(replays, i);
        if (JSON_NODE_HOLDS_NULL(replay))
            continue;
        JsonArray *rows = rows_of(json_node_get_object(replay), "decisions");
        for (guint k = 0; k < json_array_get_length(rows); k++) {
            JsonNode *bridge = json_array_get_element(json_array_get_array_element(rows, k), 3);
            if (!JSON_NODE_HOLDS_NULL(bridge))
                json_node_set_string(
                    bridge, g_hash_table_lookup(hiding->renamed, json_node_get_string(bridge)));
        }
    }
}

static void
hide_variant(const Hiding *hiding, JsonObject *variant)
{
    static const char *const THINGS[] = {"nodes", "bridges"};
    Numbers numbers = numbers_of(hiding, variant);
    renumber_variant(variant, &numbers);
    rename_decisions(hiding, variant);
    for (size_t k = 0; k < G_N_ELEMENTS(THINGS); k++) {
        JsonArray *things = json_object_get_array_member(variant, THINGS[k]);
        for (guint i = 0; i < json_array_get_length(things); i++)
            rename_member(hiding, json_array_get_object_element(things, i), "name");
    }
    json_object_set_null_member(variant, "summary");
    g_free(numbers.node);
    g_free(numbers.radio);
}

static void
hide_detail(const Hiding *hiding, JsonObject *detail)
{
    JsonArray *variants = json_object_get_array_member(detail, "variants");
    JsonArray *messages = json_object_get_array_member(detail, "messages");
    for (guint i = 0; i < json_array_get_length(variants); i++)
        hide_variant(hiding, json_array_get_object_element(variants, i));
    for (guint i = 0; i < json_array_get_length(messages); i++)
        rename_member(hiding, json_array_get_object_element(messages, i), "origin");
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
    rename_measures(&hiding, result);
    if (json_object_has_member(result, "detail"))
        hide_detail(&hiding, json_object_get_object_member(result, "detail"));
    hide_words(&hiding, result);
}
