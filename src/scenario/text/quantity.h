/* quantity.h - numbers that bear their units
 *
 * "22 dBm", "869.5 MHz", "15 min", "10 %".  The number is plain decimal (sign, digits, one point;
 * no exponent, no hex, no octal, no sexagesimal, at most 18 digits), then a space (optional) and a
 * unit of the wanted dimension.  It is read as a decimal number: 868.1 MHz and 868100 kHz are the
 * same value, and so are 10 % and 0.1.  A time is read to the nanosecond by whole numbers; what is
 * finer is rounded, a half away from zero.
 *
 * A share bears a % or is a number from 0 to 1 with a point in it: a bare 1 could be 1 % or all of
 * it, a bare 95 is no share at all.
 */
#pragma once

#include "scenario/text/yaml-tree.h"
#include <stdint.h>

typedef enum {
    SPATE_DIM_TIME,      /* ns us ms s min h day: read exactly, in ns */
    SPATE_DIM_FREQUENCY, /* Hz kHz MHz GHz: in Hz */
    SPATE_DIM_LENGTH,    /* m km: in m */
    SPATE_DIM_SPEED,     /* m/s km/h: in m/s */
    SPATE_DIM_RATIO_DB,  /* dB */
    SPATE_DIM_LEVEL,     /* dBm, or W mW: in dBm */
    SPATE_DIM_GAIN,      /* dBi */
    SPATE_DIM_POWER,     /* W mW: in W */
    SPATE_DIM_SIZE,      /* bytes byte */
    SPATE_DIM_BITRATE,   /* bit/s kbit/s Mbit/s: in bit/s */
    SPATE_DIM_SYMBOLS,   /* symbols symbol */
    SPATE_DIM_AIRTIMES,  /* airtimes airtime */
    SPATE_DIM_SHARE,     /* %, or 0 to 1 with a point: 0.1 and 10 % are the same */
    SPATE_DIM_RATE,      /* per min, per hour, per day (and per s): in 1/s */
    SPATE_DIM_ANGLE,     /* deg */
    SPATE_DIM_DEGREES,   /* of latitude and longitude: deg, or bare */
    SPATE_DIM_NUMBER,    /* bare */
    SPATE_DIM_COUNT      /* bare, whole, without a sign unless it is below 0 */
} SpateDimension;

/* What a value must lie within; both ends included. */
typedef struct {
    double least, most;
} SpateRange;

/* False with a fault (missing or wrong unit, not a number, out of range, each with a hint) and
 * `*value` as it was.  Times that the model counts with want spate_quantity_read_ns(). */
bool spate_quantity_read(const SpateYaml *scalar, SpateDimension dimension, SpateRange range,
                         double *value, SpateFaults *faults);
bool spate_quantity_read_ns(const SpateYaml *scalar, int64_t least_ns, int64_t most_ns,
                            int64_t *value_ns, SpateFaults *faults);
/* Whole numbers; of the dimensions with units: lengths, frequencies, bit rates, sizes, symbols. */
bool spate_quantity_read_int(const SpateYaml *scalar, SpateDimension dimension, int64_t least,
                             int64_t most, int64_t *value, SpateFaults *faults);

/* The same from a bare text (an option of the command line): NULL if it reads well, else what is
 * wrong, to be freed. */
char *spate_quantity_parse(const char *text, SpateDimension dimension, SpateRange range,
                           double *value);
/* "0.1", "869.5 MHz", "15 min": a value as a user would write it.  Free with g_free(). */
char *spate_quantity_text(double value, SpateDimension dimension);
/* "4", "0.25", "2.5 km": a number of any unit ("": none), as a setting has it, with up to `digits`
 * digits.  Without a unit it has a point unless it counts things: what a share takes.  Free with
 * g_free(). */
char *spate_counted_text(double number, const char *unit, bool is_count, int digits);
