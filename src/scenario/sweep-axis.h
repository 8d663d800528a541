/* sweep-axis.h - one thing that a sweep varies, and the values that it takes
 *
 * Values are texts as `--set PATH=VALUE` takes them.  Those that are counted from one number to
 * another are counted in decimals, so that ten steps of 0.1 are 1.
 */
#pragma once

#include <glib.h>
#include <stdint.h>

typedef struct {
    char *path;
    uint32_t n_values;
    char **values; /* NULL: counted */
    double from, step;
    int decimals;
    char *unit; /* "" without */
} SpateSweepAxis;

/* A sweep has at most so many of them. */
#define SPATE_SWEEP_MAX_AXES 16

void spate_sweep_axis_clear(SpateSweepAxis *axis);

/* Free with g_free(). */
char *spate_sweep_axis_value(const SpateSweepAxis *axis, uint32_t number);
