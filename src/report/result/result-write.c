/* result-write.c - a result as JSON, spate-result/1 (docs/result-format.md), and as comma-separated
 * values (RFC 4180, with plain line feeds)
 */
#include "report/report.h"

#include "report/result/result-form.h"

void
spate_report_append_detailed(GString *text, const SpateResult *result,
                             const SpateDetailReport *detail)
{
    g_autofree SpateDifferenceForm *differences =
        g_new(SpateDifferenceForm, result->n_differences + 1);
    g_autofree SpateDrawnForm *drawn = g_new(SpateDrawnForm, result->n_drawn + 1);
    SpateResultForm form = {.result = *result,
                            .differences = differences,
                            .n_differences = result->n_differences,
                            .drawn = result->n_drawn > 0 ? drawn : NULL,
                            .n_drawn = result->n_drawn,
                            .detail = detail};
    for (size_t i = 0; i < result->n_differences; i++)
        differences[i] = spate_difference_form(&result->differences[i]);
    for (size_t i = 0; i < result->n_drawn; i++) {
        char **end = g_new0(char *, result->n_variants + 1);
        drawn[i] = (SpateDrawnForm){result->drawn[i], end};
        for (size_t v = 0; v < result->n_variants; v++)
            if (result->variants[v].is_drawn[i])
                *end++ = result->variants[v].name;
    }
    spate_form_append(text, &SPATE_RESULT_FORM, &form);
    g_string_append_c(text, '\n');
    for (size_t i = 0; i < result->n_drawn; i++)
        g_free(drawn[i].variants);
}

/* One for each measure of each variant and for each difference; empty where a value or a dimension
 * does not apply. */
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
