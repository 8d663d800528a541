/* json-text.c - strings, intervals and instants in JSON */
#include "document/json-text.h"

#include "core/time.h"
#include "document/numbers.h"
#include <math.h>

void
spate_append_json_string(GString *text, const char *string)
{
    g_string_append_c(text, '"');
    for (const char *c = string; *c != '\0'; c++) {
        if (*c == '"' || *c == '\\')
            g_string_append_printf(text, "\\%c", *c);
        else if ((unsigned char)*c < 0x20)
            g_string_append_printf(text, "\\u%04x", (unsigned)*c);
        else
            g_string_append_c(text, *c);
    }
    g_string_append_c(text, '"');
}

void
spate_append_json_interval(GString *text, SpateInterval interval)
{
    if (isnan(interval.low)) {
        g_string_append(text, "null");
        return;
    }
    g_string_append_c(text, '[');
    spate_append_number(text, interval.low);
    g_string_append(text, ", ");
    spate_append_number(text, interval.high);
    g_string_append_c(text, ']');
}

void
spate_append_json_time(GString *text, gint64 time_ns)
{
    g_assert(time_ns >= 0);
    g_string_append_printf(text, "%" G_GINT64_FORMAT ".%09" G_GINT64_FORMAT,
                           time_ns / SPATE_NS_PER_S, time_ns % SPATE_NS_PER_S);
}
