/* sweep-report.c - what a store holds, as CSV and JSON */
#include "report/sweep/sweep-report.h"

#include "document/csv-text.h"
#include "document/json-text.h"
#include "report/result/result-form.h"

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

const char *
spate_sweep_value(const SpateStorePoint *point, const char *path)
{
    for (size_t i = 0; point->paths[i] != NULL; i++)
        if (g_str_equal(point->paths[i], path))
            return point->values[i];
    return NULL;
}

/* ---- CSV ------------------------------------------------------------------------------------- */

static bool
report_csv(const Report *report, GError **error)
{
    g_autoptr(GString) text = g_string_new("point,variant");
    for (size_t i = 0; report->paths[i] != NULL; i++)
        spate_append_csv_field(text, report->paths[i]);
    g_string_append(text, ",replications");
    spate_form_append_csv_head(text, &SPATE_RESULT_COLUMNS);
    for (uint32_t i = 0; i < report->n_points; i++) {
        g_autoptr(SpateStorePoint) point = spate_store_read_point(report->store, i, error);
        if (point == NULL)
            return false;
        g_autoptr(GString) before = g_string_new(NULL);
        g_string_append_printf(before, "%u", point->point);
        spate_append_csv_field(before, point->variant);
        for (size_t k = 0; report->paths[k] != NULL; k++)
            spate_append_csv_field(before, spate_sweep_value(point, report->paths[k]));
        g_string_append_printf(before, ",%u", point->n_replications);
        for (size_t k = 0; k < point->n_rows; k++) {
            g_string_append(text, before->str);
            spate_form_append_csv(text, &SPATE_RESULT_COLUMNS, &point->rows[k]);
        }
        pour(report, text);
    }
    if (text->len > 0)
        pour(report, text);
    return true;
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static void
append_settings(GString *text, gconstpointer of)
{
    const SpateStorePoint *point = of;
    g_string_append_c(text, '{');
    for (size_t i = 0; point->paths[i] != NULL; i++) {
        g_string_append(text, i > 0 ? ", " : "");
        spate_append_json_string(text, point->paths[i]);
        g_string_append(text, ": ");
        spate_append_json_string(text, point->values[i]);
    }
    g_string_append_c(text, '}');
}

typedef struct {
    SpateStorePoint is;
    const SpateStorePoint *set; /* the same, for its settings */
} Point;

static const SpateMember POINT[] = {
    {"point", SPATE_CELL_WHOLE, offsetof(Point, is.point)},
    {"variant", SPATE_CELL_TEXT, offsetof(Point, is.variant)},
    {"settings", SPATE_CELL_OTHER, offsetof(Point, set), .append = append_settings},
    {"replications", SPATE_CELL_WHOLE, offsetof(Point, is.n_replications)},
    {"measures", SPATE_CELL_LIST, SPATE_LIST(Point, is.rows, is.n_rows), .form = &SPATE_RESULT_ROW,
     .each = "\n    "},
};
static const SpateForm POINT_FORM = {POINT, G_N_ELEMENTS(POINT), sizeof(Point),
                                     offsetof(Point, is.n_replications)};

/* What a store says of itself. */
enum { VERSION, TITLE, SHA256, SETTINGS, N_ABOUT };
static const char *const ABOUT[N_ABOUT] = {"version", "title", "sha256", "settings"};

/* All but the points. */
typedef struct {
    char *about[N_ABOUT];
    char **set;
    bool one_layout;
} Head;

static void
head_clear(Head *head)
{
    for (size_t i = 0; i < N_ABOUT; i++)
        g_free(head->about[i]);
    g_strfreev(head->set);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Head, head_clear)

static const SpateMember SCENARIO[] = {
    {"title", SPATE_CELL_TEXT, offsetof(Head, about[TITLE])},
    {"sha256", SPATE_CELL_TEXT, offsetof(Head, about[SHA256])},
};

static const SpateMember HEAD[] = {
    {"format", SPATE_CELL_FIXED, .fixed = "spate-sweep/1"},
    {"version", SPATE_CELL_TEXT, offsetof(Head, about[VERSION])},
    {"scenario", SPATE_CELL_OBJECT, SPATE_OF(Head, SCENARIO), .line = "\n "},
    {"set", SPATE_CELL_TEXTS, offsetof(Head, set)},
    {"one_layout", SPATE_CELL_FLAG, offsetof(Head, one_layout), SPATE_OR_ABSENT},
};
static const SpateForm HEAD_FORM = SPATE_FORM(Head, HEAD);

static bool
report_json(const Report *report, GError **error)
{
    g_autoptr(GString) text = g_string_new(NULL);
    g_auto(Head) head = {0};
    for (size_t i = 0; i < N_ABOUT; i++) {
        head.about[i] = spate_store_about(report->store, ABOUT[i], error);
        if (head.about[i] == NULL)
            return false;
    }
    if (!spate_store_is_of_one_layout(report->store, &head.one_layout, error))
        return false;
    head.set = g_strsplit(head.about[SETTINGS], "\n", -1);
    spate_form_append(text, &HEAD_FORM, &head);
    g_string_truncate(text, text->len - 1); /* it goes on with the points */
    g_string_append(text, ",\n \"points\": [");
    for (uint32_t i = 0; i < report->n_points; i++) {
        g_autoptr(SpateStorePoint) point = spate_store_read_point(report->store, i, error);
        if (point == NULL)
            return false;
        g_string_append(text, i > 0 ? ",\n  " : "\n  ");
        spate_form_append(text, &POINT_FORM, &(Point){*point, point});
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
