/* csv.c - a result as comma-separated values (RFC 4180, with plain line feeds)
 *
 * One row for each measure of each variant and for each difference; empty where a value or a
 * dimension does not apply.
 */
#include "report/formats.h"

#include "report/numbers.h"
#include <math.h>
#include <string.h>

static void
append_field(GString *text, const char *field)
{
    g_string_append_c(text, ',');
    if (field == NULL)
        return;
    if (strpbrk(field, ",\"\r\n") == NULL) {
        g_string_append(text, field);
        return;
    }
    g_string_append_c(text, '"');
    for (const char *c = field; *c != '\0'; c++) {
        if (*c == '"')
            g_string_append_c(text, '"');
        g_string_append_c(text, *c);
    }
    g_string_append_c(text, '"');
}

static void
append_value(GString *text, double value)
{
    g_string_append_c(text, ',');
    if (!isnan(value))
        spate_append_number(text, value);
}

static void
append_line(GString *text, const char *kind, const char *variant, const char *versus,
            const SpateResultRow *row, double mean, SpateInterval ci95, uint32_t n)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    g_string_append(text, kind);
    append_field(text, variant);
    append_field(text, versus);
    append_field(text, info->name);
    append_field(text, row->traffic);
    append_field(text, row->bearer);
    append_field(text, row->node);
    append_field(text, row->bridge);
    append_field(text, info->unit);
    append_value(text, mean);
    append_value(text, ci95.low);
    append_value(text, ci95.high);
    g_string_append_printf(text, ",%u\n", n);
}

void
spate_report_csv(GString *text, const SpateResult *result)
{
    g_string_append(text, "kind,variant,versus,measure,traffic,bearer,node,bridge,unit,mean,"
                          "ci95_low,ci95_high,n\n");
    for (size_t v = 0; v < result->n_variants; v++) {
        const SpateResultVariant *variant = &result->variants[v];
        for (size_t i = 0; i < variant->n_rows; i++) {
            const SpateResultRow *row = &variant->rows[i];
            append_line(text, "measure", variant->name, NULL, row, row->mean, row->ci95, row->n);
        }
    }
    for (size_t i = 0; i < result->n_differences; i++) {
        const SpateDifference *d = &result->differences[i];
        append_line(text, "difference", d->variant, d->versus, d->row, d->mean, d->ci95, d->n);
    }
}
