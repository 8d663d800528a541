/* store-runs.c - finished runs go into a store, and come out as rows of a result */
#include "study/sweep/store-private.h"

#include "study/run/summary.h"
#include <math.h>
#include <string.h>

/* ---- names of rows --------------------------------------------------------------------------- */

bool
spate_store_name_row(SpateResultRow *row, SpateStatement *statement, int column)
{
    int measure = 0;
    while (measure < SPATE_N_MEASURES && g_strcmp0(spate_measure_info((SpateMeasure)measure)->name,
                                                   spate_sql_text(statement, column)) != 0)
        measure++;
    if (measure == SPATE_N_MEASURES)
        return false;
    row->measure = (SpateMeasure)measure;
    row->traffic = g_strdup(spate_sql_text(statement, column + 1));
    row->bearer = g_strdup(spate_sql_text(statement, column + 2));
    char **node = row->traffic != NULL ? &row->to : &row->node;
    *node = g_strdup(spate_sql_text(statement, column + 3));
    row->bridge = g_strdup(spate_sql_text(statement, column + 4));
    return true;
}

const char *
spate_store_node(const SpateResultRow *row)
{
    return row->to != NULL ? row->to : row->node;
}

static void
bind_names(SpateStatement *statement, const SpateResultRow *row)
{
    spate_sql_bind_text(statement, 1, spate_measure_info(row->measure)->name);
    spate_sql_bind_text(statement, 2, row->traffic);
    spate_sql_bind_text(statement, 3, row->bearer);
    spate_sql_bind_text(statement, 4, spate_store_node(row));
    spate_sql_bind_text(statement, 5, row->bridge);
}

bool
spate_store_find_measure(SpateStore *store, const SpateResultRow *row, int64_t *number,
                         GError **error)
{
    g_autoptr(SpateStatement) find = spate_sql_prepare(
        &store->sql,
        "SELECT measure FROM measures WHERE name IS ? AND traffic IS ? AND bearer IS ?"
        " AND node IS ? AND bridge IS ?",
        error);
    if (find == NULL)
        return false;
    bind_names(find, row);
    if (spate_sql_next(&store->sql, find, error)) {
        *number = sqlite3_column_int64(find, 0);
        return true;
    }
    if (!store->sql.is_done)
        return false;
    g_autoptr(SpateStatement) add =
        spate_sql_prepare(&store->sql,
                          "INSERT INTO measures (name, traffic, bearer, node, bridge, unit) VALUES "
                          "(?, ?, ?, ?, ?, ?)",
                          error);
    if (add == NULL)
        return false;
    bind_names(add, row);
    spate_sql_bind_text(add, 6, spate_unit_name(spate_measure_info(row->measure)->unit));
    if (!spate_sql_finish(&store->sql, add, error))
        return false;
    *number = sqlite3_last_insert_rowid(store->sql.handle);
    uint64_t hash = spate_store_hash_measure(spate_measure_info(row->measure)->name, row->traffic,
                                             row->bearer, spate_store_node(row), row->bridge);
    g_array_append_val(store->measures, hash);
    g_assert(*number == store->measures->len);
    return true;
}

/* ---- adding ---------------------------------------------------------------------------------- */

static bool
keep_statement(SpateStore *store, SpateStatement **kept, const char *text, GError **error)
{
    if (*kept == NULL)
        *kept = spate_sql_prepare(&store->sql, text, error);
    return *kept != NULL;
}

static uint64_t
hash_of(const SpateStore *store, int64_t measure)
{
    g_assert(measure >= 1 && measure <= store->measures->len);
    return g_array_index(store->measures, uint64_t, measure - 1);
}

bool
spate_store_forget_sums(SpateStore *store, uint32_t point, GError **error)
{
    if (!keep_statement(store, &store->list_sums,
                        "SELECT measure, mean, ci95_low, ci95_high, n FROM sums WHERE point = ?",
                        error) ||
        !keep_statement(store, &store->forget_sums, "DELETE FROM sums WHERE point = ?", error))
        return false;
    SpateStatement *sums = store->list_sums;
    spate_sql_bind_whole(sums, 1, point);
    bool has_any = false;
    while (spate_sql_next(&store->sql, sums, error)) {
        const SpateInterval ci95 = {spate_sql_number(sums, 2), spate_sql_number(sums, 3)};
        store->row_sum -=
            spate_store_hash_summed(point, hash_of(store, sqlite3_column_int64(sums, 0)),
                                    spate_sql_number(sums, 1), ci95, sqlite3_column_int64(sums, 4));
        has_any = true;
    }
    sqlite3_reset(sums);
    if (!store->sql.is_done || !has_any)
        return store->sql.is_done;
    spate_sql_bind_whole(store->forget_sums, 1, point);
    return spate_sql_finish(&store->sql, store->forget_sums, error);
}

bool
spate_store_add_run_alone(SpateStore *store, uint32_t point, uint32_t replication, GError **error)
{
    if (!keep_statement(store, &store->add_run, "INSERT INTO runs VALUES (?, ?)", error))
        return false;
    spate_sql_bind_whole(store->add_run, 1, point);
    spate_sql_bind_whole(store->add_run, 2, replication);
    store->row_sum += spate_store_hash_run(point, replication);
    return spate_sql_finish(&store->sql, store->add_run, error);
}

bool
spate_store_add_sample(SpateStore *store, uint32_t point, int64_t measure, uint32_t replication,
                       const SpateMeasureValue *value, GError **error)
{
    if (!keep_statement(store, &store->add_sample, "INSERT INTO samples VALUES (?, ?, ?, ?, ?, ?)",
                        error))
        return false;
    SpateStatement *add = store->add_sample;
    spate_sql_bind_whole(add, 1, point);
    spate_sql_bind_whole(add, 2, measure);
    spate_sql_bind_whole(add, 3, replication);
    spate_sql_bind_number(add, 4, value->value);
    spate_sql_bind_number(add, 5, value->count);
    spate_sql_bind_number(add, 6, value->of);
    store->row_sum += spate_store_hash_sample(point, hash_of(store, measure), replication, value);
    return spate_sql_finish(&store->sql, add, error);
}

bool
spate_store_add_run(SpateStore *store, const SpateStoreRun *run, GError **error)
{
    if (!spate_store_forget_sums(store, run->point, error) ||
        !spate_store_add_run_alone(store, run->point, run->replication, error))
        return false;
    for (size_t i = 0; i < run->n_values; i++)
        if (!spate_store_add_sample(store, run->point, run->measures[i], run->replication,
                                    &run->values[i], error))
            return false;
    return true;
}

/* ---- reading --------------------------------------------------------------------------------- */

bool
spate_store_each_run(SpateStore *store, SpateStoreEach each, gpointer user, GError **error)
{
    g_autoptr(SpateStatement) runs = spate_sql_prepare(
        &store->sql, "SELECT point, replication FROM runs ORDER BY point, replication", error);
    while (spate_sql_next(&store->sql, runs, error))
        each(user, (uint32_t)sqlite3_column_int64(runs, 0),
             (uint32_t)sqlite3_column_int64(runs, 1));
    return store->sql.is_done;
}

bool
spate_store_extent(SpateStore *store, SpateStoreExtent *extent, GError **error)
{
    *extent = (SpateStoreExtent){0};
    g_autoptr(GArray) counts = g_array_new(FALSE, TRUE, sizeof(uint32_t));
    if (!spate_store_count_points(store, &extent->n_points, error))
        return false;
    g_array_set_size(counts, extent->n_points);
    g_autoptr(SpateStatement) runs =
        spate_sql_prepare(&store->sql, "SELECT point, count(*) FROM runs GROUP BY point", error);
    while (spate_sql_next(&store->sql, runs, error))
        g_array_index(counts, uint32_t, sqlite3_column_int64(runs, 0)) =
            (uint32_t)sqlite3_column_int64(runs, 1);
    if (!store->sql.is_done)
        return false;
    for (uint32_t i = 0; i < extent->n_points; i++)
        extent->most = MAX(extent->most, g_array_index(counts, uint32_t, i));
    for (uint32_t i = 0; i < extent->n_points; i++) {
        uint32_t n_runs = g_array_index(counts, uint32_t, i);
        bool has_few = n_runs > 0 && n_runs < extent->most;
        extent->n_runs += n_runs;
        extent->n_begun += n_runs > 0;
        extent->n_few += has_few;
        if (n_runs == 0 && extent->n_listed_missing < SPATE_STORE_MOST_LISTED)
            extent->missing[extent->n_listed_missing++] = i;
        if (has_few && extent->n_listed_few < SPATE_STORE_MOST_LISTED)
            extent->few[extent->n_listed_few++] = i;
    }
    return true;
}

char **
spate_store_paths(SpateStore *store, GError **error)
{
    g_autoptr(SpateStatement) paths =
        spate_sql_prepare(&store->sql, "SELECT name FROM paths ORDER BY path", error);
    g_autoptr(GStrvBuilder) names = g_strv_builder_new();
    while (spate_sql_next(&store->sql, paths, error))
        g_strv_builder_add(names, spate_sql_some_text(paths, 0));
    return store->sql.is_done ? g_strv_builder_end(names) : NULL;
}

bool
spate_store_count_points(SpateStore *store, uint32_t *n_points, GError **error)
{
    int64_t n = 0;
    if (!spate_sql_ask(&store->sql, "SELECT count(*) FROM points", &n, error))
        return false;
    *n_points = (uint32_t)CLAMP(n, 0, SPATE_DESIGN_MAX_POINTS);
    return true;
}

void
spate_store_point_free(SpateStorePoint *point)
{
    if (point == NULL)
        return;
    for (size_t i = 0; i < point->n_rows; i++)
        spate_result_row_clear(&point->rows[i]);
    g_free(point->rows);
    g_free(point->variant);
    g_strfreev(point->paths);
    g_strfreev(point->values);
    g_free(point);
}

/* By bearer, bridge, node, traffic, traffic and recipient, traffic and bearer: as a run orders
 * them. */
static int
kind_of_row(const SpateResultRow *row)
{
    if (row->traffic != NULL)
        return row->bearer != NULL ? 5 : row->to != NULL ? 4 : 3;
    return row->node != NULL ? 2 : row->bridge != NULL ? 1 : 0;
}

static int
compare_rows(gconstpointer a, gconstpointer b)
{
    const SpateResultRow *first = a, *second = b;
    if (first->measure != second->measure)
        return first->measure < second->measure ? -1 : 1;
    int order = kind_of_row(first) - kind_of_row(second);
    const char *const names[][2] = {{first->traffic, second->traffic},
                                    {first->bearer, second->bearer},
                                    {first->node, second->node},
                                    {first->bridge, second->bridge},
                                    {first->to, second->to}};
    for (size_t i = 0; order == 0 && i < G_N_ELEMENTS(names); i++)
        order = g_strcmp0(names[i][0], names[i][1]);
    return order;
}

/* How many of the statement's numbers (replications, ascending) follow each other from 0. */
static bool
count_without_gap(SpateStore *store, uint32_t point, uint32_t *n, GError **error)
{
    g_autoptr(SpateStatement) runs = spate_sql_prepare(
        &store->sql, "SELECT replication FROM runs WHERE point = ? ORDER BY replication", error);
    if (runs == NULL)
        return false;
    spate_sql_bind_whole(runs, 1, point);
    bool has_row = false;
    *n = 0;
    while ((has_row = spate_sql_next(&store->sql, runs, error)) &&
           sqlite3_column_int64(runs, 0) == *n)
        (*n)++;
    return has_row || store->sql.is_done;
}

static double *
without_values(uint32_t n)
{
    double *values = g_new(double, n);
    for (uint32_t i = 0; i < n; i++)
        values[i] = NAN;
    return values;
}

/* One sample: the columns are measure, replication, value, counted, out_of and the row's names.
 * False if the measure is unknown. */
static bool
take_sample(GArray *rows, SpateStatement *samples, uint32_t n_replications, int64_t *measure)
{
    if (rows->len == 0 || *measure != sqlite3_column_int64(samples, 0)) {
        SpateResultRow added = {0};
        if (!spate_store_name_row(&added, samples, 5))
            return false;
        g_array_append_val(rows, added);
        *measure = sqlite3_column_int64(samples, 0);
    }
    SpateResultRow *row = &g_array_index(rows, SpateResultRow, rows->len - 1);
    bool is_share = spate_measure_info(row->measure)->is_share;
    if (row->values == NULL) {
        row->values = without_values(n_replications);
        row->counts = is_share ? without_values(n_replications) : NULL;
        row->ofs = is_share ? without_values(n_replications) : NULL;
    }
    int64_t replication = sqlite3_column_int64(samples, 1);
    if (replication < 0 || replication >= n_replications)
        return true;
    row->values[replication] = spate_sql_number(samples, 2);
    if (is_share) {
        row->counts[replication] = spate_sql_number(samples, 3);
        row->ofs[replication] = spate_sql_number(samples, 4);
    }
    return true;
}

static bool
read_rows(SpateStore *store, SpateStorePoint *point, GError **error)
{
    g_autoptr(SpateStatement) samples = spate_sql_prepare(
        &store->sql,
        "SELECT measure, replication, value, counted, out_of, name, traffic, bearer, node, bridge"
        " FROM samples JOIN measures USING (measure) WHERE point = ?"
        " ORDER BY measure, replication",
        error);
    if (samples == NULL)
        return false;
    spate_sql_bind_whole(samples, 1, point->point);
    g_autoptr(GArray) rows = g_array_new(FALSE, FALSE, sizeof(SpateResultRow));
    g_array_set_clear_func(rows, (GDestroyNotify)spate_result_row_clear);
    int64_t measure = 0;
    while (point->n_replications > 0 && spate_sql_next(&store->sql, samples, error)) {
        if (take_sample(rows, samples, point->n_replications, &measure))
            continue;
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: it has a measure that this version of spate does not know",
                    store->sql.name);
        return false;
    }
    if (point->n_replications > 0 && !store->sql.is_done)
        return false;
    g_array_sort(rows, compare_rows);
    for (guint i = 0; i < rows->len; i++)
        spate_summary_of_row(&g_array_index(rows, SpateResultRow, i), point->n_replications);
    gsize n_rows = 0;
    point->rows = g_array_steal(rows, &n_rows);
    point->n_rows = n_rows;
    return true;
}

static bool
read_settings(SpateStore *store, SpateStorePoint *point, GError **error)
{
    g_autoptr(SpateStatement) settings = spate_sql_prepare(
        &store->sql,
        "SELECT name, value FROM settings JOIN paths USING (path) WHERE point = ? ORDER BY path",
        error);
    if (settings == NULL)
        return false;
    spate_sql_bind_whole(settings, 1, point->point);
    g_autoptr(GStrvBuilder) paths = g_strv_builder_new();
    g_autoptr(GStrvBuilder) values = g_strv_builder_new();
    while (spate_sql_next(&store->sql, settings, error)) {
        g_strv_builder_add(paths, spate_sql_some_text(settings, 0));
        g_strv_builder_add(values, spate_sql_some_text(settings, 1));
    }
    point->paths = g_strv_builder_end(paths);
    point->values = g_strv_builder_end(values);
    return store->sql.is_done;
}

static bool
read_variant(SpateStore *store, SpateStorePoint *point, GError **error)
{
    g_autoptr(SpateStatement) variant =
        spate_sql_prepare(&store->sql, "SELECT variant FROM points WHERE point = ?", error);
    if (variant == NULL)
        return false;
    spate_sql_bind_whole(variant, 1, point->point);
    if (spate_sql_next(&store->sql, variant, error))
        point->variant = g_strdup(spate_sql_some_text(variant, 0));
    else if (store->sql.is_done)
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN, "%s: point %u is missing",
                    store->sql.name, point->point);
    return point->variant != NULL;
}

SpateStorePoint *
spate_store_read_point(SpateStore *store, uint32_t number, GError **error)
{
    g_autoptr(SpateStorePoint) point = g_new0(SpateStorePoint, 1);
    point->point = number;
    if (!read_variant(store, point, error) || !read_settings(store, point, error) ||
        !count_without_gap(store, number, &point->n_replications, error) ||
        !read_rows(store, point, error))
        return NULL;
    return g_steal_pointer(&point);
}

/* ---- sums ------------------------------------------------------------------------------------ */

static bool
write_sum(SpateStore *store, SpateStatement *add, uint32_t point, const SpateResultRow *row,
          GError **error)
{
    int64_t measure = 0;
    if (!spate_store_find_measure(store, row, &measure, error))
        return false;
    spate_sql_bind_whole(add, 1, point);
    spate_sql_bind_whole(add, 2, measure);
    spate_sql_bind_number(add, 3, row->mean);
    spate_sql_bind_number(add, 4, row->ci95.low);
    spate_sql_bind_number(add, 5, row->ci95.high);
    spate_sql_bind_whole(add, 6, row->n);
    store->row_sum +=
        spate_store_hash_summed(point, hash_of(store, measure), row->mean, row->ci95, row->n);
    return spate_sql_finish(&store->sql, add, error);
}

bool
spate_store_sum_up(SpateStore *store, uint32_t number, GError **error)
{
    g_autoptr(SpateStorePoint) point = spate_store_read_point(store, number, error);
    if (point == NULL || !spate_store_forget_sums(store, number, error))
        return false;
    g_autoptr(SpateStatement) add =
        spate_sql_prepare(&store->sql, "INSERT INTO sums VALUES (?, ?, ?, ?, ?, ?)", error);
    for (size_t i = 0; add != NULL && i < point->n_rows; i++)
        if (!write_sum(store, add, number, &point->rows[i], error))
            return false;
    return add != NULL;
}

bool
spate_store_sum_up_all(SpateStore *store, GError **error)
{
    g_autoptr(GArray) points = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    SpateStatement *missing = spate_sql_prepare(
        &store->sql,
        "SELECT DISTINCT point FROM runs WHERE replication = 0"
        " AND NOT EXISTS (SELECT 1 FROM sums WHERE sums.point = runs.point) ORDER BY point",
        error);
    while (spate_sql_next(&store->sql, missing, error)) {
        uint32_t point = (uint32_t)sqlite3_column_int64(missing, 0);
        g_array_append_val(points, point);
    }
    sqlite3_finalize(missing); /* before the table changes */
    if (!store->sql.is_done)
        return false;
    for (guint i = 0; i < points->len; i++)
        if (!spate_store_sum_up(store, g_array_index(points, uint32_t, i), error))
            return false;
    return true;
}
