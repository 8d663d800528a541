/* test-words.c - what happens in a run has the same words wherever it is shown */
#include "mesh/event-words.h"
#include "support/check-main.h"

#include <glib.h>
#include <string.h>

/* Of the source. */
static char *
text_of(const char *path)
{
    char *text = NULL;
    g_autofree char *full = g_build_filename(SOURCE, path, NULL);
    ck_assert_msg(g_file_get_contents(full, &text, NULL, NULL), "%s", full);
    return text;
}

/* A key of words.js, in quotes where it is no name. */
static void
assert_page_says(const char *page, const char *word)
{
    g_autofree char *name = g_strdup_printf("    %s: '", word);
    g_autofree char *quoted = g_strdup_printf("    '%s': '", word);
    ck_assert_msg(strstr(page, name) != NULL || strstr(page, quoted) != NULL, "%s", word);
}

static void
assert_log_tells(const char *log, const char *word)
{
    g_autofree char *code = g_strdup_printf("`%s`", word);
    ck_assert_msg(strstr(log, code) != NULL, "%s", word);
}

START_TEST(the_page_and_the_documented_log_have_words_for_decisions)
{
    g_autofree char *page = text_of("src/report/page/words.js");
    g_autofree char *log = text_of("docs/event-log.md");
    for (int i = 0; i < SPATE_N_DECISIONS; i++) {
        assert_page_says(page, spate_decision_word((SpateDecision)i));
        assert_log_tells(log, spate_decision_word((SpateDecision)i));
    }
}
END_TEST

START_TEST(they_have_words_for_drops)
{
    g_autofree char *page = text_of("src/report/page/words.js");
    g_autofree char *log = text_of("docs/event-log.md");
    for (int i = 0; i < SPATE_N_DROPS; i++) {
        assert_page_says(page, spate_drop_word((SpateDropCause)i));
        assert_log_tells(log, spate_drop_word((SpateDropCause)i));
    }
}
END_TEST

/* The page names them by columns of the result. */
START_TEST(the_page_has_words_for_outcomes)
{
    g_autofree char *page = text_of("src/report/page/words.js");
    for (int i = 0; i < SPATE_N_OUTCOMES; i++) {
        g_autofree char *column =
            g_strdelimit(g_strdup(spate_outcome_word((SpateOutcome)i)), "-", '_');
        assert_page_says(page, column);
    }
}
END_TEST

START_TEST(the_documented_log_has_all_kinds)
{
    g_autofree char *log = text_of("docs/event-log.md");
    for (uint32_t kind = 1; kind < SPATE_ALL_EVENTS; kind <<= 1)
        assert_log_tells(log, spate_event_word((SpateEventKind)kind));
}
END_TEST

CHECK_MAIN("words", the_page_and_the_documented_log_have_words_for_decisions,
           they_have_words_for_drops, the_page_has_words_for_outcomes,
           the_documented_log_has_all_kinds)
