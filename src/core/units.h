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
