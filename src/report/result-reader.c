/* result-reader.c - a result that was written as JSON, read back */
#include "report/result-reader.h"

#include "core/time.h"
#include "report/json-form.h"
#include "scenario/read-bytes.h"
#include <errno.h>
#include <json-glib/json-glib.h>
#include <math.h>
#include <string.h>

#define FORMAT            "spate-result/1"
#define MOST_REPLICATIONS 1e9
#define LONGEST_S         1e9
#define LARGEST_WHOLE     9007199254740992.0 /* 2^53: held exactly by every reader */

G_DEFINE_QUARK(spate - result - error - quark, spate_result_error)

typedef struct {
    const char *name; /* of the file */
    GString *where;   /* in it: "variant 'base', measure 3" */
    GError *error;
    SpateResult *result;
} Reader;

/* Only the first is kept.  Returns false. */
static bool complain(Reader *reader, const char *format, ...) G_GNUC_PRINTF(2, 3);

static bool
complain(Reader *reader, const char *format, ...)
{
    if (reader->error != NULL)
        return false;
    va_list arguments;
    va_start(arguments, format);
    g_autofree char *what = g_strdup_vprintf(format, arguments);
    va_end(arguments);
    g_set_error(&reader->error, SPATE_RESULT_ERROR, SPATE_RESULT_ERROR_BAD, "%s: %s%s%s",
                reader->name, reader->where->str, reader->where->len > 0 ? ": " : "", what);
    return false;
}

/* ---- members of one type --------------------------------------------------------------------- */

/* NULL with a complaint if it is missing. */
static JsonNode *
find_member(Reader *reader, JsonObject *object, const char *key)
{
    JsonNode *node = json_object_get_member(object, key);
    if (node == NULL)
        complain(reader, "'%s' is missing", key);
    return node;
}

static bool
take_text(Reader *reader, JsonNode *node, const char *key, char **text)
{
    if (node == NULL)
        return false;
    const char *value = JSON_NODE_HOLDS_VALUE(node) ? json_node_get_string(node) : NULL;
    if (value == NULL)
        return complain(reader, "'%s' must be a string", key);
    if (!g_utf8_validate(value, -1, NULL))
        return complain(reader, "'%s' holds half a character", key);
    *text = g_strdup(value);
    return true;
}

static bool
read_text(Reader *reader, JsonObject *object, const char *key, char **text)
{
    return take_text(reader, find_member(reader, object, key), key, text);
}

/* NULL if it is missing. */
static bool
read_dimension(Reader *reader, JsonObject *object, const char *key, char **text)
{
    JsonNode *node = json_object_get_member(object, key);
    return node == NULL || take_text(reader, node, key, text);
}

/* A finite number, or NAN for null. */
static bool
take_number(Reader *reader, JsonNode *node, const char *key, double *number)
{
    if (node == NULL)
        return false;
    *number = NAN;
    if (JSON_NODE_HOLDS_NULL(node))
        return true;
    GType type = JSON_NODE_HOLDS_VALUE(node) ? json_node_get_value_type(node) : G_TYPE_INVALID;
    if (type != G_TYPE_INT64 && type != G_TYPE_DOUBLE)
        return complain(reader, "'%s' must be a number", key);
    *number = json_node_get_double(node);
    return isfinite(*number) || complain(reader, "'%s' is too large", key);
}

/* Not null. */
static bool
read_number(Reader *reader, JsonObject *object, const char *key, double most, double *number)
{
    if (!take_number(reader, find_member(reader, object, key), key, number))
        return false;
    return (*number >= 0.0 && *number <= most) || complain(reader, "'%s' is out of range", key);
}

static bool
read_whole(Reader *reader, JsonObject *object, const char *key, double most, uint64_t *whole)
{
    double number;
    if (!read_number(reader, object, key, most, &number))
        return false;
    *whole = (uint64_t)number;
    return number == floor(number) || complain(reader, "'%s' is no whole number", key);
}

static JsonArray *
read_array(Reader *reader, JsonObject *object, const char *key)
{
    JsonNode *node = find_member(reader, object, key);
    if (node == NULL)
        return NULL;
    if (JSON_NODE_HOLDS_ARRAY(node))
        return json_node_get_array(node);
    complain(reader, "'%s' must be a list", key);
    return NULL;
}

static JsonObject *
take_object(Reader *reader, JsonNode *node)
{
    if (JSON_NODE_HOLDS_OBJECT(node))
        return json_node_get_object(node);
    complain(reader, "this is no object");
    return NULL;
}

/* Whole nanoseconds that are written as this number of seconds: of those about the product the one
 * that gives it back. */
static int64_t
nanoseconds_of(double seconds)
{
    double product = rint(seconds * (double)SPATE_NS_PER_S);
    double step = fmax(1.0, nextafter(product, INFINITY) - product);
    for (int i = 0; i <= 4; i++) {
        /* 0, 1, -1, 2, -2 */
        double ns = product + step * (double)(i % 2 == 1 ? (i + 1) / 2 : -(i / 2));
        if (ns / (double)SPATE_NS_PER_S == seconds)
            return (int64_t)ns;
    }
    return (int64_t)product;
}

static bool
read_seconds(Reader *reader, JsonObject *object, const char *key, int64_t *ns)
{
    double seconds;
    if (!read_number(reader, object, key, LONGEST_S, &seconds))
        return false;
    *ns = nanoseconds_of(seconds);
    return true;
}

/* ---- rows ------------------------------------------------------------------------------------ */

static bool
read_measure(Reader *reader, JsonObject *object, SpateMeasure *measure)
{
    g_autofree char *name = NULL;
    if (!read_text(reader, object, "measure", &name))
        return false;
    for (int m = 0; m < SPATE_N_MEASURES; m++) {
        *measure = (SpateMeasure)m;
        if (strcmp(spate_measure_info(*measure)->name, name) == 0)
            return true;
    }
    return complain(reader, "this program knows no measure '%s'", name);
}

static unsigned
dimensions_of(const SpateResultRow *row)
{
    return (row->traffic != NULL ? SPATE_OF_TRAFFIC : 0u) |
           (row->bearer != NULL ? SPATE_OF_BEARER : 0u) | (row->node != NULL ? SPATE_OF_NODE : 0u) |
           (row->bridge != NULL ? SPATE_OF_BRIDGE : 0u) |
           (row->to != NULL ? SPATE_OF_RECIPIENT : 0u);
}

static bool
read_names(Reader *reader, JsonObject *object, SpateResultRow *row)
{
    return read_measure(reader, object, &row->measure) &&
           read_dimension(reader, object, "traffic", &row->traffic) &&
           read_dimension(reader, object, "bearer", &row->bearer) &&
           read_dimension(reader, object, "node", &row->node) &&
           read_dimension(reader, object, "bridge", &row->bridge) &&
           read_dimension(reader, object, "to", &row->to) &&
           (spate_measure_is_by(spate_measure_info(row->measure), dimensions_of(row)) ||
            complain(reader, "'%s' is not counted by these",
                     spate_measure_info(row->measure)->name));
}

static bool
read_interval(Reader *reader, JsonObject *object, SpateInterval *interval)
{
    *interval = (SpateInterval){NAN, NAN};
    JsonNode *node = find_member(reader, object, "ci95");
    if (node == NULL || JSON_NODE_HOLDS_NULL(node))
        return node != NULL;
    JsonArray *ends = JSON_NODE_HOLDS_ARRAY(node) ? json_node_get_array(node) : NULL;
    if (ends == NULL || json_array_get_length(ends) != 2)
        return complain(reader, "'ci95' is no pair of numbers");
    return take_number(reader, json_array_get_element(ends, 0), "ci95", &interval->low) &&
           take_number(reader, json_array_get_element(ends, 1), "ci95", &interval->high) &&
           (interval->low <= interval->high || complain(reader, "'ci95' has no two ends in order"));
}

/* mean, ci95 and n, of as many replications at most. */
static bool
read_summary(Reader *reader, JsonObject *object, double *mean, SpateInterval *ci95, uint32_t *n)
{
    uint64_t whole = 0;
    if (!take_number(reader, find_member(reader, object, "mean"), "mean", mean) ||
        !read_interval(reader, object, ci95) ||
        !read_whole(reader, object, "n", reader->result->n_replications, &whole))
        return false;
    *n = (uint32_t)whole;
    return isnan(*mean) == (*n == 0) || complain(reader, "'mean' and 'n' do not agree");
}

static bool
read_values(Reader *reader, JsonObject *object, SpateResultRow *row)
{
    uint32_t n = reader->result->n_replications, n_known = 0;
    JsonArray *values = read_array(reader, object, "values");
    if (values == NULL)
        return false;
    if (json_array_get_length(values) != n)
        return complain(reader, "there are %u 'values' of %u replications",
                        json_array_get_length(values), n);
    row->values = g_new(double, n + 1u);
    for (uint32_t i = 0; i < n; i++) {
        if (!take_number(reader, json_array_get_element(values, i), "values", &row->values[i]))
            return false;
        if (!isnan(row->values[i]))
            n_known++;
    }
    return n_known == row->n || complain(reader, "'n' is %u of %u values", row->n, n_known);
}

static bool
read_row(Reader *reader, JsonObject *object, SpateResultRow *row)
{
    g_autofree char *unit = NULL;
    if (!read_names(reader, object, row) || !read_text(reader, object, "unit", &unit))
        return false;
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    if (strcmp(unit, spate_unit_name(info->unit)) != 0)
        return complain(reader, "'%s' is in '%s', not in '%s'", info->name,
                        spate_unit_name(info->unit), unit);
    return read_summary(reader, object, &row->mean, &row->ci95, &row->n) &&
           read_values(reader, object, row);
}

/* Unlike that of any other row.  Free with g_free(). */
static char *
key_of(const SpateResultRow *row)
{
    const char *const names[] = {row->traffic, row->bearer, row->node, row->bridge, row->to};
    GString *key = g_string_new(spate_measure_info(row->measure)->name);
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        g_string_append_printf(key, "\n%s%s", names[i] != NULL ? "=" : "",
                               names[i] != NULL ? names[i] : "");
    return g_string_free(key, FALSE);
}

/* The rows of a variant by their keys, borrowed. */
static bool
index_row(Reader *reader, GHashTable *rows, SpateResultRow *row)
{
    return g_hash_table_insert(rows, key_of(row), row) ||
           complain(reader, "a row like this was there before");
}

static bool
read_rows(Reader *reader, JsonArray *array, SpateResultVariant *variant, GHashTable *rows)
{
    guint n = json_array_get_length(array);
    gsize here = reader->where->len;
    variant->rows = g_new0(SpateResultRow, n + 1u);
    variant->n_rows = n;
    for (guint i = 0; i < n; i++) {
        g_string_append_printf(reader->where, ", measure %u", i);
        JsonObject *object = take_object(reader, json_array_get_element(array, i));
        if (object == NULL || !read_row(reader, object, &variant->rows[i]) ||
            !index_row(reader, rows, &variant->rows[i]))
            return false;
        g_string_truncate(reader->where, here);
    }
    return true;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static bool
read_variant(Reader *reader, JsonObject *object, SpateResultVariant *variant, GHashTable *by_name)
{
    if (!read_text(reader, object, "name", &variant->name))
        return false;
    JsonArray *array = read_array(reader, object, "measures");
    if (array == NULL)
        return false;
    GHashTable *rows = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    if (!g_hash_table_insert(by_name, variant->name, rows))
        return complain(reader, "a variant '%s' was there before", variant->name);
    return read_rows(reader, array, variant, rows);
}

static bool
read_variants(Reader *reader, JsonObject *root, GHashTable *by_name)
{
    JsonArray *array = read_array(reader, root, "variants");
    if (array == NULL)
        return false;
    guint n = json_array_get_length(array);
    reader->result->variants = g_new0(SpateResultVariant, n + 1u);
    reader->result->n_variants = n;
    for (guint i = 0; i < n; i++) {
        g_string_printf(reader->where, "variant %u", i);
        JsonObject *object = take_object(reader, json_array_get_element(array, i));
        if (object == NULL || !read_variant(reader, object, &reader->result->variants[i], by_name))
            return false;
    }
    g_string_truncate(reader->where, 0);
    return true;
}

/* The name as the variant has it, and its rows; NULL with a complaint. */
static const char *
find_variant(Reader *reader, JsonObject *object, const char *key, GHashTable *by_name,
             GHashTable **rows)
{
    g_autofree char *name = NULL;
    gpointer found = NULL, value = NULL;
    if (!read_text(reader, object, key, &name))
        return NULL;
    if (!g_hash_table_lookup_extended(by_name, name, &found, &value))
        complain(reader, "there is no variant '%s'", name);
    *rows = value;
    return found;
}

static bool
read_difference(Reader *reader, JsonObject *object, GHashTable *by_name,
                SpateDifference *difference)
{
    GHashTable *rows = NULL, *others = NULL;
    g_autoptr(SpateResult) holder = g_new0(SpateResult, 1);
    holder->variants = g_new0(SpateResultVariant, 1);
    holder->n_variants = holder->variants->n_rows = 1;
    SpateResultRow *names = holder->variants->rows = g_new0(SpateResultRow, 1);
    difference->variant = find_variant(reader, object, "variant", by_name, &rows);
    difference->versus = find_variant(reader, object, "versus", by_name, &others);
    if (difference->variant == NULL || difference->versus == NULL ||
        !read_names(reader, object, names))
        return false;
    g_autofree char *key = key_of(names);
    difference->row = g_hash_table_lookup(rows, key);
    if (difference->row == NULL || !g_hash_table_contains(others, key))
        return complain(reader, "the variants have no such row");
    return read_summary(reader, object, &difference->mean, &difference->ci95, &difference->n);
}

static bool
read_differences(Reader *reader, JsonObject *root, GHashTable *by_name)
{
    JsonArray *array = read_array(reader, root, "differences");
    if (array == NULL)
        return false;
    guint n = json_array_get_length(array);
    reader->result->differences = g_new0(SpateDifference, n + 1u);
    reader->result->n_differences = n;
    for (guint i = 0; i < n; i++) {
        g_string_printf(reader->where, "difference %u", i);
        JsonObject *object = take_object(reader, json_array_get_element(array, i));
        if (object == NULL ||
            !read_difference(reader, object, by_name, &reader->result->differences[i]))
            return false;
    }
    g_string_truncate(reader->where, 0);
    return true;
}

static bool
check_format(Reader *reader, JsonObject *root)
{
    g_autofree char *format = NULL;
    if (!read_text(reader, root, "format", &format))
        return false;
    return strcmp(format, FORMAT) == 0 ||
           complain(reader, "its format is '%.80s'; this program reads '%s'", format, FORMAT);
}

static bool
read_scenario(Reader *reader, JsonObject *root)
{
    JsonNode *node = find_member(reader, root, "scenario");
    JsonObject *scenario = node != NULL ? take_object(reader, node) : NULL;
    return scenario != NULL && read_text(reader, scenario, "title", &reader->result->title) &&
           read_text(reader, scenario, "sha256", &reader->result->sha256);
}

/* Where it is missing, it is false. */
static bool
read_flag(Reader *reader, JsonObject *root, const char *key, bool *flag)
{
    JsonNode *node = json_object_get_member(root, key);
    if (node == NULL)
        return true;
    if (!JSON_NODE_HOLDS_VALUE(node) || json_node_get_value_type(node) != G_TYPE_BOOLEAN)
        return complain(reader, "'%s' is neither true nor false", key);
    *flag = json_node_get_boolean(node);
    return true;
}

static bool
read_head(Reader *reader, JsonObject *root)
{
    SpateResult *result = reader->result;
    uint64_t n_replications = 0;
    if (!check_format(reader, root) || !read_text(reader, root, "command", &result->command) ||
        !read_scenario(reader, root) ||
        !read_whole(reader, root, "seed", LARGEST_WHOLE, &result->seed) ||
        !read_whole(reader, root, "replications", MOST_REPLICATIONS, &n_replications) ||
        !read_seconds(reader, root, "duration_s", &result->duration_ns) ||
        !read_seconds(reader, root, "warm_up_s", &result->warm_up_ns) ||
        !read_flag(reader, root, "interrupted", &result->interrupted) ||
        !read_flag(reader, root, "one_layout", &result->one_layout))
        return false;
    result->n_replications = (uint32_t)n_replications;
    return true;
}

static bool
read_root(Reader *reader, JsonNode *node)
{
    JsonObject *root = take_object(reader, node);
    g_autoptr(GHashTable) by_name =
        g_hash_table_new_full(g_str_hash, g_str_equal, NULL, (GDestroyNotify)g_hash_table_unref);
    return root != NULL && read_head(reader, root) && read_variants(reader, root, by_name) &&
           read_differences(reader, root, by_name);
}

SpateResult *
spate_result_parse(const char *name, const char *text, size_t length, GError **error)
{
    g_autoptr(GString) where = g_string_new(NULL);
    g_autoptr(SpateResult) result = g_new0(SpateResult, 1);
    g_autoptr(JsonParser) parser = json_parser_new_immutable();
    g_autoptr(GError) problem = NULL;
    Reader reader = {.name = name, .where = where, .result = result};
    g_autofree char *fault = length > SPATE_RESULT_MAX_BYTES
                                 ? g_strdup("it is larger than 64 MiB")
                                 : spate_json_fault(text, length, SPATE_RESULT_MAX_DEPTH);
    if (fault != NULL)
        complain(&reader, "%s", fault);
    else if (!json_parser_load_from_data(parser, text, (gssize)length, &problem))
        complain(&reader, "this is not JSON: %s", problem->message);
    else if (read_root(&reader, json_parser_get_root(parser)))
        return g_steal_pointer(&result);
    g_propagate_error(error, reader.error);
    return NULL;
}

static const char *
shown_name(const char *path)
{
    return strcmp(path, "-") == 0 ? "standard input" : path;
}

GByteArray *
spate_result_bytes(const char *path, GError **error)
{
    GByteArray *text = spate_read_file(path, SPATE_RESULT_MAX_BYTES);
    if (text == NULL)
        g_set_error(error, SPATE_RESULT_ERROR, SPATE_RESULT_ERROR_UNREADABLE,
                    "%s: cannot be read: %s", shown_name(path), g_strerror(errno));
    return text;
}

SpateResult *
spate_result_read(const char *path, GError **error)
{
    g_autoptr(GByteArray) text = spate_result_bytes(path, error);
    return text != NULL
               ? spate_result_parse(shown_name(path), (const char *)text->data, text->len, error)
               : NULL;
}
