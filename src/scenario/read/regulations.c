/* regulations.c - common limits of radiated power and time on air
 *
 * Confirmed means: seen on a public page that quotes the text.  The rest is from memory.
 */
#include "scenario/read/regulations.h"

#include <math.h>

#define MHZ 1e6
#define KHZ 1e3

#define ANY_BANDWIDTH .least_bandwidth_hz = 0, .most_bandwidth_hz = INFINITY

#define EN_300_220                                                                                 \
    ANY_BANDWIDTH, .kind = SPATE_LIMIT_ERP, .region = "EU/CEPT",                                   \
                   .source = "ETSI EN 300 220-2, table B.1 (CEPT ERC/REC 70-03, annex 1)",         \
                   .edition = "V3.2.1 (2018-06)"

#define REC_70_03_ALARMS                                                                           \
    ANY_BANDWIDTH, .kind = SPATE_LIMIT_ERP, .region = "EU/CEPT", .band = "alarms",                 \
                   .is_for_alarms = true, .conditions = "alarms only",                             \
                   .source = "CEPT ERC/REC 70-03, alarms annex", .edition = "as published",        \
                   .confirmation = "confirmed on a public page: CEPT's page of the annex"

#define CFR_15_247                                                                                 \
    .region = "US/FCC", .source = "47 CFR 15.247", .edition = "text of 2021-09", .duty_cycle = 1

/* Alternative to the duty cycle between 863 and 870 MHz (EN 300 220-1, from memory): at least 160
 * us of listening, at most 1 s on the air at once and 100 s in an hour on any 200 kHz. */
#define POLITE "or polite spectrum access (listen before talk and agile channels)"

static const SpateRegulation ROWS[] = {
    {EN_300_220, .band = "H (433 MHz)", .low_hz = 433.05 * MHZ, .high_hz = 434.79 * MHZ,
     .limit_dbm = 10, .duty_cycle = 0.10, .conditions = "also 1 mW without a limit of duty",
     .confirmation = "from memory"},
    {EN_300_220, .band = "K", .low_hz = 863 * MHZ, .high_hz = 865 * MHZ, .limit_dbm = 13.98,
     .duty_cycle = 0.001, .conditions = POLITE,
     .confirmation = "confirmed on a public page that quotes 4.3.3"},
    {EN_300_220, .band = "L", .low_hz = 865 * MHZ, .high_hz = 868 * MHZ, .limit_dbm = 13.98,
     .duty_cycle = 0.01, .conditions = POLITE "; older editions differ",
     .confirmation = "confirmed on a public page that quotes 4.3.3"},
    {EN_300_220, .band = "M", .low_hz = 868.0 * MHZ, .high_hz = 868.6 * MHZ, .limit_dbm = 13.98,
     .duty_cycle = 0.01, .conditions = POLITE,
     .confirmation = "confirmed on a public page that quotes 4.3.3, and by a national table"},
    {EN_300_220, .band = "N", .low_hz = 868.7 * MHZ, .high_hz = 869.2 * MHZ, .limit_dbm = 13.98,
     .duty_cycle = 0.001, .conditions = POLITE,
     .confirmation = "confirmed on a public page that quotes 4.3.3, and by a national table"},
    {EN_300_220, .band = "P", .low_hz = 869.4 * MHZ, .high_hz = 869.65 * MHZ, .limit_dbm = 26.99,
     .duty_cycle = 0.10, .conditions = POLITE,
     .confirmation = "confirmed on a public page that quotes 4.3.3, and by a national table"},
    {EN_300_220, .band = "P/Q, low power", .low_hz = 869.7 * MHZ, .high_hz = 870 * MHZ,
     .limit_dbm = 6.99, .duty_cycle = 1, .confirmation = "from memory"},
    {EN_300_220, .band = "P/Q", .low_hz = 869.7 * MHZ, .high_hz = 870 * MHZ, .limit_dbm = 13.98,
     .duty_cycle = 0.01, .conditions = POLITE,
     .confirmation = "confirmed on public pages that quote it"},
    {REC_70_03_ALARMS, .low_hz = 868.6 * MHZ, .high_hz = 868.7 * MHZ, .limit_dbm = 10,
     .duty_cycle = 0.01},
    {REC_70_03_ALARMS, .low_hz = 869.2 * MHZ, .high_hz = 869.25 * MHZ, .limit_dbm = 10,
     .duty_cycle = 0.001},
    {REC_70_03_ALARMS, .low_hz = 869.25 * MHZ, .high_hz = 869.3 * MHZ, .limit_dbm = 10,
     .duty_cycle = 0.001},
    {REC_70_03_ALARMS, .low_hz = 869.3 * MHZ, .high_hz = 869.4 * MHZ, .limit_dbm = 10,
     .duty_cycle = 0.01},
    {REC_70_03_ALARMS, .low_hz = 869.65 * MHZ, .high_hz = 869.7 * MHZ, .limit_dbm = 13.98,
     .duty_cycle = 0.10},
    {ANY_BANDWIDTH, .region = "EU/CEPT", .band = "2.4 GHz wideband", .low_hz = 2400 * MHZ,
     .high_hz = 2483.5 * MHZ, .limit_dbm = 20, .kind = SPATE_LIMIT_EIRP, .duty_cycle = 1,
     .conditions = "10 dBm/MHz; adaptive, or medium utilisation at most 10 %",
     .source = "ETSI EN 300 328", .edition = "V2.2.2 (2019-07)",
     .confirmation = "confirmed on public pages of test laboratories"},
    {CFR_15_247, .band = "902-928 MHz, hopping over 50 or more channels", .low_hz = 902 * MHZ,
     .high_hz = 928 * MHZ, .limit_dbm = 30, .kind = SPATE_LIMIT_CONDUCTED, .least_bandwidth_hz = 0,
     .most_bandwidth_hz = 250 * KHZ - 1, .longest_frame_ns = 400000000,
     .conditions = "at most 0.4 s on a channel in 20 s",
     .confirmation = "confirmed on a public page: the rule's text"},
    {CFR_15_247, .band = "902-928 MHz, hopping over 25 to 49 channels", .low_hz = 902 * MHZ,
     .high_hz = 928 * MHZ, .limit_dbm = 24, .kind = SPATE_LIMIT_CONDUCTED,
     .least_bandwidth_hz = 250 * KHZ, .most_bandwidth_hz = 500 * KHZ, .longest_frame_ns = 400000000,
     .conditions = "at most 0.4 s on a channel in 10 s",
     .confirmation = "confirmed on a public page: the rule's text"},
    {CFR_15_247, .band = "902-928 MHz, digital modulation", .low_hz = 902 * MHZ,
     .high_hz = 928 * MHZ, .limit_dbm = 30, .kind = SPATE_LIMIT_CONDUCTED,
     .least_bandwidth_hz = 500 * KHZ, .most_bandwidth_hz = INFINITY,
     .conditions = "at most 8 dBm in any 3 kHz", .confirmation = "from memory"},
    {CFR_15_247, .band = "902-928 MHz, hybrid", .low_hz = 902 * MHZ, .high_hz = 928 * MHZ,
     .limit_dbm = 30, .kind = SPATE_LIMIT_CONDUCTED, .least_bandwidth_hz = 0,
     .most_bandwidth_hz = INFINITY, .longest_frame_ns = 400000000,
     .conditions = "at most 8 dBm in any 3 kHz; 0.4 s on a channel in 0.4 s times their number",
     .confirmation = "from memory"},
    {CFR_15_247, .band = "2400-2483.5 MHz, digital modulation", .low_hz = 2400 * MHZ,
     .high_hz = 2483.5 * MHZ, .limit_dbm = 30, .kind = SPATE_LIMIT_CONDUCTED,
     .least_bandwidth_hz = 500 * KHZ, .most_bandwidth_hz = INFINITY,
     .conditions = "at most 8 dBm in any 3 kHz", .confirmation = "from memory"},
    {CFR_15_247, ANY_BANDWIDTH, .band = "antennas, (b)(4)", .low_hz = 902 * MHZ,
     .high_hz = 2483.5 * MHZ, .limit_dbm = 36, .kind = SPATE_LIMIT_EIRP, .is_additional = true,
     .conditions = "at 2.4 GHz more for fixed links from point to point",
     .confirmation = "from memory; confirmed on a public page"},
};

const SpateRegulation *
spate_regulations(size_t *n)
{
    *n = sizeof ROWS / sizeof *ROWS;
    return ROWS;
}

bool
spate_regulation_covers(const SpateRegulation *row, double centre_hz, double bandwidth_hz)
{
    return centre_hz - bandwidth_hz / 2 >= row->low_hz &&
           centre_hz + bandwidth_hz / 2 <= row->high_hz &&
           bandwidth_hz >= row->least_bandwidth_hz && bandwidth_hz <= row->most_bandwidth_hz;
}

const char *
spate_limit_kind_name(SpateLimitKind kind)
{
    switch (kind) {
    case SPATE_LIMIT_ERP:
        return "ERP";
    case SPATE_LIMIT_EIRP:
        return "EIRP";
    case SPATE_LIMIT_CONDUCTED:
        return "conducted";
    }
    return "";
}
