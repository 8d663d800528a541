/* sweep-table.c - what a store holds, for people
 *
 * A block for each measure, a line for each point, so that the eye runs down a curve:
 *
 *     delivery of talk, %
 *       nodes.soil.count   mean  95 % interval
 *       20                 98.1   [97.0, 98.9]
 *       80                 81.2   [80.1, 82.3]
 */
#include "report/sweep/sweep-report.h"

#include "document/numbers.h"
#include "scenario/layout.h"
#include <math.h>
#include <string.h>

static const char INTERVAL[] = "95 % interval";

/* The rows of all points that are one measure. */
typedef struct {
    const SpateResultRow *first;
    const SpateResultRow **rows; /* by point; NULL where it has none */
} Block;

typedef struct {
    GPtrArray *points; /* SpateStorePoint */
    char **paths;
    bool has_variants; /* points of several */
    bool one_layout;
    GArray *blocks; /* Block, in the order of a result, by the first point that has each */
} Table;

static void
table_clear(Table *table)
{
    g_ptr_array_unref(table->points);
    g_strfreev(table->paths);
    for (guint i = 0; table->blocks != NULL && i < table->blocks->len; i++)
        g_free(g_array_index(table->blocks, Block, i).rows);
    if (table->blocks != NULL)
        g_array_unref(table->blocks);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Table, table_clear)

static char *
key_of(const SpateResultRow *row)
{
    const char *const names[] = {row->traffic, row->bearer, row->node, row->bridge, row->to};
    GString *key = g_string_new(spate_measure_info(row->measure)->name);
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        g_string_append_printf(key, "\n%s", names[i] != NULL ? names[i] : "");
    return g_string_free(key, FALSE);
}

static void
gather_blocks(Table *table)
{
    g_autoptr(GHashTable) numbers = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    table->blocks = g_array_new(FALSE, FALSE, sizeof(Block));
    for (guint p = 0; p < table->points->len; p++) {
        const SpateStorePoint *point = g_ptr_array_index(table->points, p);
        for (size_t i = 0; i < point->n_rows; i++) {
            char *key = key_of(&point->rows[i]);
            guint number = GPOINTER_TO_UINT(g_hash_table_lookup(numbers, key));
            if (number == 0) {
                const Block block = {&point->rows[i],
                                     g_new0(const SpateResultRow *, table->points->len)};
                g_array_append_val(table->blocks, block);
                number = table->blocks->len;
            }
            g_array_index(table->blocks, Block, number - 1).rows[p] = &point->rows[i];
            g_hash_table_replace(numbers, key, GUINT_TO_POINTER(number));
        }
    }
}

static bool
read_table(Table *table, SpateStore *store, GError **error)
{
    uint32_t n_points = 0;
    table->points = g_ptr_array_new_with_free_func((GDestroyNotify)spate_store_point_free);
    table->paths = spate_store_paths(store, error);
    if (table->paths == NULL || !spate_store_count_points(store, &n_points, error) ||
        !spate_store_is_of_one_layout(store, &table->one_layout, error))
        return false;
    for (uint32_t i = 0; i < n_points; i++) {
        SpateStorePoint *point = spate_store_read_point(store, i, error);
        if (point == NULL)
            return false;
        g_ptr_array_add(table->points, point);
        const SpateStorePoint *first = g_ptr_array_index(table->points, 0);
        table->has_variants |= strcmp(first->variant, point->variant) != 0;
    }
    gather_blocks(table);
    return true;
}

/* ---- cells ----------------------------------------------------------------------------------- */

/* Column 0 is the variant, the others are paths. */
static const char *
cell_of(const Table *table, const SpateStorePoint *point, size_t column)
{
    if (column == 0)
        return point->variant;
    for (size_t i = 0; point->paths[i] != NULL; i++)
        if (strcmp(point->paths[i], table->paths[column - 1]) == 0)
            return point->values[i];
    return "";
}

static void
append_padded(GString *text, const char *cell, size_t width, bool is_right)
{
    size_t length = (size_t)g_utf8_strlen(cell, -1);
    for (size_t i = length; is_right && i < width; i++)
        g_string_append_c(text, ' ');
    g_string_append(text, cell);
    for (size_t i = length; !is_right && i < width; i++)
        g_string_append_c(text, ' ');
}

/* The columns of what is varied; point NULL: their headings. */
static void
append_settings(GString *text, const Table *table, const size_t *widths,
                const SpateStorePoint *point)
{
    g_string_append(text, "  ");
    for (size_t c = table->has_variants ? 0 : 1; c == 0 || table->paths[c - 1] != NULL; c++) {
        const char *heading = c == 0 ? "variant" : table->paths[c - 1];
        append_padded(text, point != NULL ? cell_of(table, point, c) : heading, widths[c], false);
        g_string_append(text, "  ");
    }
}

static size_t *
measure_columns(const Table *table)
{
    size_t n = g_strv_length(table->paths) + 1;
    size_t *widths = g_new0(size_t, n);
    for (size_t c = 0; c < n; c++) {
        widths[c] = (size_t)g_utf8_strlen(c == 0 ? "variant" : table->paths[c - 1], -1);
        for (guint p = 0; p < table->points->len; p++) {
            const char *cell = cell_of(table, g_ptr_array_index(table->points, p), c);
            widths[c] = MAX(widths[c], (size_t)g_utf8_strlen(cell, -1));
        }
    }
    return widths;
}

/* ---- blocks ---------------------------------------------------------------------------------- */

/* How the figures of a block are shown: three digits of the largest, of percents at least tenths.
 */
typedef struct {
    double factor;
    int decimals;
} Shown;

static Shown
shown_of(const Block *block, guint n_points)
{
    bool percent = spate_measure_info(block->first->measure)->unit == SPATE_UNIT_RATIO;
    Shown shown = {.factor = percent ? 100.0 : 1.0};
    double largest = 0.0;
    for (guint i = 0; i < n_points; i++)
        if (block->rows[i] != NULL && block->rows[i]->n > 0)
            largest = fmax(largest, fabs(block->rows[i]->mean * shown.factor));
    shown.decimals = spate_decimals_for(largest);
    if (percent)
        shown.decimals = CLAMP(shown.decimals, 1, 3);
    return shown;
}

static void
append_heading(GString *text, const SpateResultRow *row)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    const char *const names[] = {row->traffic, row->node, row->bridge};
    g_string_append(text, info->name);
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        if (names[i] != NULL)
            g_string_append_printf(text, " of %s", names[i]);
    if (row->to != NULL)
        g_string_append_printf(text, " to %s", row->to);
    if (row->bearer != NULL)
        g_string_append_printf(text, " on %s", row->bearer);
    if (info->unit == SPATE_UNIT_RATIO)
        g_string_append(text, ", %");
    else if (info->unit != SPATE_UNIT_ONE)
        g_string_append_printf(text, ", %s", spate_unit_name(info->unit));
    g_string_append_c(text, '\n');
}

/* "12.3" and "[11.0, 13.6]". */
static void
fill_figures(GString *mean, GString *interval, const SpateResultRow *row, Shown shown)
{
    g_string_truncate(mean, 0);
    g_string_truncate(interval, 0);
    if (row != NULL)
        shown.decimals = spate_decimals_to_tell(row->ci95.low * shown.factor,
                                                row->ci95.high * shown.factor, shown.decimals);
    spate_append_fixed(mean, row != NULL ? row->mean * shown.factor : NAN, shown.decimals, FALSE);
    if (row == NULL || isnan(row->ci95.low))
        return;
    g_string_append_c(interval, '[');
    spate_append_fixed(interval, row->ci95.low * shown.factor, shown.decimals, FALSE);
    g_string_append(interval, ", ");
    spate_append_fixed(interval, row->ci95.high * shown.factor, shown.decimals, FALSE);
    g_string_append_c(interval, ']');
}

static void
append_figures(GString *text, const char *mean, const char *interval, const size_t widths[2])
{
    append_padded(text, mean, widths[0], true);
    if (interval[0] != '\0') {
        g_string_append(text, "  ");
        append_padded(text, interval, widths[1], true);
    }
    g_string_append_c(text, '\n');
}

static void
append_block(GString *text, const Table *table, const size_t *columns, const Block *block)
{
    Shown shown = shown_of(block, table->points->len);
    g_autoptr(GString) mean = g_string_new(NULL);
    g_autoptr(GString) interval = g_string_new(NULL);
    size_t widths[2] = {strlen("mean"), strlen(INTERVAL)};
    for (guint i = 0; i < table->points->len; i++) {
        fill_figures(mean, interval, block->rows[i], shown);
        widths[0] = MAX(widths[0], mean->len);
        widths[1] = MAX(widths[1], interval->len);
    }
    append_heading(text, block->first);
    append_settings(text, table, columns, NULL);
    append_figures(text, "mean", INTERVAL, widths);
    for (guint i = 0; i < table->points->len; i++) {
        fill_figures(mean, interval, block->rows[i], shown);
        append_settings(text, table, columns, g_ptr_array_index(table->points, i));
        append_figures(text, mean->str, interval->str, widths);
    }
}

bool
spate_sweep_table(SpateStore *store, SpateTextSink sink, gpointer user, GError **error)
{
    g_auto(Table) table = {0};
    if (!read_table(&table, store, error))
        return false;
    g_autofree size_t *columns = measure_columns(&table);
    g_autoptr(GString) text = g_string_new(table.one_layout ? SPATE_ONE_LAYOUT_WORDS "\n\n" : NULL);
    for (guint i = 0; i < table.blocks->len; i++) {
        g_string_append(text, i > 0 ? "\n" : "");
        append_block(text, &table, columns, &g_array_index(table.blocks, Block, i));
        sink(user, text->str, text->len);
        g_string_truncate(text, 0);
    }
    return true;
}
