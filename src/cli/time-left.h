/* time-left.h - how long a long study will take, from how fast it went lately
 *
 * Runs that took place before are not counted, and what is long ago counts less: points of a sweep
 * may take longer and longer.
 */
#pragma once

#include <stdint.h>

typedef struct {
    double at_s; /* of the last note */
    uint32_t done;
    double runs, spent_s; /* both faded */
} CliTimeLeft;

/* At the time at_s, counted from anywhere, that many runs are done already. */
void cli_time_left_init(CliTimeLeft *left, double at_s, uint32_t done);
void cli_time_left_note(CliTimeLeft *left, double at_s, uint32_t done);
/* Negative: not known yet. */
double cli_time_left_s(const CliTimeLeft *left, uint32_t total);
