/* scale.c - where a value is on the axis of a picture */
#include "report/table/scale.h"

#include "document/numbers.h"
#include <math.h>

/* Ends may miss a tick by so much of a step: they were rounded on the way here. */
#define SLACK 1e-9

/* Exact up to 10^22, unlike pow() in some libraries. */
static double
power_of_ten(int exponent)
{
    double power = 1.0;
    for (int i = 0; i < ABS(exponent); i++)
        power *= 10.0;
    return power;
}

/* mantissa * 10^exponent, rounded once. */
static double
decimal(double mantissa, int exponent)
{
    return exponent < 0 ? mantissa / power_of_ten(exponent) : mantissa * power_of_ten(exponent);
}

static int
decade_below(double value)
{
    int exponent = (int)floor(log10(value));
    if (decimal(1.0, exponent + 1) <= value)
        return exponent + 1;
    return decimal(1.0, exponent) > value ? exponent - 1 : exponent;
}

/* A step of 1, 2 or 5 times a power of ten. */
typedef struct {
    int digit, exponent;
} Step;

/* The smallest that is not below. */
static Step
step_of_at_least(double size)
{
    static const int DIGITS[] = {1, 2, 5};
    int exponent = decade_below(size);
    for (size_t i = 0; i < G_N_ELEMENTS(DIGITS); i++)
        if (decimal(DIGITS[i], exponent) >= size * (1.0 - SLACK))
            return (Step){DIGITS[i], exponent};
    return (Step){1, exponent + 1};
}

/* What a result holds is far within; a file may say anything. */
static double
within_reach(double value)
{
    return fabs(value) < 1e-290 ? 0.0 : CLAMP(value, -1e290, 1e290);
}

SpateScale
spate_scale_linear(double low, double high, unsigned about)
{
    g_assert(isfinite(low) && isfinite(high) && low <= high && about >= 1 && about <= 20);
    low = within_reach(low);
    high = within_reach(high);
    if (high - low <= SLACK * fmax(fabs(low), fabs(high))) {
        double around = low == 0.0 ? 1.0 : 0.1 * fabs(low);
        low = fmin(low, low >= 0.0 ? fmax(low - around, 0.0) : low - around);
        high += around;
    }
    Step step = step_of_at_least((high - low) / about);
    double size = decimal(step.digit, step.exponent);
    double first = floor(low / size + SLACK), last = ceil(high / size - SLACK);
    SpateScale scale = {.decimals = MAX(0, -step.exponent)};
    size_t n_ticks = (size_t)CLAMP(last - first + 1.0, 0.0, (double)SPATE_SCALE_TICKS);
    for (size_t i = 0; i < n_ticks; i++)
        scale.ticks[scale.n_ticks++] = decimal((first + (double)i) * step.digit, step.exponent);
    scale.low = scale.ticks[0];
    scale.high = scale.ticks[scale.n_ticks - 1];
    return scale;
}

SpateScale
spate_scale_log(double low, double high)
{
    g_assert(isfinite(high) && low > 0.0 && low <= high);
    low = CLAMP(low, 1e-20, 1e20);
    high = CLAMP(high, 1e-20, 1e20);
    int first = decade_below(low), last = decade_below(high);
    if (decimal(1.0, last) < high || first == last)
        last++;
    SpateScale scale = {.is_log = true};
    for (int i = first; i <= last && scale.n_ticks < SPATE_SCALE_TICKS; i++)
        scale.ticks[scale.n_ticks++] = decimal(1.0, i);
    scale.low = scale.ticks[0];
    scale.high = scale.ticks[scale.n_ticks - 1];
    return scale;
}

double
spate_scale_place(const SpateScale *scale, double value)
{
    if (value <= scale->low)
        return 0.0;
    if (value >= scale->high)
        return 1.0;
    return scale->is_log ? log(value / scale->low) / log(scale->high / scale->low)
                         : (value - scale->low) / (scale->high - scale->low);
}

void
spate_scale_append_tick(GString *text, const SpateScale *scale, size_t tick)
{
    if (scale->is_log)
        spate_append_number(text, scale->ticks[tick]);
    else
        spate_append_fixed(text, scale->ticks[tick], scale->decimals, false);
}
