/* sweep-report.c - what a store holds, as CSV and JSON */
#include "report/sweep/sweep-report.h"

#include "document/csv-text.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/words/run-words.h"
#include <math.h>

typedef struct {
    SpateStore *store;
    char **paths;
    uint32_t n_points;
    SpateTextSink sink;
    gpointer user;
} Report;

static void
pour(const Report *report, GString *text)
{
    report->sink(report->user, text->str, text->len);
    g_string_truncate(text, 0);
}

/* NULL where the point leaves the scenario as it is. */
static const char *
find_value(const SpateStorePoint *point, const char *path)
{
    for (size_t i = 0; point->paths[i] != NULL; i++)
        if (g_str_equal(point->paths[i], path))
            return point->values[i];
    return NULL;
}

/* ---- CSV ------------------------------------------------------------------------------------- */

static void
append_csv_row(GString *text, const Report *report, const SpateStorePoint *point,
               const SpateResultRow *row)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    g_string_append_printf(text, "%u", point->point);
    spate_append_csv_field(text, point->variant);
    for (size_t i = 0; report->paths[i] != NULL; i++)
        spate_append_csv_field(text, find_value(point, report->paths[i]));
    g_string_append_printf(text, ",%u", point->n_replications);
    spate_append_csv_field(text, info->name);
    spate_append_csv_field(text, row->traffic);
    spate_append_csv_field(text, row->bearer);
    spate_append_csv_field(text, row->node);
    spate_append_csv_field(text, row->bridge);
    spate_append_csv_field(text, row->to);
    spate_append_csv_field(text, spate_unit_name(info->unit));
    spate_append_csv_number(text, row->mean);
    spate_append_csv_number(text, row->ci95.low);
    spate_append_csv_number(text, row->ci95.high);
    g_string_append_printf(text, ",%u\n", row->n);
}

static bool
report_csv(const Report *report, GError **error)
{
    g_autoptr(GString) text = g_string_new("point,variant");
    for (size_t i = 0; report->paths[i] != NULL; i++)
        spate_append_csv_field(text, report->paths[i]);
    g_string_append(text, ",replications,measure,traffic,bearer,node,bridge,to,unit,mean,ci95_low,"
                          "ci95_high,n\n");
    for (uint32_t i = 0; i < report->n_points; i++) {
        g_autoptr(SpateStorePoint) point = spate_store_read_point(report->store, i, error);
        if (point == NULL)
            return false;
        for (size_t k = 0; k < point->n_rows; k++)
            append_csv_row(text, report, point, &point->rows[k]);
        pour(report, text);
    }
    if (text->len > 0)
        pour(report, text);
    return true;
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static void
append_member(GString *text, const char *key, const char *value)
{
    if (value == NULL)
        return;
    g_string_append_printf(text, ", \"%s\": ", key);
    spate_append_json_string(text, value);
}

static void
append_json_row(GString *text, const SpateResultRow *row, uint32_t n_replications)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    g_string_append(text, "    {\"measure\": ");
    spate_append_json_string(text, info->name);
    append_member(text, "traffic", row->traffic);
    append_member(text, "bearer", row->bearer);
    append_member(text, "node", row->node);
    append_member(text, "bridge", row->bridge);
    append_member(text, "to", row->to);
    append_member(text, "unit", spate_unit_name(info->unit));
    g_string_append(text, ", \"mean\": ");
    spate_append_number(text, row->mean);
    g_string_append(text, ", \"ci95\": ");
    spate_append_json_interval(text, row->ci95);
    g_string_append_printf(text, ", \"n\": %u, \"values\": [", row->n);
    for (uint32_t i = 0; i < n_replications; i++) {
        g_string_append(text, i > 0 ? ", " : "");
        spate_append_number(text, row->values[i]);
    }
    g_string_append(text, "]}");
}

static void
append_json_point(GString *text, const SpateStorePoint *point)
{
    g_string_append_printf(text, "\n  {\"point\": %u", point->point);
    append_member(text, "variant", point->variant);
    g_string_append(text, ", \"settings\": {");
    for (size_t i = 0; point->paths[i] != NULL; i++) {
        g_string_append(text, i > 0 ? ", " : "");
        spate_append_json_string(text, point->paths[i]);
        g_string_append(text, ": ");
        spate_append_json_string(text, point->values[i]);
    }
    g_string_append_printf(text, "}, \"replications\": %u, \"measures\": [", point->n_replications);
    for (size_t i = 0; i < point->n_rows; i++) {
        g_string_append(text, i > 0 ? ",\n" : "\n");
        append_json_row(text, &point->rows[i], point->n_replications);
    }
    g_string_append(text, "]}");
}

static bool
append_json_head(GString *text, SpateStore *store, GError **error)
{
    bool one_layout = false;
    static const char *const KEYS[] = {"version", "title", "sha256"};
    g_string_append(text, "{\"format\": \"spate-sweep/1\"");
    for (size_t i = 0; i < G_N_ELEMENTS(KEYS); i++) {
        g_autofree char *value = spate_store_about(store, KEYS[i], error);
        if (value == NULL)
            return false;
        g_string_append(text, i == 1 ? ",\n \"scenario\": {" : ", ");
        g_string_append_printf(text, "\"%s\": ", KEYS[i]);
        spate_append_json_string(text, value);
    }
    g_autofree char *settings = spate_store_about(store, "settings", error);
    if (settings == NULL || !spate_store_is_of_one_layout(store, &one_layout, error))
        return false;
    g_auto(GStrv) lines = g_strsplit(settings, "\n", -1);
    g_string_append(text, "}, \"set\": [");
    for (size_t i = 0; lines[i] != NULL; i++) {
        g_string_append(text, i > 0 ? ", " : "");
        spate_append_json_string(text, lines[i]);
    }
    g_string_append_c(text, ']');
    spate_append_layout_json(text, one_layout);
    g_string_append(text, ",\n \"points\": [");
    return true;
}

static bool
report_json(const Report *report, GError **error)
{
    g_autoptr(GString) text = g_string_new(NULL);
    if (!append_json_head(text, report->store, error))
        return false;
    for (uint32_t i = 0; i < report->n_points; i++) {
        g_autoptr(SpateStorePoint) point = spate_store_read_point(report->store, i, error);
        if (point == NULL)
            return false;
        g_string_append(text, i > 0 ? "," : "");
        append_json_point(text, point);
        pour(report, text);
    }
    g_string_append(text, "]}\n");
    pour(report, text);
    return true;
}

bool
spate_sweep_report(SpateStore *store, SpateFormat format, SpateTextSink sink, gpointer user,
                   GError **error)
{
    g_auto(GStrv) paths = spate_store_paths(store, error);
    Report report = {.store = store, .paths = paths, .sink = sink, .user = user};
    if (paths == NULL || !spate_store_count_points(store, &report.n_points, error))
        return false;
    switch (format) {
    case SPATE_FORMAT_TABLE:
        return spate_sweep_table(store, sink, user, error);
    case SPATE_FORMAT_JSON:
        return report_json(&report, error);
    case SPATE_FORMAT_CSV:
        return report_csv(&report, error);
    }
    g_assert_not_reached();
}
