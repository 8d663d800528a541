/* units.h - levels, ratios and whole-number arithmetic
 *
 * Absolute levels are _dbm, ratios _db.
 */
#pragma once

#include <math.h>
#include <stdint.h>

__extension__ typedef __int128 spate_int128;
__extension__ typedef unsigned __int128 spate_uint128;

static inline double
spate_db_to_linear(double ratio_db)
{
    return pow(10.0, ratio_db / 10.0);
}

static inline double
spate_linear_to_db(double ratio)
{
    return 10.0 * log10(ratio);
}

/* round(a * b / c), half up, exactly; a, b >= 0, c > 0, the result fits. */
static inline int64_t
spate_mul_div_round(int64_t a, int64_t b, int64_t c)
{
    return (int64_t)(((spate_int128)a * b * 2 + c) / ((spate_int128)c * 2));
}

/* number * factor_q32 / 2^32, half up, exactly; the result fits.  The fraction of the factor takes
 * the upper half of a word, so that the product's upper word is whole: a shift over two words takes
 * some processors longer than all the rest. */
static inline uint64_t
spate_mul_q32_round(uint64_t number, uint64_t factor_q32)
{
    spate_uint128 of_fraction = (spate_uint128)number * (factor_q32 << 32);
    uint64_t half = (uint64_t)of_fraction >> 63;
    return number * (factor_q32 >> 32) + (uint64_t)(of_fraction >> 64) + half;
}
