/* bearer.c - noise, sensitivity, and how frames of one bearer disturb another */
#include "radio/bearer.h"

#include "core/units.h"
#include <math.h>
#include <stdlib.h>

#define THERMAL_NOISE_DBM_PER_HZ (-174.0)

/* Bearers further apart do not disturb each other: an assumption that only keeps bands apart. */
#define FAR_APART_HZ INT64_C(100000000)

/* dsss against dsss.  One channel: a fact of the trade (common practice, no source).  Another
 * channel: adjacent channel rejection of at least 35 dB (IEEE Std 802.11-2020, 15.4.8.4). */
#define DSSS_PROTECTION_DB 10.0
#define DSSS_REJECTION_DB  35.0

/* LoRa against LoRa of the same settings, SF5 and SF6, which the table lacks: as for the others. */
#define SAME_SETTINGS_DB 1.0

/* Wanted SF7 to SF12 (rows) against SF7 to SF12: D. Croce, M. Gucciardo, S. Mangione, G.
 * Santaromita, I. Tinnirello, "Impact of LoRa Imperfect Orthogonality: Analysis of Link-Level
 * Performance", IEEE Communications Letters 22(4), 2018; as quoted by several public sources. */
static const double PROTECTION_DB[6][6] = {
    {1, -8, -9, -9, -9, -9},      {-11, 1, -11, -12, -13, -13}, {-15, -13, 1, -13, -14, -15},
    {-19, -18, -17, 1, -17, -18}, {-22, -22, -21, -20, 1, -20}, {-25, -25, -25, -24, -23, 1},
};

/* Selectivity over the distance of the centres in receiver bandwidths.  Derived from the blocking
 * figures of the SX1261/2 data sheet at SF12, 125 kHz: rejection of 72, 88 and 99 dB at 1.5
 * bandwidths, 1 MHz and 10 MHz, less 20 dB (SNR at sensitivity), plus 3 dB (wanted signal above
 * sensitivity). */
static const struct {
    double bandwidths, rejection_db;
} SELECTIVITY[] = {{0.5, 0.0}, {1.5, 55.0}, {8.0, 71.0}, {80.0, 82.0}};
#define N_SELECTIVITY (sizeof SELECTIVITY / sizeof SELECTIVITY[0])

double
spate_noise_floor_dbm(double bandwidth_hz, double noise_figure_db)
{
    return THERMAL_NOISE_DBM_PER_HZ + 10.0 * log10(bandwidth_hz) + noise_figure_db;
}

static double
bandwidth_of(const SpateBearer *bearer)
{
    return bearer->modulation.kind->bandwidth_hz(&bearer->modulation);
}

double
spate_bearer_noise_dbm(const SpateBearer *bearer)
{
    return spate_noise_floor_dbm(bandwidth_of(bearer), bearer->noise_figure_db);
}

double
spate_bearer_required_snr_db(const SpateBearer *bearer)
{
    if (!isnan(bearer->sensitivity_dbm))
        return bearer->sensitivity_dbm - spate_bearer_noise_dbm(bearer);
    return bearer->modulation.kind->required_snr_db(&bearer->modulation);
}

double
spate_bearer_sensitivity_dbm(const SpateBearer *bearer)
{
    if (!isnan(bearer->sensitivity_dbm))
        return bearer->sensitivity_dbm;
    return spate_bearer_noise_dbm(bearer) + spate_bearer_required_snr_db(bearer);
}

static int64_t
centre_distance_hz(const SpateBearer *a, const SpateBearer *b)
{
    return llabs(a->modulation.centre_hz - b->modulation.centre_hz);
}

/* Share of the sender's bandwidth that lies in the receiver's. */
static double
overlap(const SpateBearer *receiver, const SpateBearer *sender)
{
    double half_receiver = bandwidth_of(receiver) / 2.0, half_sender = bandwidth_of(sender) / 2.0;
    double distance = (double)centre_distance_hz(receiver, sender);
    double low = fmax(-half_receiver, distance - half_sender);
    double high = fmin(half_receiver, distance + half_sender);
    return fmax(0.0, high - low) / (2.0 * half_sender);
}

static double
selectivity_db(double bandwidths)
{
    if (bandwidths <= SELECTIVITY[0].bandwidths)
        return SELECTIVITY[0].rejection_db;
    size_t i = 1;
    while (i < N_SELECTIVITY && bandwidths > SELECTIVITY[i].bandwidths)
        i++;
    double low_db = SELECTIVITY[i - 1].rejection_db, low = SELECTIVITY[i - 1].bandwidths;
    if (i == N_SELECTIVITY)
        return low_db;
    double along = log(bandwidths / low) / log(SELECTIVITY[i].bandwidths / low);
    return low_db + along * (SELECTIVITY[i].rejection_db - low_db);
}

static bool
is_lora(const SpateBearer *bearer)
{
    return bearer->modulation.kind == &spate_radio_lora;
}

/* Share of the sender's power that gets through the receiver's filter. */
static double
filtered_share(const SpateBearer *receiver, const SpateBearer *sender)
{
    double within = overlap(receiver, sender);
    if (!is_lora(receiver) && !is_lora(sender))
        return fmax(within, spate_db_to_linear(-DSSS_REJECTION_DB));
    /* Where a wider sender overlaps the receiver, the overlap alone counts. */
    if (within > 0.0 && bandwidth_of(sender) > bandwidth_of(receiver))
        return within;
    double bandwidths = (double)centre_distance_hz(receiver, sender) / bandwidth_of(receiver);
    return fmax(within, spate_db_to_linear(-selectivity_db(bandwidths)));
}

static SpateInterference
interference(double share, double protection_db)
{
    return (SpateInterference){share, spate_db_to_linear(protection_db)};
}

/* Against frames of the same settings. */
static double
same_db(const SpateBearer *wanted)
{
    if (!isnan(wanted->protection_same_db))
        return wanted->protection_same_db;
    if (!is_lora(wanted))
        return DSSS_PROTECTION_DB;
    int sf = wanted->modulation.spreading_factor;
    return sf < 7 ? SAME_SETTINGS_DB : PROTECTION_DB[sf - 7][sf - 7];
}

/* Against LoRa on the same bandwidth and centre. */
static double
same_channel_db(const SpateBearer *wanted, const SpateBearer *other)
{
    int sf = wanted->modulation.spreading_factor, other_sf = other->modulation.spreading_factor;
    if (sf == other_sf)
        return same_db(wanted);
    if (!isnan(wanted->protection_other_db))
        return wanted->protection_other_db;
    if (sf < 7 || other_sf < 7)
        return spate_bearer_required_snr_db(wanted);
    return PROTECTION_DB[sf - 7][other_sf - 7];
}

/* Equal chirps, bandwidth^2 / 2^SF, pass each other's filter; bandwidths are compared as whole
 * numbers. */
static SpateInterference
lora_against_lora(const SpateBearer *wanted, const SpateBearer *other)
{
    const SpateModulation *a = &wanted->modulation, *b = &other->modulation;
    spate_int128 left = (spate_int128)a->bandwidth_hz.numerator * b->bandwidth_hz.denominator;
    spate_int128 right = (spate_int128)b->bandwidth_hz.numerator * a->bandwidth_hz.denominator;
    if (left == right && a->centre_hz == b->centre_hz)
        return interference(1.0, same_channel_db(wanted, other));
    double within = overlap(wanted, other);
    bool is_alike =
        left * left * (1 << b->spreading_factor) == right * right * (1 << a->spreading_factor);
    if (left != right && within > 0.0 && is_alike)
        return interference(within, same_db(wanted));
    return interference(filtered_share(wanted, other), spate_bearer_required_snr_db(wanted));
}

SpateInterference
spate_bearer_interference(const SpateBearer *wanted, const SpateBearer *other)
{
    if (centre_distance_hz(wanted, other) > FAR_APART_HZ)
        return (SpateInterference){0.0, 0.0};
    if (is_lora(wanted) && is_lora(other))
        return lora_against_lora(wanted, other);
    if (!is_lora(wanted) && !is_lora(other) &&
        wanted->modulation.centre_hz == other->modulation.centre_hz)
        return interference(1.0, same_db(wanted));
    return interference(filtered_share(wanted, other), spate_bearer_required_snr_db(wanted));
}

SpateInterference
spate_bearer_noise_interference(const SpateBearer *wanted, const SpateBearer *channel)
{
    if (centre_distance_hz(wanted, channel) > FAR_APART_HZ)
        return (SpateInterference){0.0, 0.0};
    return interference(filtered_share(wanted, channel), spate_bearer_required_snr_db(wanted));
}

/* IEEE Std 802.11-2020, 15.4.8.5: energy detection by the transmit power. */
double
spate_bearer_csma_threshold_dbm(const SpateBearer *bearer, double power_dbm)
{
    if (!isnan(bearer->access.csma_threshold_dbm))
        return bearer->access.csma_threshold_dbm;
    double power_mw = spate_db_to_linear(power_dbm);
    /* 20 dBm is 100 mW, whatever the arithmetic of decibels makes of it. */
    if (power_mw > 100.0 * (1.0 + 1e-9))
        return -80.0;
    return power_mw >= 50.0 * (1.0 - 1e-9) ? -76.0 : -70.0;
}
