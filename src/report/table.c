/* table.c - a result for people
 *
 * One block for each subject (a traffic, a bearer, a bridge, a node), a line for each
 * measure, a column for each variant:
 *
 *     talk                      base            people-first
 *       delivery, %             81.2 [80.1, 82.3]   97.3  +16.1 [15.0, 17.2] *
 *
 * The first column of a comparison has its own interval; the others their difference to the first
 * with the interval of the paired difference.  A star marks an interval that leaves out 0.
 */
#include "report/formats.h"

#include "core/time.h"
#include "report/numbers.h"
#include <math.h>
#include <string.h>

#define LABEL_WIDTH 22

static const char *const BOLD = "\033[1m", *const RESET = "\033[0m";

/* A line of the table: the same measure of the same subject in every variant. */
typedef struct {
    const SpateResultRow **rows;         /* by variant; NULL where it has none */
    const SpateDifference **differences; /* by variant; NULL for the first */
} Line;

static bool
is_same_row(const SpateResultRow *a, const SpateResultRow *b)
{
    return a->measure == b->measure && g_strcmp0(a->traffic, b->traffic) == 0 &&
           g_strcmp0(a->bearer, b->bearer) == 0 && g_strcmp0(a->node, b->node) == 0 &&
           g_strcmp0(a->bridge, b->bridge) == 0;
}

static char *
subject_of(const SpateResultRow *row)
{
    if (row->traffic != NULL && row->bearer != NULL)
        return g_strdup_printf("traffic %s", row->traffic);
    if (row->traffic != NULL)
        return g_strdup_printf("traffic %s", row->traffic);
    if (row->bearer != NULL)
        return g_strdup_printf("bearer %s", row->bearer);
    if (row->bridge != NULL)
        return g_strdup_printf("bridge %s", row->bridge);
    return g_strdup_printf("node %s", row->node != NULL ? row->node : "");
}

static double
shown_factor(const SpateMeasureInfo *info)
{
    return strcmp(info->unit, "ratio") == 0 ? 100.0 : 1.0;
}

static char *
label_of(const SpateResultRow *row)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    const char *unit = strcmp(info->unit, "ratio") == 0 ? "%" : info->unit;
    GString *label = g_string_new(info->name);
    if (row->traffic != NULL && row->bearer != NULL)
        g_string_append_printf(label, " on %s", row->bearer);
    if (strcmp(unit, "1") != 0)
        g_string_append_printf(label, ", %s", unit);
    return g_string_free(label, FALSE);
}

/* Lines that say nothing are left out: no value anywhere, or a finer count that is 0 everywhere. */
static bool
is_worth_showing(const Line *line, size_t n_variants)
{
    bool has_value = false, is_zero = true;
    const SpateResultRow *some = NULL;
    for (size_t v = 0; v < n_variants; v++) {
        if (line->rows[v] == NULL || line->rows[v]->n == 0)
            continue;
        some = line->rows[v];
        has_value = true;
        is_zero = is_zero && line->rows[v]->mean == 0.0;
    }
    if (!has_value)
        return false;
    bool is_finer =
        some->traffic != NULL && (some->bearer != NULL || some->measure == SPATE_MEASURE_HELD_BACK);
    return !(is_finer && is_zero);
}

static int
decimals_of(const Line *line, size_t n_variants, double factor)
{
    double largest = 0.0;
    for (size_t v = 0; v < n_variants; v++)
        if (line->rows[v] != NULL && line->rows[v]->n > 0)
            largest = fmax(largest, fabs(line->rows[v]->mean * factor));
    int decimals = spate_decimals_for(largest);
    return factor > 1.0 ? CLAMP(decimals, 1, 3) : decimals;
}

static void
append_interval(GString *text, SpateInterval interval, double factor, int decimals, bool sign)
{
    if (isnan(interval.low))
        return;
    g_string_append(text, " [");
    spate_append_fixed(text, interval.low * factor, decimals, sign);
    g_string_append(text, ", ");
    spate_append_fixed(text, interval.high * factor, decimals, sign);
    g_string_append_c(text, ']');
}

static char *
cell_of(const Line *line, size_t v, double factor, int decimals)
{
    GString *cell = g_string_new(NULL);
    const SpateResultRow *row = line->rows[v];
    if (row == NULL || row->n == 0) {
        g_string_append_c(cell, '-');
        return g_string_free(cell, FALSE);
    }
    spate_append_fixed(cell, row->mean * factor, decimals, false);
    const SpateDifference *difference = line->differences[v];
    if (difference == NULL) {
        append_interval(cell, row->ci95, factor, decimals, false);
    } else if (difference->n > 0) {
        g_string_append(cell, "  ");
        spate_append_fixed(cell, difference->mean * factor, decimals, true);
        append_interval(cell, difference->ci95, factor, decimals, true);
        bool is_sure = !isnan(difference->ci95.low) &&
                       (difference->ci95.low > 0.0 || difference->ci95.high < 0.0);
        g_string_append(cell, is_sure ? " *" : "");
    }
    return g_string_free(cell, FALSE);
}

static const SpateResultRow *
find_row(const SpateResultVariant *variant, const SpateResultRow *like, size_t guess)
{
    if (guess < variant->n_rows && is_same_row(&variant->rows[guess], like))
        return &variant->rows[guess];
    for (size_t i = 0; i < variant->n_rows; i++)
        if (is_same_row(&variant->rows[i], like))
            return &variant->rows[i];
    return NULL;
}

static void
line_free(gpointer data)
{
    Line *line = data;
    g_free(line->rows);
    g_free(line->differences);
    g_free(line);
}

/* The subjects' lines in the order of the first variant, then those that only later ones have. */
static GPtrArray *
collect_lines(const SpateResult *result)
{
    GPtrArray *lines = g_ptr_array_new_with_free_func(line_free);
    g_autoptr(GHashTable) by_row = g_hash_table_new(NULL, NULL); /* SpateResultRow -> Line */
    for (size_t v = 0; v < result->n_variants; v++) {
        for (size_t i = 0; i < result->variants[v].n_rows; i++) {
            const SpateResultRow *row = &result->variants[v].rows[i];
            Line *line = NULL;
            for (size_t before = 0; before < v && line == NULL; before++) {
                const SpateResultRow *same = find_row(&result->variants[before], row, i);
                line = same != NULL ? g_hash_table_lookup(by_row, same) : NULL;
            }
            if (line == NULL) {
                line = g_new0(Line, 1);
                line->rows = g_new0(const SpateResultRow *, result->n_variants);
                line->differences = g_new0(const SpateDifference *, result->n_variants);
                g_ptr_array_add(lines, line);
            }
            line->rows[v] = row;
            g_hash_table_insert(by_row, (gpointer)(uintptr_t)row, line);
        }
    }
    for (size_t i = 0; i < result->n_differences; i++) {
        const SpateDifference *difference = &result->differences[i];
        Line *line = g_hash_table_lookup(by_row, difference->row);
        for (size_t v = 0; line != NULL && v < result->n_variants; v++)
            if (line->rows[v] == difference->row)
                line->differences[v] = difference;
    }
    return lines;
}

static const SpateResultRow *
first_row(const Line *line, size_t n_variants)
{
    for (size_t v = 0; v < n_variants; v++)
        if (line->rows[v] != NULL)
            return line->rows[v];
    g_assert_not_reached();
}

static void
pad_to(GString *text, size_t line_start, size_t column)
{
    size_t used = (size_t)g_utf8_strlen(text->str + line_start, -1);
    do
        g_string_append_c(text, ' ');
    while (++used < column);
}

static void
trim_end(GString *text)
{
    while (text->len > 0 && text->str[text->len - 1] == ' ')
        g_string_truncate(text, text->len - 1);
}

/* A table of cells as text: the subject's lines under the variants' names. */
typedef struct {
    GPtrArray *labels; /* char* */
    GPtrArray *cells;  /* char*: n_variants for each label */
    size_t *widths;    /* by variant */
    size_t label_width;
} Block;

static void
block_fill(Block *block, const SpateResult *result, const GPtrArray *lines, const char *subject)
{
    size_t n = result->n_variants;
    for (guint i = 0; i < lines->len; i++) {
        const Line *line = g_ptr_array_index(lines, i);
        const SpateResultRow *row = first_row(line, n);
        g_autofree char *of = subject_of(row);
        if (strcmp(of, subject) != 0 || !is_worth_showing(line, n))
            continue;
        double factor = shown_factor(spate_measure_info(row->measure));
        int decimals = decimals_of(line, n, factor);
        char *label = label_of(row);
        block->label_width = MAX(block->label_width, strlen(label));
        g_ptr_array_add(block->labels, label);
        for (size_t v = 0; v < n; v++) {
            char *cell = cell_of(line, v, factor, decimals);
            block->widths[v] = MAX(block->widths[v], strlen(cell));
            g_ptr_array_add(block->cells, cell);
        }
    }
}

/* How many variants from `first` on fit beside the labels and the base. */
static size_t
variants_that_fit(const Block *block, size_t n, size_t first, unsigned width)
{
    size_t used = block->label_width + 4 + block->widths[0] + 2, fit = 0;
    while (first + fit < n) {
        used += block->widths[first + fit] + 2;
        if (fit > 0 && width > 0 && used > width)
            break;
        fit++;
    }
    return fit;
}

static void
append_columns(GString *text, const Block *block, const SpateResult *result, const char *subject,
               size_t first, size_t end, bool colour)
{
    size_t start = text->len, column = block->label_width + 4;
    g_string_append_printf(text, "%s%s%s", colour ? BOLD : "", subject, colour ? RESET : "");
    size_t hidden = colour ? strlen(BOLD) + strlen(RESET) : 0;
    bool several = result->n_variants > 1;
    for (size_t v = 0; several && v < end; v = v == 0 ? first : v + 1) {
        pad_to(text, start, column + hidden);
        g_string_append(text, result->variants[v].name);
        column += block->widths[v] + 2;
    }
    trim_end(text);
    g_string_append_c(text, '\n');
    for (guint i = 0; i < block->labels->len; i++) {
        start = text->len;
        column = block->label_width + 4;
        g_string_append_printf(text, "  %s", (const char *)g_ptr_array_index(block->labels, i));
        for (size_t v = 0; v < end; v = v == 0 ? first : v + 1) {
            pad_to(text, start, column);
            g_string_append(text, g_ptr_array_index(block->cells, i * result->n_variants + v));
            column += block->widths[v] + 2;
        }
        trim_end(text);
        g_string_append_c(text, '\n');
    }
}

static void
append_block(GString *text, const SpateResult *result, const GPtrArray *lines, const char *subject,
             const SpateTableStyle *style)
{
    size_t n = result->n_variants;
    g_autofree size_t *widths = g_new0(size_t, n);
    for (size_t v = 0; v < n; v++)
        widths[v] = (size_t)g_utf8_strlen(result->variants[v].name, -1);
    Block block = {
        .labels = g_ptr_array_new_with_free_func(g_free),
        .cells = g_ptr_array_new_with_free_func(g_free),
        .widths = widths,
        .label_width = LABEL_WIDTH,
    };
    block_fill(&block, result, lines, subject);
    if (block.labels->len > 0) {
        size_t first = 1;
        do {
            size_t fit = variants_that_fit(&block, n, first, style->width);
            g_string_append_c(text, '\n');
            append_columns(text, &block, result, subject, first, MIN(first + fit, n),
                           style->colour);
            first += fit;
        } while (first < n);
    }
    g_ptr_array_unref(block.labels);
    g_ptr_array_unref(block.cells);
}

static void
append_duration(GString *text, int64_t ns)
{
    static const struct {
        int64_t ns;
        const char *unit;
    } UNITS[] = {{SPATE_NS_PER_HOUR, "h"}, {SPATE_NS_PER_MIN, "min"}, {SPATE_NS_PER_S, "s"}};
    for (size_t i = 0; i < G_N_ELEMENTS(UNITS); i++) {
        if (ns % UNITS[i].ns == 0 && (ns >= UNITS[i].ns || UNITS[i].ns == SPATE_NS_PER_S)) {
            g_string_append_printf(text, "%" G_GINT64_FORMAT " %s", (gint64)(ns / UNITS[i].ns),
                                   UNITS[i].unit);
            return;
        }
    }
    spate_append_number(text, (double)ns / (double)SPATE_NS_PER_S);
    g_string_append(text, " s");
}

static void
append_head(GString *text, const SpateResult *result, const SpateTableStyle *style)
{
    if (result->title != NULL && result->title[0] != '\0')
        g_string_append_printf(text, "%s%s%s\n", style->colour ? BOLD : "", result->title,
                               style->colour ? RESET : "");
    g_string_append_printf(text, "%u replication%s of ", result->n_replications,
                           result->n_replications == 1 ? "" : "s");
    append_duration(text, result->duration_ns);
    if (result->warm_up_ns > 0) {
        g_string_append(text, ", counted after ");
        append_duration(text, result->warm_up_ns);
    }
    g_string_append_printf(text, "; seed %" G_GUINT64_FORMAT "\n", (guint64)result->seed);
    if (result->interrupted)
        g_string_append(text, "interrupted: only what was finished is shown\n");
    if (result->n_replications > 1)
        g_string_append(text, "[ , ]: 95 % interval over replications\n");
    else
        g_string_append(text, "one replication: nothing can be said of how sure this is\n");
    for (size_t v = 0; v < result->n_variants; v++)
        if (result->variants[v].summary != NULL)
            g_string_append_printf(text, "%s: %s\n", result->variants[v].name,
                                   result->variants[v].summary);
    if (result->n_variants > 1)
        g_string_append_printf(text,
                               "beside each variant, its paired difference to %s; "
                               "* where the interval leaves out 0\n",
                               result->variants[0].name);
}

void
spate_report_table(GString *text, const SpateResult *result, const SpateTableStyle *style)
{
    static const char *const ORDER[] = {"traffic", "bearer", "bridge", "node"};
    append_head(text, result, style);
    g_autoptr(GPtrArray) lines = collect_lines(result);
    g_autoptr(GPtrArray) subjects = g_ptr_array_new_with_free_func(g_free);
    for (size_t kind = 0; kind < G_N_ELEMENTS(ORDER); kind++) {
        for (guint i = 0; i < lines->len; i++) {
            const Line *line = g_ptr_array_index(lines, i);
            char *subject = subject_of(first_row(line, result->n_variants));
            if (!g_str_has_prefix(subject, ORDER[kind]) ||
                g_ptr_array_find_with_equal_func(subjects, subject, g_str_equal, NULL))
                g_free(subject);
            else
                g_ptr_array_add(subjects, subject);
        }
    }
    for (guint i = 0; i < subjects->len; i++)
        append_block(text, result, lines, g_ptr_array_index(subjects, i), style);
}
