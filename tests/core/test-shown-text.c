/* test-shown-text.c - what a terminal may be shown */
#include "core/shown-text.h"
#include "support/check-main.h"

#include <string.h>

#define MARK "\xEF\xBF\xBD"

static void
assert_shown(const char *text, gsize length, const char *wanted)
{
    g_autoptr(GString) shown = g_string_new(NULL);
    spate_append_shown(shown, text, length);
    ck_assert_str_eq(shown->str, wanted);
}

static void
assert_line(const char *text, const char *wanted)
{
    g_autofree char *line = spate_shown_line(text);
    ck_assert_str_eq(line, wanted);
}

START_TEST(plain_text_of_any_script_stays)
{
    const char *text = "Tarn Hollow, 12 dB ± 3 – Übertrag 岩 \xF0\x9F\x93\xA1 ｗｉｄｅ";
    assert_shown(text, strlen(text), text);
    assert_line(text, text);
}
END_TEST

START_TEST(commands_of_a_terminal_are_replaced)
{
    assert_shown("a\033[31mb\a\b\r\177", 11, "a" MARK "[31mb" MARK MARK MARK MARK);
    assert_shown("\0x", 2, MARK "x");
    /* CSI and OSC as single characters. */
    assert_line("\xC2\x9B"
                "2J\xC2\x9D"
                "0;x\xC2\x9C",
                MARK "2J" MARK "0;x" MARK);
}
END_TEST

START_TEST(characters_that_turn_the_writing_are_replaced)
{
    static const gunichar TURNING[] = {0x61c,  0x200e, 0x200f, 0x202a, 0x202b, 0x202c,
                                       0x202d, 0x202e, 0x2066, 0x2067, 0x2068, 0x2069};
    for (size_t i = 0; i < G_N_ELEMENTS(TURNING); i++) {
        char character[7] = {0};
        g_unichar_to_utf8(TURNING[i], character);
        assert_line(character, MARK);
    }
    /* Their neighbours. */
    assert_line("\u061b\u200d\u2027\u202f\u2065\u206a", "\u061b\u200d\u2027\u202f\u2065\u206a");
}
END_TEST

START_TEST(only_text_of_several_lines_keeps_line_feeds_and_tabs)
{
    assert_shown("a\n\tb", 4, "a\n\tb");
    assert_line("a\n\tb\u2028c", "a" MARK MARK "b" MARK "c");
}
END_TEST

START_TEST(bytes_that_are_no_utf8_are_replaced_one_by_one)
{
    assert_line("\xff\xc3(\xe2\x82", MARK MARK "(" MARK MARK);
    /* Not the shortest form of a line feed; half of a pair. */
    assert_line("\xc0\x8a", MARK MARK);
    assert_line("\xed\xa0\x80", MARK MARK MARK);
}
END_TEST

CHECK_MAIN("shown-text", plain_text_of_any_script_stays, commands_of_a_terminal_are_replaced,
           characters_that_turn_the_writing_are_replaced,
           only_text_of_several_lines_keeps_line_feeds_and_tabs,
           bytes_that_are_no_utf8_are_replaced_one_by_one)
