/* table.c - a result for people
 *
 * One block for each subject, one line for each measure and variant:
 *
 *     traffic talk                     mean  95 % interval  difference   95 % interval
 *       delivery, %      base          81.2   [80.1, 82.3]
 *                        sparing       97.3   [96.0, 98.1]       +16.1  [+15.0, +17.2]  *
 *
 * All figures of a measure show the same digits.  A star marks a difference whose interval leaves
 * out 0.  Columns that would be empty are left out.
 */
#include "report/formats.h"

#include "core/time.h"
#include "report/doubt-words.h"
#include "report/numbers.h"
#include "report/table-lines.h"
#include <math.h>
#include <string.h>

static const char BOLD[] = "\033[1m", PLAIN[] = "\033[0m";

enum {
    COLUMN_LABEL,
    COLUMN_VARIANT,
    COLUMN_MEAN,
    COLUMN_INTERVAL,
    COLUMN_N, /* where some replications have no value */
    COLUMN_DIFFERENCE,
    COLUMN_DIFFERENCE_INTERVAL,
    COLUMN_MARK,
    N_COLUMNS
};

typedef struct {
    char *cells[N_COLUMNS]; /* NULL: empty */
    bool is_heading;        /* the subject's name and the columns' headings */
} TableRow;

static void
free_table_row(gpointer row)
{
    TableRow *dying = row;
    for (int c = 0; c < N_COLUMNS; c++)
        g_free(dying->cells[c]);
    g_free(dying);
}

/* How the figures of a line are shown. */
typedef struct {
    double factor;
    int decimals;
} Shown;

static bool
is_percent(const SpateResultRow *row)
{
    return strcmp(spate_measure_info(row->measure)->unit, "ratio") == 0;
}

static const SpateResultRow *
first_row(const SpateTableLine *line, size_t n_variants)
{
    for (size_t v = 0; v < n_variants; v++)
        if (line->rows[v] != NULL)
            return line->rows[v];
    g_assert_not_reached();
}

/* Three digits of the largest figure; of percents at least tenths. */
static Shown
shown_of(const SpateTableLine *line, size_t n_variants)
{
    bool percent = is_percent(first_row(line, n_variants));
    Shown shown = {.factor = percent ? 100.0 : 1.0};
    double largest = 0.0;
    for (size_t v = 0; v < n_variants; v++)
        if (line->rows[v] != NULL && line->rows[v]->n > 0)
            largest = fmax(largest, fabs(line->rows[v]->mean * shown.factor));
    shown.decimals = spate_decimals_for(largest);
    if (percent)
        shown.decimals = CLAMP(shown.decimals, 1, 3);
    return shown;
}

/* A share of a subject that is nothing in every variant says nothing: the load of a traffic on a
 * bearer that it never uses, what was held back of it where nothing is. */
static bool
is_worth_showing(const SpateTableLine *line, size_t n_variants)
{
    const SpateResultRow *row = first_row(line, n_variants);
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
    if (is_percent(row))
        g_string_append(label, ", %");
    else if (strcmp(info->unit, "1") != 0)
        g_string_append_printf(label, ", %s", info->unit);
    return g_string_free(label, FALSE);
}

static char *
figure_text(double value, Shown shown, bool sign)
{
    GString *cell = g_string_new(NULL);
    spate_append_fixed(cell, value * shown.factor, shown.decimals, sign);
    return g_string_free(cell, FALSE);
}

/* NULL if there is none. */
static char *
interval_text(SpateInterval interval, Shown shown, bool sign)
{
    if (isnan(interval.low))
        return NULL;
    g_autofree char *low = figure_text(interval.low, shown, sign);
    g_autofree char *high = figure_text(interval.high, shown, sign);
    return g_strdup_printf("[%s, %s]", low, high);
}

static void
fill_mean(TableRow *cells, const SpateResultRow *row, Shown shown, uint32_t n_replications)
{
    cells->cells[COLUMN_MEAN] = figure_text(row->mean, shown, false);
    cells->cells[COLUMN_INTERVAL] = interval_text(row->ci95, shown, false);
    if (row->n < n_replications)
        cells->cells[COLUMN_N] = g_strdup_printf("n %u", row->n);
}

static void
fill_difference(TableRow *cells, const SpateDifference *difference, Shown shown)
{
    if (difference->n == 0)
        return;
    SpateInterval ci95 = difference->ci95;
    cells->cells[COLUMN_DIFFERENCE] = figure_text(difference->mean, shown, true);
    cells->cells[COLUMN_DIFFERENCE_INTERVAL] = interval_text(ci95, shown, true);
    if (!isnan(ci95.low) && (ci95.low > 0.0 || ci95.high < 0.0))
        cells->cells[COLUMN_MARK] = g_strdup("*");
}

static TableRow *
add_row(GPtrArray *table)
{
    TableRow *row = g_new0(TableRow, 1);
    g_ptr_array_add(table, row);
    return row;
}

/* The label stands before the first variant that has the measure. */
static void
add_line(GPtrArray *table, const SpateTableLine *line, const SpateResult *result)
{
    Shown shown = shown_of(line, result->n_variants);
    const SpateResultRow *first = first_row(line, result->n_variants);
    for (size_t v = 0; v < result->n_variants; v++) {
        const SpateResultRow *row = line->rows[v];
        if (row == NULL)
            continue;
        TableRow *cells = add_row(table);
        if (row == first)
            cells->cells[COLUMN_LABEL] = label_text(row);
        if (result->n_variants > 1)
            cells->cells[COLUMN_VARIANT] = g_strdup(result->variants[v].name);
        fill_mean(cells, row, shown, result->n_replications);
        if (line->differences[v] != NULL)
            fill_difference(cells, line->differences[v], shown);
    }
}

static void
add_subject(GPtrArray *table, const SpateSubject *subject, const SpateResult *result)
{
    static const char *const KINDS[SPATE_N_SUBJECT_KINDS] = {
        [SPATE_SUBJECT_TRAFFIC] = "traffic",
        [SPATE_SUBJECT_BEARER] = "bearer",
        [SPATE_SUBJECT_BRIDGE] = "bridge",
        [SPATE_SUBJECT_NODE] = "node",
    };
    TableRow *heading = add_row(table);
    heading->is_heading = true;
    heading->cells[COLUMN_LABEL] = g_strdup_printf("%s %s", KINDS[subject->kind], subject->name);
    heading->cells[COLUMN_MEAN] = g_strdup("mean");
    heading->cells[COLUMN_INTERVAL] = g_strdup("95 % interval");
    heading->cells[COLUMN_DIFFERENCE] = g_strdup("difference");
    heading->cells[COLUMN_DIFFERENCE_INTERVAL] = g_strdup("95 % interval");
    for (guint i = 0; i < subject->lines->len; i++) {
        const SpateTableLine *line = g_ptr_array_index(subject->lines, i);
        if (is_worth_showing(line, result->n_variants))
            add_line(table, line, result);
    }
}

/* 0 for a column that is empty but for its heading. */
static void
measure_columns(const GPtrArray *table, size_t widths[N_COLUMNS])
{
    bool is_used[N_COLUMNS] = {false};
    memset(widths, 0, N_COLUMNS * sizeof *widths);
    for (guint i = 0; i < table->len; i++) {
        const TableRow *row = g_ptr_array_index(table, i);
        for (int c = 0; c < N_COLUMNS; c++) {
            if (row->cells[c] == NULL)
                continue;
            widths[c] = MAX(widths[c], (size_t)g_utf8_strlen(row->cells[c], -1));
            is_used[c] = is_used[c] || !row->is_heading;
        }
    }
    for (int c = 0; c < N_COLUMNS; c++)
        widths[c] = is_used[c] ? widths[c] : 0;
}

static void
append_padding(GString *text, size_t n)
{
    for (; n > 0; n--)
        g_string_append_c(text, ' ');
}

static void
append_table_row(GString *text, const TableRow *row, const size_t widths[N_COLUMNS], bool colour)
{
    bool is_bold = row->is_heading && colour;
    g_string_append(text, is_bold ? BOLD : "");
    size_t owed = 0; /* blanks, once something follows */
    for (int c = 0; c < N_COLUMNS; c++) {
        if (widths[c] == 0)
            continue;
        const char *cell = row->cells[c] != NULL ? row->cells[c] : "";
        size_t padding = widths[c] - (size_t)g_utf8_strlen(cell, -1);
        bool is_left = c <= COLUMN_VARIANT;
        if (cell[0] != '\0') {
            append_padding(text, owed + (is_left ? 0 : padding));
            g_string_append(text, cell);
            owed = is_left ? padding : 0;
        } else {
            owed += padding;
        }
        owed += 2;
    }
    g_string_append(text, is_bold ? PLAIN : "");
    g_string_append_c(text, '\n');
}

static void
append_duration(GString *text, int64_t ns)
{
    static const struct {
        int64_t ns;
        const char *unit;
    } UNITS[] = {{SPATE_NS_PER_HOUR, "h"}, {SPATE_NS_PER_MIN, "min"}};
    for (size_t i = 0; i < G_N_ELEMENTS(UNITS); i++) {
        if (ns > 0 && ns % UNITS[i].ns == 0) {
            int64_t count = ns / UNITS[i].ns;
            spate_append_number(text, (double)count);
            g_string_append_printf(text, " %s", UNITS[i].unit);
            return;
        }
    }
    spate_append_number(text, (double)ns / (double)SPATE_NS_PER_S);
    g_string_append(text, " s");
}

static void
append_head(GString *text, const SpateResult *result, bool colour)
{
    if (result->title != NULL && result->title[0] != '\0')
        g_string_append_printf(text, "%s%s%s\n", colour ? BOLD : "", result->title,
                               colour ? PLAIN : "");
    g_string_append_printf(text, "%u replication%s of ", result->n_replications,
                           result->n_replications == 1 ? "" : "s");
    append_duration(text, result->duration_ns);
    if (result->warm_up_ns > 0) {
        g_string_append(text, ", counted after ");
        append_duration(text, result->warm_up_ns);
    }
    g_string_append_printf(text, ", seed %" G_GUINT64_FORMAT "\n", (guint64)result->seed);
    if (result->interrupted)
        g_string_append(text, "interrupted: this is what was finished\n");
    if (result->n_replications == 1)
        g_string_append(text, "one replication: how sure this is cannot be told\n");
    if (result->n_differences > 0)
        g_string_append_printf(text,
                               "differences: to %s, replication by replication; "
                               "* the interval leaves out 0\n",
                               result->variants[0].name);
    for (size_t v = 0; v < result->n_variants; v++)
        if (result->variants[v].summary != NULL)
            g_string_append_printf(text, "%s: %s\n", result->variants[v].name,
                                   result->variants[v].summary);
}

void
spate_report_table(GString *text, const SpateResult *result, const SpateTableStyle *style)
{
    append_head(text, result, style->colour);
    g_autoptr(GPtrArray) subjects = spate_table_subjects(result);
    g_autoptr(GPtrArray) table = g_ptr_array_new_with_free_func(free_table_row);
    for (guint i = 0; i < subjects->len; i++)
        add_subject(table, g_ptr_array_index(subjects, i), result);

    size_t widths[N_COLUMNS];
    measure_columns(table, widths);
    for (guint i = 0; i < table->len; i++) {
        const TableRow *row = g_ptr_array_index(table, i);
        if (row->is_heading)
            g_string_append_c(text, '\n');
        append_table_row(text, row, widths, style->colour);
    }
    spate_doubt_append_result(text, result);
}
