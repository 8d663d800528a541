/* numbers.c - numbers as text, the same on every machine */
#include "document/numbers.h"

#include <math.h>
#include <string.h>

void
spate_append_number(GString *text, double value)
{
    char buffer[G_ASCII_DTOSTR_BUF_SIZE];
    if (!isfinite(value)) {
        g_string_append(text, "null");
        return;
    }
    if (value == rint(value) && fabs(value) < 1e15) {
        g_string_append_printf(text, "%" G_GINT64_FORMAT, (gint64)value);
        return;
    }
    static const char *const FORMATS[] = {"%.15g", "%.16g", "%.17g"};
    for (size_t i = 0; i < G_N_ELEMENTS(FORMATS); i++) {
        g_ascii_formatd(buffer, sizeof buffer, FORMATS[i], value);
        if (g_ascii_strtod(buffer, NULL) == value)
            break;
    }
    g_string_append(text, buffer);
}

int
spate_decimals_for(double largest)
{
    double size = fabs(largest);
    if (!isfinite(size) || size == 0.0)
        return 0;
    return (int)CLAMP(2.0 - floor(log10(size)), 0.0, 6.0);
}

/* What needs more is rounding of the machine's. */
#define MOST_DECIMALS 9

int
spate_decimals_to_tell(double low, double high, int decimals)
{
    double nearest = low > 0.0 ? low : high < 0.0 ? -high : NAN;
    for (int enough = decimals; enough <= MOST_DECIMALS; enough++)
        if (!(nearest <= 0.5 * pow(10.0, -enough)))
            return enough;
    return decimals;
}

void
spate_append_fixed(GString *text, double value, int decimals, gboolean sign)
{
    char format[16], buffer[G_ASCII_DTOSTR_BUF_SIZE * 8];
    if (!isfinite(value)) {
        g_string_append_c(text, '-');
        return;
    }
    g_snprintf(format, sizeof format, "%%.%df", decimals);
    g_ascii_formatd(buffer, sizeof buffer, format, value);
    /* -0.0 is 0.0 */
    if (buffer[0] == '-' && strspn(buffer + 1, "0.") == strlen(buffer + 1))
        memmove(buffer, buffer + 1, strlen(buffer));
    if (sign && buffer[0] != '-' && strspn(buffer, "0.") != strlen(buffer))
        g_string_append_c(text, '+');
    g_string_append(text, buffer);
}
