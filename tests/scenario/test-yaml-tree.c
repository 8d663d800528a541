/* test-yaml-tree.c - trees of YAML texts: what they keep, what they refuse, how paths change them
 */
#include "scenario/text/yaml-tree.h"
#include "support/check-main.h"

#include <string.h>

typedef struct {
    SpateFaults *faults;
    SpateYaml *tree;
} Reading;

static Reading
read_bytes(const char *text, size_t length)
{
    SpateFaults *faults = spate_faults_new();
    g_autofree char *copy = g_strndup(text, length);
    int origin = spate_faults_add_text(faults, "f", copy);
    return (Reading){faults, spate_yaml_parse(text, length, origin, faults)};
}

static Reading
read_text(const char *text)
{
    return read_bytes(text, strlen(text));
}

static void
reading_clear(Reading *reading)
{
    spate_faults_free(reading->faults);
    spate_yaml_free(reading->tree);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Reading, reading_clear)

/* The tree in one line: a map as {key: value}, a list as [value], quoted texts in quotes. */
static void
append_tree(GString *out, const SpateYaml *node)
{
    switch (node->kind) {
    case SPATE_YAML_SCALAR:
        g_string_append_printf(out, node->quoted ? "\"%s\"" : "%s", node->text);
        return;
    case SPATE_YAML_LIST:
        g_string_append_c(out, '[');
        for (guint i = 0; i < node->items->len; i++) {
            g_string_append(out, i > 0 ? ", " : "");
            append_tree(out, g_ptr_array_index(node->items, i));
        }
        g_string_append_c(out, ']');
        return;
    case SPATE_YAML_MAP:
        g_string_append_c(out, '{');
        for (guint i = 0; i < node->pairs->len; i++) {
            const SpateYamlPair *pair = &g_array_index(node->pairs, SpateYamlPair, i);
            g_string_append_printf(out, "%s%s: ", i > 0 ? ", " : "", pair->key);
            append_tree(out, pair->value);
        }
        g_string_append_c(out, '}');
        return;
    }
}

static void
check_tree(const SpateYaml *tree, const char *expected)
{
    ck_assert_ptr_nonnull(tree);
    g_autoptr(GString) shown = g_string_new(NULL);
    append_tree(shown, tree);
    ck_assert_str_eq(shown->str, expected);
}

static char *
said(const SpateFaults *faults)
{
    g_autoptr(GError) error = NULL;
    return spate_faults_raise(faults, &error) ? g_strdup(error->message) : g_strdup("");
}

static void
check_said(const SpateFaults *faults, const char *what)
{
    g_autofree char *text = said(faults);
    ck_assert_msg(strstr(text, what) != NULL, "no '%s' in:\n%s", what, text);
}

static void
check_reads(const char *text, const char *expected)
{
    g_auto(Reading) reading = read_text(text);
    g_autofree char *faults = said(reading.faults);
    ck_assert_str_eq(faults, "");
    check_tree(reading.tree, expected);
}

static void
check_refused(const char *text, const char *what)
{
    g_auto(Reading) reading = read_text(text);
    ck_assert_ptr_null(reading.tree);
    ck_assert_uint_eq(spate_faults_count(reading.faults), 1);
    check_said(reading.faults, what);
}

/* Reading goes on behind the fault. */
static void
check_noted(const char *text, const char *what, const char *expected)
{
    g_auto(Reading) reading = read_text(text);
    check_tree(reading.tree, expected);
    ck_assert_uint_eq(spate_faults_count(reading.faults), 1);
    check_said(reading.faults, what);
}

START_TEST(maps_lists_and_texts_are_kept_in_order)
{
    check_reads("z: 1\na: [x, {b: c}]\nm:\n  - p\n  -\n  - {}\n",
                "{z: 1, a: [x, {b: c}], m: [p, , {}]}");
    check_reads("- a\n- b\n", "[a, b]");
    check_reads("a", "a");
    check_reads("{\"quoted.key\": 'x', b: \"\"}", "{quoted.key: \"x\", b: \"\"}");
    check_reads("a: >\n  one\n  two\n", "{a: \"one two\n\"}");
}
END_TEST

/* What YAML 1.1 reads as false, 90, 8, 1000, nothing. */
START_TEST(nothing_is_interpreted)
{
    check_reads("{a: no, b: 1:30, c: 010, d: 1e3, e: ~, f: null, g: 0x1F, h: =}",
                "{a: no, b: 1:30, c: 010, d: 1e3, e: ~, f: null, g: 0x1F, h: =}");
}
END_TEST

static void
check_place(SpatePlace place, int line, int column)
{
    ck_assert_int_eq(place.line, line);
    ck_assert_int_eq(place.column, column);
}

START_TEST(places_count_characters)
{
    g_auto(Reading) reading = read_text("\xC3\xA9: [\xE6\x97\xA5, b]\r\nc:\r\n  - d\r\n");
    const SpateYaml *list = spate_yaml_get(reading.tree, "\xC3\xA9");
    ck_assert_ptr_nonnull(list);
    check_place(list->place, 1, 4);
    check_place(((SpateYaml *)g_ptr_array_index(list->items, 1))->place, 1, 8);
    check_place(g_array_index(reading.tree->pairs, SpateYamlPair, 1).key_place, 2, 1);
    const SpateYaml *below = spate_yaml_get(reading.tree, "c");
    check_place(((SpateYaml *)g_ptr_array_index(below->items, 0))->place, 3, 5);
}
END_TEST

START_TEST(a_byte_order_mark_is_skipped)
{
    g_auto(Reading) reading = read_text("\xEF\xBB\xBF"
                                        "a: 1\nb: 2\n");
    check_tree(reading.tree, "{a: 1, b: 2}");
    check_place(spate_yaml_get(reading.tree, "a")->place, 1, 4);
}
END_TEST

START_TEST(aliases_are_copies)
{
    check_reads("{a: &x {b: [1, &y 2]}, c: *x, d: *y}", "{a: {b: [1, 2]}, c: {b: [1, 2]}, d: 2}");
    /* The later anchor of a name counts. */
    check_reads("[&x 1, *x, &x 2, *x]", "[1, 1, 2, 2]");

    g_auto(Reading) reading = read_text("{a: &x {b: 1}, c: *x}");
    SpateYaml *two = spate_yaml_new(SPATE_YAML_SCALAR, (SpatePlace){0, 1, 1});
    two->text = g_strdup("2");
    ck_assert(spate_yaml_set(reading.tree, "c.b", two->place, two, reading.faults));
    check_tree(reading.tree, "{a: {b: 1}, c: {b: 2}}");
}
END_TEST

START_TEST(an_alias_needs_its_anchor_before_it)
{
    check_refused("{a: *x, b: &x 1}", "f:1:5: the alias *x has no anchor &x before it");
    check_refused("a: &x [1, *x]", "f:1:11: the alias *x has no anchor &x before it, or is");
    check_refused("a: &x {b: {c: *x}}", "f:1:15: the alias *x");
}
END_TEST

START_TEST(what_is_not_for_scenarios_is_noted)
{
    check_noted("a: !!int 3\nb: 1", "f:1:4: tags (!...) are not part", "{a: 3, b: 1}");
    check_noted("a: ! x", "f:1:4: tags", "{a: x}");
    check_noted("a: !mine [1]", "f:1:4: tags", "{a: [1]}");
    check_noted("&x a: 1", "f:1:1: a key cannot have an anchor or a tag", "{a: 1}");
    check_noted("!!str a: 1", "f:1:1: a key cannot have an anchor or a tag", "{a: 1}");
    check_noted("{a: 1, '': 2, b: 3}", "f:1:8: this key is empty", "{a: 1, b: 3}");
    check_noted("a: \"x\\0y\"", "f:1:4: this text contains a NUL character", "{a: \"x\"}");
    check_noted("{\"a\\0b\": 1}", "f:1:2: this key contains a NUL character", "{}");
}
END_TEST

START_TEST(what_cannot_be_read_is_refused)
{
    check_refused("<<: {a: 1}", "f:1:1: merge keys are not part of a scenario");
    check_refused("? [a]\n: 1\n", "f:1:3: a key must be a word");
    check_refused("{{a: 1}: 1}", "f:1:2: a key must be a word");
    check_refused("a: &x b\n? *x\n: 1\n", "f:2:3: a key must be a word");
    check_refused("", "f:1:1: the file is empty\n    \n    ^\n    spate new");
    check_refused("# nothing\n", "f:1:1: the file is empty");
    check_refused("\xEF\xBB\xBF", "f:1:1: the file is empty");
    check_refused("a: 1\n---\nb: 1\n", "f:2:1: a second document begins here");
    check_reads("%YAML 1.1\n---\na: 1\n...\n", "{a: 1}");
    check_reads("{'<<': 1}", "{<<: 1}");
}
END_TEST

START_TEST(faults_of_the_syntax_say_where_and_what)
{
    check_refused("a: 1\nb: [1, 2\nc: 3\n",
                  "f:3:2: this is not YAML: did not find expected ',' or ']'\n    c: 3\n     ^\n"
                  "    while parsing a flow sequence that begins in line 2\n");
    check_refused("a: 1\nb: 2: 3\n", "f:2:5: this is not YAML: mapping values are not allowed");
    check_refused("a: 1: 3\n", "quote a text that contains ': '");
    check_refused("a:\n\tb: 1\n", "indent with spaces, not tabs");
    check_refused("a: @x\n", "f:1:4: this is not YAML");
    check_refused("a: 'x\n", "this is not YAML: found unexpected end of stream");
    check_refused("a: \xC3\xA9\n\xC3\xA9: \x01\n",
                  "f:2:4: this is not YAML: control characters are not allowed\n"
                  "    \xC3\xA9: \xEF\xBF\xBD\n       ^\n");
}
END_TEST

START_TEST(bytes_that_are_no_text_are_found)
{
    static const char nul[] = "a: 1\nb: \0c\n";
    g_auto(Reading) reading = read_bytes(nul, sizeof nul - 1);
    ck_assert_ptr_null(reading.tree);
    check_said(reading.faults, "f:2:4: there is a NUL byte here");

    check_refused("\xC3\xA9: \xFF\n", "f:1:4: this is not UTF-8");
    check_refused("a: \xC3", "f:1:4: this is not UTF-8");         /* cut */
    check_refused("a: \xC0\xAF", "f:1:4: this is not UTF-8");     /* overlong */
    check_refused("a: \xED\xA0\x80", "f:1:4: this is not UTF-8"); /* half a pair */
    check_refused("\xFF\xFE", "f:1:1: this is not UTF-8");        /* the mark of UTF-16 */
}
END_TEST

START_TEST(of_equal_keys_the_first_counts)
{
    check_noted("a: 1\nb: 2\na: 3\n",
                "f:3:1: 'a' is given twice\n    a: 3\n    ^\n    first given in line 1\n",
                "{a: 1, b: 2}");
    /* An alias to what is left out stays good. */
    check_noted("{a: 1, a: {b: &x [2]}, c: *x}", "f:1:8: 'a' is given twice", "{a: 1, c: [2]}");
    /* In another map, the same key is another. */
    check_reads("{a: {a: 1}, b: {a: 2}}", "{a: {a: 1}, b: {a: 2}}");

    g_auto(Reading) reading = read_text("{a: 1, a: 2, b: {c: 1, c: 2}, a: 3}");
    ck_assert_uint_eq(spate_faults_count(reading.faults), 3);
    check_tree(reading.tree, "{a: 1, b: {c: 1}}");
}
END_TEST

static char *
repeated(const char *head, const char *part, int n, const char *tail)
{
    GString *text = g_string_new(head);
    for (int i = 0; i < n; i++)
        g_string_append(text, part);
    g_string_append(text, tail);
    return g_string_free(text, FALSE);
}

START_TEST(depth_is_bounded)
{
    static const char *const parts[] = {"[", "{a: ", "- ", "? "};
    for (size_t i = 0; i < G_N_ELEMENTS(parts); i++) {
        g_autofree char *text = repeated("", parts[i], 100000, "");
        g_auto(Reading) reading = read_text(text);
        ck_assert_ptr_null(reading.tree);
        ck_assert_uint_eq(spate_faults_count(reading.faults), 1);
    }
    g_autofree char *deepest = repeated("", "[", 64, "");
    g_autofree char *closed = repeated(deepest, "]", 64, "");
    g_auto(Reading) reading = read_text(closed);
    ck_assert_ptr_nonnull(reading.tree);

    g_autofree char *deeper = repeated("", "[", 65, "");
    g_autofree char *deeper_closed = repeated(deeper, "]", 65, "");
    check_refused(deeper_closed, "f:1:65: the nesting is too deep");
}
END_TEST

/* Each alias is within bounds, what comes of them is not. */
START_TEST(aliases_cannot_dig_deeper)
{
    GString *text = g_string_new("- &a0 [x]\n");
    for (int i = 1; i <= 70; i++)
        g_string_append_printf(text, "- &a%d [*a%d]\n", i, i - 1);
    check_refused(text->str, "the nesting is too deep");
    g_string_free(text, TRUE);
}
END_TEST

START_TEST(aliases_cannot_use_up_memory)
{
    GString *bomb = g_string_new("- &a0 [x, x, x, x, x, x, x, x, x]\n");
    for (int i = 1; i <= 12; i++)
        g_string_append_printf(bomb, "- &a%d [*a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d]\n", i,
                               i - 1, i - 1, i - 1, i - 1, i - 1, i - 1, i - 1);
    check_refused(bomb->str, "aliases expand to too many values");
    g_string_free(bomb, TRUE);

    /* Few values, but each of them long. */
    g_autofree char *word = g_strnfill(1000000, 'x');
    g_autofree char *head = g_strdup_printf("a: &a %s\nb: [", word);
    g_autofree char *long_texts = repeated(head, "*a, ", 70, "]\n");
    check_refused(long_texts, "the file is too large with aliases expanded");
    g_autofree char *long_key = g_strdup_printf("a: &a\n  ? %s\n  : 1\nb: [", word);
    g_autofree char *long_keys = repeated(long_key, "*a, ", 70, "]\n");
    check_refused(long_keys, "the file is too large with aliases expanded");
}
END_TEST

START_TEST(size_is_bounded)
{
    g_autofree char *values = repeated("[", "a,", SPATE_YAML_MAX_NODES, "]");
    check_refused(values, "the file has too many values");

    g_autofree char *text = g_strnfill(SPATE_YAML_MAX_BYTES + 1, 'x');
    check_refused(text, "the file is too large");
    text[SPATE_YAML_MAX_BYTES / 2] = '\0';
    g_auto(Reading) reading = read_text(text);
    ck_assert_ptr_nonnull(reading.tree);
    ck_assert_uint_eq(strlen(reading.tree->text), SPATE_YAML_MAX_BYTES / 2);
}
END_TEST

START_TEST(a_copy_is_whole_and_apart)
{
    g_auto(Reading) reading = read_text("{a: [1, {b: 'c'}], d: e}");
    g_autoptr(SpateYaml) copy = spate_yaml_copy(reading.tree);
    g_clear_pointer(&reading.tree, spate_yaml_free);

    check_tree(copy, "{a: [1, {b: \"c\"}], d: e}");
    check_place(spate_yaml_get(copy, "d")->place, 1, 23);
}
END_TEST

START_TEST(a_missing_key_has_no_value)
{
    g_auto(Reading) reading = read_text("{a: [1]}");
    ck_assert_ptr_null(spate_yaml_get(reading.tree, "b"));
    ck_assert_ptr_null(spate_yaml_get(spate_yaml_get(reading.tree, "a"), "b"));
    ck_assert_ptr_null(spate_yaml_get(NULL, "b"));
}
END_TEST

/* Sets a path of the text to "new"; the tree then, or what is said (at 9:9). */
static void
check_set(const char *text, const char *path, const char *expected)
{
    g_auto(Reading) reading = read_text(text);
    SpateYaml *value = spate_yaml_new(SPATE_YAML_SCALAR, (SpatePlace){0, 1, 1});
    value->text = g_strdup("new");
    bool is_set = spate_yaml_set(reading.tree, path, (SpatePlace){0, 9, 9}, value, reading.faults);
    if (is_set) {
        check_tree(reading.tree, expected);
        ck_assert_uint_eq(spate_faults_count(reading.faults), 0);
    } else {
        g_autofree char *text_of_faults = said(reading.faults);
        ck_assert_str_eq(text_of_faults, expected);
    }
}

START_TEST(a_path_changes_one_value)
{
    check_set("{a: 1, b: 2}", "a", "{a: new, b: 2}");
    check_set("{a: {b: 1, c: 2}}", "a.b", "{a: {b: new, c: 2}}");
    check_set("{a: [1, {b: 2}]}", "a.1.b", "{a: [1, {b: new}]}");
    check_set("{a: [1, 2]}", "a.0", "{a: [new, 2]}");
    check_set("{a: [1, 2]}", "a", "{a: new}");
    check_set("{a: {b.c: 1}}", "a.\"b.c\"", "{a: {b.c: new}}");
}
END_TEST

START_TEST(a_path_may_end_in_something_new)
{
    check_set("{a: 1}", "b", "{a: 1, b: new}");
    check_set("{a: 1}", "b.c.d", "{a: 1, b: {c: {d: new}}}");
    check_set("{a: [1, 2]}", "a.2", "{a: [1, 2, new]}");
    check_set("{a: []}", "a.0", "{a: [new]}");
}
END_TEST

START_TEST(a_path_that_leads_nowhere_says_where_it_ends)
{
    check_set("{a: [1, 2]}", "a.3",
              "f:9:9: the list 'a' has no entry '3'\n"
              "    its entries are 0 to 1; 2 would be a new one\n");
    check_set("{a: []}", "a.1",
              "f:9:9: the list 'a' has no entry '1'\n    it is empty; 0 would be a new entry\n");
    check_set("{a: [{b: 1}]}", "a.1.b",
              "f:9:9: the list 'a' has no entry '1'\n"
              "    its entries are 0 to 0; 1 would be a new one\n");
    check_set("{a: [1]}", "a.-1",
              "f:9:9: the list 'a' has no entry '-1'\n"
              "    its entries are 0 to 0; 1 would be a new one\n");
    check_set("{a: {b: 1}}", "a.b.c", "f:9:9: 'a.b' is a single value: it has no 'c'\n");
    check_set("{a: {b: 1}}", "a.b.c.d", "f:9:9: 'a.b' is a single value: it has no 'c'\n");
}
END_TEST

START_TEST(what_is_no_path_is_refused)
{
    static const char *const paths[] = {"", ".", "a.", ".a", "a..b", "\"a", "\"a\"b", "a.\"b"};
    for (size_t i = 0; i < G_N_ELEMENTS(paths); i++) {
        g_autofree char *expected =
            g_strdup_printf("f:9:9: '%s' is not a path\n    as in nodes.soil.count\n", paths[i]);
        check_set("{a: {b: 1}}", paths[i], expected);
    }
}
END_TEST

/* Maps that paths make nest; a tree has to stay within what the stack can follow. */
START_TEST(a_path_cannot_dig_without_end)
{
    g_autofree char *path = repeated("a", ".a", 1000000, "");
    check_set("{b: 1}", path, "f:9:9: the path is too long\n    at most 64 steps\n");
}
END_TEST

CHECK_MAIN("yaml tree", maps_lists_and_texts_are_kept_in_order, nothing_is_interpreted,
           places_count_characters, a_byte_order_mark_is_skipped, aliases_are_copies,
           an_alias_needs_its_anchor_before_it, what_is_not_for_scenarios_is_noted,
           what_cannot_be_read_is_refused, faults_of_the_syntax_say_where_and_what,
           bytes_that_are_no_text_are_found, of_equal_keys_the_first_counts, depth_is_bounded,
           aliases_cannot_dig_deeper, aliases_cannot_use_up_memory, size_is_bounded,
           a_copy_is_whole_and_apart, a_missing_key_has_no_value, a_path_changes_one_value,
           a_path_may_end_in_something_new, a_path_that_leads_nowhere_says_where_it_ends,
           what_is_no_path_is_refused, a_path_cannot_dig_without_end)
