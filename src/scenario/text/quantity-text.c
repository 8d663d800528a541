/* quantity-text.c - a value as a user would write it */
#include "scenario/text/quantity-units.h"

#include <math.h>
#include <string.h>

static double
size_of(const SpateUnit *unit)
{
    if (unit->ns != 0)
        return (double)unit->ns;
    double size = unit->tens >= 0 ? (double)spate_power_of_ten(unit->tens)
                                  : 1.0 / (double)spate_power_of_ten(-unit->tens);
    return unit->per != 0 ? size / unit->per : size;
}

/* In three decimals. */
static bool
is_short(const SpateUnit *unit, double value)
{
    double thousandths = value / size_of(unit) * 1000.0;
    return fabs(thousandths - rint(thousandths)) < 1e-6;
}

/* The largest unit of which the value is at least one, in three decimals; else the first, if it
 * takes no more than these; else the smallest. */
static const SpateUnit *
fitting_unit(const SpateUnit *units, double value)
{
    const SpateUnit *smallest = units, *fitting = NULL;
    for (const SpateUnit *unit = units; unit->name != NULL; unit++) {
        if (size_of(unit) < size_of(smallest))
            smallest = unit;
        if (fabs(value / size_of(unit)) >= 1.0 && is_short(unit, value) &&
            (fitting == NULL || size_of(unit) > size_of(fitting)))
            fitting = unit;
    }
    if (fitting != NULL)
        return fitting;
    return is_short(units, value) ? units : smallest;
}

/* Ten digits, without an exponent, which would not read back. */
static char *
number_text(double number)
{
    char text[400];
    g_ascii_formatd(text, sizeof text, "%.10g", number);
    if (strchr(text, 'e') == NULL)
        return g_strdup(text);
    g_ascii_formatd(text, sizeof text, fabs(number) < 1.0 ? "%.15f" : "%.0f", number);
    size_t length = strlen(text);
    while (strchr(text, '.') != NULL && (text[length - 1] == '0' || text[length - 1] == '.'))
        text[--length] = '\0';
    return g_strdup(text);
}

char *
spate_counted_text(double number, const char *unit, bool is_count, int digits)
{
    char format[16], text[G_ASCII_DTOSTR_BUF_SIZE];
    g_snprintf(format, sizeof format, "%%.%dg", digits);
    g_ascii_formatd(text, sizeof text, format, number);
    bool is_bare = unit[0] == '\0';
    const char *point = is_bare && !is_count && strpbrk(text, ".e") == NULL ? ".0" : "";
    return g_strconcat(text, point, is_bare ? "" : " ", unit, NULL);
}

char *
spate_quantity_text(double value, SpateDimension dimension)
{
    const SpateDimensionForm *of = spate_dimension_form(dimension);
    if (of->units == NULL)
        return number_text(value);
    if (value == 0 && dimension == SPATE_DIM_TIME)
        return g_strdup("0 s");
    /* Levels are in dBm: what is W or mW of them is another scale. */
    const SpateUnit *unit =
        dimension == SPATE_DIM_LEVEL || value == 0 ? &of->units[0] : fitting_unit(of->units, value);
    g_autofree char *number = number_text(
        unit->tens < 0 ? value * (double)spate_power_of_ten(-unit->tens) : value / size_of(unit));
    return g_strdup_printf("%s %s", number, unit->name);
}
