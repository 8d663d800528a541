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

#include "report/words/columns.h"
#include "report/words/figures.h"
#include "scenario/layout.h"
#include <math.h>
#include <string.h>

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
    for (guint i = 0; i < table->blocks->len; i++)
        g_free(g_array_index(table->blocks, Block, i).rows);
    g_array_unref(table->blocks);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Table, table_clear)

static void
gather_blocks(Table *table)
{
    g_autoptr(GHashTable) numbers = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    for (guint p = 0; p < table->points->len; p++) {
        const SpateStorePoint *point = g_ptr_array_index(table->points, p);
        for (size_t i = 0; i < point->n_rows; i++) {
            char *key = spate_result_row_key(&point->rows[i]);
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
    table->blocks = g_array_new(FALSE, FALSE, sizeof(Block));
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
    spate_append_unit(text, info);
    g_string_append_c(text, '\n');
}

/* What is varied, of a point; NULL: the headings. */
static void
add_settings(SpateColumns *columns, const Table *table, const SpateStorePoint *point)
{
    if (table->has_variants)
        spate_columns_add(columns, point != NULL ? point->variant : "variant");
    for (char **path = table->paths; *path != NULL; path++) {
        const char *value = point != NULL ? spate_sweep_value(point, *path) : *path;
        spate_columns_add(columns, value != NULL ? value : "");
    }
}

static void
append_block(GString *text, const Table *table, const Block *block)
{
    static const char *const HEADS[] = {"mean", "95 % interval", NULL};
    SpateShown shown = spate_shown_of(block->first->measure, block->rows, table->points->len);
    g_autoptr(SpateColumns) columns =
        spate_columns_new(g_strv_length(table->paths) + table->has_variants);
    add_settings(columns, table, NULL);
    spate_columns_add_heads(columns, HEADS);
    for (guint i = 0; i < table->points->len; i++) {
        const SpateResultRow *row = block->rows[i];
        SpateInterval ci95 = row != NULL ? row->ci95 : (SpateInterval){NAN, NAN};
        SpateShown its = spate_shown_for(shown, ci95);
        add_settings(columns, table, g_ptr_array_index(table->points, i));
        spate_columns_take(columns, spate_figure_text(row != NULL ? row->mean : NAN, its));
        if (!isnan(ci95.low))
            spate_columns_take(columns, spate_interval_text(ci95, its));
        spate_columns_end_line(columns);
    }
    append_heading(text, block->first);
    spate_columns_append(text, columns, 2);
}

bool
spate_sweep_table(SpateStore *store, SpateTextSink sink, gpointer user, GError **error)
{
    g_auto(Table) table = {0};
    if (!read_table(&table, store, error))
        return false;
    g_autoptr(GString) text = g_string_new(table.one_layout ? SPATE_ONE_LAYOUT_WORDS "\n\n" : NULL);
    for (guint i = 0; i < table.blocks->len; i++) {
        g_string_append(text, i > 0 ? "\n" : "");
        append_block(text, &table, &g_array_index(table.blocks, Block, i));
        sink(user, text->str, text->len);
        g_string_truncate(text, 0);
    }
    return true;
}
