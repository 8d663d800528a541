/* dsss.c - 2.4 GHz frames of the direct-sequence family
 *
 * 1 and 2 Mbit/s: IEEE Std 802.11-2020, clause 15.  250 and 500 kbit/s: a vendor's long-range
 * rates; their preamble is unpublished, so that the long one of 802.11 (192 us) is assumed.
 */
#include "radio/modulation.h"

#include "core/time.h"
#include "core/units.h"
#include <math.h>

/* A vendor-specific action frame: MAC header 24, category 1, organisation 3, random value 4,
 * element header 2, organisation 3, type and version 2, FCS 4 bytes; largest body 250 bytes. */
#define OVERHEAD_BYTES     43
#define LARGEST_BODY_BYTES 250

/* Width of a channel: 22 MHz (IEEE Std 802.11-2020, 15.4.5.5). */
#define CHANNEL_WIDTH_HZ 22e6

/* From typical sensitivities of -102, -100, -98 and -94 dBm at a noise of -94.58 dBm (22 MHz,
 * noise figure 6 dB): chip data sheets, rounded. */
static const struct {
    int64_t rate_bps;
    double required_snr_db;
} RATES[] = {{250000, -7.4}, {500000, -5.4}, {1000000, -3.4}, {2000000, 0.6}};

static int64_t
payload_symbols(const SpateModulation *modulation, size_t frame_bytes)
{
    return (int64_t)frame_bytes;
}

static int64_t
airtime_ns(const SpateModulation *modulation, size_t frame_bytes)
{
    return modulation->preamble_ns +
           spate_mul_div_round(8 * (int64_t)frame_bytes, SPATE_NS_PER_S, modulation->rate_bps);
}

static int64_t
critical_ns(const SpateModulation *modulation)
{
    return spate_mul_div_round(modulation->preamble_ns, 1, 2);
}

static int64_t
header_ns(const SpateModulation *modulation)
{
    return modulation->preamble_ns;
}

/* A byte takes the part that a symbol has in LoRa. */
static int64_t
symbol_ns(const SpateModulation *modulation)
{
    return spate_mul_div_round(8, SPATE_NS_PER_S, modulation->rate_bps);
}

static double
bandwidth_hz(const SpateModulation *modulation)
{
    return CHANNEL_WIDTH_HZ;
}

/* NAN: there is no such rate. */
static double
required_snr_db(const SpateModulation *modulation)
{
    for (size_t i = 0; i < sizeof RATES / sizeof RATES[0]; i++)
        if (RATES[i].rate_bps == modulation->rate_bps)
            return RATES[i].required_snr_db;
    return NAN;
}

static bool
check(const SpateModulation *modulation, const char **why)
{
    *why = NULL;
    if (isnan(required_snr_db(modulation)))
        *why = "the rate of dsss is 250 kbit/s, 500 kbit/s, 1 Mbit/s or 2 Mbit/s";
    else if (modulation->preamble_ns < 0 || modulation->preamble_ns > SPATE_NS_PER_S)
        *why = "the preamble of dsss is 0 s to 1 s long";
    return *why == NULL;
}

const SpateRadioKind spate_radio_dsss = {
    .name = "dsss",
    .default_overhead_bytes = OVERHEAD_BYTES,
    .default_largest_payload_bytes = LARGEST_BODY_BYTES,
    .check = check,
    .airtime_ns = airtime_ns,
    .payload_symbols = payload_symbols,
    .critical_ns = critical_ns,
    .header_ns = header_ns,
    .symbol_ns = symbol_ns,
    .bandwidth_hz = bandwidth_hz,
    .required_snr_db = required_snr_db,
};
