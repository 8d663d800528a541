/* oracle-bearers.c - noise, sensitivity, and how bearers disturb each other (docs/model.md, Links
 * and A frame at a receiver, rule 4)
 */
#include "oracle/oracle-private.h"

#include <math.h>

/* Required signal-to-noise ratio: LoRa by the SX1276 data sheet, Table 13; dsss from typical
 * sensitivities. */
static double
required_snr_db(const SpateBearer *bearer)
{
    const SpateModulation *modulation = &bearer->modulation;
    if (oracle_is_lora(bearer))
        return 10.0 - 2.5 * modulation->spreading_factor;
    switch (modulation->rate_bps) {
    case 250000:
        return -7.4;
    case 500000:
        return -5.4;
    case 1000000:
        return -3.4;
    }
    return 0.6;
}

double
oracle_noise_dbm(const SpateBearer *bearer)
{
    return -174.0 + 10.0 * log10(oracle_bandwidth_hz(bearer)) + bearer->noise_figure_db;
}

double
oracle_sensitivity_dbm(const SpateBearer *bearer)
{
    return isnan(bearer->sensitivity_dbm) ? oracle_noise_dbm(bearer) + required_snr_db(bearer)
                                          : bearer->sensitivity_dbm;
}

double
oracle_csma_threshold_dbm(const SpateBearer *bearer, double power_dbm)
{
    if (!isnan(bearer->access.csma_threshold_dbm))
        return bearer->access.csma_threshold_dbm;
    /* 100 mW and 50 mW, the latter as a level. */
    if (power_dbm > 20.0)
        return -80.0;
    return power_dbm >= 10.0 * log10(50.0) ? -76.0 : -70.0;
}

/* ---- spectra --------------------------------------------------------------------------------- */

static double
distance_hz(const SpateBearer *a, const SpateBearer *b)
{
    return fabs((double)a->modulation.centre_hz - (double)b->modulation.centre_hz);
}

/* Share of the sender's rectangle that lies in the receiver's. */
static double
overlap(const SpateBearer *receiver, const SpateBearer *sender)
{
    double receiver_hz = oracle_bandwidth_hz(receiver), sender_hz = oracle_bandwidth_hz(sender);
    double gap_hz = distance_hz(receiver, sender);
    double high_hz = fmin(receiver_hz / 2.0, gap_hz + sender_hz / 2.0);
    double low_hz = fmax(-receiver_hz / 2.0, gap_hz - sender_hz / 2.0);
    return fmax(high_hz - low_hz, 0.0) / sender_hz;
}

/* Attenuation at x receiver bandwidths from the centre, straight over log x. */
static double
selectivity_db(double x)
{
    static const double at[] = {0.5, 1.5, 8.0, 80.0}, db[] = {0.0, 55.0, 71.0, 82.0};
    if (x <= at[0])
        return db[0];
    for (int i = 1; i < 4; i++)
        if (x <= at[i])
            return db[i - 1] + (db[i] - db[i - 1]) * log(x / at[i - 1]) / log(at[i] / at[i - 1]);
    return db[3];
}

static double
share_as_noise(const SpateBearer *receiver, const SpateBearer *sender)
{
    double overlapping = overlap(receiver, sender);
    if (!oracle_is_lora(receiver) && !oracle_is_lora(sender))
        return fmax(overlapping, pow(10.0, -3.5));
    double receiver_hz = oracle_bandwidth_hz(receiver);
    if (oracle_bandwidth_hz(sender) > receiver_hz && overlapping > 0.0)
        return overlapping;
    double attenuation_db = selectivity_db(distance_hz(receiver, sender) / receiver_hz);
    return fmax(overlapping, pow(10.0, -attenuation_db / 10.0));
}

/* ---- rule 4 ---------------------------------------------------------------------------------- */

#define FARTHEST_HZ 100e6
#define AS_NOISE    NAN

/* D. Croce et al., IEEE Communications Letters 22(4), 2018 (tests/reference/lora-interference.csv):
 * SF7 to SF12 against SF7 to SF12. */
static const double MATRIX[6][6] = {
    {1, -8, -9, -9, -9, -9},      {-11, 1, -11, -12, -13, -13}, {-15, -13, 1, -13, -14, -15},
    {-19, -18, -17, 1, -17, -18}, {-22, -22, -21, -20, 1, -20}, {-25, -25, -25, -24, -23, 1},
};

static double
same_db(const SpateBearer *wanted)
{
    if (!isnan(wanted->protection_same_db))
        return wanted->protection_same_db;
    return oracle_is_lora(wanted) ? 1.0 : 10.0;
}

static double
other_factor_db(const SpateBearer *wanted, int other)
{
    int own = wanted->modulation.spreading_factor;
    if (!isnan(wanted->protection_other_db))
        return wanted->protection_other_db;
    return own >= 7 && other >= 7 ? MATRIX[own - 7][other - 7] : AS_NOISE;
}

/* Bandwidths as whole products: of equal ones the fractions are equal. */
static bool
are_equal(SpateRational a, SpateRational b)
{
    return a.numerator * b.denominator == b.numerator * a.denominator;
}

/* B^2 / 2^SF. */
static bool
chirp_alike(const SpateBearer *a, const SpateBearer *b)
{
    double ratio = oracle_bandwidth_hz(a) / oracle_bandwidth_hz(b);
    double factors = pow(2.0, a->modulation.spreading_factor - b->modulation.spreading_factor);
    return fabs(ratio * ratio / factors - 1.0) < 1e-9;
}

static OracleInterference
between_lora(const SpateBearer *wanted, const SpateBearer *other)
{
    const SpateModulation *a = &wanted->modulation, *b = &other->modulation;
    double protection_db = AS_NOISE, share = 1.0;
    if (are_equal(a->bandwidth_hz, b->bandwidth_hz)) {
        if (a->centre_hz == b->centre_hz)
            protection_db = a->spreading_factor == b->spreading_factor
                                ? same_db(wanted)
                                : other_factor_db(wanted, b->spreading_factor);
    } else if (chirp_alike(wanted, other) && overlap(wanted, other) > 0.0) {
        protection_db = same_db(wanted);
        share = overlap(wanted, other);
    }
    if (isnan(protection_db))
        return oracle_ambient_interference(wanted, other);
    return (OracleInterference){share, pow(10.0, protection_db / 10.0)};
}

OracleInterference
oracle_interference(const SpateBearer *wanted, const SpateBearer *other)
{
    if (distance_hz(wanted, other) > FARTHEST_HZ)
        return (OracleInterference){0.0, 1.0};
    if (oracle_is_lora(wanted) && oracle_is_lora(other))
        return between_lora(wanted, other);
    if (!oracle_is_lora(wanted) && !oracle_is_lora(other) && distance_hz(wanted, other) < 1.0)
        return (OracleInterference){1.0, pow(10.0, same_db(wanted) / 10.0)};
    return oracle_ambient_interference(wanted, other);
}

OracleInterference
oracle_ambient_interference(const SpateBearer *wanted, const SpateBearer *channel)
{
    if (distance_hz(wanted, channel) > FARTHEST_HZ)
        return (OracleInterference){0.0, 1.0};
    double required_db = oracle_sensitivity_dbm(wanted) - oracle_noise_dbm(wanted);
    return (OracleInterference){share_as_noise(wanted, channel), pow(10.0, required_db / 10.0)};
}
