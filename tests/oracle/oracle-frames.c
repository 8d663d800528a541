/* oracle-frames.c - how long frames and their parts last (docs/model.md, Frames)
 *
 * LoRa: Semtech AN1200.13, SF5 and SF6 by the SX1261/2 data sheet, 6.1.4.  dsss: IEEE Std
 * 802.11-2020, clause 15.  All in fractions of whole numbers, rounded half up once.
 */
#include "oracle/oracle-private.h"

__extension__ typedef __int128 Wide;

bool
oracle_is_lora(const SpateBearer *bearer)
{
    return bearer->modulation.kind == &spate_radio_lora;
}

static int64_t
round_half_up(Wide numerator, Wide denominator)
{
    return (int64_t)((2 * numerator + denominator) / (2 * denominator));
}

/* So many quarters of a LoRa symbol: 2^SF / B each. */
static int64_t
quarters_ns(const SpateModulation *lora, int64_t quarters)
{
    Wide chips = (Wide)quarters << lora->spreading_factor;
    return round_half_up(chips * SPATE_NS_PER_S * lora->bandwidth_hz.denominator,
                         (Wide)4 * lora->bandwidth_hz.numerator);
}

static bool
is_small(const SpateModulation *lora)
{
    return lora->spreading_factor <= 6;
}

static bool
low_data_rate_is_optimised(const SpateModulation *lora)
{
    switch (lora->low_data_rate_optimise) {
    case SPATE_LDRO_ON:
        return true;
    case SPATE_LDRO_OFF:
        return false;
    case SPATE_LDRO_AUTO:
        break;
    }
    if (lora->centre_hz > INT64_C(2000000000))
        return lora->spreading_factor >= 11;
    return quarters_ns(lora, 4) > 16 * SPATE_NS_PER_MS;
}

static int64_t
payload_symbols(const SpateModulation *lora, int64_t bytes)
{
    int64_t sf = lora->spreading_factor, crc = lora->crc ? 1 : 0;
    int64_t header = lora->explicit_header ? 1 : 0;
    int64_t bits, bits_per_block;
    if (is_small(lora)) {
        bits = 8 * bytes + 16 * crc - 4 * sf + 20 * header;
        bits_per_block = 4 * sf;
    } else {
        bits = 8 * bytes - 4 * sf + 28 + 16 * crc - 20 * (1 - header);
        bits_per_block = 4 * (sf - (low_data_rate_is_optimised(lora) ? 2 : 0));
    }
    int64_t blocks = bits > 0 ? (bits + bits_per_block - 1) / bits_per_block : 0;
    return 8 + blocks * lora->coding_rate_denominator;
}

/* The programmed symbols and what follows them. */
static int64_t
preamble_quarters(const SpateModulation *lora)
{
    return 4 * (int64_t)lora->preamble_symbols + (is_small(lora) ? 25 : 17);
}

int64_t
oracle_airtime_ns(const SpateBearer *bearer, uint32_t frame_bytes)
{
    const SpateModulation *modulation = &bearer->modulation;
    if (oracle_is_lora(bearer))
        return quarters_ns(modulation, preamble_quarters(modulation) +
                                           4 * payload_symbols(modulation, frame_bytes));
    Wide preamble_bit_ns = (Wide)modulation->preamble_ns * modulation->rate_bps;
    return round_half_up(preamble_bit_ns + (Wide)8 * frame_bytes * SPATE_NS_PER_S,
                         modulation->rate_bps);
}

int64_t
oracle_critical_ns(const SpateBearer *bearer)
{
    const SpateModulation *modulation = &bearer->modulation;
    if (oracle_is_lora(bearer))
        return quarters_ns(modulation,
                           4 * (int64_t)(modulation->preamble_symbols - modulation->lock_symbols));
    return round_half_up(modulation->preamble_ns, 2);
}

int64_t
oracle_header_ns(const SpateBearer *bearer)
{
    const SpateModulation *modulation = &bearer->modulation;
    return oracle_is_lora(bearer) ? quarters_ns(modulation, preamble_quarters(modulation))
                                  : modulation->preamble_ns;
}

double
oracle_bandwidth_hz(const SpateBearer *bearer)
{
    const SpateModulation *modulation = &bearer->modulation;
    if (oracle_is_lora(bearer))
        return (double)modulation->bandwidth_hz.numerator /
               (double)modulation->bandwidth_hz.denominator;
    return 22e6;
}

/* A symbol of dsss is one byte. */
double
oracle_symbol_ns(const SpateBearer *bearer)
{
    if (oracle_is_lora(bearer))
        return 1e9 * (double)(1 << bearer->modulation.spreading_factor) /
               oracle_bandwidth_hz(bearer);
    return 8e9 / (double)bearer->modulation.rate_bps;
}

int64_t
oracle_look_ns(const SpateBearer *bearer)
{
    return 2 * quarters_ns(&bearer->modulation, 4);
}
