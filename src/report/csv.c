/* csv.c - a result as comma-separated values (RFC 4180, with plain line feeds)
 *
 * One row for each measure of each variant and for each difference; empty where a value or a
 * dimension does not apply.
 */
#include "report/formats.h"

#include "report/csv-text.h"

static void
append_line(GString *text, const char *kind, const char *variant, const char *versus,
            const SpateResultRow *row, double mean, SpateInterval ci95, uint32_t n)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    g_string_append(text, kind);
    spate_append_csv_field(text, variant);
    spate_append_csv_field(text, versus);
    spate_append_csv_field(text, info->name);
    spate_append_csv_field(text, row->traffic);
    spate_append_csv_field(text, row->bearer);
    spate_append_csv_field(text, row->node);
    spate_append_csv_field(text, row->bridge);
    spate_append_csv_field(text, row->to);
    spate_append_csv_field(text, spate_unit_name(info->unit));
    spate_append_csv_number(text, mean);
    spate_append_csv_number(text, ci95.low);
    spate_append_csv_number(text, ci95.high);
    g_string_append_printf(text, ",%u\n", n);
}

void
spate_report_csv(GString *text, const SpateResult *result)
{
    g_string_append(text, "kind,variant,versus,measure,traffic,bearer,node,bridge,to,unit,mean,"
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
