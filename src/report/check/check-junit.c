/* check-junit.c - verdicts as JUnit XML
 *
 * The form that test tools read (no standard; common practice): testsuites, testsuite, testcase,
 * with failure or skipped in it.  No times: equal verdicts are equal bytes.
 */
#include "report/check/check-words.h"
#include "report/check/explanation-words.h"
#include "report/words/doubt-words.h"
#include "scenario/layout.h"

/* What XML does not allow at all becomes a space. */
static void
append_escaped(GString *text, const char *words)
{
    g_autofree char *clean = g_strdup(words);
    for (char *c = clean; *c != '\0'; c++)
        if ((guchar)*c < 0x20 && *c != '\n' && *c != '\t')
            *c = ' ';
    g_autofree char *escaped = g_markup_escape_text(clean, -1);
    g_string_append(text, escaped);
}

static void
append_attribute(GString *text, const char *name, const char *value)
{
    g_string_append_printf(text, " %s=\"", name);
    append_escaped(text, value);
    g_string_append_c(text, '"');
}

static void
append_counts(GString *text, size_t n_tests, size_t n_failed, size_t n_skipped)
{
    g_string_append_printf(text, " tests=\"%zu\" failures=\"%zu\" errors=\"0\" skipped=\"%zu\"",
                           n_tests, n_failed, n_skipped);
}

/* One judgement as a case; the detail is in a failure. */
static void
append_case(GString *text, const SpateCheckReport *report, size_t file,
            const SpateCheckPoint *point, const SpateJudgement *judgement)
{
    bool passes = spate_judgement_passes(judgement, report->is_strict);
    bool is_since = judgement == &point->since;
    g_autoptr(GString) title = g_string_new(NULL), finding = g_string_new(NULL);
    if (spate_check_line(point) > 0)
        g_string_append_printf(title, "line %d: ", spate_check_line(point));
    else
        g_string_append(title, "--set: ");
    spate_check_append_both(title, finding, report->checks[file], point, judgement);
    g_string_append(text, "    <testcase");
    append_attribute(text, "name", title->str);
    append_attribute(text, "classname", report->names[file]);
    g_string_append(text, passes ? ">\n      <system-out" : ">\n      <failure");
    if (!passes) {
        append_attribute(text, "message", finding->str);
        append_attribute(text, "type", spate_check_verdict_word(judgement));
    }
    g_string_append_c(text, '>');
    if (!is_since && point->doubt != NULL) {
        g_string_append_c(finding, '\n');
        spate_doubt_append(finding, point->doubt, "");
    }
    g_autofree char *explanation =
        !passes && !is_since ? spate_explanation_text(point->explanation) : NULL;
    append_escaped(text, explanation != NULL ? explanation : finding->str);
    g_string_append(text, passes ? "</system-out>\n" : "</failure>\n");
    g_string_append(text, "    </testcase>\n");
}

static void
append_suite(GString *text, const SpateCheckReport *report, size_t file)
{
    const SpateCheck *check = report->checks[file];
    bool is_empty = check->n_points == 0 || !spate_check_is_judged(check);
    SpateCheckCounts counts = spate_check_count_of(check, report->is_strict);
    g_string_append(text, "  <testsuite");
    append_attribute(text, "name", report->names[file]);
    append_counts(text, is_empty ? 1 : counts.n_passed + counts.n_failed, counts.n_failed,
                  is_empty);
    g_string_append(text, ">\n");
    if (spate_check_is_of_one_layout(check))
        g_string_append(text,
                        "    <properties><property name=\"layout\" value=\"" SPATE_ONE_LAYOUT_WORDS
                        "\"/></properties>\n");
    if (is_empty) {
        g_string_append(text, "    <testcase name=\"expectations\"");
        append_attribute(text, "classname", report->names[file]);
        g_string_append_printf(text, "><skipped message=\"%s\"/></testcase>\n",
                               check->n_points == 0 ? "no expectations" : "interrupted");
    }
    for (size_t k = 0; !is_empty && k < check->n_points; k++) {
        const SpateCheckPoint *point = &check->points[k];
        append_case(text, report, file, point, &point->judgement);
        if (point->has_since)
            append_case(text, report, file, point, &point->since);
    }
    g_string_append(text, "  </testsuite>\n");
}

void
spate_check_report_junit(GString *text, const SpateCheckReport *report)
{
    SpateCheckCounts counts = spate_check_count(report);
    size_t n_skipped = counts.n_without;
    for (size_t i = 0; i < report->n_checks; i++)
        n_skipped += report->checks[i]->n_points > 0 && !spate_check_is_judged(report->checks[i]);
    g_string_append(text, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"spate\"");
    append_counts(text, counts.n_passed + counts.n_failed + n_skipped, counts.n_failed, n_skipped);
    g_string_append(text, ">\n");
    for (size_t i = 0; i < report->n_checks; i++)
        append_suite(text, report, i);
    g_string_append(text, "</testsuites>\n");
}
