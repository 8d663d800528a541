/* lora.c - time on air, sensitivity and timing of LoRa frames
 *
 * Time on air: Semtech AN1200.13 (LoRa Modem Designer's Guide) and the SX1276 data sheet,
 * 4.1.1.7; SF5 and SF6 as the SX126x sends them (SX1261/2 data sheet, 6.1.4).
 *
 *     T_sym     = 2^SF / BW
 *     n_payload = 8 + max(ceil((8 PL - 4 SF + 28 + 16 CRC - 20 IH) / (4 (SF - 2 DE))) (CR + 4), 0)
 *     T         = (n_preamble + 4.25 + n_payload) T_sym
 *
 * All in whole numbers: quarters of a symbol, and one division at the end.
 */
#include "radio/modulation.h"

#include "core/time.h"
#include "core/units.h"
#include <math.h>

#define LARGEST_FRAME_BYTES 255
#define HEADER_SYMBOLS      8
#define CRC_BITS            16
#define HEADER_BITS         20
#define LONG_SYMBOL_MS      16 /* low data rate optimisation is mandated above (SX1276 data sheet) */
#define GHZ                 INT64_C(1000000000)

/* Below 1 GHz: 500 kHz divided by whole numbers (SX1276 data sheet, register RegModemConfig1);
 * at 2.4 GHz: 1625 kHz divided (SX1280 data sheet). */
static const SpateRational BANDWIDTHS_SUB_GHZ[] = {
    {500000, 64}, {500000, 48}, {500000, 32}, {500000, 24}, {500000, 16},
    {500000, 12}, {500000, 8},  {500000, 4},  {500000, 2},  {500000, 1},
};
static const SpateRational BANDWIDTHS_2G4[] = {
    {1625000, 8}, {1625000, 4}, {1625000, 2}, {1625000, 1}};

#define N_SUB_GHZ (sizeof BANDWIDTHS_SUB_GHZ / sizeof BANDWIDTHS_SUB_GHZ[0])
#define N_2G4     (sizeof BANDWIDTHS_2G4 / sizeof BANDWIDTHS_2G4[0])

static bool
is_2g4(int64_t centre_hz)
{
    return centre_hz >= GHZ;
}

/* Whether someone may write the one figure for the other: as it is, or rounded or cut to fewer
 * digits, as data sheets do (7.8 or 7.81 kHz for 7.8125, 203 kHz for 203.125). */
static bool
is_short_for(double figure_hz, double exact_hz)
{
    if (fabs(figure_hz - exact_hz) > 0.005 * exact_hz)
        return false;
    static const double DIGITS_HZ[] = {1000, 100, 10, 1, 0.1, 0.01, 1e-3, 1e-4, 1e-5};
    double tolerance_hz = 1e-9 * exact_hz;
    for (size_t i = 0; i < sizeof DIGITS_HZ / sizeof DIGITS_HZ[0]; i++) {
        double digits = exact_hz / DIGITS_HZ[i];
        if (fabs(figure_hz - floor(digits + 0.5) * DIGITS_HZ[i]) <= tolerance_hz ||
            fabs(figure_hz - floor(digits) * DIGITS_HZ[i]) <= tolerance_hz)
            return true;
    }
    return false;
}

bool
spate_lora_bandwidth(double about_hz, int64_t centre_hz, SpateRational *bandwidth_hz)
{
    const SpateRational *table = is_2g4(centre_hz) ? BANDWIDTHS_2G4 : BANDWIDTHS_SUB_GHZ;
    size_t n = is_2g4(centre_hz) ? N_2G4 : N_SUB_GHZ;
    for (size_t i = 0; i < n; i++) {
        double exact_hz = (double)table[i].numerator / (double)table[i].denominator;
        if (is_short_for(about_hz, exact_hz)) {
            *bandwidth_hz = table[i];
            return true;
        }
    }
    return false;
}

bool
spate_lora_ldro_is_on(const SpateModulation *modulation)
{
    switch (modulation->low_data_rate_optimise) {
    case SPATE_LDRO_ON:
        return true;
    case SPATE_LDRO_OFF:
        return false;
    case SPATE_LDRO_AUTO:
        break;
    }
    int sf = modulation->spreading_factor;
    if (is_2g4(modulation->centre_hz))
        return sf >= 11;
    /* 2^SF / BW > 16 ms, in whole numbers */
    return (INT64_C(1) << sf) * 1000 * modulation->bandwidth_hz.denominator >
           LONG_SYMBOL_MS * modulation->bandwidth_hz.numerator;
}

/* Duration of a number of quarter symbols. */
static int64_t
quarters_ns(const SpateModulation *modulation, int64_t quarters)
{
    int64_t chips = quarters * (INT64_C(1) << modulation->spreading_factor) *
                    modulation->bandwidth_hz.denominator;
    return spate_mul_div_round(chips, SPATE_NS_PER_S, 4 * modulation->bandwidth_hz.numerator);
}

static int64_t
payload_symbols(const SpateModulation *modulation, size_t frame_bytes)
{
    int64_t sf = modulation->spreading_factor;
    int64_t bits = 8 * (int64_t)frame_bytes - 4 * sf + (modulation->crc ? CRC_BITS : 0) +
                   (modulation->explicit_header ? HEADER_BITS : 0);
    int64_t bits_per_symbol = 4 * sf;
    if (sf >= 7) {
        bits += 8;
        if (spate_lora_ldro_is_on(modulation))
            bits_per_symbol -= 8;
    }
    int64_t blocks = bits > 0 ? (bits + bits_per_symbol - 1) / bits_per_symbol : 0;
    return HEADER_SYMBOLS + blocks * modulation->coding_rate_denominator;
}

/* Programmed preamble, sync word and start of frame. */
static int64_t
preamble_quarters(const SpateModulation *modulation)
{
    return 4 * (int64_t)modulation->preamble_symbols +
           (modulation->spreading_factor <= 6 ? 25 : 17);
}

static int64_t
airtime_ns(const SpateModulation *modulation, size_t frame_bytes)
{
    return quarters_ns(modulation, preamble_quarters(modulation) +
                                       4 * payload_symbols(modulation, frame_bytes));
}

static int64_t
critical_ns(const SpateModulation *modulation)
{
    int64_t symbols = modulation->preamble_symbols - modulation->lock_symbols;
    return quarters_ns(modulation, symbols > 0 ? 4 * symbols : 0);
}

static int64_t
header_ns(const SpateModulation *modulation)
{
    return quarters_ns(modulation, preamble_quarters(modulation));
}

static int64_t
symbol_ns(const SpateModulation *modulation)
{
    return quarters_ns(modulation, 4);
}

static double
bandwidth_hz(const SpateModulation *modulation)
{
    return (double)modulation->bandwidth_hz.numerator /
           (double)modulation->bandwidth_hz.denominator;
}

/* -2.5 dB a step: SX1276 data sheet, Table 13 (SF6 to SF12); SF5: SX1261/2 data sheet, Table 6-1.
 */
static double
required_snr_db(const SpateModulation *modulation)
{
    return -2.5 * (modulation->spreading_factor - 4);
}

static bool
check(const SpateModulation *modulation, const char **why)
{
    SpateRational same;
    *why = NULL;
    if (modulation->spreading_factor < 5 || modulation->spreading_factor > 12)
        *why = "the spreading factor of LoRa is 5 to 12";
    else if (modulation->coding_rate_denominator < 5 || modulation->coding_rate_denominator > 8)
        *why = "the coding rate of LoRa is 4/5, 4/6, 4/7 or 4/8";
    else if (modulation->preamble_symbols < 6 || modulation->preamble_symbols > 65535)
        *why = "the preamble of LoRa is 6 to 65535 symbols long";
    else if (modulation->bandwidth_hz.numerator <= 0 || modulation->bandwidth_hz.denominator <= 0 ||
             !spate_lora_bandwidth(bandwidth_hz(modulation), modulation->centre_hz, &same))
        *why = is_2g4(modulation->centre_hz)
                   ? "the bandwidth of LoRa at 2.4 GHz is 203.125, 406.25, 812.5 or 1625 kHz"
                   : "the bandwidth of LoRa below 1 GHz is 7.8, 10.4, 15.6, 20.8, 31.25, 41.7, "
                     "62.5, 125, 250 or 500 kHz";
    return *why == NULL;
}

const SpateRadioKind spate_radio_lora = {
    .name = "lora",
    .default_overhead_bytes = 0,
    .default_largest_payload_bytes = LARGEST_FRAME_BYTES,
    .check = check,
    .airtime_ns = airtime_ns,
    .payload_symbols = payload_symbols,
    .critical_ns = critical_ns,
    .header_ns = header_ns,
    .symbol_ns = symbol_ns,
    .bandwidth_hz = bandwidth_hz,
    .required_snr_db = required_snr_db,
};
