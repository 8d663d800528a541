/* json-text.h - strings, intervals and instants in JSON */
#pragma once

#include "core/statistics.h"
#include <glib.h>

/* In quotes, with what JSON does not allow in a string escaped; the text is UTF-8. */
void spate_append_json_string(GString *text, const char *string);
/* [low, high]; null for none. */
void spate_append_json_interval(GString *text, SpateInterval interval);
/* Seconds with nine decimals: exact, where a double would not be. */
void spate_append_json_time(GString *text, gint64 time_ns);
