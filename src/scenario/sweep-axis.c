/* sweep-axis.c - one thing that a sweep varies */
#include "scenario/sweep-axis.h"

#include <math.h>
#include <stdbool.h>

void
spate_sweep_axis_clear(SpateSweepAxis *axis)
{
    for (uint32_t i = 0; axis->values != NULL && i < axis->n_values; i++)
        g_free(axis->values[i]);
    g_free(axis->values);
    g_free(axis->path);
    g_free(axis->unit);
}

char *
spate_sweep_axis_value(const SpateSweepAxis *axis, uint32_t number)
{
    g_assert(number < axis->n_values);
    if (axis->values != NULL)
        return g_strdup(axis->values[number]);
    char format[16], text[64];
    double value = axis->from + axis->step * number;
    g_snprintf(format, sizeof format, "%%.%df", axis->decimals);
    g_ascii_formatd(text, sizeof text, format, value);
    /* What rounds to nothing has no sign. */
    bool is_zero = g_ascii_strtod(text, NULL) == 0.0;
    return g_strdup_printf("%s%s%s", is_zero && text[0] == '-' ? text + 1 : text,
                           axis->unit[0] != '\0' ? " " : "", axis->unit);
}
