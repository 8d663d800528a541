/* figures.c - figures of a table, with the digits that they need */
#include "report/words/figures.h"

#include "document/numbers.h"
#include <math.h>

SpateShown
spate_shown_of(SpateMeasure measure, const SpateResultRow **rows, size_t n_rows)
{
    bool is_percent = spate_measure_info(measure)->unit == SPATE_UNIT_RATIO;
    SpateShown shown = {.factor = is_percent ? 100.0 : 1.0};
    double largest = 0.0;
    for (size_t i = 0; i < n_rows; i++)
        if (rows[i] != NULL && rows[i]->n > 0)
            largest = fmax(largest, fabs(rows[i]->mean * shown.factor));
    shown.decimals = spate_decimals_for(largest);
    if (is_percent)
        shown.decimals = CLAMP(shown.decimals, 1, 3);
    return shown;
}

SpateShown
spate_shown_for(SpateShown shown, SpateInterval interval)
{
    shown.decimals = spate_decimals_to_tell(interval.low * shown.factor,
                                            interval.high * shown.factor, shown.decimals);
    return shown;
}

char *
spate_figure_text(double value, SpateShown shown)
{
    GString *text = g_string_new(NULL);
    spate_append_fixed(text, value * shown.factor, shown.decimals, shown.sign);
    return g_string_free(text, FALSE);
}

char *
spate_interval_text(SpateInterval interval, SpateShown shown)
{
    if (isnan(interval.low))
        return NULL;
    g_autofree char *low = spate_figure_text(interval.low, shown);
    g_autofree char *high = spate_figure_text(interval.high, shown);
    return g_strdup_printf("[%s, %s]", low, high);
}

void
spate_append_unit(GString *text, const SpateMeasureInfo *measure)
{
    if (measure->unit == SPATE_UNIT_RATIO)
        g_string_append(text, ", %");
    else if (measure->unit != SPATE_UNIT_ONE)
        g_string_append_printf(text, ", %s", spate_unit_name(measure->unit));
}
