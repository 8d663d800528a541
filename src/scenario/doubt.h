/* doubt.h - an uncertain number
 *
 * Each replication draws one anew between its bounds, evenly; whole numbers where the scenario
 * takes no others.  A draw depends on the seed, the replication and the path alone, so all variants
 * of a replication are compared in the same world.
 */
#pragma once

#include "scenario/text/faults.h"
#include <stdint.h>

typedef struct {
    char *path;
    SpatePlace place;
    double low, high;
    char *unit;    /* as written after both; "" without */
    bool is_whole; /* drawn among whole numbers */
    bool is_fixed; /* not drawn: a variant or a setting says what it is */
} SpateDoubt;

/* A scenario has at most so many of them. */
#define SPATE_MOST_DOUBTS 32

void spate_doubt_clear(SpateDoubt *doubt);

/* What a replication draws, in the doubt's unit: five digits of the distance between its bounds. */
double spate_doubt_value(const SpateDoubt *doubt, uint64_t seed, uint32_t replication);
/* A value as a scenario takes it: "3.1", "12 dB".  Free with g_free(). */
char *spate_doubt_text(const SpateDoubt *doubt, double value);
