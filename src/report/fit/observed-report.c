/* observed-report.c - measured levels beside those that a scenario predicts, as text */
#include "report/fit/observed-report.h"

#include "document/form.h"
#include "document/numbers.h"
#include "report/words/columns.h"
#include <math.h>

/* ---- for programs ---------------------------------------------------------------------------- */

static const SpateMember HEARD[] = {
    {"from", SPATE_CELL_TEXT, offsetof(SpateObservedRow, from)},
    {"to", SPATE_CELL_TEXT, offsetof(SpateObservedRow, to)},
    {"bearer", SPATE_CELL_TEXT, offsetof(SpateObservedRow, bearer)},
    {"observed_dbm", SPATE_CELL_NUMBER, offsetof(SpateObservedRow, observed_dbm), SPATE_OR_NULL},
    {"predicted_dbm", SPATE_CELL_NUMBER, offsetof(SpateObservedRow, predicted_dbm)},
    {"difference_db", SPATE_CELL_NUMBER, offsetof(SpateObservedRow, difference_db), SPATE_OR_NULL},
    {"margin_db", SPATE_CELL_NUMBER, offsetof(SpateObservedRow, margin_db)},
    {"given", SPATE_CELL_FLAG, offsetof(SpateObservedRow, is_given)},
    {"line", SPATE_CELL_WHOLE, offsetof(SpateObservedRow, line)},
};
static const SpateForm HEARD_FORM = SPATE_FORM(SpateObservedRow, HEARD);

static const SpateMember UNHEARD[] = {
    {"from", SPATE_CELL_TEXT, offsetof(SpateObservedRow, from)},
    {"to", SPATE_CELL_TEXT, offsetof(SpateObservedRow, to)},
    {"bearer", SPATE_CELL_TEXT, offsetof(SpateObservedRow, bearer)},
    {"predicted_dbm", SPATE_CELL_NUMBER, offsetof(SpateObservedRow, predicted_dbm)},
    {"margin_db", SPATE_CELL_NUMBER, offsetof(SpateObservedRow, margin_db)},
    {"given", SPATE_CELL_FLAG, offsetof(SpateObservedRow, is_given)},
    {"line", SPATE_CELL_WHOLE, offsetof(SpateObservedRow, line)},
};
static const SpateForm UNHEARD_FORM = SPATE_FORM(SpateObservedRow, UNHEARD);

typedef struct {
    const void *heard, *unheard;
    uint32_t n_heard, n_unheard;
    double bias_db, spread_db;
    SpateInterval bias_ci95, spread_ci95;
} Document;

static const SpateMember DOCUMENT[] = {
    {"observed", SPATE_CELL_LIST, SPATE_LIST(Document, heard, n_heard), .form = &HEARD_FORM,
     .each = "\n"},
    {"bias_db", SPATE_CELL_NUMBER, offsetof(Document, bias_db), SPATE_OR_NULL, .line = "\n"},
    {"bias_ci95", SPATE_CELL_INTERVAL, offsetof(Document, bias_ci95)},
    {"spread_db", SPATE_CELL_NUMBER, offsetof(Document, spread_db), SPATE_OR_NULL},
    {"spread_ci95", SPATE_CELL_INTERVAL, offsetof(Document, spread_ci95)},
    {"n", SPATE_CELL_WHOLE, offsetof(Document, n_heard)},
    {"unheard", SPATE_CELL_LIST, SPATE_LIST(Document, unheard, n_unheard), .form = &UNHEARD_FORM,
     .line = "\n", .each = "\n"},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

static void
append_json(GString *text, const SpateObserved *observed)
{
    const Document document = {
        .heard = spate_elements(observed->heard),
        .n_heard = observed->heard->len,
        .unheard = spate_elements(observed->unheard),
        .n_unheard = observed->unheard->len,
        .bias_db = observed->bias_db,
        .spread_db = observed->spread_db,
        .bias_ci95 = observed->bias_ci95,
        .spread_ci95 = observed->spread_ci95,
    };
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
}

static void
append_csv(GString *text, const SpateObserved *observed)
{
    spate_form_append_csv_head(text, &HEARD_FORM);
    for (guint i = 0; i < observed->heard->len; i++)
        spate_form_append_csv(text, &HEARD_FORM,
                              &g_array_index(observed->heard, SpateObservedRow, i));
    for (guint i = 0; i < observed->unheard->len; i++)
        spate_form_append_csv(text, &HEARD_FORM,
                              &g_array_index(observed->unheard, SpateObservedRow, i));
}

/* ---- for people ------------------------------------------------------------------------------ */

static void
take_figure(SpateColumns *columns, double value, bool sign)
{
    GString *figure = g_string_new(NULL);
    spate_append_fixed(figure, value, 1, sign);
    spate_columns_take(columns, g_string_free(figure, FALSE));
}

static void
add_row(SpateColumns *columns, const SpateObservedRow *row, bool is_heard)
{
    spate_columns_add(columns, row->bearer);
    spate_columns_add(columns, row->from);
    spate_columns_add(columns, row->to);
    if (is_heard)
        take_figure(columns, row->observed_dbm, false);
    take_figure(columns, row->predicted_dbm, false);
    take_figure(columns, is_heard ? row->difference_db : row->margin_db, true);
    spate_columns_add(columns, row->is_given           ? "given"
                               : is_heard              ? ""
                               : row->margin_db >= 0.0 ? "expected to be heard"
                                                       : "");
    spate_columns_end_line(columns);
}

static void
append_rows(GString *text, const GArray *rows, bool is_heard)
{
    static const char *const HEARD_HEADS[] = {
        "bearer", "from", "to", "observed, dBm", "predicted, dBm", "difference, dB", "", NULL};
    static const char *const UNHEARD_HEADS[] = {"bearer",     "from", "to", "predicted, dBm",
                                                "margin, dB", "",     NULL};
    g_autoptr(SpateColumns) columns = spate_columns_new(3);
    spate_columns_add_heads(columns, is_heard ? HEARD_HEADS : UNHEARD_HEADS);
    for (guint i = 0; i < rows->len; i++)
        add_row(columns, &g_array_index(rows, SpateObservedRow, i), is_heard);
    spate_columns_append(text, columns, 0);
}

static void
append_figure(GString *text, const char *label, double value, SpateInterval ci95, bool sign)
{
    g_string_append_printf(text, "%-12s ", label);
    spate_append_fixed(text, value, 1, sign);
    g_string_append(text, " dB");
    if (!isnan(ci95.low)) {
        g_string_append(text, ", 95 % interval [");
        spate_append_fixed(text, ci95.low, 1, sign);
        g_string_append(text, ", ");
        spate_append_fixed(text, ci95.high, 1, sign);
        g_string_append_c(text, ']');
    }
    g_string_append_c(text, '\n');
}

static void
append_table(GString *text, const SpateObserved *observed)
{
    g_string_append_printf(text,
                           "measured less predicted, of %u row%s with a level; predicted without "
                           "shadowing and fading\n",
                           observed->heard->len, observed->heard->len == 1 ? "" : "s");
    append_figure(text, "bias", observed->bias_db, observed->bias_ci95, true);
    append_figure(text, "spread", observed->spread_db, observed->spread_ci95, false);
    if (observed->n_given > 0)
        g_string_append_printf(
            text,
            "%zu rows are of links whose loss the scenario gives: those were not "
            "predicted\n",
            observed->n_given);
    g_string_append(text, "\nworst first:\n");
    append_rows(text, observed->heard, true);
    if (observed->unheard->len == 0)
        return;
    g_string_append_printf(text,
                           "\nnothing heard: %u row%s, in none of the figures above; %zu predicted "
                           "above the sensitivity\n",
                           observed->unheard->len, observed->unheard->len == 1 ? "" : "s",
                           observed->n_expected);
    append_rows(text, observed->unheard, false);
}

void
spate_observed_append(GString *text, const SpateObserved *observed, SpateFormat format)
{
    switch (format) {
    case SPATE_FORMAT_TABLE:
        append_table(text, observed);
        return;
    case SPATE_FORMAT_JSON:
        append_json(text, observed);
        return;
    case SPATE_FORMAT_CSV:
        append_csv(text, observed);
        return;
    }
    g_assert_not_reached();
}
