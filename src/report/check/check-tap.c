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
append_numbers(GString *text, const SpateJudgement *judgement)
{
    append_number(text, "mean", judgement->mean);
    g_string_append(text, "  ci95: [");
    spate_append_number(text, judgement->ci95.low);
    g_string_append(text, ", ");
    spate_append_number(text, judgement->ci95.high);
    g_string_append(text, "]\n");
    g_string_append_printf(text, "  replications: %u\n", judgement->n);
    if (judgement->n_looks > 1)
        g_string_append_printf(text, "  looks: %u\n", judgement->n_looks);
}

/* A change in percent has no unit of the measure's. */
static bool
is_relative(const SpateExpectation *expectation)
{
    return expectation->kind == SPATE_EXPECT_CHANGE &&
           (expectation->at_least.is_relative || !expectation->at_least.is_given) &&
           (expectation->at_most.is_relative || !expectation->at_most.is_given);
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
    if (is_relative(expectation))
        append_text(text, "unit", "of versus");
    else if (expectation->measure != NULL)
        append_text(text, "unit", spate_unit_name(expectation->measure->unit));
}

static void
append_explanation(GString *text, const SpateExplanation *explanation)
{
    g_autofree char *sentences = spate_explanation_text(explanation);
    g_string_append(text, "  explanation: |\n");
    g_auto(GStrv) lines = g_strsplit(sentences, "\n", -1);
    for (size_t i = 0; lines[i] != NULL; i++)
        if (lines[i][0] != '\0')
            g_string_append_printf(text, "    %s\n", lines[i]);
}

static void
append_doubt(GString *text, const SpateDoubtVerdict *doubt)
{
    if (doubt != NULL)
        g_string_append(text, "  doubt: |\n");
    spate_doubt_append(text, doubt, "    ");
}

/* Where the point comes from. */
typedef struct {
    const SpateCheckReport *report;
    size_t file;
    const SpateCheckPoint *point;
} Source;

static void
begin_diagnostics(GString *text, const Source *source, const SpateJudgement *judgement,
                  const char *message)
{
    int line = spate_check_line(source->point);
    g_string_append(text, "  ---\n");
    append_text(text, "message", message);
    append_text(text, "verdict", spate_check_verdict_word(judgement));
    g_string_append(text, "  at:\n  ");
    append_text(text, "file", source->report->names[source->file]);
    if (line > 0)
        g_string_append_printf(text, "    line: %d\n", line);
    append_numbers(text, judgement);
}

/* ---- points ---------------------------------------------------------------------------------- */

/* The line of a point; whether diagnostics are to follow. */
static bool
append_line(GString *text, const Source *source, size_t number, const SpateJudgement *judgement,
            const char *title)
{
    bool passes = spate_judgement_passes(judgement, source->report->is_strict);
    bool is_undecided = judgement->kind == SPATE_VERDICT_UNDECIDED;
    g_string_append_printf(text, "%s %" G_GSIZE_FORMAT " - ", passes ? "ok" : "not ok", number);
    append_described(text, source->report->names[source->file]);
    if (spate_check_line(source->point) > 0)
        g_string_append_printf(text, ":%d: ", spate_check_line(source->point));
    else
        g_string_append(text, " with --set: ");
    append_described(text, title);
    g_string_append(text, is_undecided ? " (undecided)\n" : "\n");
    return !passes || is_undecided;
}

static void
append_point(GString *text, const Source *source, size_t number)
{
    const SpateCheckPoint *point = source->point;
    g_autoptr(GString) title = g_string_new(NULL), finding = g_string_new(NULL);
    spate_check_append_title(title, point);
    bool is_plain = !append_line(text, source, number, &point->judgement, title->str);
    /* A verdict that leaves messages out says so, a pass too. */
    if (is_plain && point->n_too_late == 0) {
        spate_doubt_append(text, point->doubt, "#   ");
        return;
    }
    spate_check_append_finding(finding, source->report->checks[source->file], point);
    begin_diagnostics(text, source, &point->judgement, finding->str);
    append_bounds(text, point);
    append_doubt(text, point->doubt);
    if (point->explanation != NULL)
        append_explanation(text, point->explanation);
    g_string_append(text, "  ...\n");
}

static void
append_since(GString *text, const Source *source, size_t number)
{
    const SpateCheckPoint *point = source->point;
    g_autoptr(GString) title = g_string_new(NULL), finding = g_string_new(NULL);
    spate_check_append_since_title(title, point);
    if (!append_line(text, source, number, &point->since, title->str))
        return;
    spate_check_append_since(finding, point);
    begin_diagnostics(text, source, &point->since, finding->str);
    g_string_append(text, "  ...\n");
}

/* Numbers them on from `number`. */
static void
append_points(GString *text, const SpateCheckReport *report, size_t file, size_t *number)
{
    const SpateCheck *check = report->checks[file];
    for (size_t k = 0; k < check->n_points; k++) {
        const Source source = {report, file, &check->points[k]};
        append_point(text, &source, ++*number);
        if (check->points[k].has_since)
            append_since(text, &source, ++*number);
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

/* One file alone is a plan of nothing, one of several a point that was skipped. */
static void
append_without(GString *text, const SpateCheckReport *report, size_t number, size_t file)
{
    g_string_append_printf(text, "ok %" G_GSIZE_FORMAT " - ", number);
    append_described(text, report->names[file]);
    g_string_append(text, " # SKIP no expectations\n");
}

static void
append_layout(GString *text, const SpateCheckReport *report, size_t file)
{
    if (!spate_check_is_of_one_layout(report->checks[file]))
        return;
    g_string_append(text, "# ");
    append_described(text, report->names[file]);
    g_string_append(text, ": " SPATE_ONE_LAYOUT_WORDS "\n");
}

void
spate_check_report_tap(GString *text, const SpateCheckReport *report)
{
    g_string_append(text, "TAP version 14\n");
    if (report->n_checks == 1 && report->checks[0]->n_points == 0) {
        g_string_append(text, "1..0 # SKIP no expectations in ");
        append_described(text, report->names[0]);
        g_string_append_c(text, '\n');
        append_differences(text, report, report->checks[0]);
        return;
    }
    size_t number = 0, n_unjudged = 0;
    g_string_append_printf(text, "1..%" G_GSIZE_FORMAT "\n", count_points(report));
    for (size_t i = 0; i < report->n_checks; i++) {
        const SpateCheck *check = report->checks[i];
        if (check->n_points == 0)
            append_without(text, report, ++number, i);
        append_layout(text, report, i);
        n_unjudged += !spate_check_is_judged(check);
        if (spate_check_is_judged(check))
            append_points(text, report, i, &number);
        append_differences(text, report, check);
    }
    g_string_append(text, "# ");
    spate_check_append_counts(text, report);
    if (report->is_interrupted && n_unjudged == 0)
        g_string_append(text, "Bail out! interrupted: judged by the finished replications\n");
    else if (report->is_interrupted)
        g_string_append_printf(text,
                               "Bail out! interrupted: %" G_GSIZE_FORMAT " of %" G_GSIZE_FORMAT
                               " files were not judged\n",
                               n_unjudged, report->n_checks);
}
