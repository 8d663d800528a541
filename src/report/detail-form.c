/* detail-form.c - whether the details of a result are as they should be */
#include "report/detail-form.h"

#include <math.h>
#include <string.h>

/* ---- values ---------------------------------------------------------------------------------- */

/* What numbers may name. */
typedef struct {
    gint64 n_nodes, n_bearers, n_radios;
} Names;

static bool
is_text(JsonNode *node)
{
    return node != NULL && JSON_NODE_HOLDS_VALUE(node) &&
           json_node_get_value_type(node) == G_TYPE_STRING &&
           g_utf8_validate(json_node_get_string(node), -1, NULL);
}

static bool
is_number(JsonNode *node)
{
    GType type = node != NULL && JSON_NODE_HOLDS_VALUE(node) ? json_node_get_value_type(node)
                                                             : G_TYPE_INVALID;
    return type == G_TYPE_INT64 || (type == G_TYPE_DOUBLE && isfinite(json_node_get_double(node)));
}

static bool
is_null(JsonNode *node)
{
    return node != NULL && JSON_NODE_HOLDS_NULL(node);
}

static bool
is_flag(JsonNode *node)
{
    return node != NULL && JSON_NODE_HOLDS_VALUE(node) &&
           json_node_get_value_type(node) == G_TYPE_BOOLEAN;
}

/* A whole number of least <= n < end. */
static bool
is_whole(JsonNode *node, gint64 least, gint64 end)
{
    if (!is_number(node) || json_node_get_value_type(node) != G_TYPE_INT64)
        return false;
    gint64 number = json_node_get_int(node);
    return number >= least && number < end;
}

static bool
are_radios(JsonNode *node, const Names *names)
{
    if (!JSON_NODE_HOLDS_ARRAY(node))
        return false;
    JsonArray *list = json_node_get_array(node);
    for (guint i = 0; i < json_array_get_length(list); i++)
        if (!is_whole(json_array_get_element(list, i), 0, names->n_radios))
            return false;
    return true;
}

static bool
is_pair(JsonNode *node, const Names *names)
{
    if (!JSON_NODE_HOLDS_ARRAY(node) || json_array_get_length(json_node_get_array(node)) != 2)
        return false;
    JsonNode *second = json_array_get_element(json_node_get_array(node), 1);
    return is_whole(json_array_get_element(json_node_get_array(node), 0), 0, names->n_radios) &&
           (is_null(second) || is_whole(second, 0, names->n_radios));
}

static bool
are_pairs(JsonNode *node, const Names *names)
{
    if (!JSON_NODE_HOLDS_ARRAY(node))
        return false;
    JsonArray *list = json_node_get_array(node);
    for (guint i = 0; i < json_array_get_length(list); i++)
        if (!is_pair(json_array_get_element(list, i), names))
            return false;
    return true;
}

#define LARGEST (INT64_C(1) << 53)

static bool
fits(JsonNode *node, SpateCell cell, const Names *names)
{
    switch (cell) {
    case SPATE_CELL_NODE:
        return is_whole(node, 0, names->n_nodes);
    case SPATE_CELL_BEARER:
        return is_whole(node, 0, names->n_bearers);
    case SPATE_CELL_RADIO:
        return is_whole(node, 0, names->n_radios);
    case SPATE_CELL_RADIO_OR_NONE:
        return is_null(node) || is_whole(node, 0, names->n_radios);
    case SPATE_CELL_RADIOS:
        return are_radios(node, names);
    case SPATE_CELL_PAIRS:
        return are_pairs(node, names);
    case SPATE_CELL_NUMBER:
        return is_null(node) || is_number(node);
    case SPATE_CELL_WHOLE:
        return is_whole(node, 0, LARGEST);
    case SPATE_CELL_SINCE:
        return is_whole(node, -LARGEST, LARGEST);
    case SPATE_CELL_TEXT:
        return is_text(node);
    case SPATE_CELL_TEXT_OR_NONE:
        return is_null(node) || is_text(node);
    case SPATE_CELL_FLAG:
        return is_flag(node);
    }
    g_assert_not_reached();
}

/* ---- members --------------------------------------------------------------------------------- */

/* NULL if there is none, or it is no list. */
static JsonArray *
list_of(JsonObject *object, const char *key)
{
    JsonNode *node = json_object_get_member(object, key);
    return node != NULL && JSON_NODE_HOLDS_ARRAY(node) ? json_node_get_array(node) : NULL;
}

static JsonObject *
object_of(JsonObject *object, const char *key)
{
    JsonNode *node = json_object_get_member(object, key);
    return node != NULL && JSON_NODE_HOLDS_OBJECT(node) ? json_node_get_object(node) : NULL;
}

static JsonObject *
element_of(JsonArray *list, guint i)
{
    JsonNode *node = json_array_get_element(list, i);
    return JSON_NODE_HOLDS_OBJECT(node) ? json_node_get_object(node) : NULL;
}

static bool
has_text(JsonObject *object, const char *key)
{
    return is_text(json_object_get_member(object, key));
}

static bool
has_text_or_none(JsonObject *object, const char *key)
{
    JsonNode *node = json_object_get_member(object, key);
    return is_null(node) || is_text(node);
}

static bool
has_number(JsonObject *object, const char *key)
{
    return is_number(json_object_get_member(object, key));
}

static bool
has_texts(JsonObject *object, const char *key)
{
    JsonArray *list = list_of(object, key);
    for (guint i = 0; list != NULL && i < json_array_get_length(list); i++)
        if (!is_text(json_array_get_element(list, i)))
            return false;
    return list != NULL;
}

static bool
has_cells(JsonObject *object, const char *key, gint64 end)
{
    JsonArray *list = list_of(object, key);
    for (guint i = 0; list != NULL && i < json_array_get_length(list); i++)
        if (!is_whole(json_array_get_element(list, i), 0, end))
            return false;
    return list != NULL;
}

/* Whether each element of the list is an object of that form. */
static bool
has_each(JsonObject *object, const char *key, bool (*is_good)(JsonObject *, const Names *),
         const Names *names)
{
    JsonArray *list = list_of(object, key);
    for (guint i = 0; list != NULL && i < json_array_get_length(list); i++) {
        JsonObject *element = element_of(list, i);
        if (element == NULL || !is_good(element, names))
            return false;
    }
    return list != NULL;
}

/* ---- rows ------------------------------------------------------------------------------------ */

static bool
has_columns(JsonObject *rows, const SpateColumn *columns)
{
    guint n = 0;
    JsonArray *names = list_of(rows, "columns");
    for (; columns[n].name != NULL; n++)
        if (names == NULL || n >= json_array_get_length(names) ||
            !is_text(json_array_get_element(names, n)) ||
            strcmp(json_array_get_string_element(names, n), columns[n].name) != 0)
            return false;
    return json_array_get_length(names) == n;
}

static bool
is_row(JsonNode *node, const SpateColumn *columns, const Names *names)
{
    guint n = 0;
    if (!JSON_NODE_HOLDS_ARRAY(node))
        return false;
    JsonArray *row = json_node_get_array(node);
    for (; columns[n].name != NULL; n++)
        if (n >= json_array_get_length(row) ||
            !fits(json_array_get_element(row, n), columns[n].cell, names))
            return false;
    return json_array_get_length(row) == n;
}

static bool
has_rows(JsonObject *object, const SpateRowForm *form, const Names *names)
{
    JsonObject *holder = object_of(object, form->key);
    JsonArray *rows = holder != NULL ? list_of(holder, "rows") : NULL;
    if (rows == NULL || !has_columns(holder, form->columns))
        return false;
    for (guint i = 0; i < json_array_get_length(rows); i++)
        if (!is_row(json_array_get_element(rows, i), form->columns, names))
            return false;
    return true;
}

/* The key of the first that is wrong; NULL if none is. */
static const char *
wrong_rows(JsonObject *object, const SpateRowForm *forms, const Names *names)
{
    for (; forms->key != NULL; forms++)
        if (!has_rows(object, forms, names))
            return forms->key;
    return NULL;
}

/* ---- a variant ------------------------------------------------------------------------------- */

static bool
is_bearer(JsonObject *bearer, const Names *names)
{
    return has_text(bearer, "name") && has_text(bearer, "kind") &&
           has_number(bearer, "frequency_hz") && has_number(bearer, "sensitivity_dbm");
}

static bool
is_crossing(JsonObject *crossing, const Names *names)
{
    return has_text(crossing, "name") &&
           is_whole(json_object_get_member(crossing, "from"), 0, names->n_bearers) &&
           is_whole(json_object_get_member(crossing, "to"), 0, names->n_bearers);
}

static bool
is_bridge(JsonObject *bridge, const Names *names)
{
    return has_text(bridge, "name") &&
           is_whole(json_object_get_member(bridge, "node"), 0, names->n_nodes) &&
           has_each(bridge, "crossings", is_crossing, names);
}

static bool
is_node(JsonObject *node, const Names *names)
{
    return has_text(node, "name") &&
           (!json_object_has_member(node, "label") || has_text(node, "label")) &&
           has_number(node, "x_m") && has_number(node, "y_m") && has_number(node, "height_m") &&
           is_flag(json_object_get_member(node, "relays")) &&
           is_flag(json_object_get_member(node, "bridge")) && has_texts(node, "source_of") &&
           has_cells(node, "radios", names->n_radios);
}

static bool
has_steps(JsonObject *row, const char *key)
{
    JsonArray *steps = list_of(row, key);
    for (guint i = 0; steps != NULL && i < json_array_get_length(steps); i++) {
        JsonNode *step = json_array_get_element(steps, i);
        if (!is_number(step) && !is_null(step))
            return false;
    }
    return steps != NULL;
}

static bool
is_timeline_row(JsonObject *row, const Names *names)
{
    bool is_all = is_null(json_object_get_member(row, "traffic"));
    return is_whole(json_object_get_member(row, "bearer"), 0, names->n_bearers) &&
           has_text_or_none(row, "traffic") && has_steps(row, "mean") &&
           (!is_all || (has_steps(row, "low") && has_steps(row, "high")));
}

static bool
is_latency(JsonObject *latency, const Names *names)
{
    JsonArray *bins = list_of(latency, "bins");
    for (guint i = 0; bins != NULL && i < json_array_get_length(bins); i++) {
        JsonNode *node = json_array_get_element(bins, i);
        JsonArray *bin = JSON_NODE_HOLDS_ARRAY(node) ? json_node_get_array(node) : NULL;
        if (bin == NULL || json_array_get_length(bin) != 3)
            return false;
        for (guint k = 0; k < 3; k++)
            if (!is_whole(json_array_get_element(bin, k), 0, k == 2 ? LARGEST : 1000))
                return false;
    }
    return bins != NULL && has_text(latency, "traffic");
}

static bool
is_replay(JsonNode *node, const Names *names)
{
    if (is_null(node))
        return true;
    if (!JSON_NODE_HOLDS_OBJECT(node))
        return false;
    JsonObject *replay = json_node_get_object(node);
    return is_whole(json_object_get_member(replay, "origin"), 0, names->n_nodes) &&
           is_whole(json_object_get_member(replay, "digests"), 0, LARGEST) &&
           is_whole(json_object_get_member(replay, "until_us"), 0, LARGEST) &&
           is_flag(json_object_get_member(replay, "cut")) &&
           has_cells(replay, "recipients", names->n_nodes) &&
           wrong_rows(replay, SPATE_REPLAY_ROWS, names) == NULL;
}

static bool
has_replays(JsonObject *variant, guint n_messages, const Names *names)
{
    JsonArray *replays = list_of(variant, "replay");
    if (replays == NULL || json_array_get_length(replays) != n_messages)
        return false;
    for (guint i = 0; i < n_messages; i++)
        if (!is_replay(json_array_get_element(replays, i), names))
            return false;
    return true;
}

static gint64
length_of(JsonObject *object, const char *key)
{
    JsonArray *list = object != NULL ? list_of(object, key) : NULL;
    return list != NULL ? json_array_get_length(list) : 0;
}

/* What is wrong first; NULL if nothing is. */
static const char *
variant_fault(JsonObject *variant, guint n_messages)
{
    JsonObject *timeline = object_of(variant, "timeline");
    const Names names = {length_of(variant, "nodes"), length_of(variant, "bearers"),
                         length_of(object_of(variant, "radios"), "rows")};
    const char *wrong = wrong_rows(variant, SPATE_VARIANT_ROWS, &names);
    if (!has_text(variant, "name") || !has_text_or_none(variant, "summary"))
        return "name";
    if (!has_each(variant, "bearers", is_bearer, &names))
        return "bearers";
    if (!has_each(variant, "bridges", is_bridge, &names))
        return "bridges";
    if (!has_each(variant, "nodes", is_node, &names) ||
        !is_flag(json_object_get_member(variant, "random_places")))
        return "nodes";
    if (wrong != NULL)
        return wrong;
    if (timeline == NULL || !has_each(timeline, "rows", is_timeline_row, &names))
        return "timeline";
    if (!has_each(variant, "latency", is_latency, &names))
        return "latency";
    return has_replays(variant, n_messages, &names) ? NULL : "replay";
}

/* ---- the whole ------------------------------------------------------------------------------- */

static bool
is_left_out(JsonObject *row, const Names *names)
{
    return has_text(row, "what") && has_text(row, "effect");
}

static bool
is_message(JsonObject *message, const Names *names)
{
    return has_text(message, "traffic") && has_text(message, "origin") &&
           has_text(message, "chosen") && has_number(message, "offer") &&
           has_number(message, "replication") && has_number(message, "offered_s");
}

static bool
are_places(JsonObject *places)
{
    JsonNode *blurred = places != NULL ? json_object_get_member(places, "blurred_m") : NULL;
    JsonArray *origin = places != NULL ? list_of(places, "origin") : NULL;
    if (places == NULL || !has_text(places, "form") ||
        !is_flag(json_object_get_member(places, "anonymous")) ||
        !(is_null(blurred) || is_number(blurred)))
        return false;
    return origin == NULL ? is_null(json_object_get_member(places, "origin"))
                          : json_array_get_length(origin) == 2 &&
                                is_number(json_array_get_element(origin, 0)) &&
                                is_number(json_array_get_element(origin, 1));
}

static const char *
head_fault(JsonObject *detail)
{
    JsonObject *bins = object_of(detail, "latency_bins");
    if (!has_text_or_none(detail, "text"))
        return "text";
    if (!has_texts(detail, "settings"))
        return "settings";
    if (!has_each(detail, "left_out", is_left_out, NULL))
        return "left_out";
    if (!are_places(object_of(detail, "places")))
        return "places";
    if (bins == NULL || !has_number(bins, "per_decade") || !has_number(bins, "first_s"))
        return "latency_bins";
    if (!has_number(detail, "timeline_step_s"))
        return "timeline_step_s";
    return has_each(detail, "messages", is_message, NULL) ? NULL : "messages";
}

static char *
variants_fault(JsonObject *detail, gint64 n_variants)
{
    JsonArray *variants = list_of(detail, "variants");
    guint n_messages = (guint)length_of(detail, "messages");
    if (variants == NULL || json_array_get_length(variants) != n_variants)
        return g_strdup("its details are not of its variants");
    for (guint i = 0; i < n_variants; i++) {
        JsonObject *variant = element_of(variants, i);
        const char *wrong = variant != NULL ? variant_fault(variant, n_messages) : "";
        if (wrong != NULL)
            return g_strdup_printf("its details, variant %u: '%s' is not as it should be", i,
                                   wrong);
    }
    return NULL;
}

static bool
is_doubt(JsonObject *doubt, const Names *names)
{
    return has_text(doubt, "path") && has_text(doubt, "unit") && has_number(doubt, "low") &&
           has_number(doubt, "high") && has_texts(doubt, "variants") && has_steps(doubt, "values");
}

char *
spate_detail_fault(JsonObject *result)
{
    static const char FORMAT[] = "spate-detail/1";
    JsonNode *node = json_object_get_member(result, "detail");
    if (json_object_has_member(result, "doubts") && !has_each(result, "doubts", is_doubt, NULL))
        return g_strdup("'doubts' is not as it should be");
    if (node == NULL)
        return NULL;
    JsonObject *detail = JSON_NODE_HOLDS_OBJECT(node) ? json_node_get_object(node) : NULL;
    if (detail == NULL || !has_text(detail, "format"))
        return g_strdup("its details have no 'format'");
    const char *format = json_object_get_string_member(detail, "format");
    if (strcmp(format, FORMAT) != 0)
        return g_strdup_printf("its details are '%s'; this program reads '%s'", format, FORMAT);
    const char *wrong = head_fault(detail);
    if (wrong != NULL)
        return g_strdup_printf("its details: '%s' is not as it should be", wrong);
    return variants_fault(detail, length_of(result, "variants"));
}
