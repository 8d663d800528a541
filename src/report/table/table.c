/* table.c - a result for people
 *
 * One block for each subject, one line for each measure and variant:
 *
 *     traffic talk                     mean  95 % interval  difference   95 % interval
 *       delivery, %      base          81.2   [80.1, 82.3]
 *                        sparing       97.3   [96.0, 98.1]       +16.1  [+15.0, +17.2]  *
 *
 * All figures of a measure show the same digits, and more only where an interval that leaves out 0
 * would read as one that does not.  A star marks a difference whose interval leaves out 0.  Columns
 * that would be empty are left out.  On a terminal that is wide enough, pictures stand beside the
 * figures (table-pictures.h).
 */
#include "report/report.h"

#include "core/shown-text.h"
#include "report/table/table-grid.h"
#include "report/table/table-lines.h"
#include "report/table/table-pictures.h"
#include "report/words/doubt-words.h"
#include "report/words/escapes.h"
#include "report/words/figures.h"
#include "report/words/run-words.h"
#include <math.h>
#include <string.h>

typedef struct {
    const SpateResult *result;
    GPtrArray *grid;
    SpateTablePictures pictures;
} Table;

/* A share of a subject that is nothing in every variant says nothing: the load of a traffic on a
 * bearer that it never uses, what was held back of it where nothing is. */
static bool
is_worth_showing(const SpateTableLine *line, size_t n_variants)
{
    const SpateResultRow *row = spate_table_line_row(line, n_variants);
    bool is_part =
        row->traffic != NULL && (row->bearer != NULL || row->measure == SPATE_MEASURE_HELD_BACK);
    for (size_t v = 0; is_part && v < n_variants; v++)
        if (line->rows[v] != NULL && line->rows[v]->mean != 0.0)
            return true;
    return !is_part;
}

static char *
label_text(const SpateResultRow *row)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    GString *label = g_string_new("  ");
    g_string_append(label, info->name);
    if (row->traffic != NULL && row->bearer != NULL)
        g_string_append_printf(label, " on %s", row->bearer);
    if (row->to != NULL)
        g_string_append_printf(label, " to %s", row->to);
    spate_append_unit(label, info);
    return g_string_free(label, FALSE);
}

/* The figures of a variant. */
static void
fill_numbers(char **cells, const SpateTableLine *line, size_t variant, SpateShown shown,
             uint32_t n_replications)
{
    const SpateResultRow *row = line->rows[variant];
    SpateShown its = spate_shown_for(shown, row->ci95);
    cells[SPATE_COLUMN_MEAN] = spate_figure_text(row->mean, its);
    cells[SPATE_COLUMN_INTERVAL] = spate_interval_text(row->ci95, its);
    if (row->n < n_replications)
        cells[SPATE_COLUMN_N] = g_strdup_printf("n %u", row->n);

    const SpateDifference *difference = line->differences[variant];
    if (difference == NULL || difference->n == 0)
        return;
    SpateInterval ci95 = difference->ci95;
    its = spate_shown_for(shown, ci95);
    its.sign = true;
    cells[SPATE_COLUMN_DIFFERENCE] = spate_figure_text(difference->mean, its);
    cells[SPATE_COLUMN_DIFFERENCE_INTERVAL] = spate_interval_text(ci95, its);
    if (!isnan(ci95.low) && (ci95.low > 0.0 || ci95.high < 0.0))
        cells[SPATE_COLUMN_MARK] = g_strdup("*");
}

/* The label comes before the first variant that has the measure.  With pictures, several variants
 * stand below their measure, which leaves more room. */
static void
add_line(Table *table, const SpateTableLine *line, const SpateLinePictures *pictures)
{
    const SpateResult *result = table->result;
    const SpateResultRow *first = spate_table_line_row(line, result->n_variants);
    SpateShown shown = spate_shown_of(first->measure, line->rows, result->n_variants);
    bool is_stacked = table->pictures.is_drawn && result->n_variants > 1;
    if (is_stacked) {
        SpateTableRow *label = spate_table_grid_add(table->grid);
        label->is_label = true;
        label->cells[SPATE_COLUMN_LABEL] = label_text(first);
        spate_line_pictures_fill_ends(label, pictures);
    }
    for (size_t v = 0; v < result->n_variants; v++) {
        if (line->rows[v] == NULL)
            continue;
        SpateTableRow *row = spate_table_grid_add(table->grid);
        if (is_stacked)
            row->cells[SPATE_COLUMN_LABEL] = g_strdup_printf("    %s", result->variants[v].name);
        else if (line->rows[v] == first)
            row->cells[SPATE_COLUMN_LABEL] = label_text(first);
        if (!is_stacked && result->n_variants > 1)
            row->cells[SPATE_COLUMN_VARIANT] = g_strdup(result->variants[v].name);
        fill_numbers(row->cells, line, v, shown, result->n_replications);
        spate_line_pictures_fill(row, pictures, line, v);
    }
}

static void
add_heading(Table *table, const SpateSubject *subject)
{
    static const char *const KINDS[SPATE_N_SUBJECT_KINDS] = {
        [SPATE_SUBJECT_TRAFFIC] = "traffic",
        [SPATE_SUBJECT_BEARER] = "bearer",
        [SPATE_SUBJECT_BRIDGE] = "bridge",
        [SPATE_SUBJECT_NODE] = "node",
    };
    SpateTableRow *heading = spate_table_grid_add(table->grid);
    char **cells = heading->cells;
    heading->is_heading = true;
    cells[SPATE_COLUMN_LABEL] = g_strdup_printf("%s %s", KINDS[subject->kind], subject->name);
    cells[SPATE_COLUMN_MEAN] = g_strdup("mean");
    cells[SPATE_COLUMN_INTERVAL] = g_strdup("95 % interval");
    cells[SPATE_COLUMN_DIFFERENCE] = g_strdup("difference");
    cells[SPATE_COLUMN_DIFFERENCE_INTERVAL] = g_strdup("95 % interval");
    if (table->result->n_variants == 1)
        return;
    cells[SPATE_COLUMN_PICTURE] = g_strdup("mean");
    cells[SPATE_COLUMN_DIFFERENCE_PICTURE] = g_strdup("difference");
}

static void
add_subject(Table *table, const SpateSubject *subject)
{
    size_t n_variants = table->result->n_variants;
    add_heading(table, subject);
    g_autoptr(GPtrArray) shown = g_ptr_array_new();
    for (guint i = 0; i < subject->lines->len; i++)
        if (is_worth_showing(g_ptr_array_index(subject->lines, i), n_variants))
            g_ptr_array_add(shown, g_ptr_array_index(subject->lines, i));
    for (guint i = 0; i < shown->len; i++) {
        const SpateTableLine *line = g_ptr_array_index(shown, i);
        SpateLinePictures pictures =
            n_variants > 1 ? spate_line_pictures_of_variants(line, n_variants, &table->pictures)
                           : spate_line_pictures_of_one(line, shown, &table->pictures);
        add_line(table, line, &pictures);
    }
}

static void
build(Table *table, const GPtrArray *subjects, unsigned widths[SPATE_N_COLUMNS])
{
    g_ptr_array_set_size(table->grid, 0);
    for (guint i = 0; i < subjects->len; i++)
        add_subject(table, g_ptr_array_index(subjects, i));
    spate_table_grid_measure(table->grid, widths);
}

static void
append_head(GString *text, const SpateResult *result, bool colour)
{
    if (result->title != NULL && result->title[0] != '\0') {
        g_string_append(text, colour ? SPATE_BOLD : "");
        spate_append_shown_line(text, result->title);
        g_string_append(text, colour ? SPATE_PLAIN "\n" : "\n");
    }
    spate_append_run_words(text, result);
    g_string_append_c(text, '\n');
    if (result->interrupted)
        g_string_append(text, "interrupted: these are the finished replications\n");
    if (result->n_replications == 1)
        g_string_append(text, "one replication: its uncertainty cannot be estimated\n");
    if (result->n_differences > 0)
        g_string_append_printf(
            text,
            "differences: to %s, replication by replication; "
            "* the interval excludes 0\n"
            "each interval alone: about one in twenty misleads where nothing changes\n",
            result->variants[0].name);
    for (size_t v = 0; v < result->n_variants; v++) {
        if (result->variants[v].summary == NULL)
            continue;
        g_string_append_printf(text, "%s: ", result->variants[v].name);
        spate_append_shown_line(text, result->variants[v].summary);
        g_string_append_c(text, '\n');
    }
}

void
spate_report_table(GString *text, const SpateResult *result, const SpateTableStyle *style)
{
    g_autoptr(GPtrArray) subjects = spate_table_subjects(result);
    g_autoptr(GPtrArray) grid = spate_table_grid_new();
    unsigned widths[SPATE_N_COLUMNS];
    Table table = {.result = result, .grid = grid};
    table.pictures.is_drawn = style->columns > 0;
    build(&table, subjects, widths);
    if (table.pictures.is_drawn) {
        unsigned taken = spate_table_grid_width(widths);
        table.pictures = spate_table_pictures_fit(style, taken, result->n_differences > 0);
        build(&table, subjects, widths);
    }
    append_head(text, result, style->colour);
    spate_table_pictures_append_key(text, &table.pictures, result->n_variants);
    spate_table_grid_append(text, grid, widths, style->colour);
    if (style->columns > 0)
        spate_table_append_latencies(text, result, style);
    spate_doubt_append_result(text, result);
}
