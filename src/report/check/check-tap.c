/* check-tap.c - verdicts in TAP version 14 */
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/check/check-words.h"
#include "report/check/explanation-words.h"
#include "report/words/doubt-words.h"
#include "scenario/layout.h"

/* The marks of a description that mean something are escaped; a line stays one. */
static void
append_described(GString *text, const char *words)
{
    for (const char *c = words; *c != '\0'; c++) {
        if (*c == '\\' || *c == '#')
            g_string_append_printf(text, "\\%c", *c);
        else
            g_string_append_c(text, (guchar)*c < 0x20 || *c == 0x7f ? ' ' : *c);
    }
}

/* ---- diagnostics ----------------------------------------------------------------------------- */

static void
append_text(GString *text, const char *key, const char *value)
{
    g_string_append_printf(text, "  %s: ", key);
    spate_append_json_string(text, value);
    g_string_append_c(text, '\n');
}

static void
append_number(GString *text, const char *key, double value)
{
    g_string_append_printf(text, "  %s: ", key);
    spate_append_number(text, value);
    g_string_append_c(text, '\n');
}

static void
append_bounds(GString *text, const SpateCheckPoint *point)
{
    const SpateExpectation *expectation = point->expectation;
    if (expectation->measure == NULL && !expectation->at_least.is_given)
        append_number(text, "in-at-least", expectation->in_at_least);
    if (expectation->at_least.is_given)
        append_number(text, "at-least", expectation->at_least.value);
    if (expectation->at_most.is_given)
        append_number(text, "at-most", expectation->at_most.value);
    if (spate_check_is_relative(point))
        append_text(text, "unit", "of versus");
    else if (expectation->measure != NULL)
        append_text(text, "unit", spate_unit_name(expectation->measure->unit));
}

/* Where a point comes from. */
typedef struct {
    const SpateCheckReport *report;
    size_t file, number;
    const SpateCheckPoint *point;
} Source;

static void
append_diagnostics(GString *text, const Source *source, const SpateJudgement *judgement,
                   const char *message)
{
    const SpateCheckPoint *point = source->point;
    g_string_append(text, "  ---\n");
    append_text(text, "message", message);
    append_text(text, "verdict", spate_check_verdict_word(judgement));
    g_string_append(text, "  at:\n  ");
    append_text(text, "file", source->report->names[source->file]);
    if (spate_check_line(point) > 0)
        g_string_append_printf(text, "    line: %d\n", spate_check_line(point));
    append_number(text, "mean", judgement->mean);
    g_string_append(text, "  ci95: [");
    spate_append_number(text, judgement->ci95.low);
    g_string_append(text, ", ");
    spate_append_number(text, judgement->ci95.high);
    g_string_append_printf(text, "]\n  replications: %u\n", judgement->n);
    if (judgement->n_looks > 1)
        g_string_append_printf(text, "  looks: %u\n", judgement->n_looks);
    if (judgement == &point->since)
        return;
    append_bounds(text, point);
    g_string_append(text, point->doubt != NULL ? "  doubt: |\n" : "");
    spate_doubt_append(text, point->doubt, "    ");
    g_autofree char *explanation = spate_explanation_text(point->explanation);
    if (explanation == NULL)
        return;
    g_auto(GStrv) lines = g_strsplit(explanation, "\n", -1);
    g_string_append(text, "  explanation: |\n");
    for (size_t i = 0; lines[i] != NULL; i++)
        if (lines[i][0] != '\0')
            g_string_append_printf(text, "    %s\n", lines[i]);
}

/* ---- points ---------------------------------------------------------------------------------- */

/* Its line, and diagnostics if it is no plain pass; a verdict that leaves messages out says so, a
 * pass too. */
static void
append_point(GString *text, const Source *source, const SpateJudgement *judgement)
{
    const SpateCheckReport *report = source->report;
    const SpateCheckPoint *point = source->point;
    bool passes = spate_judgement_passes(judgement, report->is_strict);
    bool is_undecided = judgement->kind == SPATE_VERDICT_UNDECIDED;
    bool is_since = judgement == &point->since;
    g_autoptr(GString) title = g_string_new(NULL), finding = g_string_new(NULL);
    spate_check_append_both(title, finding, report->checks[source->file], point, judgement);
    g_string_append_printf(text, "%s %zu - ", passes ? "ok" : "not ok", source->number);
    append_described(text, report->names[source->file]);
    if (spate_check_line(point) > 0)
        g_string_append_printf(text, ":%d: ", spate_check_line(point));
    else
        g_string_append(text, " with --set: ");
    append_described(text, title->str);
    g_string_append(text, is_undecided ? " (undecided)\n" : "\n");
    if (!passes || is_undecided || (!is_since && point->n_too_late > 0)) {
        append_diagnostics(text, source, judgement, finding->str);
        g_string_append(text, "  ...\n");
    } else if (!is_since) {
        spate_doubt_append(text, point->doubt, "#   ");
    }
}

static void
append_uncompared(GString *text, const SpateCheck *check, bool is_gone)
{
    g_autoptr(GString) words = g_string_new(NULL);
    spate_check_append_uncompared(words, check, is_gone);
    if (words->len == 0)
        return;
    g_string_append(text, "# ");
    append_described(text, words->str);
    g_string_append_c(text, '\n');
}

static void
append_differences(GString *text, const SpateCheckReport *report, const SpateCheck *check)
{
    const GArray *differences = check->differences;
    if (differences == NULL)
        return;
    g_string_append_printf(text, "# %s since ",
                           differences->len == 0 ? "nothing differs" : "differs");
    append_described(text, report->before);
    g_string_append_c(text, '\n');
    for (guint i = 0; i < differences->len; i++) {
        g_string_append(text, "#   ");
        spate_check_append_difference(text, check, &g_array_index(differences, SpateDifference, i));
        g_string_append_c(text, '\n');
    }
    append_uncompared(text, check, true);
    append_uncompared(text, check, false);
}

static size_t
count_points(const SpateCheckReport *report)
{
    size_t n = 0;
    for (size_t i = 0; i < report->n_checks; i++) {
        const SpateCheck *check = report->checks[i];
        n += MAX(check->n_points, 1);
        for (size_t k = 0; k < check->n_points; k++)
            n += check->points[k].has_since;
    }
    return n;
}

void
spate_check_report_tap(GString *text, const SpateCheckReport *report)
{
    g_string_append(text, "TAP version 14\n");
    /* One file alone is a plan of nothing, one of several a point that was skipped. */
    if (report->n_checks == 1 && report->checks[0]->n_points == 0) {
        g_string_append(text, "1..0 # SKIP no expectations in ");
        append_described(text, report->names[0]);
        g_string_append_c(text, '\n');
        append_differences(text, report, report->checks[0]);
        return;
    }
    size_t number = 0, n_unjudged = 0;
    g_string_append_printf(text, "1..%zu\n", count_points(report));
    for (size_t i = 0; i < report->n_checks; i++) {
        const SpateCheck *check = report->checks[i];
        if (check->n_points == 0) {
            g_string_append_printf(text, "ok %zu - ", ++number);
            append_described(text, report->names[i]);
            g_string_append(text, " # SKIP no expectations\n");
        }
        if (spate_check_is_of_one_layout(check)) {
            g_string_append(text, "# ");
            append_described(text, report->names[i]);
            g_string_append(text, ": " SPATE_ONE_LAYOUT_WORDS "\n");
        }
        n_unjudged += !spate_check_is_judged(check);
        for (size_t k = 0; spate_check_is_judged(check) && k < check->n_points; k++) {
            const SpateCheckPoint *point = &check->points[k];
            append_point(text, &(Source){report, i, ++number, point}, &point->judgement);
            if (point->has_since)
                append_point(text, &(Source){report, i, ++number, point}, &point->since);
        }
        append_differences(text, report, check);
    }
    g_string_append(text, "# ");
    spate_check_append_counts(text, report);
    if (report->is_interrupted && n_unjudged == 0)
        g_string_append(text, "Bail out! interrupted: judged by the finished replications\n");
    else if (report->is_interrupted)
        g_string_append_printf(text, "Bail out! interrupted: %zu of %zu files were not judged\n",
                               n_unjudged, report->n_checks);
}
