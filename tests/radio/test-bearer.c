/* test-bearer.c - noise, sensitivity, protection, selectivity, antennas */
#include "core/units.h"
#include "radio/antenna.h"
#include "radio/bearer.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

static SpateBearer
lora(int sf, int64_t centre_hz, int64_t bandwidth_hz)
{
    return (SpateBearer){
        .modulation = {.kind = &spate_radio_lora,
                       .centre_hz = centre_hz,
                       .bandwidth_hz = {bandwidth_hz, 1},
                       .spreading_factor = sf,
                       .coding_rate_denominator = 5,
                       .preamble_symbols = 8,
                       .lock_symbols = 5},
        .noise_figure_db = 6.0,
        .sensitivity_dbm = NAN,
        .protection_same_db = NAN,
        .protection_other_db = NAN,
        .access = {.csma_threshold_dbm = NAN},
    };
}

static SpateBearer
dsss(int64_t rate_bps, int64_t centre_hz)
{
    SpateBearer bearer = lora(7, centre_hz, 125000);
    bearer.modulation = (SpateModulation){.kind = &spate_radio_dsss,
                                          .centre_hz = centre_hz,
                                          .rate_bps = rate_bps,
                                          .preamble_ns = 192000};
    return bearer;
}

START_TEST(required_snr_and_sensitivity_are_those_of_the_data_sheets)
    {
        g_autoptr(Reference) rows = reference_read("lora-receiver.csv");
        int n = 0;
        for (guint i = 0; i < rows->rows->len; i++) {
            const char *quantity = reference_text(rows, i, "quantity");
            SpateBearer bearer = lora((int)reference_number(rows, i, "sf"), 869500000,
                                      (int64_t)reference_number(rows, i, "bw_hz"));
            double value = reference_number(rows, i, "value");
            if (strcmp(quantity, "required_snr") == 0) {
                bearer.modulation.bandwidth_hz = (SpateRational){125000, 1};
                ck_assert_double_eq_tol(spate_bearer_required_snr_db(&bearer), value, 1e-9);
            } else {
                ck_assert_int_eq(
                    sscanf(reference_text(rows, i, "condition"), "NF %lf", &bearer.noise_figure_db),
                    1);
                ck_assert_double_eq_tol(spate_bearer_sensitivity_dbm(&bearer), value, 1e-3);
            }
            n++;
        }
        ck_assert_int_ge(n, 50);
    }
END_TEST

START_TEST(the_noise_floor_is_that_of_the_handbook)
    {
        g_autoptr(Reference) rows = reference_read("propagation.csv");
        int n = 0;
        for (guint i = 0; i < rows->rows->len; i++) {
            if (strcmp(reference_text(rows, i, "model"), "noise-floor") != 0)
                continue;
            double noise_dbm = spate_noise_floor_dbm(reference_input(rows, i, "bw_hz"),
                                                     reference_input(rows, i, "noise_figure_db"));
            ck_assert_double_eq_tol(noise_dbm, reference_number(rows, i, "value"), 1e-6);
            n++;
        }
        ck_assert_int_ge(n, 5);
    }
END_TEST

START_TEST(spreading_factors_protect_as_published)
    {
        g_autoptr(Reference) rows = reference_read("lora-interference.csv");
        ck_assert_uint_eq(rows->rows->len, 36);
        for (guint i = 0; i < rows->rows->len; i++) {
            SpateBearer wanted =
                lora((int)reference_number(rows, i, "wanted_sf"), 869500000, 125000);
            SpateBearer other =
                lora((int)reference_number(rows, i, "interferer_sf"), 869500000, 125000);
            SpateInterference found = spate_bearer_interference(&wanted, &other);
            ck_assert_double_eq(found.share, 1.0);
            ck_assert_double_eq_tol(spate_linear_to_db(found.protection),
                                    reference_number(rows, i, "value"), 1e-9);
        }
    }
END_TEST

START_TEST(what_the_table_lacks_counts_as_noise)
    {
        SpateBearer sf5 = lora(5, 869500000, 125000), sf9 = lora(9, 869500000, 125000);
        SpateInterference found = spate_bearer_interference(&sf9, &sf5);
        ck_assert_double_eq_tol(spate_linear_to_db(found.protection), -12.5, 1e-9);
        ck_assert_double_eq_tol(
            spate_linear_to_db(spate_bearer_interference(&sf5, &sf5).protection), 1.0, 1e-9);
    }
END_TEST

START_TEST(protection_as_given_stands_in_place_of_the_table)
    {
        SpateBearer sf9 = lora(9, 869500000, 125000), sf10 = lora(10, 869500000, 125000);
        sf9.protection_same_db = 6.0;
        sf9.protection_other_db = -20.0;
        ck_assert_double_eq_tol(
            spate_linear_to_db(spate_bearer_interference(&sf9, &sf9).protection), 6.0, 1e-9);
        ck_assert_double_eq_tol(
            spate_linear_to_db(spate_bearer_interference(&sf9, &sf10).protection), -20.0, 1e-9);
    }
END_TEST

START_TEST(equal_chirp_rates_are_not_orthogonal)
    {
        /* 125 kHz at SF 7 and 250 kHz at SF 9: 125^2 / 128 = 250^2 / 512.  All of the narrow one
         * lies in the wide one's channel, half of the wide one in the narrow one's. */
        SpateBearer narrow = lora(7, 869500000, 125000), wide = lora(9, 869500000, 250000);
        SpateInterference at_wide = spate_bearer_interference(&wide, &narrow);
        SpateInterference at_narrow = spate_bearer_interference(&narrow, &wide);
        ck_assert_double_eq_tol(at_wide.share, 1.0, 1e-12);
        ck_assert_double_eq_tol(spate_linear_to_db(at_wide.protection), 1.0, 1e-9);
        ck_assert_double_eq_tol(at_narrow.share, 0.5, 1e-12);
        ck_assert_double_eq_tol(spate_linear_to_db(at_narrow.protection), 1.0, 1e-9);
        /* Another spreading factor: noise, theta = theta0. */
        wide.modulation.spreading_factor = 10;
        at_narrow = spate_bearer_interference(&narrow, &wide);
        ck_assert_double_eq_tol(at_narrow.share, 0.5, 1e-12);
        ck_assert_double_eq_tol(spate_linear_to_db(at_narrow.protection), -7.5, 1e-9);
    }
END_TEST

START_TEST(neighbouring_channels_are_filtered_by_the_selectivity)
    {
        /* Distances in bandwidths of 125 kHz: 0.5 -> 0 dB, 1.5 -> 55 dB, 8 -> 71 dB, 80 -> 82 dB
         * (derived from the SX1261/2 data sheet: 72, 88, 99 dB of rejection, less 17 dB). */
        static const struct {
            int64_t offset_hz;
            double rejection_db;
        } cases[] = {{187500, 55.0}, {1000000, 71.0}, {10000000, 82.0}, {50000000, 82.0}};
        SpateBearer wanted = lora(12, 869500000, 125000);
        for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
            SpateBearer other = lora(12, 869500000 + cases[i].offset_hz, 125000);
            SpateInterference found = spate_bearer_interference(&wanted, &other);
            ck_assert_double_eq_tol(spate_linear_to_db(found.share), -cases[i].rejection_db, 1e-9);
            ck_assert_double_eq_tol(spate_linear_to_db(found.protection), -20.0, 1e-9);
        }
        /* Half way between two points over the logarithm. */
        SpateBearer between =
            lora(12, 869500000 + (int64_t)llround(125e3 * sqrt(1.5 * 8.0)), 125000);
        ck_assert_double_eq_tol(
            spate_linear_to_db(spate_bearer_interference(&wanted, &between).share), -63.0, 1e-3);
        /* Channels that overlap by a fifth, 0.8 bandwidths apart. */
        SpateBearer overlapping = lora(12, 869600000, 125000);
        ck_assert_double_eq_tol(spate_bearer_interference(&wanted, &overlapping).share, 0.2, 1e-12);
    }
END_TEST

START_TEST(bands_more_than_100_mhz_apart_do_not_meet)
    {
        SpateBearer low = lora(9, 869500000, 125000), high = dsss(250000, 2437000000);
        ck_assert_double_eq(spate_bearer_interference(&low, &high).share, 0.0);
        ck_assert_double_eq(spate_bearer_interference(&high, &low).share, 0.0);
    }
END_TEST

START_TEST(dsss_disturbs_dsss_and_lora_at_2_4_ghz)
    {
        SpateBearer a = dsss(250000, 2437000000), b = dsss(1000000, 2437000000);
        /* One channel: 10 dB (common practice, no source). */
        ck_assert_double_eq_tol(spate_linear_to_db(spate_bearer_interference(&a, &b).protection),
                                10.0, 1e-9);
        /* Channels 1 and 6, 25 MHz apart: nothing overlaps, the rejection of 35 dB is left. */
        SpateBearer far = dsss(250000, 2412000000);
        ck_assert_double_eq_tol(spate_bearer_interference(&a, &far).share, pow(10.0, -3.5), 1e-12);
        /* Channels 5 and 6: 17 of 22 MHz overlap. */
        SpateBearer near = dsss(250000, 2432000000);
        ck_assert_double_eq_tol(spate_bearer_interference(&a, &near).share, 17.0 / 22.0, 1e-12);
        /* A narrow LoRa receiver takes in its share of the wide frame. */
        SpateBearer narrow = lora(9, 2440000000, 812500);
        ck_assert_double_eq_tol(spate_bearer_interference(&narrow, &a).share, 0.8125 / 22.0, 1e-12);
        ck_assert_double_eq_tol(spate_bearer_interference(&a, &narrow).share, 1.0, 1e-12);
    }
END_TEST

START_TEST(energy_detection_depends_on_the_transmit_power)
    {
        /* IEEE Std 802.11-2020, clause 15, from memory. */
        SpateBearer bearer = dsss(250000, 2437000000);
        ck_assert_double_eq(spate_bearer_csma_threshold_dbm(&bearer, 20.5), -80.0);
        ck_assert_double_eq(spate_bearer_csma_threshold_dbm(&bearer, 20.0), -76.0);
        ck_assert_double_eq(spate_bearer_csma_threshold_dbm(&bearer, 17.0), -76.0);
        ck_assert_double_eq(spate_bearer_csma_threshold_dbm(&bearer, 16.9), -70.0);
        bearer.access.csma_threshold_dbm = -85.0;
        ck_assert_double_eq(spate_bearer_csma_threshold_dbm(&bearer, 16.9), -85.0);
    }
END_TEST

START_TEST(a_given_sensitivity_moves_the_required_snr)
    {
        SpateBearer bearer = lora(9, 869500000, 125000);
        bearer.sensitivity_dbm = -125.0;
        ck_assert_double_eq(spate_bearer_sensitivity_dbm(&bearer), -125.0);
        ck_assert_double_eq_tol(spate_bearer_required_snr_db(&bearer),
                                -125.0 - spate_bearer_noise_dbm(&bearer), 1e-12);
    }
END_TEST

START_TEST(a_sector_follows_the_parabola_to_its_floor)
    {
        /* 3GPP TR 36.942, 4.2.1: -3 dB at half of the beamwidth, floored at the front-to-back
         * ratio. */
        SpateAntenna sector = {.gain_dbi = 12.0,
                               .azimuth_deg = 350.0,
                               .beamwidth_deg = 65.0,
                               .front_to_back_db = 20.0};
        ck_assert_double_eq_tol(spate_antenna_gain_dbi(&sector, 350.0), 12.0, 1e-9);
        ck_assert_double_eq_tol(spate_antenna_gain_dbi(&sector, 22.5), 9.0, 1e-9);
        ck_assert_double_eq_tol(spate_antenna_gain_dbi(&sector, 317.5), 9.0, 1e-9);
        ck_assert_double_eq_tol(spate_antenna_gain_dbi(&sector, 170.0), -8.0, 1e-9);
        SpateAntenna omni = {.gain_dbi = 3.0};
        ck_assert_double_eq(spate_antenna_gain_dbi(&omni, 123.0), 3.0);
    }
END_TEST

CHECK_MAIN("bearer", required_snr_and_sensitivity_are_those_of_the_data_sheets,
           the_noise_floor_is_that_of_the_handbook, spreading_factors_protect_as_published,
           what_the_table_lacks_counts_as_noise, protection_as_given_stands_in_place_of_the_table,
           equal_chirp_rates_are_not_orthogonal,
           neighbouring_channels_are_filtered_by_the_selectivity,
           bands_more_than_100_mhz_apart_do_not_meet, dsss_disturbs_dsss_and_lora_at_2_4_ghz,
           energy_detection_depends_on_the_transmit_power,
           a_given_sensitivity_moves_the_required_snr, a_sector_follows_the_parabola_to_its_floor)
