/* test-schema.c - docs/result.schema.json names what the tables of results name
 *
 * Bounds and words of the schema stand in it alone; members, whether they are always there, and of
 * which type they are follow from the tables.
 */
#include "report/result/result-form.h"
#include "support/check-main.h"

#include <string.h>

static JsonObject *schema;

static JsonObject *
object_at(JsonObject *object, const char *key)
{
    JsonNode *node = object != NULL ? json_object_get_member(object, key) : NULL;
    return node != NULL && JSON_NODE_HOLDS_OBJECT(node) ? json_node_get_object(node) : NULL;
}

/* What the schema says, where it says it elsewhere. */
static JsonObject *
resolved(JsonObject *said)
{
    const char *ref =
        said != NULL ? json_object_get_string_member_with_default(said, "$ref", NULL) : NULL;
    if (ref == NULL)
        return said;
    ck_assert_msg(g_str_has_prefix(ref, "#/$defs/"), "%s", ref);
    return resolved(object_at(object_at(schema, "$defs"), ref + strlen("#/$defs/")));
}

static bool
lists(JsonArray *list, const char *word)
{
    for (guint i = 0; list != NULL && i < json_array_get_length(list); i++)
        if (g_str_equal(json_array_get_string_element(list, i), word))
            return true;
    return false;
}

static JsonArray *
array_at(JsonObject *object, const char *key)
{
    return json_object_has_member(object, key) ? json_object_get_array_member(object, key) : NULL;
}

/* The elements' schema; of a list that may have holes the one that is no null. */
static JsonObject *
items_of(JsonObject *said)
{
    JsonObject *items = resolved(object_at(said, "items"));
    JsonArray *either = items != NULL ? array_at(items, "oneOf") : NULL;
    return either == NULL ? items : resolved(json_array_get_object_element(either, 1));
}

static void check_object(const char *path, const SpateForm *form, JsonObject *said);

/* The names of the columns, in order. */
static void
check_columns(const char *path, const SpateForm *form, JsonObject *said)
{
    JsonObject *columns = object_at(object_at(said, "properties"), "columns");
    JsonArray *names = columns != NULL ? array_at(columns, "const") : NULL;
    ck_assert_msg(names != NULL, "%s: the schema names no columns", path);
    ck_assert_msg(json_array_get_length(names) == form->n_members, "%s: other columns", path);
    for (guint i = 0; i < form->n_members; i++)
        ck_assert_msg(g_str_equal(json_array_get_string_element(names, i), form->members[i].key),
                      "%s: column %u is no %s", path, i, form->members[i].key);
}

static void
check_type(const char *path, const SpateMember *member, JsonObject *said)
{
    static const char *const TYPES[] = {
        [SPATE_CELL_TEXT] = "string",    [SPATE_CELL_WHOLE] = "integer",
        [SPATE_CELL_LARGE] = "integer",  [SPATE_CELL_NUMBER] = "number",
        [SPATE_CELL_FLAG] = "boolean",   [SPATE_CELL_SINCE] = "integer",
        [SPATE_CELL_SECONDS] = "number", [SPATE_CELL_TEXTS] = "array",
        [SPATE_CELL_WHOLES] = "array",   [SPATE_CELL_NUMBERS] = "array",
        [SPATE_CELL_LIST] = "array",     [SPATE_CELL_LINES] = "array",
        [SPATE_CELL_ROWS] = "object",    [SPATE_CELL_OBJECT] = "object",
    };
    JsonNode *type = json_object_get_member(said, "type");
    const char *wanted = member->cell < G_N_ELEMENTS(TYPES) ? TYPES[member->cell] : NULL;
    if (type == NULL || wanted == NULL || member->words != NULL)
        return;
    bool is_list = JSON_NODE_HOLDS_ARRAY(type);
    bool may_be_null = is_list && lists(json_node_get_array(type), "null");
    bool fits = is_list ? lists(json_node_get_array(type), wanted)
                        : g_str_equal(json_node_get_string(type), wanted);
    /* What is counted may be called a number. */
    fits = fits || (g_str_equal(wanted, "integer") && !is_list &&
                    g_str_equal(json_node_get_string(type), "number"));
    ck_assert_msg(fits, "%s is no %s in the schema", path, wanted);
    ck_assert_msg(may_be_null == (member->absence == SPATE_OR_NULL) || !is_list,
                  "%s: one may be null, the other not", path);
}

static void
check_member(const char *path, const SpateMember *member, JsonObject *said)
{
    g_autofree char *inner = g_strdup_printf("%s.%s", path, member->key);
    ck_assert_msg(said != NULL, "the schema has no %s", inner);
    check_type(inner, member, said);
    if (member->cell == SPATE_CELL_LIST)
        check_object(inner, member->form, items_of(said));
    else if (member->cell == SPATE_CELL_ROWS)
        check_columns(inner, member->form, said);
    else if (member->form != NULL && member->cell != SPATE_CELL_LINES)
        check_object(inner, member->form, said);
}

/* Returns how many members there are. */
static guint
check_members(const char *path, const SpateForm *form, JsonObject *said)
{
    guint n = 0;
    JsonArray *required = array_at(said, "required");
    for (size_t i = 0; i < form->n_members; i++) {
        const SpateMember *member = &form->members[i];
        if (member->key == NULL) {
            n += check_members(path, member->form, said);
            continue;
        }
        bool is_always = member->absence != SPATE_OR_ABSENT;
        ck_assert_msg(required == NULL || lists(required, member->key) == is_always,
                      "%s.%s: one requires it, the other not", path, member->key);
        check_member(path, member, resolved(object_at(object_at(said, "properties"), member->key)));
        n++;
    }
    return n;
}

static void
check_object(const char *path, const SpateForm *form, JsonObject *said)
{
    ck_assert_msg(said != NULL, "%s is no object in the schema", path);
    JsonObject *members = object_at(said, "properties");
    ck_assert_msg(members != NULL, "%s has no members in the schema", path);
    guint n = check_members(path, form, said);
    ck_assert_msg(json_object_get_size(members) == n,
                  "%s: the schema names %u members, the table %u", path,
                  json_object_get_size(members), n);
}

START_TEST(the_schema_and_the_tables_name_the_same)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(JsonParser) parser = json_parser_new();
    json_parser_load_from_file(parser, SCHEMA, &error);
    ck_assert_msg(error == NULL, "%s", error != NULL ? error->message : "");
    schema = json_node_get_object(json_parser_get_root(parser));
    check_object("result", &SPATE_RESULT_FORM, schema);
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("schema");
    TCase *tables = tcase_create("tables");
    tcase_add_test(tables, the_schema_and_the_tables_name_the_same);
    suite_add_tcase(suite, tables);
    return run_suite(suite);
}
