/* quantity-units.h - the units of each dimension
 *
 * Only quantity.c and its parts include this header.
 */
#pragma once

#include "scenario/text/quantity.h"

/* What one of it is in the unit in which values are handed out: ten to the `tens`, over `per`.
 * Powers of ten shift the decimal point before the number is read, so 868.1 MHz and 868100 kHz are
 * one. */
typedef struct {
    const char *name;
    int tens;
    int per;    /* rates, speeds: seconds; 0 for others */
    int64_t ns; /* times: exactly; 0 for others */
} SpateUnit;

typedef struct {
    const char *noun;
    const char *units_text, *example; /* for hints */
    const SpateUnit *units;           /* NULL name at the end; NULL: bare numbers only */
    bool bare;                        /* a number without a unit will do */
    bool whole;
    const char *in_tables; /* the unit of a bare number in a table; NULL: it needs one */
} SpateDimensionForm;

const SpateDimensionForm *spate_dimension_form(SpateDimension dimension);

/* `exponent` is 0 to 18. */
int64_t spate_power_of_ten(int exponent);
