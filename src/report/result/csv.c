/* csv.c - a result as comma-separated values (RFC 4180, with plain line feeds)
 *
 * One row for each measure of each variant and for each difference; empty where a value or a
 * dimension does not apply.
 */
#include "report/formats.h"

#include "report/result/result-form.h"

typedef struct {
    const char *kind;
    SpateDifferenceForm of;
} Line;

static const SpateMember LINE[] = {
    {"kind", SPATE_CELL_TEXT, offsetof(Line, kind)},
    {"variant", SPATE_CELL_TEXT, offsetof(Line, of.variant)},
    {"versus", SPATE_CELL_TEXT, offsetof(Line, of.versus)},
    {NULL, SPATE_CELL_PARTS, offsetof(Line, of.row), .form = &SPATE_RESULT_COLUMNS},
};
static const SpateForm LINE_FORM = SPATE_FORM(Line, LINE);

void
spate_report_csv(GString *text, const SpateResult *result)
{
    spate_form_append_csv_head(text, &LINE_FORM);
    for (size_t v = 0; v < result->n_variants; v++) {
        const SpateResultVariant *variant = &result->variants[v];
        for (size_t i = 0; i < variant->n_rows; i++)
            spate_form_append_csv(text, &LINE_FORM,
                                  &(Line){"measure", {variant->name, NULL, variant->rows[i]}});
    }
    for (size_t i = 0; i < result->n_differences; i++)
        spate_form_append_csv(
            text, &LINE_FORM,
            &(Line){"difference", spate_difference_form(&result->differences[i])});
}
