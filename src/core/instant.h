/* instant.h - instants of a run as people read them
 *
 * Durations bear their unit (7.200 s); instants look like a clock, so that the two are never taken
 * for each other.  Numbers for machines stay in seconds or nanoseconds.
 */
#pragma once

#include <glib.h>
#include <stdint.h>

/* "1:18:30.994": hours, minutes, seconds and whole milliseconds since the start of the run, cut
 * off as a clock does.  at_ns must not be negative. */
void spate_append_instant(GString *text, int64_t at_ns);
