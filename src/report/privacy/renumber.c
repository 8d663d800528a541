/* renumber.c - other numbers for the nodes and radios of a variant's details */
#include "report/privacy/privacy.h"

#include "report/result/detail-form.h"
#include <string.h>

/* From old numbers to new ones. */
typedef struct {
    gint64 *node, *radio;
} Numbers;

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

/* Nodes by their new names, radios by their nodes. */
static Numbers
numbers_of(GHashTable *renamed, JsonObject *variant)
{
    JsonArray *nodes = json_object_get_array_member(variant, "nodes");
    JsonArray *radios =
        json_object_get_array_member(json_object_get_object_member(variant, "radios"), "rows");
    g_autoptr(GArray) pairs = g_array_new(FALSE, FALSE, 2 * sizeof(gint64));
    for (guint i = 0; i < json_array_get_length(nodes); i++) {
        const char *name =
            json_object_get_string_member(json_array_get_object_element(nodes, i), "name");
        const char *now = g_hash_table_lookup(renamed, name);
        const gint64 pair[] = {g_ascii_strtoll(strrchr(now, ' ') + 1, NULL, 10), i};
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
renumber(const SpateMember *member, JsonNode *cell, gpointer user)
{
    const Numbers *numbers = user;
    if (json_node_get_value_type(cell) == G_TYPE_STRING)
        return;
    if (member->of == SPATE_THING_NODE)
        json_node_set_int(cell, numbers->node[json_node_get_int(cell)]);
    if (member->of == SPATE_THING_RADIO)
        json_node_set_int(cell, numbers->radio[json_node_get_int(cell)]);
}

/* Cells that are not whole numbers come first. */
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

/* By what comes first: an order that revealed the names is lost. */
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
static void
reorder(JsonObject *object, const char *key, const gint64 *numbers)
{
    JsonArray *list = json_object_get_array_member(object, key);
    guint n = json_array_get_length(list);
    g_autofree JsonNode **placed = g_new0(JsonNode *, n + 1u);
    JsonArray *now = json_array_new();
    for (guint i = 0; i < n; i++)
        placed[numbers[i]] = json_node_copy(json_array_get_element(list, i));
    for (guint i = 0; i < n; i++)
        json_array_add_element(now, placed[i]);
    json_object_set_array_member(object, key, now);
}

void
spate_detail_renumber(JsonObject *variant, GHashTable *renamed)
{
    static const char *const SORTED[] = {"links", "node_measures", "radio_measures", "sleepers",
                                         "disturbers"};
    Numbers numbers = numbers_of(renamed, variant);
    spate_form_walk(&SPATE_DETAIL_VARIANT_FORM, variant, renumber, &numbers);
    reorder(variant, "nodes", numbers.node);
    reorder(json_object_get_object_member(variant, "radios"), "rows", numbers.radio);
    for (size_t i = 0; i < G_N_ELEMENTS(SORTED); i++)
        if (json_object_has_member(variant, SORTED[i]))
            sort_rows(variant, SORTED[i]);
    g_free(numbers.node);
    g_free(numbers.radio);
}
