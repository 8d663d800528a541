/* result-reader.c - a result that was written as JSON, read back
 *
 * Tables say of what members it is made (report/result/result-form.h); here is what they must
 * be besides, together.
 */
#include "report/result/result-reader.h"

#include "document/json-form.h"
#include "report/result/result-form.h"
#include "scenario/read/read-bytes.h"
#include <errno.h>
#include <math.h>
#include <string.h>

G_DEFINE_QUARK(spate - result - error - quark, spate_result_error)

typedef struct {
    GString *where; /* in the file: "variant 0, measure 3" */
    char *fault;    /* the first */
    SpateResult *result;
    GHashTable *by_name; /* variant -> its rows by their keys, all borrowed */
} Reader;

/* Returns false. */
static bool complain(Reader *reader, const char *format, ...) G_GNUC_PRINTF(2, 3);

static bool
complain(Reader *reader, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    g_autofree char *what = g_strdup_vprintf(format, arguments);
    va_end(arguments);
    reader->fault = g_strdup_printf("%s: %s", reader->where->str, what);
    return false;
}

/* ---- rows ------------------------------------------------------------------------------------ */

static bool
check_names(Reader *reader, const SpateResultRow *row)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    unsigned dimensions =
        (row->traffic != NULL ? SPATE_OF_TRAFFIC : 0u) |
        (row->bearer != NULL ? SPATE_OF_BEARER : 0u) | (row->node != NULL ? SPATE_OF_NODE : 0u) |
        (row->bridge != NULL ? SPATE_OF_BRIDGE : 0u) | (row->to != NULL ? SPATE_OF_RECIPIENT : 0u);
    return spate_measure_is_by(info, dimensions) ||
           complain(reader, "'%s' does not have these dimensions", info->name);
}

/* Of as many replications at most. */
static bool
check_summary(Reader *reader, const SpateResultRow *row)
{
    if (row->n > reader->result->n_replications)
        return complain(reader, "'n' is out of range");
    return isnan(row->mean) == (row->n == 0) || complain(reader, "'mean' and 'n' do not agree");
}

static bool
check_values(Reader *reader, const SpateResultRow *row)
{
    uint32_t n_known = 0;
    for (uint32_t i = 0; i < reader->result->n_replications; i++)
        n_known += isnan(row->values[i]) ? 0 : 1;
    return n_known == row->n || complain(reader, "'n' is %u of %u values", row->n, n_known);
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

/* Fills in the rows of a variant by their keys, borrowed. */
static bool
check_rows(Reader *reader, const SpateResultVariant *variant, GHashTable *rows)
{
    for (size_t i = 0; i < variant->n_rows; i++) {
        SpateResultRow *row = &variant->rows[i];
        gsize here = reader->where->len;
        g_string_append_printf(reader->where, ", measure %zu", i);
        if (!check_names(reader, row) || !check_summary(reader, row) || !check_values(reader, row))
            return false;
        if (!g_hash_table_insert(rows, key_of(row), row))
            return complain(reader, "this row is a duplicate");
        g_string_truncate(reader->where, here);
    }
    return true;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static bool
check_variants(Reader *reader)
{
    for (size_t i = 0; i < reader->result->n_variants; i++) {
        const SpateResultVariant *variant = &reader->result->variants[i];
        GHashTable *rows = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
        g_string_printf(reader->where, "variant %zu", i);
        if (!g_hash_table_insert(reader->by_name, variant->name, rows))
            return complain(reader, "there are two variants '%s'", variant->name);
        if (!check_rows(reader, variant, rows))
            return false;
    }
    return true;
}

/* The name as the variant has it, and its rows; NULL with a complaint. */
static const char *
find_variant(Reader *reader, const char *name, GHashTable **rows)
{
    gpointer found = NULL, value = NULL;
    if (!g_hash_table_lookup_extended(reader->by_name, name, &found, &value))
        complain(reader, "there is no variant '%s'", name);
    *rows = value;
    return found;
}

static void
take_difference(Reader *reader, const SpateDifferenceForm *form, SpateDifference *difference)
{
    GHashTable *rows = NULL, *others = NULL;
    *difference =
        (SpateDifference){.mean = form->row.mean, .ci95 = form->row.ci95, .n = form->row.n};
    difference->variant = find_variant(reader, form->variant, &rows);
    difference->versus = rows != NULL ? find_variant(reader, form->versus, &others) : NULL;
    if (difference->versus == NULL || !check_names(reader, &form->row))
        return;
    g_autofree char *key = key_of(&form->row);
    difference->row = g_hash_table_lookup(rows, key);
    if (difference->row == NULL || !g_hash_table_contains(others, key))
        complain(reader, "the variants have no matching row");
    else
        check_summary(reader, &form->row);
}

/* The result takes over what is not of the differences. */
static char *
read_root(SpateResult *result, JsonNode *root)
{
    SpateResultForm form = {0};
    g_autoptr(GString) where = g_string_new(NULL);
    g_autoptr(GHashTable) by_name =
        g_hash_table_new_full(g_str_hash, g_str_equal, NULL, (GDestroyNotify)g_hash_table_unref);
    Reader reader = {.where = where, .result = result, .by_name = by_name};
    reader.fault = spate_form_read(&SPATE_RESULT_FORM, root, &form);
    *result = form.result;
    result->differences = g_new0(SpateDifference, form.n_differences + 1);
    if (reader.fault == NULL && check_variants(&reader))
        result->n_differences = form.n_differences;
    for (size_t i = 0; i < result->n_differences && reader.fault == NULL; i++) {
        g_string_printf(where, "difference %zu", i);
        take_difference(&reader, &form.differences[i], &result->differences[i]);
    }
    for (size_t i = 0; i < form.n_differences; i++) {
        g_free(form.differences[i].variant);
        g_free(form.differences[i].versus);
        spate_result_row_clear(&form.differences[i].row);
    }
    g_free(form.differences);
    return reader.fault;
}

/* `tree`: all that is in it, unless NULL. */
static char *
parse(SpateResult *result, const char *text, size_t length, JsonNode **tree)
{
    g_autoptr(JsonParser) parser = json_parser_new();
    g_autoptr(GError) problem = NULL;
    if (length > SPATE_RESULT_MAX_BYTES)
        return g_strdup("it is larger than 64 MiB");
    char *fault = spate_json_fault(text, length, SPATE_RESULT_MAX_DEPTH);
    if (fault != NULL)
        return fault;
    if (!json_parser_load_from_data(parser, text, (gssize)length, &problem))
        return g_strdup_printf("this is not JSON: %s", problem->message);
    fault = read_root(result, json_parser_get_root(parser));
    if (fault == NULL && tree != NULL)
        *tree = json_parser_steal_root(parser);
    return fault;
}

SpateResult *
spate_result_parse_whole(const char *name, const char *text, size_t length, JsonNode **tree,
                         GError **error)
{
    g_autoptr(SpateResult) result = g_new0(SpateResult, 1);
    g_autofree char *fault = parse(result, text, length, tree);
    if (fault == NULL)
        return g_steal_pointer(&result);
    g_set_error(error, SPATE_RESULT_ERROR, SPATE_RESULT_ERROR_BAD, "%s: %s", name, fault);
    return NULL;
}

SpateResult *
spate_result_parse(const char *name, const char *text, size_t length, GError **error)
{
    return spate_result_parse_whole(name, text, length, NULL, error);
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
