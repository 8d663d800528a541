/* scale.h - where a value is on the axis of a picture, and which round numbers mark it
 *
 * Ticks lie at 1, 2 or 5 times a power of ten, so that a reader can count them.  The ends are ticks
 * too: what is drawn lies between them.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>
#include <stddef.h>

#define SPATE_SCALE_TICKS 48

typedef struct {
    double low, high;
    bool is_log;
    double ticks[SPATE_SCALE_TICKS]; /* ascending; the first is low, the last is high */
    size_t n_ticks;
    int decimals; /* that tell the ticks apart; of a linear scale */
} SpateScale;

/* Holds low and high (low <= high, both finite) with `about` steps or fewer, and at most two more;
 * about is 1 to 20. */
SpateScale spate_scale_linear(double low, double high, unsigned about);
/* Holds low and high (0 < low <= high) between powers of ten. */
SpateScale spate_scale_log(double low, double high);
/* 0 at the low end to 1 at the high end; what is beyond is at the end. */
double spate_scale_place(const SpateScale *scale, double value);
void spate_scale_append_tick(GString *text, const SpateScale *scale, size_t tick);
