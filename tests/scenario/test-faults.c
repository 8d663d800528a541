/* test-faults.c - how faults are ordered, shown and cut; which words are near */
#include "scenario/text/faults.h"
#include "support/check-main.h"

#include <string.h>

static SpateFaults *
faults_of(const char *text)
{
    SpateFaults *faults = spate_faults_new();
    spate_faults_add_text(faults, "f.yaml", text);
    return faults;
}

static char *
shown(const SpateFaults *faults)
{
    g_autoptr(GError) error = NULL;
    ck_assert(spate_faults_raise(faults, &error));
    ck_assert(g_error_matches(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD));
    return g_strdup(error->message);
}

/* What is shown of one fault of a text. */
static char *
shown_at(const char *text, int line, int column)
{
    g_autoptr(SpateFaults) faults = faults_of(text);
    spate_faults_note(faults, (SpatePlace){0, line, column}, NULL, "wrong");
    return shown(faults);
}

START_TEST(a_fault_shows_place_line_caret_and_hint)
{
    g_autoptr(SpateFaults) faults = faults_of("spate: 1\nrun: {duration: 6}\n");
    spate_faults_note(faults, (SpatePlace){0, 2, 17}, "a time needs a unit", "'%d' has no unit", 6);

    g_autofree char *text = shown(faults);
    ck_assert_str_eq(text, "f.yaml:2:17: '6' has no unit\n"
                           "    run: {duration: 6}\n"
                           "                    ^\n"
                           "    a time needs a unit\n");
}
END_TEST

START_TEST(without_faults_nothing_is_raised)
{
    g_autoptr(SpateFaults) faults = faults_of("a: 1\n");
    g_autoptr(GError) error = NULL;
    spate_faults_warn(faults, (SpatePlace){0, 1, 1}, NULL, "unusual");

    ck_assert(!spate_faults_raise(faults, &error));
    ck_assert_ptr_null(error);
    ck_assert_uint_eq(spate_faults_count(faults), 0);
    ck_assert_uint_eq(spate_faults_noted(faults), 0);
    ck_assert_uint_eq(spate_faults_count_warnings(faults), 1);
}
END_TEST

START_TEST(warnings_say_so_and_stay_apart)
{
    g_autoptr(SpateFaults) faults = faults_of("a: 1\n");
    spate_faults_warn(faults, (SpatePlace){0, 1, 4}, "check your local rules", "much");
    spate_faults_note(faults, (SpatePlace){0, 1, 1}, NULL, "wrong");

    g_autofree char *warnings = spate_faults_warnings_text(faults), *text = shown(faults);
    ck_assert_str_eq(warnings, "f.yaml:1:4: warning: much\n"
                               "    a: 1\n"
                               "       ^\n"
                               "    check your local rules\n");
    ck_assert_ptr_null(strstr(text, "much"));
    ck_assert_ptr_nonnull(strstr(text, "f.yaml:1:1: wrong"));
}
END_TEST

START_TEST(faults_stand_in_the_order_of_their_places)
{
    g_autoptr(SpateFaults) faults = faults_of("a\nb\nc\n");
    ck_assert_int_eq(spate_faults_add_text(faults, "--set", "a=8o"), 1);
    spate_faults_note(faults, (SpatePlace){1, 1, 3}, NULL, "sixth");
    spate_faults_note(faults, (SpatePlace){0, 3, 1}, NULL, "fifth");
    spate_faults_note(faults, (SpatePlace){0, 1, 2}, NULL, "second");
    spate_faults_note(faults, (SpatePlace){0, 2, 1}, NULL, "third");
    spate_faults_note(faults, (SpatePlace){0, 2, 1}, NULL, "fourth");
    spate_faults_note(faults, (SpatePlace){0, 1, 1}, NULL, "first");

    g_autofree char *text = shown(faults);
    const char *at = text;
    const char *const order[] = {"f.yaml:1:1: first",
                                 "f.yaml:1:2: second",
                                 "f.yaml:2:1: third",
                                 "f.yaml:2:1: fourth",
                                 "f.yaml:3:1: fifth\n    c\n    ^\n",
                                 "--set:1:3: sixth\n    a=8o\n      ^\n"};
    for (size_t i = 0; i < G_N_ELEMENTS(order); i++) {
        at = strstr(at, order[i]);
        ck_assert_msg(at != NULL, "'%s' is not next in:\n%s", order[i], text);
    }
}
END_TEST

START_TEST(what_was_said_is_not_said_again)
{
    g_autoptr(SpateFaults) faults = faults_of("a: 1\n");
    spate_faults_note(faults, (SpatePlace){0, 1, 1}, NULL, "wrong");
    spate_faults_set_context(faults, "in variant 'open'");
    spate_faults_note(faults, (SpatePlace){0, 1, 1}, NULL, "wrong");
    spate_faults_note(faults, (SpatePlace){0, 1, 4}, NULL, "wrong");
    spate_faults_set_context(faults, NULL);
    spate_faults_note(faults, (SpatePlace){0, 1, 4}, NULL, "worse");

    ck_assert_uint_eq(spate_faults_count(faults), 3);
    ck_assert_uint_eq(spate_faults_noted(faults), 4);
    g_autofree char *text = shown(faults);
    ck_assert_str_eq(text, "f.yaml:1:1: wrong\n    a: 1\n    ^\n"
                           "f.yaml:1:4: wrong (in variant 'open')\n    a: 1\n       ^\n"
                           "f.yaml:1:4: worse\n    a: 1\n       ^\n");
}
END_TEST

START_TEST(of_many_faults_the_first_fifty_are_shown)
{
    g_autoptr(SpateFaults) faults = faults_of("a: 1\n");
    for (int i = 20000; i > 0; i--)
        spate_faults_note(faults, (SpatePlace){0, 1, 1}, NULL, "wrong %d", i);

    ck_assert_uint_eq(spate_faults_count(faults), 20000);
    g_autofree char *text = shown(faults);
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    ck_assert_uint_eq(g_strv_length(lines), 50 * 3 + 2);
    ck_assert_str_eq(lines[150], "... and 19950 more");
}
END_TEST

START_TEST(a_fault_that_repeats_is_told_once_with_its_lines)
{
    g_autoptr(SpateFaults) faults = faults_of("a\nb\nc\nd\ne\nf\ng\nh\n");
    spate_faults_add_text(faults, "--set", "x");
    for (int line = 8; line >= 2; line--)
        spate_faults_note(faults, (SpatePlace){0, line, 1}, "right", "wrong");
    spate_faults_note(faults, (SpatePlace){0, 3, 2}, "right", "wrong");
    spate_faults_note(faults, (SpatePlace){0, 3, 3}, NULL, "wrong");
    spate_faults_note(faults, (SpatePlace){0, 1, 1}, NULL, "worse");
    spate_faults_note(faults, (SpatePlace){0, 1, 2}, NULL, "worse");
    spate_faults_note(faults, (SpatePlace){1, 1, 1}, "right", "wrong");
    spate_faults_warn(faults, (SpatePlace){0, 1, 1}, NULL, "odd");
    spate_faults_warn(faults, (SpatePlace){0, 2, 1}, NULL, "odd");

    g_autofree char *text = shown(faults), *warnings = spate_faults_warnings_text(faults);
    ck_assert_str_eq(text, "f.yaml:1:1: worse\n    a\n    ^\n    and 1 more like it in this line\n"
                           "f.yaml:2:1: wrong\n    b\n    ^\n    right\n"
                           "    and 7 more like it: lines 3, 4, 5, 6, 7, ...\n"
                           "f.yaml:3:3: wrong\n    c\n     ^\n"
                           "--set:1:1: wrong\n    x\n    ^\n    right\n");
    ck_assert_str_eq(warnings, "f.yaml:1:1: warning: odd\n    a\n    ^\n"
                               "    and 1 more like it: line 2\n");
}
END_TEST

START_TEST(a_fault_that_repeats_leaves_room_for_others)
{
    g_autoptr(SpateFaults) faults = faults_of("a: 1\n");
    for (int line = 1; line <= 20000; line++)
        spate_faults_note(faults, (SpatePlace){0, line, 1}, NULL, line == 9000 ? "other" : "wrong");

    g_autofree char *text = shown(faults);
    ck_assert_ptr_nonnull(strstr(text, "f.yaml:9000:1: other\n"));
    ck_assert_ptr_nonnull(strstr(text, "and 9998 more like it: lines 2, 3, 4, 5, 6, ...\n"));
    ck_assert(g_str_has_suffix(text, "... and 10000 more\n"));
}
END_TEST

START_TEST(a_long_line_is_cut_about_the_caret)
{
    GString *line = g_string_new(NULL);
    for (int i = 0; i < 1000; i++)
        g_string_append_printf(line, "%04d ", i);
    g_autofree char *middle = shown_at(line->str, 1, 2501);
    g_autofree char *start = shown_at(line->str, 1, 6);
    g_string_free(line, TRUE);

    ck_assert_str_eq(middle, "f.yaml:1:2501: wrong\n"
                             "    ...92 0493 0494 0495 0496 0497 0498 0499 0500 0501 0502 0503 "
                             "0504 0505 0506 050...\n"
                             "                                             ^\n");
    ck_assert_ptr_nonnull(strstr(start, "\n    0000 0001 0002"));
    ck_assert_ptr_nonnull(strstr(start, "...\n         ^\n"));
}
END_TEST

/* East Asian characters take two columns of a terminal (Unicode Standard Annex 11), combining marks
 * none. */
START_TEST(the_caret_stands_below_its_character)
{
    g_autofree char *tab = shown_at("\ta:\tb", 1, 5);
    ck_assert_str_eq(tab, "f.yaml:1:5: wrong\n     a: b\n        ^\n");
    g_autofree char *wide = shown_at("\xE6\x97\xA5\xE6\x9C\xAC: x", 1, 5);
    ck_assert_str_eq(wide, "f.yaml:1:5: wrong\n    \xE6\x97\xA5\xE6\x9C\xAC: x\n          ^\n");
    g_autofree char *narrow = shown_at("\xC3\xA9: x", 1, 4);
    ck_assert_str_eq(narrow, "f.yaml:1:4: wrong\n    \xC3\xA9: x\n       ^\n");
    g_autofree char *combining = shown_at("e\xCC\x81: x", 1, 5);
    ck_assert_str_eq(combining, "f.yaml:1:5: wrong\n    e\xCC\x81: x\n       ^\n");
}
END_TEST

START_TEST(the_caret_of_an_end_stands_behind_the_line)
{
    g_autofree char *end = shown_at("a: {\n", 1, 99);
    ck_assert_str_eq(end, "f.yaml:1:99: wrong\n    a: {\n        ^\n");
    g_autofree char *last = shown_at("a: {\n", 2, 1);
    ck_assert_str_eq(last, "f.yaml:2:1: wrong\n    \n    ^\n");
    g_autofree char *beyond = shown_at("a: {\n", 7, 1);
    ck_assert_str_eq(beyond, "f.yaml:7:1: wrong\n");
    g_autofree char *nowhere = shown_at("a: {\n", 0, 0);
    ck_assert_str_eq(nowhere, "f.yaml: wrong\n");
}
END_TEST

START_TEST(any_line_break_ends_a_line)
{
    static const char *const breaks[] = {"\n",       "\r",           "\r\n",
                                         "\xC2\x85", "\xE2\x80\xA8", "\xE2\x80\xA9"};
    for (size_t i = 0; i < G_N_ELEMENTS(breaks); i++) {
        g_autofree char *text =
            g_strdup_printf("a: 1%sb: 2%sc: 3%s", breaks[i], breaks[i], breaks[i]);
        g_autofree char *at = shown_at(text, 2, 4);
        ck_assert_str_eq(at, "f.yaml:2:4: wrong\n    b: 2\n       ^\n");
        size_t offset = 4 + strlen(breaks[i]) + 3;
        SpatePlace place = spate_place_of_byte(text, offset, 5);
        ck_assert_int_eq(place.origin, 5);
        ck_assert_int_eq(place.line, 2);
        ck_assert_int_eq(place.column, 4);
    }
}
END_TEST

START_TEST(a_byte_order_mark_is_no_character)
{
    g_autofree char *at = shown_at("\xEF\xBB\xBF"
                                   "a: 1\n",
                                   1, 4);
    ck_assert_str_eq(at, "f.yaml:1:4: wrong\n    a: 1\n       ^\n");
}
END_TEST

/* Nothing below a space and no escape of the second set (ECMA-48), nothing that turns the direction
 * of the text (Unicode Standard Annex 9). */
static bool
is_harmless(const char *text)
{
    if (!g_utf8_validate(text, -1, NULL))
        return false;
    for (const char *c = text; *c != '\0'; c = g_utf8_next_char(c)) {
        gunichar character = g_utf8_get_char(c);
        if ((character < ' ' && character != '\n') || (character >= 0x7F && character < 0xA0) ||
            (character >= 0x202A && character <= 0x202E))
            return false;
    }
    return true;
}

START_TEST(nothing_of_a_file_can_command_a_terminal)
{
    const char *evil = "\x1B]0;x\x07\x9B"
                       "2J\xC2\x9B"
                       "2J\xE2\x80\xAE\x7F\xFF\xC3";
    g_autoptr(SpateFaults) faults = spate_faults_new();
    spate_faults_add_text(faults, evil, evil);
    spate_faults_set_context(faults, evil);
    spate_faults_note(faults, (SpatePlace){0, 1, 4}, evil, "'%s' is wrong", evil);
    spate_faults_warn(faults, (SpatePlace){0, 1, 4}, evil, "'%s' is wrong", evil);

    g_autofree char *text = shown(faults), *warnings = spate_faults_warnings_text(faults);
    ck_assert(is_harmless(text));
    ck_assert(is_harmless(warnings));
    ck_assert_ptr_nonnull(strstr(text, "]0;x"));
}
END_TEST

START_TEST(a_long_value_keeps_its_ends)
{
    g_autofree char *value = g_strnfill(1000000, 'x');
    g_autoptr(SpateFaults) faults = faults_of("a: 1\n");
    spate_faults_note(faults, (SpatePlace){0, 1, 1}, value, "'%s' is not a time", value);

    g_autofree char *text = shown(faults);
    ck_assert_uint_lt(strlen(text), 1000);
    ck_assert(g_str_has_prefix(text, "f.yaml:1:1: 'xxx"));
    ck_assert_ptr_nonnull(strstr(text, "xxx ... xxx"));
    ck_assert_ptr_nonnull(strstr(text, "xxx' is not a time\n"));
}
END_TEST

START_TEST(the_nearest_word_is_found)
{
    static const char *const words[] = {"hold-back", "hop-limit", "pass", "p",
                                        "limit",     "payload",   NULL};
    static const struct {
        const char *word, *nearest;
    } rows[] = {
        {"hold-back", "hold-back"},
        {"psas", "pass"}, /* neighbours swapped: one edit, not two */
        {"hold-bakc", "hold-back"},
        {"hold_back", "hold-back"},  /* changed */
        {"hld-back", "hold-back"},   /* one missing */
        {"hoold-back", "hold-back"}, /* one too many */
        {"Hold-Back", "hold-back"},
        {"PASS", "pass"},
        {"pas", "pass"},
        {"hopelimit", "hop-limit"},
        {"limits", "limit"},
        {"hxxd-xack", "hold-back"}, /* three of nine */
        {"hxxd-xxck", NULL},        /* four of nine */
        {"pxxs", NULL},
        {"q", NULL}, /* nothing is left of it */
        {"", NULL},
        {"something-else", NULL},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(rows); i++) {
        const char *nearest = spate_nearest_word(rows[i].word, words);
        ck_assert_msg(g_strcmp0(nearest, rows[i].nearest) == 0, "'%s' is near '%s'", rows[i].word,
                      nearest != NULL ? nearest : "nothing");
    }
}
END_TEST

START_TEST(a_long_word_is_near_none)
{
    g_autofree char *word = g_strnfill(1000000, 'x');
    const char *const words[] = {word, NULL}, *const shorter[] = {"x", NULL};

    ck_assert_ptr_null(spate_nearest_word(word, words));
    ck_assert_ptr_null(spate_nearest_word(word, shorter));
    ck_assert_ptr_null(spate_nearest_word("x", words));
}
END_TEST

CHECK_MAIN("faults", a_fault_shows_place_line_caret_and_hint, without_faults_nothing_is_raised,
           warnings_say_so_and_stay_apart, faults_stand_in_the_order_of_their_places,
           what_was_said_is_not_said_again, of_many_faults_the_first_fifty_are_shown,
           a_fault_that_repeats_is_told_once_with_its_lines,
           a_fault_that_repeats_leaves_room_for_others, a_long_line_is_cut_about_the_caret,
           the_caret_stands_below_its_character, the_caret_of_an_end_stands_behind_the_line,
           any_line_break_ends_a_line, a_byte_order_mark_is_no_character,
           nothing_of_a_file_can_command_a_terminal, a_long_value_keeps_its_ends,
           the_nearest_word_is_found, a_long_word_is_near_none)
