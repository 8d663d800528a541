/* json.c - a result as JSON: spate-result/1, docs/result-format.md
 *
 * Keys come in a fixed order and numbers in their shortest form, so that equal results are
 * equal bytes.  A library writer would not promise either.
 */
#include "report/formats.h"

#include "core/time.h"
#include "report/doubt-words.h"
#include "report/json-text.h"
#include "report/numbers.h"
#include "report/run-words.h"
#include <math.h>

static void
append_key(GString *text, const char *key)
{
    g_string_append_printf(text, ", \"%s\": ", key);
}

/* Nothing where the dimension does not apply. */
static void
append_dimension(GString *text, const char *key, const char *name)
{
    if (name == NULL)
        return;
    append_key(text, key);
    spate_append_json_string(text, name);
}

/* "measure": ..., and what it is counted by */
static void
append_names(GString *text, const SpateResultRow *row)
{
    g_string_append(text, "\"measure\": ");
    spate_append_json_string(text, spate_measure_info(row->measure)->name);
    append_dimension(text, "traffic", row->traffic);
    append_dimension(text, "bearer", row->bearer);
    append_dimension(text, "node", row->node);
    append_dimension(text, "bridge", row->bridge);
    append_dimension(text, "to", row->to);
}

static void
append_row(GString *text, const SpateResultRow *row, uint32_t n_replications)
{
    g_string_append(text, "    {");
    append_names(text, row);
    append_key(text, "unit");
    spate_append_json_string(text, spate_unit_name(spate_measure_info(row->measure)->unit));
    append_key(text, "mean");
    spate_append_number(text, row->mean);
    append_key(text, "ci95");
    spate_append_json_interval(text, row->ci95);
    append_key(text, "n");
    g_string_append_printf(text, "%u, \"values\": [", row->n);
    for (uint32_t i = 0; i < n_replications; i++) {
        if (i > 0)
            g_string_append(text, ", ");
        spate_append_number(text, row->values[i]);
    }
    g_string_append(text, "]}");
}

static void
append_variant(GString *text, const SpateResultVariant *variant, uint32_t n_replications)
{
    g_string_append(text, "  {\"name\": ");
    spate_append_json_string(text, variant->name);
    g_string_append(text, ", \"measures\": [");
    for (size_t i = 0; i < variant->n_rows; i++) {
        g_string_append(text, i > 0 ? ",\n" : "\n");
        append_row(text, &variant->rows[i], n_replications);
    }
    g_string_append(text, "]}");
}

static void
append_difference(GString *text, const SpateDifference *difference)
{
    g_string_append(text, "  {\"variant\": ");
    spate_append_json_string(text, difference->variant);
    append_dimension(text, "versus", difference->versus);
    g_string_append(text, ", ");
    append_names(text, difference->row);
    append_key(text, "mean");
    spate_append_number(text, difference->mean);
    append_key(text, "ci95");
    spate_append_json_interval(text, difference->ci95);
    append_key(text, "n");
    g_string_append_printf(text, "%u}", difference->n);
}

void
spate_report_json(GString *text, const SpateResult *result, const SpateDetailReport *detail)
{
    g_string_append(text, "{\"format\": \"spate-result/1\"");
    append_dimension(text, "command", result->command);
    append_dimension(text, "version", SPATE_VERSION);
    g_string_append(text, ",\n \"scenario\": {\"title\": ");
    spate_append_json_string(text, result->title != NULL ? result->title : "");
    append_dimension(text, "sha256", result->sha256);
    g_string_append_printf(text, "}, \"seed\": %" G_GUINT64_FORMAT ", \"replications\": %u",
                           (guint64)result->seed, result->n_replications);
    append_key(text, "duration_s");
    spate_append_number(text, (double)result->duration_ns / (double)SPATE_NS_PER_S);
    append_key(text, "warm_up_s");
    spate_append_number(text, (double)result->warm_up_ns / (double)SPATE_NS_PER_S);
    if (result->interrupted)
        g_string_append(text, ", \"interrupted\": true");
    spate_append_layout_json(text, result->one_layout);
    spate_doubt_append_result_json(text, result);
    g_string_append(text, ",\n \"variants\": [");
    for (size_t i = 0; i < result->n_variants; i++) {
        g_string_append(text, i > 0 ? ",\n" : "\n");
        append_variant(text, &result->variants[i], result->n_replications);
    }
    g_string_append(text, "],\n \"differences\": [");
    for (size_t i = 0; i < result->n_differences; i++) {
        g_string_append(text, i > 0 ? ",\n" : "\n");
        append_difference(text, &result->differences[i]);
    }
    g_string_append_c(text, ']');
    if (detail != NULL) {
        g_string_append(text, ",\n \"detail\": ");
        spate_detail_append_json(text, detail);
    }
    g_string_append(text, "}\n");
}
