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
check_row(const Reference *rows, guint i, const SpateModulation *m, int64_t airtime_ns)
{
    size_t bytes = (size_t)reference_number(rows, i, "payload_bytes");
    int64_t symbols = m->kind->payload_symbols(m, bytes);
    ck_assert_msg(symbols == (int64_t)reference_number(rows, i, "payload_symbols"),
                  "row %u: %ld symbols", i + 2, (long)symbols);
    int64_t found_ns = m->kind->airtime_ns(m, bytes);
    ck_assert_msg(found_ns == airtime_ns, "row %u: %ld ns, not %ld", i + 2, (long)found_ns,
                  (long)airtime_ns);
}

/* "numerator/denominator", in microseconds, as whole nanoseconds: half up. */
static int64_t
exact_ns(const char *fraction)
{
    char *slash = NULL;
    int64_t numerator = g_ascii_strtoll(fraction, &slash, 10);
    int64_t denominator = *slash == '/' ? g_ascii_strtoll(slash + 1, NULL, 10) : 1;
    return (2 * numerator * SPATE_NS_PER_US + denominator) / (2 * denominator);
}

static bool
row_has_ldro(const Reference *rows, guint i)
{
    return reference_number(rows, i, "low_data_rate_optimise") == 1;
}

START_TEST(lora_below_1_ghz_takes_the_published_time)
{
    g_autoptr(Reference) rows = reference_read("lora-airtime.csv");
    for (guint i = 0; i < rows->rows->len; i++) {
        SpateModulation m = lora_of_row(rows, i, 869500000);
        m.low_data_rate_optimise = row_has_ldro(rows, i) ? SPATE_LDRO_ON : SPATE_LDRO_OFF;
        check_row(rows, i, &m, exact_ns(reference_text(rows, i, "airtime_us")));
        ck_assert_int_eq(m.kind->symbol_ns(&m), exact_ns(reference_text(rows, i, "symbol_us")));
        m.low_data_rate_optimise = SPATE_LDRO_AUTO;
        ck_assert_int_eq(spate_lora_ldro_is_on(&m),
                         reference_number(rows, i, "low_data_rate_optimise_auto") == 1);
    }
    ck_assert_uint_eq(rows->rows->len, 541);
}
END_TEST

START_TEST(sf5_and_sf6_take_the_time_of_the_later_chips)
{
    g_autoptr(Reference) rows = reference_read("lora-airtime-sf5-sf6.csv");
    for (guint i = 0; i < rows->rows->len; i++) {
        SpateModulation m = lora_of_row(rows, i, 869500000);
        check_row(rows, i, &m, exact_ns(reference_text(rows, i, "airtime_us")));
    }
    ck_assert_uint_eq(rows->rows->len, 80);
}
END_TEST

START_TEST(lora_at_2_4_ghz_takes_the_exact_fraction_rounded)
{
    g_autoptr(Reference) rows = reference_read("lora-airtime-2g4.csv");
    for (guint i = 0; i < rows->rows->len; i++) {
        SpateModulation m = lora_of_row(rows, i, 2450000000);
        /* The rows follow the rule of this band, so that it need not be told. */
        m.low_data_rate_optimise = SPATE_LDRO_AUTO;
        ck_assert_int_eq(spate_lora_ldro_is_on(&m), row_has_ldro(rows, i));
        check_row(rows, i, &m, exact_ns(reference_text(rows, i, "airtime_us_exact")));
    }
    ck_assert_uint_eq(rows->rows->len, 64);
}
END_TEST

/* Preamble and header of one format of IEEE 802.11, in microseconds. */
static int64_t
phy_us(const Reference *rows, const char *format)
{
    double total_us = 0;
    for (guint i = 0; i < rows->rows->len; i++)
        if (strcmp(reference_text(rows, i, "topic"), "phy") == 0 &&
            strcmp(reference_text(rows, i, "condition"), format) == 0)
            total_us += reference_number(rows, i, "value");
    return (int64_t)total_us;
}

/* "1 Mbit/s, long preamble, body 24 bytes", "250 kbit/s long range, body 24 bytes" */
static bool
read_condition(const char *condition, int64_t *rate_bps, char format[8], int *body_bytes)
{
    int rate;
    if (sscanf(condition, "%d Mbit/s, %7s preamble, body %d bytes", &rate, format, body_bytes) ==
        3) {
        *rate_bps = rate * INT64_C(1000000);
        return true;
    }
    strcpy(format, "none");
    *rate_bps = 0;
    if (sscanf(condition, "%d kbit/s long range, body %d bytes", &rate, body_bytes) != 2)
        return false;
    *rate_bps = rate * INT64_C(1000);
    return true;
}

START_TEST(dsss_takes_the_time_of_the_standard)
{
    /* The rows count the body; the overhead of 43 bytes comes on top.  Those of the proprietary
     * rates are without preamble, which is unpublished. */
    g_autoptr(Reference) rows = reference_read("ieee80211-dsss.csv");
    ck_assert_int_eq(phy_us(rows, "long"), 192);
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "topic"), "airtime") != 0)
            continue;
        SpateModulation m = {.kind = &spate_radio_dsss};
        char format[8];
        int body;
        ck_assert(read_condition(reference_text(rows, i, "condition"), &m.rate_bps, format, &body));
        m.preamble_ns = phy_us(rows, format) * SPATE_NS_PER_US;
        size_t bytes = (size_t)(body + spate_radio_dsss.default_overhead_bytes);
        ck_assert_int_eq(m.kind->airtime_ns(&m, bytes),
                         (int64_t)reference_number(rows, i, "value") * SPATE_NS_PER_US);
        ck_assert_int_eq(m.kind->payload_symbols(&m, bytes), (int64_t)bytes);
        n++;
    }
    /* 1 Mbit/s long; 2 Mbit/s long and short; 250 and 500 kbit/s: 6 bodies each */
    ck_assert_int_eq(n, 30);
}
END_TEST

START_TEST(dsss_frames_have_the_overhead_and_the_largest_body_of_the_standard)
{
    g_autoptr(Reference) rows = reference_read("ieee80211-dsss.csv");
    int n = 0, sum_bytes = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *quantity = reference_text(rows, i, "quantity");
        int value = (int)reference_number(rows, i, "value");
        if (strcmp(quantity, "fixed_overhead") == 0)
            ck_assert_int_eq(spate_radio_dsss.default_overhead_bytes, value);
        else if (strcmp(quantity, "max_body") == 0)
            ck_assert_int_eq(spate_radio_dsss.default_largest_payload_bytes, value);
        else if (strcmp(reference_text(rows, i, "topic"), "frame") == 0)
            sum_bytes += value; /* a part of the overhead */
        else
            continue;
        n++;
    }
    ck_assert_int_eq(n, 10);
    ck_assert_int_eq(sum_bytes, spate_radio_dsss.default_overhead_bytes);
}
END_TEST

START_TEST(dsss_has_the_rates_of_the_standard_and_two_slower_ones)
{
    g_autoptr(Reference) rows = reference_read("ieee80211-dsss.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "topic"), "rate") != 0 ||
            strcmp(reference_text(rows, i, "unit"), "Mbit/s") != 0)
            continue;
        SpateModulation m = {.kind = &spate_radio_dsss, .preamble_ns = 192000};
        m.rate_bps = (int64_t)(reference_number(rows, i, "value") * 1e6);
        const char *why = "";
        ck_assert_msg(m.kind->check(&m, &why), "%s", why);
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

START_TEST(the_preamble_is_timed_as_published)
{
    /* What is fixed here; that 5 symbols are the default of `lock` is the scenario's. */
    g_autoptr(Reference) rows = reference_read("lora-interference.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *what = reference_text(rows, i, "matrix");
        if (strcmp(reference_text(rows, i, "record"), "timing") != 0)
            continue;
        double symbols = reference_number(rows, i, "value");
        SpateModulation m = {.kind = &spate_radio_lora,
                             .centre_hz = 869500000,
                             .bandwidth_hz = {125000, 1},
                             .spreading_factor = 7,
                             .coding_rate_denominator = 5,
                             .preamble_symbols = 8,
                             .lock_symbols = 5};
        int64_t symbol_ns = m.kind->symbol_ns(&m);
        const char *why = NULL;
        if (strcmp(what, "sync_and_start_symbols") == 0) {
            ck_assert_int_eq(m.kind->header_ns(&m),
                             (int64_t)((8.0 + symbols) * 1e3) * symbol_ns / 1000);
        } else if (strcmp(what, "preamble_lock") == 0) {
            m.lock_symbols = (int)symbols;
            ck_assert_int_eq(m.kind->critical_ns(&m), 3 * symbol_ns);
        } else {
            ck_assert_str_eq(what, "preamble_minimum");
            m.preamble_symbols = (int)symbols;
            ck_assert(m.kind->check(&m, &why));
            m.preamble_symbols--;
            ck_assert(!m.kind->check(&m, &why));
        }
        n++;
    }
    ck_assert_int_eq(n, 3);
}
END_TEST

START_TEST(the_critical_part_begins_where_too_little_preamble_is_left)
{
    /* SF 10, 125 kHz: a symbol of 8.192 ms; 12 programmed, 5 needed: after 7.  The preamble
     * ends after 12 + 4.25.  (The last 5 programmed symbols must be clear: M. Bor, U. Roedig,
     * T. Voigt, J. M. Alonso, "Do LoRa Low-Power Wide-Area Networks Scale?", MSWiM 2016, from
     * memory.) */
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
    /* dsss: half of the preamble, and a byte at 250 kbit/s lasts 32 us */
    SpateModulation d = {
        .kind = &spate_radio_dsss, .rate_bps = 250000, .preamble_ns = 192 * SPATE_NS_PER_US};
    ck_assert_int_eq(d.kind->critical_ns(&d), 96 * SPATE_NS_PER_US);
    ck_assert_int_eq(d.kind->header_ns(&d), 192 * SPATE_NS_PER_US);
    ck_assert_int_eq(d.kind->symbol_ns(&d), 32 * SPATE_NS_PER_US);
}
END_TEST

START_TEST(offsets_are_rounded_once_and_half_up)
{
    /* SF 5, 812.5 kHz: a symbol of 512/13 us.  7 symbols: 275692.3 ns; 18.25: 718769.2 ns; one:
     * 39384.6 ns.  Rounded symbols would add up to 275695 and 718776 ns. */
    SpateModulation m = {.kind = &spate_radio_lora,
                         .centre_hz = 2450000000,
                         .bandwidth_hz = {1625000, 2},
                         .spreading_factor = 5,
                         .coding_rate_denominator = 5,
                         .preamble_symbols = 12,
                         .lock_symbols = 5};
    ck_assert_int_eq(m.kind->critical_ns(&m), 275692);
    ck_assert_int_eq(m.kind->header_ns(&m), 718769);
    ck_assert_int_eq(m.kind->symbol_ns(&m), 39385);
    SpateModulation d = {.kind = &spate_radio_dsss, .rate_bps = 250000, .preamble_ns = 193};
    ck_assert_int_eq(d.kind->critical_ns(&d), 97);
}
END_TEST

START_TEST(rounded_bandwidths_mean_the_exact_ones)
{
    /* As data sheets print them, with the exact value: 500 kHz and 1625 kHz divided. */
    static const struct {
        double about_hz;
        int64_t centre_hz, numerator, denominator;
    } cases[] = {
        {7812.5, 433000000, 500000, 64},  {7.81e3, 433000000, 500000, 64},
        {7.8e3, 433000000, 500000, 64},   {10.4e3, 433000000, 500000, 48},
        {15.6e3, 433000000, 500000, 32},  {20.8e3, 433000000, 500000, 24},
        {20.83e3, 433e6, 500000, 24},     {31.25e3, 869500000, 500000, 16},
        {31.2e3, 869500000, 500000, 16},  {41.7e3, 869500000, 500000, 12},
        {62.5e3, 869500000, 500000, 8},   {125e3, 869500000, 500000, 4},
        {250e3, 869500000, 500000, 2},    {500e3, 915000000, 500000, 1},
        {203125, 2400000000, 1625000, 8}, {813e3, 2450000000, 1625000, 2},
        {203e3, 2400000000, 1625000, 8},  {406e3, 2450000000, 1625000, 4},
        {812e3, 2450000000, 1625000, 2},  {1625e3, 2450000000, 1625000, 1},
    };
    SpateRational exact;
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        ck_assert(spate_lora_bandwidth(cases[i].about_hz, cases[i].centre_hz, &exact));
        ck_assert_int_eq(exact.numerator, cases[i].numerator);
        ck_assert_int_eq(exact.denominator, cases[i].denominator);
    }
    ck_assert(!spate_lora_bandwidth(125e3, 2450000000, &exact));
    ck_assert(!spate_lora_bandwidth(812.5e3, 869500000, &exact));
    static const double others_hz[] = {100e3, 126e3, 124.9e3, 62e3, 62.6e3, 8e3, 7.9e3, 501e3};
    for (size_t i = 0; i < G_N_ELEMENTS(others_hz); i++)
        ck_assert_msg(!spate_lora_bandwidth(others_hz[i], 869500000, &exact), "%g Hz",
                      others_hz[i]);
}
END_TEST

static SpateModulation
sound_lora(void)
{
    return (SpateModulation){.kind = &spate_radio_lora,
                             .centre_hz = 869500000,
                             .bandwidth_hz = {125000, 1},
                             .spreading_factor = 12,
                             .coding_rate_denominator = 5,
                             .preamble_symbols = 8};
}

static void
check_refused(SpateModulation m, const char *reason)
{
    const char *why = NULL;
    ck_assert(!m.kind->check(&m, &why));
    ck_assert_ptr_nonnull(why);
    ck_assert_msg(strstr(why, reason) != NULL, "\"%s\" does not say \"%s\"", why, reason);
}

START_TEST(settings_that_no_radio_has_are_refused_with_a_reason)
{
    SpateModulation m = sound_lora();
    const char *why = "";
    ck_assert(m.kind->check(&m, &why));
    ck_assert_ptr_null(why);
    for (int sf = 4; sf <= 13; sf += 9)
        check_refused((m = sound_lora(), m.spreading_factor = sf, m), "5 to 12");
    for (int denominator = 4; denominator <= 9; denominator += 5)
        check_refused((m = sound_lora(), m.coding_rate_denominator = denominator, m), "4/8");
    for (int symbols = 5; symbols <= 65536; symbols += 65531)
        check_refused((m = sound_lora(), m.preamble_symbols = symbols, m), "6 to 65535");
    check_refused((m = sound_lora(), m.bandwidth_hz.numerator = 812500, m), "below 1 GHz");
    check_refused((m = sound_lora(), m.centre_hz = 2450000000, m), "1625 kHz");
    SpateModulation d = {.kind = &spate_radio_dsss, .rate_bps = 500000, .preamble_ns = 192000};
    ck_assert(d.kind->check(&d, &why));
    d.preamble_ns = -1;
    check_refused(d, "preamble of dsss");
    d = (SpateModulation){.kind = &spate_radio_dsss, .rate_bps = 300000};
    check_refused(d, "250 kbit/s, 500 kbit/s, 1 Mbit/s or 2 Mbit/s");
}
END_TEST

START_TEST(kinds_are_found_by_their_names)
{
    ck_assert_ptr_eq(spate_radio_kind_find("lora"), &spate_radio_lora);
    ck_assert_ptr_eq(spate_radio_kind_find("dsss"), &spate_radio_dsss);
    ck_assert_ptr_null(spate_radio_kind_find("lor"));
    size_t n = 0;
    for (const SpateRadioKind *const *kind = spate_radio_kinds(); *kind != NULL; kind++)
        n++;
    ck_assert_uint_eq(n, 2);
}
END_TEST

CHECK_MAIN("airtime", lora_below_1_ghz_takes_the_published_time,
           sf5_and_sf6_take_the_time_of_the_later_chips,
           lora_at_2_4_ghz_takes_the_exact_fraction_rounded, dsss_takes_the_time_of_the_standard,
           dsss_frames_have_the_overhead_and_the_largest_body_of_the_standard,
           dsss_has_the_rates_of_the_standard_and_two_slower_ones,
           the_preamble_is_timed_as_published,
           the_critical_part_begins_where_too_little_preamble_is_left,
           offsets_are_rounded_once_and_half_up, rounded_bandwidths_mean_the_exact_ones,
           settings_that_no_radio_has_are_refused_with_a_reason, kinds_are_found_by_their_names)
