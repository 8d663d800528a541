/* doubt.c - an uncertain number */
#include "scenario/doubt.h"

#include "core/random.h"
#include "scenario/text/quantity.h"
#include <math.h>

/* Both bounds, as they may be written, and five digits between them. */
#define DIGITS 12

void
spate_doubt_clear(SpateDoubt *doubt)
{
    g_free(doubt->path);
    g_free(doubt->unit);
}

double
spate_doubt_value(const SpateDoubt *doubt, uint64_t seed, uint32_t replication)
{
    uint64_t key = spate_random_key(seed, replication, SPATE_FOR_DOUBT);
    SpateRandom draw = spate_random_stream(key, spate_hash_name(doubt->path));
    double span = doubt->high - doubt->low;
    if (doubt->is_whole)
        return doubt->low + (double)spate_random_below(&draw, (uint64_t)span + 1);
    double digit = pow(10.0, floor(log10(span)) - 4.0);
    double value = rint((doubt->low + spate_random_unit(&draw) * span) / digit) * digit;
    /* What its text reads as. */
    g_autofree char *text =
        spate_counted_text(CLAMP(value, doubt->low, doubt->high), "", false, DIGITS);
    return g_ascii_strtod(text, NULL);
}

char *
spate_doubt_text(const SpateDoubt *doubt, double value)
{
    return spate_counted_text(value, doubt->unit, doubt->is_whole, DIGITS);
}
