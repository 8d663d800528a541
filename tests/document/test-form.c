/* test-form.c - documents by tables: what is written, what is read, what is refused */
#include "document/form.h"
#include "support/check-main.h"

#include "core/statistics.h"
#include "core/time.h"
#include <math.h>
#include <string.h>

/* ---- a document with a cell of every kind ---------------------------------------------------- */

typedef struct {
    uint32_t radio;
    double margin_db;
    int64_t at_us;
} Link;

static const SpateMember LINK[] = {
    {"number", SPATE_CELL_INDEX},
    {"radio", SPATE_CELL_WHOLE, offsetof(Link, radio), SPATE_OR_NULL, .of = SPATE_THING_RADIO},
    {"margin_db", SPATE_CELL_NUMBER, offsetof(Link, margin_db), SPATE_OR_NULL, .tenths = true},
    {"at_us", SPATE_CELL_SINCE, offsetof(Link, at_us)},
};
static const SpateForm LINK_FORM = SPATE_FORM(Link, LINK);

typedef struct {
    char *name;
} Radio;

static const SpateMember RADIO[] = {{"name", SPATE_CELL_TEXT, offsetof(Radio, name)}};
static const SpateForm RADIO_FORM = SPATE_FORM(Radio, RADIO);

typedef struct {
    char *title, *bridge, *summary;
    uint32_t n_values;
    int colour;
    bool is_late, is_up, has_share;
    uint32_t n;
    uint64_t seed, n_left;
    double share, rounded;
    int64_t span_ns;
    SpateInterval ci95;
    char **settings;
    uint32_t *numbers;
    size_t n_numbers;
    double *values;
    Radio first, *other, *radios;
    uint32_t n_radios;
    Link *links;
    size_t n_links;
    const char *remark;
} Sheet;

#define AT(member) offsetof(Sheet, member)

static const char *const COLOURS[] = {"red", "green"};
static const char *const SIDES[] = {"below", "above"};

static const char *
length_word(int colour)
{
    return colour == 0 ? "three" : "five";
}

static void
append_remark(GString *text, gconstpointer remark)
{
    g_string_append_printf(text, "[\"%s\"]", (const char *)remark);
}

static const SpateMember LEFT[] = {{"left_out", SPATE_CELL_LARGE, AT(n_left)}};
static const SpateForm LEFT_FORM = SPATE_FORM(Sheet, LEFT);

static const SpateMember PARTS[] = {
    {"n", SPATE_CELL_WHOLE, AT(n), .least = 1, .most = 1000},
    {"seed", SPATE_CELL_LARGE, AT(seed)},
};
static const SpateForm PARTS_FORM = SPATE_FORM(Sheet, PARTS);

static const SpateMember SHEET[] = {
    {"format", SPATE_CELL_FIXED, .fixed = "sheet/1"},
    {"title", SPATE_CELL_TEXT, AT(title), SPATE_OR_EMPTY},
    {"bridge", SPATE_CELL_TEXT, AT(bridge), SPATE_OR_ABSENT},
    {"summary", SPATE_CELL_TEXT, AT(summary), SPATE_OR_NULL},
    {"colour", SPATE_CELL_WORD, AT(colour), SPATE_WORDS(COLOURS), .line = "\n "},
    {"letters", SPATE_CELL_WORD, AT(colour), .word = length_word, .n_words = 2, .derived = true},
    {"late", SPATE_CELL_FLAG, AT(is_late), SPATE_OR_ABSENT},
    {"side", SPATE_CELL_FLAG, AT(is_up), SPATE_WORDS(SIDES)},
    {NULL, SPATE_CELL_PARTS, .form = &PARTS_FORM},
    {"share", SPATE_CELL_NUMBER, AT(share), SPATE_OR_NULL, .given = SPATE_GIVEN(Sheet, has_share)},
    {"rounded", SPATE_CELL_NUMBER, AT(rounded), .digits = 4},
    {"span_s", SPATE_CELL_SECONDS, AT(span_ns), SPATE_OR_NULL},
    {"ci95", SPATE_CELL_INTERVAL, AT(ci95)},
    {"set", SPATE_CELL_TEXTS, AT(settings)},
    {"numbers", SPATE_CELL_WHOLES, SPATE_LIST(Sheet, numbers, n_numbers)},
    {"values", SPATE_CELL_NUMBERS, AT(values)},
    {"first", SPATE_CELL_OBJECT, AT(first), .form = &RADIO_FORM},
    {"other", SPATE_CELL_POINTED, AT(other), SPATE_OR_NULL, .form = &RADIO_FORM},
    {"links", SPATE_CELL_ROWS, SPATE_LIST(Sheet, links, n_links), .form = &LINK_FORM,
     .rest = &LEFT_FORM, .item = "link"},
    {"radios", SPATE_CELL_LIST, SPATE_LIST(Sheet, radios, n_radios), .form = &RADIO_FORM,
     .lists = SPATE_THING_RADIO, .each = "\n  ", .item = "radio"},
    {"remark", SPATE_CELL_OTHER, AT(remark), SPATE_OR_ABSENT, .append = append_remark,
     .unread = true},
};
static const SpateForm SHEET_FORM = {SHEET, G_N_ELEMENTS(SHEET), sizeof(Sheet), AT(n_values)};

static const char FULL[] =
    "{\"format\": \"sheet/1\", \"title\": \"H\u00F6he \\\"A\\\"\", \"bridge\": \"farm\", "
    "\"summary\": "
    "\"two\\u000alines\",\n \"colour\": \"green\", \"letters\": \"five\", \"late\": true, "
    "\"side\": "
    "\"above\", \"n\": 12, \"seed\": 9007199254740992, \"share\": 0.1, \"rounded\": 0.1235, "
    "\"span_s\": 90.5, \"ci95\": [-1, 1e+300], \"set\": [\"a=1\", \"b=2\"], \"numbers\": "
    "[4294967295, "
    "0], \"values\": [0.5, null], \"first\": {\"name\": \"desk\"}, \"other\": {\"name\": "
    "\"mast\"}, "
    "\"links\": {\"columns\": [\"number\", \"radio\", \"margin_db\", \"at_us\"], \"rows\": [[0, 1, "
    "-3.2, -7], [1, null, null, 8]], \"left_out\": 5}, \"radios\": [\n  {\"name\": \"east\"},\n  "
    "{\"name\": \"west\"}], \"remark\": [\"last\"]}";

static const char BARE[] =
    "{\"format\": \"sheet/1\", \"title\": \"\", \"summary\": null,\n \"colour\": \"red\", "
    "\"letters\": \"three\", \"side\": \"below\", \"n\": 1, \"seed\": 0, \"share\": null, "
    "\"rounded\": "
    "0, \"span_s\": null, \"ci95\": null, \"set\": [], \"numbers\": [], \"values\": [], \"first\": "
    "{\"name\": \"desk\"}, \"other\": null, \"links\": {\"columns\": [\"number\", \"radio\", "
    "\"margin_db\", \"at_us\"], \"rows\": [], \"left_out\": 0}, \"radios\": []}";

/* Free with g_free(). */
static char *
written(const Sheet *sheet)
{
    GString *text = g_string_new(NULL);
    spate_form_append(text, &SHEET_FORM, sheet);
    return g_string_free(text, FALSE);
}

static JsonNode *
parsed(const char *text)
{
    g_autoptr(GError) error = NULL;
    JsonNode *node = json_from_string(text, &error);
    ck_assert_msg(node != NULL, "%s", error != NULL ? error->message : "nothing");
    return node;
}

static void
sheet_clear(Sheet *sheet)
{
    g_free(sheet->title);
    g_free(sheet->bridge);
    g_free(sheet->summary);
    g_strfreev(sheet->settings);
    g_free(sheet->numbers);
    g_free(sheet->values);
    g_free(sheet->first.name);
    if (sheet->other != NULL)
        g_free(sheet->other->name);
    g_free(sheet->other);
    for (uint32_t i = 0; i < sheet->n_radios; i++)
        g_free(sheet->radios[i].name);
    g_free(sheet->radios);
    g_free(sheet->links);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Sheet, sheet_clear)

/* ---- writing --------------------------------------------------------------------------------- */

START_TEST(every_kind_of_cell_is_written)
{
    Radio radios[] = {{(char *)"east"}, {(char *)"west"}}, mast = {(char *)"mast"};
    Link links[] = {{1, -3.2499, -7}, {SPATE_NO_THING, NAN, 8}};
    uint32_t numbers[] = {UINT32_MAX, 0};
    double values[] = {0.5, NAN};
    char *settings[] = {(char *)"a=1", (char *)"b=2", NULL};
    const Sheet sheet = {
        .n_values = 2,
        .title = (char *)"H\u00F6he \"A\"",
        .bridge = (char *)"farm",
        .summary = (char *)"two\nlines",
        .colour = 1,
        .is_late = true,
        .is_up = true,
        .has_share = true,
        .n = 12,
        .seed = UINT64_C(1) << 53,
        .n_left = 5,
        .share = 0.1,
        .rounded = 0.123456,
        .span_ns = 90 * SPATE_NS_PER_S + SPATE_NS_PER_S / 2,
        .ci95 = {-1, 1e300},
        .settings = settings,
        .numbers = numbers,
        .n_numbers = 2,
        .values = values,
        .first = {(char *)"desk"},
        .other = &mast,
        .radios = radios,
        .n_radios = 2,
        .links = links,
        .n_links = 2,
        .remark = "last",
    };
    g_autofree char *text = written(&sheet);
    ck_assert_str_eq(text, FULL);
}
END_TEST

START_TEST(what_there_is_not_is_null_or_absent_or_empty)
{
    char *none[] = {NULL};
    const Sheet sheet = {.n = 1,
                         .ci95 = {NAN, NAN},
                         .span_ns = -1,
                         .share = 1,
                         .settings = none,
                         .first = {(char *)"desk"}};
    g_autofree char *text = written(&sheet);
    ck_assert_str_eq(text, BARE);
}
END_TEST

typedef struct {
    const Radio *radio;
    uint32_t looks, binding;
} Pointing;

static const SpateMember POINTING[] = {
    {"looks", SPATE_CELL_WHOLE, offsetof(Pointing, looks), SPATE_OR_ABSENT, .none = 1},
    {NULL, SPATE_CELL_JOINED, offsetof(Pointing, radio), .form = &RADIO_FORM},
    {"binding", SPATE_CELL_WHOLE, offsetof(Pointing, binding), SPATE_OR_NULL,
     .of = SPATE_THING_ELSE},
};
static const SpateForm POINTING_FORM = SPATE_FORM(Pointing, POINTING);

START_TEST(members_of_a_pointed_struct_stand_among_others)
{
    const Radio desk = {(char *)"desk"};
    const Pointing one = {&desk, 1, 0}, two = {&desk, 2, SPATE_NO_THING};
    g_autoptr(GString) text = g_string_new(NULL);
    spate_form_append(text, &POINTING_FORM, &one);
    spate_form_append(text, &POINTING_FORM, &two);
    ck_assert_str_eq(text->str, "{\"name\": \"desk\", \"binding\": 0}"
                                "{\"looks\": 2, \"name\": \"desk\", \"binding\": null}");
}
END_TEST

static const SpateMember CELLS[] = {
    {"name", SPATE_CELL_TEXT, AT(title)},
    {"late", SPATE_CELL_FLAG, AT(is_late)},
    {NULL, SPATE_CELL_PARTS, .form = &PARTS_FORM},
    {"share", SPATE_CELL_NUMBER, AT(share), .given = SPATE_GIVEN(Sheet, has_share)},
    {"ci95", SPATE_CELL_INTERVAL, AT(ci95)},
};
static const SpateForm CELLS_FORM = SPATE_FORM(Sheet, CELLS);

START_TEST(lines_of_csv_have_empty_cells_for_nothing)
{
    Sheet sheet = {
        .title = (char *)"a \"b\", c", .n = 3, .seed = 4, .share = 1, .ci95 = {NAN, NAN}};
    g_autoptr(GString) text = g_string_new(NULL);
    spate_form_append_csv_head(text, &CELLS_FORM);
    spate_form_append_csv(text, &CELLS_FORM, &sheet);
    sheet = (Sheet){.is_late = true, .has_share = true, .ci95 = {-0.5, 2}};
    g_string_append(text, "x");
    spate_form_append_csv(text, &CELLS_FORM, &sheet);
    ck_assert_str_eq(text->str, "name,late,n,seed,share,ci95_low,ci95_high\n"
                                "\"a \"\"b\"\", c\",no,3,4,,,\n"
                                "x,,yes,0,0,0,-0.5,2\n");
}
END_TEST

/* ---- walking --------------------------------------------------------------------------------- */

typedef struct {
    uint32_t radio;
} Heard;

static const SpateMember HEARD[] = {
    {"radio", SPATE_CELL_WHOLE, offsetof(Heard, radio), .of = SPATE_THING_RADIO},
    {"by", SPATE_CELL_WHOLE, offsetof(Heard, radio), SPATE_OR_NULL, .of = SPATE_THING_RADIO},
};

typedef struct {
    Heard *heard;
    size_t n_heard;
    uint32_t *all;
    size_t n_all;
    double *steps;
    size_t n_steps;
    Link *links;
    size_t n_links;
    Radio *ways, *radios;
    size_t n_ways, n_radios;
} Scene;

static const SpateMember SCENE[] = {
    {"heard", SPATE_CELL_LINES, SPATE_LIST(Scene, heard, n_heard), SPATE_OF(Heard, HEARD)},
    {"all", SPATE_CELL_WHOLES, SPATE_LIST(Scene, all, n_all), .of = SPATE_THING_RADIO},
    {"steps", SPATE_CELL_NUMBERS, SPATE_LIST(Scene, steps, n_steps), .digits = 2},
    {"links", SPATE_CELL_ROWS, SPATE_LIST(Scene, links, n_links), .form = &LINK_FORM},
    {"ways", SPATE_CELL_LIST, SPATE_LIST(Scene, ways, n_ways), .form = &RADIO_FORM, .holes = true,
     .of = SPATE_THING_RADIO, .item = "way"},
    {"radios", SPATE_CELL_LIST, SPATE_LIST(Scene, radios, n_radios), .form = &RADIO_FORM,
     .lists = SPATE_THING_RADIO, .each = "\n  ", .beside = true},
};
static const SpateForm SCENE_FORM = SPATE_FORM(Scene, SCENE);

static const char DRAWN[] =
    "{\"heard\": [[0, 1], [1, 0]], \"all\": [1], \"steps\": [0.12], \"links\": {\"columns\": "
    "[\"number\", \"radio\", \"margin_db\", \"at_us\"], \"rows\": [[0, 1, 2, 3]]}, \"ways\": "
    "[{\"name\": \"a\"}, {\"name\": \"b\"}], \"radios\": [{\"name\": \"c\"},\n  {\"name\": "
    "\"d\"}]}";

START_TEST(lists_of_lists_are_written)
{
    Heard heard[] = {{0}, {1}};
    uint32_t all[] = {1};
    double steps[] = {0.1234};
    Link links[] = {{1, 2, 3}};
    Radio ways[] = {{(char *)"a"}, {(char *)"b"}}, radios[] = {{(char *)"c"}, {(char *)"d"}};
    const Scene scene = {heard, 2, all, 1, steps, 1, links, 1, ways, radios, 2, 2};
    g_autoptr(GString) text = g_string_new(NULL);
    spate_form_append(text, &SCENE_FORM, &scene);
    g_string_replace(text, "[[0, 0], [1, 1]]", "[[0, 1], [1, 0]]", 1);
    ck_assert_str_eq(text->str, DRAWN);
}
END_TEST

/* Each radio becomes the other of the two. */
static void
swap(const SpateMember *member, JsonNode *cell, gpointer user)
{
    guint *n = user;
    ck_assert_int_eq(member->of, SPATE_THING_RADIO);
    json_node_set_int(cell, 1 - json_node_get_int(cell));
    (*n)++;
}

START_TEST(a_walk_comes_to_every_cell_that_numbers_something)
{
    guint n = 0;
    g_autoptr(JsonNode) node = parsed(DRAWN);
    spate_form_walk(&SCENE_FORM, json_node_get_object(node), swap, &n);
    g_autofree char *text = json_to_string(node, FALSE);
    ck_assert_uint_eq(n, 6);
    ck_assert_ptr_nonnull(strstr(text, "\"heard\":[[1,0],[0,1]],\"all\":[0]"));
    ck_assert_ptr_nonnull(strstr(text, "[0,0,2,3]"));
}
END_TEST

START_TEST(a_list_of_things_has_one_for_each)
{
    static const struct {
        const char *ways, *fault;
    } CASES[] = {{"[null, {\"name\": \"b\"}]", NULL},
                 {"[null]", "there are 1 'ways' instead of 2"},
                 {"[null, 7]", "way 1: this must be an object"}};
    for (size_t i = 0; i < G_N_ELEMENTS(CASES); i++) {
        g_autoptr(GString) text = g_string_new(DRAWN);
        g_string_replace(text, "[{\"name\": \"a\"}, {\"name\": \"b\"}]", CASES[i].ways, 1);
        g_autoptr(JsonNode) node = parsed(text->str);
        g_autofree char *fault = spate_form_read(&SCENE_FORM, node, NULL);
        ck_assert_pstr_eq(fault, CASES[i].fault);
    }
}
END_TEST

/* ---- reading --------------------------------------------------------------------------------- */

START_TEST(what_is_written_is_read_back)
{
    const char *const texts[] = {FULL, BARE};
    const char *remark = ", \"remark\": [\"last\"]";
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++) {
        g_autoptr(JsonNode) node = parsed(texts[i]);
        g_auto(Sheet) sheet = {.n_values = i == 0 ? 2 : 0};
        g_autofree char *fault = spate_form_read(&SHEET_FORM, node, &sheet);
        ck_assert_msg(fault == NULL, "%s", fault);
        g_autofree char *again = written(&sheet);
        g_autofree char *wanted = g_strdup(texts[i]);
        char *unread = strstr(wanted, remark);
        if (unread != NULL)
            memmove(unread, unread + strlen(remark), strlen(unread + strlen(remark)) + 1);
        ck_assert_str_eq(again, wanted);
        g_autofree char *checked = spate_form_read(&SHEET_FORM, node, NULL);
        ck_assert_msg(checked == NULL, "%s", checked);
    }
}
END_TEST

/* A text of the full sheet, a text instead of it, and what is said of that. */
static const struct {
    const char *was, *is, *fault;
} BAD[] = {
    {"sheet/1", "sheet/2", "its format is 'sheet/2'; this program reads 'sheet/1'"},
    {"\"title\"", "\"tittle\"", "'title' is missing"},
    {"\"farm\"", "7", "'bridge' must be a string"},
    {"\"farm\"", "\"\\ud800x\"", "'bridge' contains an unpaired surrogate"},
    {"\"farm\"", "null", "'bridge' must be a string"},
    {"\"green\"", "\"blue\"", "unknown colour 'blue'"},
    {"\"five\"", "\"three\"", "'letters' must be 'five', not 'three'"},
    {"true", "1", "'late' must be true or false"},
    {"\"above\"", "\"beside\"", "unknown side 'beside'"},
    {"\"n\": 12", "\"n\": 0", "'n' is out of range"},
    {"\"n\": 12", "\"n\": 1001", "'n' is out of range"},
    {"\"n\": 12", "\"n\": 1.5", "'n' must be a whole number"},
    {"\"n\": 12", "\"n\": null", "'n' is out of range"},
    {"\"n\": 12", "\"n\": \"12\"", "'n' must be a number"},
    {"9007199254740992", "1e17", "'seed' is out of range"},
    {"9007199254740992", "-1", "'seed' is out of range"},
    {"0.1,", "1e999,", "'share' is too large"},
    {"0.1235", "null", "'rounded' is out of range"},
    {"90.5", "1e10", "'span_s' is out of range"},
    {"[-1, 1e+300]", "[-1]", "'ci95' must be a pair of numbers"},
    {"[-1, 1e+300]", "[1, -1]", "'ci95' must be a pair of numbers, lower one first"},
    {"[-1, 1e+300]", "[1, null]", "'ci95' must be a pair of numbers, lower one first"},
    {"[\"a=1\"", "[1", "'set' must be a string"},
    {"[4294967295", "[4294967296", "'numbers' is out of range"},
    {"[0.5, null]", "1", "'values' must be a list"},
    {"[0.5, null]", "[0.5, []]", "'values' must be a number"},
    {"{\"name\": \"mast\"}", "[]", "this must be an object"},
    {"\"at_us\"]", "\"at\"]", "'links' does not have the expected columns"},
    {"[0, 1, -3.2, -7]", "[0, 1, -3.2]", "link 0: this row has 3 cells instead of 4"},
    {"[0, 1, -3.2, -7]", "{}", "link 0: this must be a list"},
    {"[0, 1, -3.2, -7]", "[0, 2, -3.2, -7]", "link 0: 'radio' is an index out of range"},
    {"null, null, 8]", "null, null, 8.5]", "link 1: 'at_us' must be a whole number"},
    {"\"left_out\"", "\"left\"", "'left_out' is missing"},
    {"{\"name\": \"west\"}", "{\"nom\": \"west\"}", "radio 1: 'name' is missing"},
};

START_TEST(what_is_wrong_is_told_with_its_place)
{
    const char *at = strstr(FULL, BAD[_i].was);
    ck_assert_msg(at != NULL, "no %s", BAD[_i].was);
    g_autofree char *start = g_strndup(FULL, (gsize)(at - FULL));
    g_autofree char *text = g_strconcat(start, BAD[_i].is, at + strlen(BAD[_i].was), NULL);
    g_autoptr(JsonNode) node = parsed(text);
    g_auto(Sheet) sheet = {.n_values = 2};
    g_autofree char *fault = spate_form_read(&SHEET_FORM, node, &sheet);
    ck_assert_ptr_nonnull(fault);
    ck_assert_str_eq(fault, BAD[_i].fault);
}
END_TEST

START_TEST(a_list_has_as_many_elements_as_the_document_says)
{
    g_autoptr(JsonNode) node = parsed(FULL);
    g_auto(Sheet) sheet = {.n_values = 3};
    g_autofree char *fault = spate_form_read(&SHEET_FORM, node, &sheet);
    ck_assert_str_eq(fault, "there are 2 'values' instead of 3");
}
END_TEST

START_TEST(unknown_members_are_passed_over)
{
    g_autofree char *text = g_strconcat("{\"later\": [{}, null], ", FULL + 1, NULL);
    g_autoptr(JsonNode) node = parsed(text);
    g_autofree char *fault = spate_form_read(&SHEET_FORM, node, NULL);
    ck_assert_msg(fault == NULL, "%s", fault);
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("form");
    TCase *forms = tcase_create("forms");
    tcase_add_test(forms, every_kind_of_cell_is_written);
    tcase_add_test(forms, what_there_is_not_is_null_or_absent_or_empty);
    tcase_add_test(forms, members_of_a_pointed_struct_stand_among_others);
    tcase_add_test(forms, lists_of_lists_are_written);
    tcase_add_test(forms, a_walk_comes_to_every_cell_that_numbers_something);
    tcase_add_test(forms, a_list_of_things_has_one_for_each);
    tcase_add_test(forms, lines_of_csv_have_empty_cells_for_nothing);
    tcase_add_test(forms, what_is_written_is_read_back);
    tcase_add_loop_test(forms, what_is_wrong_is_told_with_its_place, 0, (int)G_N_ELEMENTS(BAD));
    tcase_add_test(forms, a_list_has_as_many_elements_as_the_document_says);
    tcase_add_test(forms, unknown_members_are_passed_over);
    suite_add_tcase(suite, forms);
    return run_suite(suite);
}
