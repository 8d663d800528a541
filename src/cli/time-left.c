/* time-left.c - how long a long study will take */
#include "cli/time-left.h"

#include <math.h>

/* What is as long ago counts a third; longer where so few runs finish in that time that their
 * number would say nothing. */
#define MEMORY_S    60.0
#define MEMORY_RUNS 16.0
/* Runs of threads side by side end in bunches: some are to be seen before anything is said. */
#define LEAST_RUNS 2.0

void
cli_time_left_init(CliTimeLeft *left, double at_s, uint32_t done)
{
    *left = (CliTimeLeft){.at_s = at_s, .done = done};
}

void
cli_time_left_note(CliTimeLeft *left, double at_s, uint32_t done)
{
    double passed_s = at_s - left->at_s;
    double run_s = left->runs > 0.0 ? left->spent_s / left->runs : 0.0;
    double keep = exp(-passed_s / fmax(MEMORY_S, MEMORY_RUNS * run_s));
    left->runs = left->runs * keep + (double)(done - left->done);
    left->spent_s = left->spent_s * keep + passed_s;
    left->at_s = at_s;
    left->done = done;
}

double
cli_time_left_s(const CliTimeLeft *left, uint32_t total)
{
    if (left->runs < LEAST_RUNS || left->spent_s <= 0.0)
        return -1.0;
    return (double)(total - left->done) * left->spent_s / left->runs;
}
