/* advise-price-report.c - what every traffic loses or gains by advice, as text */
#include "report/advise/advise-price-report.h"

#include "document/csv-text.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/advise/advise-words.h"
#include "report/words/columns.h"
#include <math.h>
#include <string.h>

static const char *
name_of(const SpateAdvice *advice, const SpateAdvisePrice *price)
{
    return advice->scenario->traffics[price->traffic].name;
}

static bool
is_treated(const SpateAdvice *advice, const SpateAdvisePrice *price)
{
    for (guint i = 0; i < advice->chosen->len; i++) {
        guint stream = g_array_index(advice->chosen, guint, i);
        if (spate_advise_stream(advice, stream)->traffic == price->traffic)
            return true;
    }
    return false;
}

/* ---- for people ------------------------------------------------------------------------------ */

static const char *
treatment(const SpateAdvice *advice)
{
    if (advice->one_of == 0)
        return " (held back)";
    return advice->gentle == SPATE_ADVISE_LIMIT ? " (limited)" : " (thinned)";
}

static char *
change_text(const SpateAdvisePrice *price, double factor, int decimals)
{
    SpateInterval ci95 = price->change.ci95;
    g_autofree char *text = spate_estimate_text(&price->change, factor, decimals, TRUE);
    return g_strconcat(text, ci95.low > 0.0 || ci95.high < 0.0 ? " *" : "  ", NULL);
}

static void
add_price(SpateColumns *columns, const SpateAdvice *advice, const SpateAdvisePrice *price,
          bool is_first)
{
    const SpateMeasureInfo *info = spate_measure_info(price->measure);
    bool is_percent = info->unit == SPATE_UNIT_RATIO;
    double factor = is_percent ? 100.0 : 1.0;
    double largest = fmax(price->before.mean, price->after.mean);
    int decimals = is_percent ? 1 : spate_decimals_for(largest);
    const char *name = is_first ? name_of(advice, price) : "";
    const char *mark = is_first && is_treated(advice, price) ? treatment(advice) : "";
    spate_columns_take(columns, g_strdup_printf("%s%s", name, mark));
    spate_columns_take(columns, g_strdup_printf("%s, %s", info->name,
                                                is_percent ? "%" : spate_unit_name(info->unit)));
    spate_columns_take(columns, spate_number_fixed(price->before.mean * factor, decimals));
    spate_columns_take(columns, spate_number_fixed(price->after.mean * factor, decimals));
    spate_columns_take(columns, change_text(price, factor, decimals));
    spate_columns_end_line(columns);
}

void
spate_advise_append_prices(GString *text, const SpateAdvice *advice)
{
    static const char *const HEADS[] = {"traffic", "measure", "as it is", "with the rules",
                                        "change [95 % interval]  "};
    if (advice->prices == NULL)
        return;
    g_autoptr(SpateColumns) columns = spate_columns_new();
    for (size_t i = 0; i < G_N_ELEMENTS(HEADS); i++)
        spate_columns_add(columns, HEADS[i]);
    spate_columns_end_line(columns);
    const SpateAdvisePrice *last = NULL;
    for (guint i = 0; i < advice->prices->len; i++) {
        const SpateAdvisePrice *price = &g_array_index(advice->prices, SpateAdvisePrice, i);
        add_price(columns, advice, price, last == NULL || last->traffic != price->traffic);
        last = price;
    }
    g_string_append(text,
                    "\nthe price: what each traffic loses or gains with these rules, on the same "
                    "replications, paired\n(* the interval excludes 0; each interval alone: about "
                    "one in twenty misleads where nothing changes;\nlatency is that of "
                    "what arrives)\n");
    spate_columns_append(text, columns, 2);
}

/* ---- for programs ---------------------------------------------------------------------------- */

void
spate_advise_append_json_prices(GString *text, const SpateAdvice *advice)
{
    g_string_append(text, ",\n \"prices\": ");
    if (advice->prices == NULL) {
        g_string_append(text, "null");
        return;
    }
    for (guint i = 0; i < advice->prices->len; i++) {
        const SpateAdvisePrice *price = &g_array_index(advice->prices, SpateAdvisePrice, i);
        const SpateMeasureInfo *info = spate_measure_info(price->measure);
        g_string_append(text, i > 0 ? ",\n  {\"traffic\": " : "[\n  {\"traffic\": ");
        spate_append_json_string(text, name_of(advice, price));
        g_string_append_printf(text, ", \"held_back\": %s",
                               is_treated(advice, price) ? "true" : "false");
        spate_append_json_member(text, "measure", info->name);
        spate_append_json_member(text, "unit", spate_unit_name(info->unit));
        g_string_append(text, ", \"before\": ");
        spate_estimate_append_json(text, &price->before);
        g_string_append(text, ", \"after\": ");
        spate_estimate_append_json(text, &price->after);
        g_string_append(text, ", \"change\": ");
        spate_estimate_append_json(text, &price->change);
        g_string_append_c(text, '}');
    }
    g_string_append(text, advice->prices->len > 0 ? "]" : "[]");
}

static const char *const NAMES[] = {"before", "after", "change"};

void
spate_advise_append_csv_price_head(GString *text)
{
    g_string_append(text, ",measure");
    for (size_t i = 0; i < G_N_ELEMENTS(NAMES); i++)
        g_string_append_printf(text, ",%s,%s_low,%s_high", NAMES[i], NAMES[i], NAMES[i]);
}

void
spate_advise_append_csv_no_price(GString *text)
{
    g_string_append_c(text, ',');
    for (size_t i = 0; i < G_N_ELEMENTS(NAMES); i++)
        g_string_append(text, ",,,");
}

void
spate_advise_append_csv_prices(GString *text, const SpateAdvice *advice)
{
    for (guint i = 0; advice->prices != NULL && i < advice->prices->len; i++) {
        const SpateAdvisePrice *price = &g_array_index(advice->prices, SpateAdvisePrice, i);
        g_string_append(text, "price,,");
        spate_append_csv_field(text, name_of(advice, price));
        g_string_append_c(text, ',');
        g_string_append(text, advice->people.is_named[price->traffic] ? ",yes" : ",no");
        g_string_append(text, is_treated(advice, price) ? ",yes" : ",no");
        g_string_append(text, ",,,,,,,,,,,,"); /* those of a stream */
        spate_append_csv_field(text, spate_measure_info(price->measure)->name);
        spate_append_csv_estimate(text, &price->before);
        spate_append_csv_estimate(text, &price->after);
        spate_append_csv_estimate(text, &price->change);
        g_string_append_c(text, '\n');
    }
}
