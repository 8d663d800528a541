/* check-table.c - verdicts in a table for people
 *
 * A line for each expectation; below one that is no plain pass, or left messages out, where it is
 * written, the reason and the beginning of its explanation.
 */
#include "core/shown-text.h"
#include "report/check/check-words.h"
#include "report/check/explanation-words.h"
#include "report/table/table-grid.h"
#include "report/words/doubt-words.h"
#include "report/words/escapes.h"
#include "scenario/layout.h"
#include <string.h>

/* Lines of an explanation: mostly which message, how far it got, and what stopped it. */
#define MOST_LINES 6

#define INDENT "    "

typedef struct {
    const SpateCheckReport *report;
    GPtrArray *grid;
    size_t file;
} Table;

/* ---- rows ------------------------------------------------------------------------------------ */

/* Below a verdict. */
static void
add_line(const Table *table, const char *words)
{
    g_autofree char *line = g_strconcat(INDENT, words, NULL);
    SpateTableRow *row = spate_table_grid_add(table->grid);
    row->is_label = true;
    row->cells[SPATE_COLUMN_LABEL] = spate_shown_line(line);
}

/* Lines that end with a newline; more than so many are cut short. */
static void
add_lines(const Table *table, const char *words, size_t most)
{
    g_auto(GStrv) lines = g_strsplit(words, "\n", -1);
    for (size_t i = 0; lines[i] != NULL && lines[i][0] != '\0'; i++) {
        if (i == most) {
            add_line(table, "... (--format tap prints the whole explanation)");
            return;
        }
        add_line(table, lines[i]);
    }
}

/* ---- verdicts -------------------------------------------------------------------------------- */

/* "plan.yaml:38: nothing was delivered": where it is written, and why it is no plain pass or of
 * what it is one. */
static void
add_reason(const Table *table, const SpateCheckPoint *point, const SpateJudgement *judgement,
           const char *finding)
{
    const SpateCheckReport *report = table->report;
    g_autoptr(GString) line = g_string_new(report->names[table->file]);
    if (spate_check_line(point) > 0)
        g_string_append_printf(line, ":%d: ", spate_check_line(point));
    else
        g_string_append(line, " with --set: ");
    g_string_append(line, finding);
    if (judgement->kind == SPATE_VERDICT_UNDECIDED)
        g_string_append(line, spate_judgement_passes(judgement, report->is_strict)
                                  ? "; it counts as passed"
                                  : "; it counts as failed");
    add_line(table, line->str);
}

/* Judged by itself, or since the earlier result. */
static void
add_point(const Table *table, const SpateCheckPoint *point, const SpateJudgement *judgement)
{
    static const char *const COLOURS[] = {[SPATE_VERDICT_PASS] = SPATE_GREEN,
                                          [SPATE_VERDICT_FAIL] = SPATE_RED,
                                          [SPATE_VERDICT_UNDECIDED] = SPATE_YELLOW};
    const SpateCheck *check = table->report->checks[table->file];
    bool is_since = judgement == &point->since;
    g_autoptr(GString) subject = g_string_new(NULL), bound = g_string_new(NULL);
    g_autoptr(GString) mean = g_string_new(NULL), ends = g_string_new(NULL);
    g_autoptr(GString) finding = g_string_new(NULL), doubt = g_string_new(NULL);
    if (is_since) {
        spate_check_append_both(subject, finding, check, point, judgement);
    } else {
        spate_check_append_subject(subject, point);
        spate_check_append_bound(bound, point);
        spate_check_append_finding(finding, check, point);
    }
    spate_check_append_measured(mean, ends, point, judgement);
    SpateTableRow *row = spate_table_grid_add(table->grid);
    row->colour = COLOURS[judgement->kind];
    row->cells[SPATE_COLUMN_LABEL] = g_strdup(spate_check_verdict_word(judgement));
    row->cells[SPATE_COLUMN_VARIANT] = spate_shown_line(subject->str);
    row->cells[SPATE_COLUMN_MEAN] = spate_shown_line(mean->str);
    row->cells[SPATE_COLUMN_INTERVAL] = spate_shown_line(ends->str);
    row->cells[SPATE_COLUMN_DIFFERENCE] = spate_shown_line(bound->str);
    /* A pass that leaves messages out says so. */
    if (judgement->kind != SPATE_VERDICT_PASS || (!is_since && point->n_too_late > 0))
        add_reason(table, point, judgement, finding->str);
    if (is_since)
        return;
    spate_doubt_append(doubt, point->doubt, "");
    add_lines(table, doubt->str, SIZE_MAX);
    g_autofree char *explanation = spate_explanation_text(point->explanation);
    if (explanation != NULL)
        add_lines(table, explanation, MOST_LINES);
}

/* ---- files ----------------------------------------------------------------------------------- */

static void
add_uncompared(const Table *table, const SpateCheck *check, bool is_gone)
{
    g_autoptr(GString) words = g_string_new(NULL);
    spate_check_append_uncompared(words, check, is_gone);
    if (words->len > 0)
        add_line(table, words->str);
}

static void
add_differences(const Table *table, const SpateCheck *check)
{
    const GArray *differences = check->differences;
    if (differences == NULL)
        return;
    g_autofree char *heading =
        g_strdup_printf("%s since %s", differences->len == 0 ? "nothing differs" : "differs",
                        table->report->before);
    add_line(table, heading);
    for (guint i = 0; i < differences->len; i++) {
        g_autoptr(GString) line = g_string_new("  ");
        spate_check_append_difference(line, check, &g_array_index(differences, SpateDifference, i));
        add_line(table, line->str);
    }
    add_uncompared(table, check, true);
    add_uncompared(table, check, false);
}

static void
add_file(const Table *table)
{
    const SpateCheck *check = table->report->checks[table->file];
    SpateTableRow *heading = spate_table_grid_add(table->grid);
    heading->is_heading = heading->is_label = true;
    heading->cells[SPATE_COLUMN_LABEL] = spate_shown_line(table->report->names[table->file]);
    if (spate_check_is_of_one_layout(check))
        add_line(table, SPATE_ONE_LAYOUT_WORDS);
    if (check->n_points == 0)
        add_line(table, "no expectations");
    if (!spate_check_is_judged(check))
        add_line(table, "interrupted: not judged");
    for (size_t k = 0; spate_check_is_judged(check) && k < check->n_points; k++) {
        add_point(table, &check->points[k], &check->points[k].judgement);
        if (check->points[k].has_since)
            add_point(table, &check->points[k], &check->points[k].since);
    }
    add_differences(table, check);
}

void
spate_check_report_table(GString *text, const SpateCheckReport *report)
{
    static const char *const HEADINGS[SPATE_N_COLUMNS] = {
        [SPATE_COLUMN_LABEL] = "verdict",    [SPATE_COLUMN_VARIANT] = "expectation",
        [SPATE_COLUMN_MEAN] = "measured",    [SPATE_COLUMN_INTERVAL] = "95 % interval",
        [SPATE_COLUMN_DIFFERENCE] = "bound",
    };
    g_autoptr(GPtrArray) grid = spate_table_grid_new();
    g_autoptr(GString) rows = g_string_new(NULL);
    unsigned widths[SPATE_N_COLUMNS];
    Table table = {.report = report, .grid = grid};
    SpateCheckCounts counts = spate_check_count(report);
    if (counts.n_passed + counts.n_failed > 0) {
        SpateTableRow *row = spate_table_grid_add(grid);
        row->is_heading = true;
        for (int c = 0; c < SPATE_N_COLUMNS; c++)
            row->cells[c] = g_strdup(HEADINGS[c]);
    }
    for (table.file = 0; table.file < report->n_checks; table.file++)
        add_file(&table);
    spate_table_grid_measure(grid, widths);
    spate_table_grid_append(rows, grid, widths, report->colour);
    g_string_append(text, rows->str + strspn(rows->str, "\n"));
    g_string_append_c(text, '\n');
    if (report->is_interrupted)
        g_string_append(text, "interrupted: judged by the finished replications\n");
    spate_check_append_counts(text, report);
}
