/* check-tap.c - verdicts in TAP version 14 */
#include "report/check-words.h"
#include "report/json-text.h"
#include "report/numbers.h"

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
append_numbers(GString *text, const SpateCheckPoint *point)
{
    const SpateExpectation *expectation = point->expectation;
    const SpateJudgement *judgement = &point->judgement;
    append_number(text, "mean", judgement->mean);
    g_string_append(text, "  ci95: [");
    spate_append_number(text, judgement->ci95.low);
    g_string_append(text, ", ");
    spate_append_number(text, judgement->ci95.high);
    g_string_append(text, "]\n");
    if (expectation->measure == NULL)
        append_number(text, "in-at-least", expectation->in_at_least);
    if (expectation->at_least.is_given)
        append_number(text, "at-least", expectation->at_least.value);
    if (expectation->at_most.is_given)
        append_number(text, "at-most", expectation->at_most.value);
    if (point->unit != NULL)
        append_text(text, "unit", point->unit);
    g_string_append_printf(text, "  replications: %u\n", judgement->n);
}

static void
append_explanation(GString *text, const char *explanation)
{
    g_string_append(text, "  explanation: |\n");
    g_auto(GStrv) lines = g_strsplit(explanation, "\n", -1);
    for (size_t i = 0; lines[i] != NULL; i++)
        if (lines[i][0] != '\0')
            g_string_append_printf(text, "    %s\n", lines[i]);
}

static void
append_diagnostics(GString *text, const char *name, const SpateCheck *check,
                   const SpateCheckPoint *point)
{
    g_autoptr(GString) finding = g_string_new(NULL);
    spate_check_append_finding(finding, check, point);
    g_string_append(text, "  ---\n");
    append_text(text, "message", finding->str);
    append_text(text, "verdict", spate_check_verdict_word(point));
    g_string_append(text, "  at:\n  ");
    append_text(text, "file", name);
    if (spate_check_line(point) > 0)
        g_string_append_printf(text, "    line: %d\n", spate_check_line(point));
    append_numbers(text, point);
    if (point->explanation != NULL)
        append_explanation(text, point->explanation);
    g_string_append(text, "  ...\n");
}

/* ---- points ---------------------------------------------------------------------------------- */

static void
append_point(GString *text, const SpateCheckReport *report, size_t number, size_t file,
             const SpateCheckPoint *point)
{
    bool passes = spate_check_passes(point, report->is_strict);
    bool is_undecided = point->judgement.kind == SPATE_VERDICT_UNDECIDED;
    g_autoptr(GString) title = g_string_new(NULL);
    spate_check_append_title(title, point);
    g_string_append_printf(text, "%s %" G_GSIZE_FORMAT " - ", passes ? "ok" : "not ok", number);
    append_described(text, report->names[file]);
    if (spate_check_line(point) > 0)
        g_string_append_printf(text, ":%d: ", spate_check_line(point));
    else
        g_string_append(text, " with --set: ");
    append_described(text, title->str);
    g_string_append(text, is_undecided ? " (undecided)\n" : "\n");
    if (!passes || is_undecided)
        append_diagnostics(text, report->names[file], report->checks[file], point);
}

static size_t
count_points(const SpateCheckReport *report)
{
    size_t n = 0;
    for (size_t i = 0; i < report->n_checks; i++)
        n += MAX(report->checks[i]->n_points, 1);
    return n;
}

/* One file alone is a plan of nothing, one of several a point that was skipped. */
static void
append_without(GString *text, const SpateCheckReport *report, size_t number, size_t file)
{
    g_string_append_printf(text, "ok %" G_GSIZE_FORMAT " - ", number);
    append_described(text, report->names[file]);
    g_string_append(text, " # SKIP no expectations\n");
}

static void
append_sum(GString *text, const SpateCheckReport *report)
{
    SpateCheckCounts counts = spate_check_count(report);
    g_string_append_printf(text,
                           "# %" G_GSIZE_FORMAT " passed, %" G_GSIZE_FORMAT
                           " failed; %" G_GSIZE_FORMAT " of them undecided\n",
                           counts.n_passed, counts.n_failed, counts.n_undecided);
}

void
spate_check_report_tap(GString *text, const SpateCheckReport *report)
{
    g_string_append(text, "TAP version 14\n");
    if (report->n_checks == 1 && report->checks[0]->n_points == 0) {
        g_string_append(text, "1..0 # SKIP no expectations in ");
        append_described(text, report->names[0]);
        g_string_append_c(text, '\n');
        return;
    }
    size_t number = 0, n_unjudged = 0;
    g_string_append_printf(text, "1..%" G_GSIZE_FORMAT "\n", count_points(report));
    for (size_t i = 0; i < report->n_checks; i++) {
        const SpateCheck *check = report->checks[i];
        if (check->n_points == 0)
            append_without(text, report, ++number, i);
        n_unjudged += !spate_check_is_judged(check);
        if (!spate_check_is_judged(check))
            continue;
        for (size_t k = 0; k < check->n_points; k++)
            append_point(text, report, ++number, i, &check->points[k]);
    }
    append_sum(text, report);
    if (report->is_interrupted)
        g_string_append_printf(text,
                               "Bail out! interrupted: %" G_GSIZE_FORMAT " of %" G_GSIZE_FORMAT
                               " files were not judged\n",
                               n_unjudged, report->n_checks);
}
