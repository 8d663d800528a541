/* test-airtime.c - time on air against the published formula, row by row
 *
 * tests/reference/lora-airtime*.csv: Semtech AN1200.13 and the data sheets of the later
 * chips, with published results among them; tests/reference/ieee80211-dsss.csv: IEEE Std
 * 802.11-2020.
 */
#include "core/time.h"
#include "radio/modulation.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

static SpateModulation
lora_of_row(const Reference *rows, guint i, int64_t centre_hz)
{
    SpateModulation m = {
        .kind = &spate_radio_lora,
        .centre_hz = centre_hz,
        .spreading_factor = (int)reference_number(rows, i, "sf"),
        .coding_rate_denominator = (int)reference_number(rows, i, "cr_denominator"),
        .preamble_symbols = (int)reference_number(rows, i, "preamble_symbols"),
        .explicit_header = reference_number(rows, i, "explicit_header") == 1,
        .crc = reference_number(rows, i, "crc") == 1,
        .lock_symbols = 5,
    };
    ck_assert(spate_lora_bandwidth(reference_number(rows, i, "bw_hz"), centre_hz, &m.bandwidth_hz));
    return m;
}

static void
check_row(const Reference *rows, guint i, const SpateModulation *m, double airtime_us)
{
    size_t bytes = (size_t)reference_number(rows, i, "payload_bytes");
    int64_t symbols = m->kind->payload_symbols(m, bytes);
    ck_assert_msg(symbols == (int64_t)reference_number(rows, i, "payload_symbols"),
                  "row %u: %ld symbols", i + 2, (long)symbols);
    int64_t airtime_ns = m->kind->airtime_ns(m, bytes);
    ck_assert_msg(llabs(airtime_ns - (int64_t)llround(airtime_us * 1e3)) <= 1, "row %u: %ld ns",
                  i + 2, (long)airtime_ns);
}

START_TEST(lora_below_1_ghz_takes_the_published_time)
    {
        g_autoptr(Reference) rows = reference_read("lora-airtime.csv");
        for (guint i = 0; i < rows->rows->len; i++) {
            SpateModulation m = lora_of_row(rows, i, 869500000);
            m.low_data_rate_optimise = reference_number(rows, i, "low_data_rate_optimise") == 1
                                           ? SPATE_LDRO_ON
                                           : SPATE_LDRO_OFF;
            check_row(rows, i, &m, reference_number(rows, i, "airtime_us"));
            m.low_data_rate_optimise = SPATE_LDRO_AUTO;
            ck_assert_int_eq(spate_lora_ldro_is_on(&m),
                             reference_number(rows, i, "low_data_rate_optimise_auto") == 1);
            /* At these bandwidths a symbol is a whole number of microseconds. */
            ck_assert_int_eq(m.kind->symbol_ns(&m) % SPATE_NS_PER_US, 0);
        }
        ck_assert_uint_gt(rows->rows->len, 500);
    }
END_TEST

START_TEST(sf5_and_sf6_take_the_time_of_the_later_chips)
    {
        g_autoptr(Reference) rows = reference_read("lora-airtime-sf5-sf6.csv");
        int n = 0;
        for (guint i = 0; i < rows->rows->len; i++) {
            if (strcmp(reference_text(rows, i, "formula"), "sx126x") != 0)
                continue;
            SpateModulation m = lora_of_row(rows, i, 869500000);
            check_row(rows, i, &m, reference_number(rows, i, "airtime_us"));
            n++;
        }
        ck_assert_int_gt(n, 50);
    }
END_TEST

START_TEST(lora_at_2_4_ghz_takes_the_exact_fraction_rounded)
    {
        g_autoptr(Reference) rows = reference_read("lora-airtime-2g4.csv");
        for (guint i = 0; i < rows->rows->len; i++) {
            SpateModulation m = lora_of_row(rows, i, 2450000000);
            m.low_data_rate_optimise = reference_number(rows, i, "low_data_rate_optimise") == 1
                                           ? SPATE_LDRO_ON
                                           : SPATE_LDRO_OFF;
            /* airtime_us_exact is "numerator/denominator" */
            g_auto(GStrv) parts = g_strsplit(reference_text(rows, i, "airtime_us_exact"), "/", 2);
            double exact_us = g_ascii_strtod(parts[0], NULL) /
                              (parts[1] != NULL ? g_ascii_strtod(parts[1], NULL) : 1.0);
            check_row(rows, i, &m, exact_us);
        }
    }
END_TEST

START_TEST(dsss_takes_the_time_of_the_standard)
    {
        /* The rows count the body; MODEL's overhead of 43 bytes comes on top.  Only 1 and 2 Mbit/s
         * with the long preamble are modelled. */
        g_autoptr(Reference) rows = reference_read("ieee80211-dsss.csv");
        int n = 0;
        for (guint i = 0; i < rows->rows->len; i++) {
            const char *condition = reference_text(rows, i, "condition");
            int mbps, body;
            if (strcmp(reference_text(rows, i, "quantity"), "frame_with_body") != 0 ||
                sscanf(condition, "%d Mbit/s, long preamble, body %d bytes", &mbps, &body) != 2)
                continue;
            SpateModulation m = {.kind = &spate_radio_dsss,
                                 .rate_bps = mbps * 1000000,
                                 .preamble_ns = 192 * SPATE_NS_PER_US};
            size_t bytes = (size_t)(body + spate_radio_dsss.default_overhead_bytes);
            ck_assert_int_eq(m.kind->airtime_ns(&m, bytes),
                             (int64_t)reference_number(rows, i, "value") * SPATE_NS_PER_US);
            n++;
        }
        ck_assert_int_ge(n, 12);
    }
END_TEST

START_TEST(the_critical_part_begins_where_too_little_preamble_is_left)
    {
        /* SF 10, 125 kHz: a symbol of 8.192 ms; 12 programmed, 5 needed: after 7.  The preamble
         * ends after 12 + 4.25. */
        SpateModulation m = {.kind = &spate_radio_lora,
                             .centre_hz = 869500000,
                             .bandwidth_hz = {125000, 1},
                             .spreading_factor = 10,
                             .coding_rate_denominator = 5,
                             .preamble_symbols = 12,
                             .lock_symbols = 5};
        ck_assert_int_eq(m.kind->critical_ns(&m), 7 * 8192 * SPATE_NS_PER_US);
        ck_assert_int_eq(m.kind->header_ns(&m), 133120 * SPATE_NS_PER_US);
        m.lock_symbols = 20;
        ck_assert_int_eq(m.kind->critical_ns(&m), 0);
        /* SF 6: 12 + 6.25 symbols of 0.512 ms */
        m.spreading_factor = 6;
        ck_assert_int_eq(m.kind->header_ns(&m), 9344 * SPATE_NS_PER_US);
        /* dsss: half of the preamble */
        SpateModulation d = {
            .kind = &spate_radio_dsss, .rate_bps = 250000, .preamble_ns = 192 * SPATE_NS_PER_US};
        ck_assert_int_eq(d.kind->critical_ns(&d), 96 * SPATE_NS_PER_US);
        ck_assert_int_eq(d.kind->header_ns(&d), 192 * SPATE_NS_PER_US);
        /* A byte at 250 kbit/s lasts 32 us. */
        ck_assert_int_eq(d.kind->symbol_ns(&d), 32 * SPATE_NS_PER_US);
    }
END_TEST

START_TEST(rounded_bandwidths_mean_the_exact_ones)
    {
        SpateRational exact;
        ck_assert(spate_lora_bandwidth(7.8e3, 433000000, &exact));
        ck_assert_int_eq(exact.numerator, 500000);
        ck_assert_int_eq(exact.denominator, 64);
        ck_assert(spate_lora_bandwidth(812e3, 2450000000, &exact));
        ck_assert_int_eq(exact.numerator, 1625000);
        ck_assert_int_eq(exact.denominator, 2);
        ck_assert(!spate_lora_bandwidth(125e3, 2450000000, &exact));
        ck_assert(!spate_lora_bandwidth(100e3, 869500000, &exact));
    }
END_TEST

START_TEST(settings_that_no_radio_has_are_refused_with_a_reason)
    {
        const char *why = NULL;
        SpateModulation m = {.kind = &spate_radio_lora,
                             .centre_hz = 869500000,
                             .bandwidth_hz = {125000, 1},
                             .spreading_factor = 13,
                             .coding_rate_denominator = 5,
                             .preamble_symbols = 8};
        ck_assert(!m.kind->check(&m, &why));
        ck_assert_ptr_nonnull(strstr(why, "5 to 12"));
        m.spreading_factor = 12;
        ck_assert(m.kind->check(&m, &why));
        SpateModulation d = {.kind = &spate_radio_dsss, .rate_bps = 300000};
        ck_assert(!d.kind->check(&d, &why));
    }
END_TEST

CHECK_MAIN("airtime", lora_below_1_ghz_takes_the_published_time,
           sf5_and_sf6_take_the_time_of_the_later_chips,
           lora_at_2_4_ghz_takes_the_exact_fraction_rounded, dsss_takes_the_time_of_the_standard,
           the_critical_part_begins_where_too_little_preamble_is_left,
           rounded_bandwidths_mean_the_exact_ones,
           settings_that_no_radio_has_are_refused_with_a_reason)
