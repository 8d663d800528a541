/* quantity-units.c - the units of each dimension */
#include "scenario/text/quantity-units.h"

#include "core/time.h"

static const SpateUnit TIMES[] = {{"ns", .ns = 1},
                                  {"us", .ns = SPATE_NS_PER_US},
                                  {"ms", .ns = SPATE_NS_PER_MS},
                                  {"s", .ns = SPATE_NS_PER_S},
                                  {"min", .ns = SPATE_NS_PER_MIN},
                                  {"h", .ns = SPATE_NS_PER_HOUR},
                                  {"day", .ns = 24 * SPATE_NS_PER_HOUR},
                                  {NULL}};
static const SpateUnit FREQUENCIES[] = {
    {"Hz"}, {"kHz", .tens = 3}, {"MHz", .tens = 6}, {"GHz", .tens = 9}, {NULL}};
static const SpateUnit LENGTHS[] = {{"m"}, {"km", .tens = 3}, {NULL}};
static const SpateUnit SPEEDS[] = {{"m/s"}, {"km/h", .tens = 3, .per = 3600}, {NULL}};
static const SpateUnit DECIBELS[] = {{"dB"}, {NULL}};
/* The powers are to mW; reading takes their logarithm. */
static const SpateUnit LEVELS[] = {{"dBm"}, {"W", .tens = 3}, {"mW"}, {NULL}};
static const SpateUnit GAINS[] = {{"dBi"}, {NULL}};
static const SpateUnit POWERS[] = {{"W"}, {"mW", .tens = -3}, {NULL}};
static const SpateUnit SIZES[] = {{"bytes"}, {"byte"}, {NULL}};
static const SpateUnit BIT_RATES[] = {
    {"bit/s"}, {"kbit/s", .tens = 3}, {"Mbit/s", .tens = 6}, {NULL}};
static const SpateUnit SYMBOLS[] = {{"symbols"}, {"symbol"}, {NULL}};
static const SpateUnit AIRTIMES[] = {{"airtimes"}, {"airtime"}, {NULL}};
static const SpateUnit SHARES[] = {{"%", .tens = -2}, {NULL}};
static const SpateUnit RATES[] = {{"per s", .per = 1},
                                  {"per min", .per = 60},
                                  {"per hour", .per = 3600},
                                  {"per day", .per = 86400},
                                  {NULL}};
static const SpateUnit ANGLES[] = {{"deg"}, {NULL}};

static const SpateDimensionForm DIMENSIONS[] = {
    [SPATE_DIM_TIME] = {"a time", "ns, us, ms, s, min, h or day", "90 s", TIMES, false, false},
    [SPATE_DIM_FREQUENCY] = {"a frequency", "Hz, kHz, MHz or GHz", "869.5 MHz", FREQUENCIES, false,
                             false},
    [SPATE_DIM_LENGTH] = {"a length", "m or km", "250 m", LENGTHS, false, false, "m"},
    [SPATE_DIM_SPEED] = {"a speed", "m/s or km/h", "1.4 m/s", SPEEDS, false, false},
    [SPATE_DIM_RATIO_DB] = {"a ratio", "dB", "6 dB", DECIBELS, false, false, "dB"},
    [SPATE_DIM_LEVEL] = {"a level", "dBm, W or mW", "14 dBm", LEVELS, false, false, "dBm"},
    [SPATE_DIM_GAIN] = {"a gain", "dBi", "2 dBi", GAINS, false, false, "dBi"},
    [SPATE_DIM_POWER] = {"a power", "W or mW", "100 mW", POWERS, false, false},
    [SPATE_DIM_SIZE] = {"a size", "bytes", "24 bytes", SIZES, false, true},
    [SPATE_DIM_BITRATE] = {"a bit rate", "bit/s, kbit/s or Mbit/s", "250 kbit/s", BIT_RATES, false,
                           false},
    [SPATE_DIM_SYMBOLS] = {"a number of symbols", "symbols", "8 symbols", SYMBOLS, false, true},
    [SPATE_DIM_AIRTIMES] = {"a number of airtimes", "airtimes", "6 airtimes", AIRTIMES, false,
                            false},
    [SPATE_DIM_SHARE] = {"a share", "%", "10 %", SHARES, true, false},
    [SPATE_DIM_RATE] = {"a rate", "per s, per min, per hour or per day", "4 per hour", RATES, false,
                        false},
    [SPATE_DIM_ANGLE] = {"an angle", "deg", "90 deg", ANGLES, false, false},
    [SPATE_DIM_DEGREES] = {"a latitude or longitude", "deg", "10.02 deg", ANGLES, true, false},
    [SPATE_DIM_NUMBER] = {"a number", "", "12 or 0.5", NULL, true, false},
    [SPATE_DIM_COUNT] = {"a whole number", "", "12", NULL, true, true},
};

const SpateDimensionForm *
spate_dimension_form(SpateDimension dimension)
{
    return &DIMENSIONS[dimension];
}

int64_t
spate_power_of_ten(int exponent)
{
    int64_t power = 1;
    while (exponent-- > 0)
        power *= 10;
    return power;
}
