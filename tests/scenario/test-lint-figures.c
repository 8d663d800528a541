/* test-lint-figures.c - figures, places and ambient traffic that hardly anyone has */
#include "lint-cases.h"
#include "support/check-main.h"

#include <glib/gstdio.h>

#define RIDGE_POWER "radios: {valley: {power: 14 dBm}}\n    relay"
#define VALLEY      "    duty-cycle: 10 %\n"
#define MODEL       "    propagation: {model: log-distance, exponent: 3}\n  yard"

/* The words are among what is said, at that place. */
static void
assert_among(const char *old, const char *new, const char *place, const char *words)
{
    g_autofree char *text = replaced(CLEAN, old, new);
    g_autofree char *warnings = lint(text);
    g_autofree char *whole = g_strdup_printf("f.yaml:%s: warning: %s", place, words);
    ck_assert_msg(strstr(warnings, whole) != NULL, "'%s' not in:\n%s", whole, warnings);
}

static void
assert_not_among(const char *old, const char *new, const char *words)
{
    g_autofree char *text = replaced(CLEAN, old, new);
    g_autofree char *warnings = lint(text);
    ck_assert_msg(strstr(warnings, words) == NULL, "'%s' in:\n%s", words, warnings);
}

START_TEST(figures_of_radios_beyond_what_there_is_are_told)
{
    static const char *const CASES[][3] = {
        {"{power: -100 dBm}", "18:14", "'ridge' has a power of -100 dBm on 'valley'"},
        {"{power: -30.1 dBm}", "18:14", "'ridge' has a power of -30.1 dBm"},
        {"{power: -30 dBm}", NULL, "has a power of"},
        {"{power: 14 dBm, antenna: {gain: -21 dBi}}", "18:14", "'ridge' has a gain of"},
        {"{power: 14 dBm, antenna: {gain: -20 dBi}}", NULL, "has a gain"},
        {"{power: -27 dBm, antenna: {gain: 41 dBi}}", "18:14", "'ridge' has a gain of"},
        {"{power: 14 dBm, feeder-loss: 31 dB}", "18:14", "'ridge' has a feeder loss of 31 dB"},
        {"{power: 14 dBm, feeder-loss: 30 dB}", NULL, "feeder loss"},
        {"{power: 14 dBm, noise-rise: 51 dB}", "18:14", "'ridge' has a noise rise of 51 dB"},
        {"{power: 14 dBm, noise-rise: 50 dB}", NULL, "noise rise"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(CASES); i++) {
        g_autofree char *radio = g_strdup_printf("radios: {valley: %s}\n    relay", CASES[i][0]);
        if (CASES[i][1] != NULL)
            assert_among(RIDGE_POWER, radio, CASES[i][1], CASES[i][2]);
        else
            assert_not_among(RIDGE_POWER, radio, CASES[i][2]);
    }
}
END_TEST

START_TEST(a_group_is_told_of_once)
{
    assert_among("    place: {circle", "    site-loss: 61 dB\n    place: {circle", "23:3",
                 "'soil-1' has a site loss of 61 dB (and 3 more nodes)");
    assert_not_among("    place: {circle", "    site-loss: 60 dB\n    place: {circle", "site loss");
}
END_TEST

/* SF10 at 125 kHz: -132.03 dBm with 6 dB, -138.03 with 0 dB. */
START_TEST(a_sensitivity_that_no_receiver_has_is_told)
{
    assert_among(VALLEY, VALLEY "    sensitivity: 0 dBm\n", "4:3",
                 "the sensitivity of 'valley' is 0 dBm, 132 dB above what its frames need");
    assert_among(VALLEY, VALLEY "    sensitivity: -102 dBm\n", "4:3",
                 "the sensitivity of 'valley'");
    assert_silent(VALLEY, VALLEY "    sensitivity: -102.1 dBm\n");
    assert_silent(VALLEY, VALLEY "    sensitivity: -141 dBm\n");
    assert_warns(VALLEY, VALLEY "    sensitivity: -141.1 dBm\n", "4:3",
                 "the sensitivity of 'valley' is -141.1 dBm, below the -138.0 dBm");
}
END_TEST

/* Free space over 100 m at 869.5 MHz: 71.23 dB (Rec. ITU-R P.525). */
START_TEST(a_propagation_that_loses_less_than_free_space_is_told)
{
    static const char *const CASES[][2] = {
        {"{model: free-space, extra-loss: -100 dB}", "loses -28.8 dB over 100 m, free space"},
        {"{model: free-space, extra-loss: -10.1 dB}", "loses 61.1 dB over 100 m, free space"},
        {"{model: free-space, extra-loss: -9.9 dB}", NULL},
        {"{model: log-distance, exponent: 3, intercept: {at: 100 m, loss: 0.1 dB}}",
         "loses 0.1 dB over 100 m, free space loses 71.2 dB"},
        {"{model: two-ray, extra-loss: -11 dB}", "loses 60.2 dB over 100 m"},
        {"{model: log-distance, exponent: 3, between: [{groups: [ridge, gate], model: free-space, "
         "extra-loss: -11 dB}]}",
         "loses 60.2 dB over 100 m"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(CASES); i++) {
        g_autofree char *model = g_strdup_printf("    propagation: %s\n  yard", CASES[i][0]);
        if (CASES[i][1] != NULL)
            assert_warns(MODEL, model, "10:5", CASES[i][1]);
        else
            assert_silent(MODEL, model);
    }
}
END_TEST

START_TEST(exponents_and_shadowing_beyond_measure_are_told)
{
    assert_among(MODEL, "    propagation: {model: log-distance, exponent: 6.1}\n  yard", "10:5",
                 "the exponent of 'valley' is 6.1");
    assert_not_among(MODEL, "    propagation: {model: log-distance, exponent: 6}\n  yard",
                     "the exponent");
    assert_warns(MODEL,
                 "    propagation: {model: log-distance, exponent: 3, shadowing: 21 dB}\n  yard",
                 "10:5", "the shadowing of 'valley' has a standard deviation of 21 dB");
    assert_silent(MODEL,
                  "    propagation: {model: log-distance, exponent: 3, shadowing: 20 dB}\n  yard");
    assert_among(VALLEY, VALLEY "    noise-figure: 21 dB\n", "4:3", "the noise figure of 'valley'");
    assert_silent(VALLEY, VALLEY "    noise-figure: 20 dB\n");
}
END_TEST

#define STREET "{model: street-level, environment: suburban}"

/* Rec. ITU-R P.1411-12, 4.3.1: 300 to 3000 MHz, up to 3000 m. */
START_TEST(streets_beyond_what_was_measured_are_told)
{
    static const char MHZ[] = "    propagation: " STREET "\n  yard";
    assert_silent(MODEL, MHZ);
    g_autofree char *street = replaced(CLEAN, MODEL, MHZ);
    const struct {
        const char *old, *now, *words;
    } cases[] = {
        {"x: 500 m, y: 0 m}\n", "x: 3000 m, y: 0 m}\n", NULL},
        {"x: 500 m, y: 0 m}\n", "x: 3001 m, y: 0 m}\n",
         "'gate' and 'ridge' are 3.001 km apart on 'valley'"},
        {"869.5 MHz", "300 MHz", NULL},
        {"869.5 MHz", "299.9 MHz", "'valley' is at 299.9 MHz"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *text = replaced(street, cases[i].old, cases[i].now);
        g_autofree char *warnings = lint(text);
        const char *words = cases[i].words != NULL ? cases[i].words : "'street-level' is made";
        ck_assert_msg((strstr(warnings, words) != NULL) == (cases[i].words != NULL), "%s in:\n%s",
                      words, warnings);
    }
    static const char YARD[] =
        "    frequency: 2437 MHz\n    propagation: {model: log-distance, exponent: 3}\n";
    assert_among(YARD, "    frequency: 3001 MHz\n    propagation: " STREET "\n", "14:5",
                 "'yard' is at 3.001 GHz");
    assert_not_among(YARD, "    frequency: 3000 MHz\n    propagation: " STREET "\n",
                     "'street-level' is made");
    /* Other pairs of that bearer do not count. */
    static const char EXCEPT[] =
        "    propagation: {model: log-distance, exponent: 3, between: [{groups: [soil, gate], "
        "model: street-level, environment: suburban}]}\n  yard";
    g_autofree char *some = replaced(CLEAN, MODEL, EXCEPT);
    g_autofree char *far = replaced(some, cases[1].old, cases[1].now);
    g_autofree char *warnings = lint(far);
    ck_assert_msg(strstr(warnings, "'street-level' is made") == NULL, "%s", warnings);
}
END_TEST

/* 500 m apart: 85.21 dB at 869.5 MHz. */
START_TEST(a_link_that_loses_less_than_free_space_is_told)
{
    assert_warns(
        "bridges:\n", "links:\n  - {between: [ridge, gate], loss: 0.1 dB}\nbridges:\n", "28:5",
        "the loss from 'ridge' to 'gate' is 0.1 dB, free space loses 85.2 dB between them");
    assert_among("bridges:\n", "links:\n  - {between: [ridge, gate], loss: 75 dB}\nbridges:\n",
                 "28:5", "the loss from 'ridge'");
    assert_silent("bridges:\n", "links:\n  - {between: [ridge, gate], loss: 75.5 dB}\nbridges:\n");
}
END_TEST

START_TEST(heights_above_the_sea_are_told)
{
    assert_warns("at: {x: 0 m, y: 0 m}", "at: {x: 0 m, y: 0 m, height: 151 m}", "16:3",
                 "'ridge' is 151 m above the ground");
    assert_among("at: {x: 0 m, y: 0 m}", "at: {x: 0 m, y: 0 m, height: 20 km}", "16:3",
                 "'ridge' is 20 km above the ground");
    assert_silent("at: {x: 0 m, y: 0 m}", "at: {x: 0 m, y: 0 m, height: 150 m}");

    g_autofree char *ridge =
        replaced(CLEAN, "at: {x: 0 m, y: 0 m}", "at: {x: 0 m, y: 0 m, height: 90 m}");
    g_autofree char *gate =
        replaced(ridge, "at: {x: 500 m, y: 0 m}", "at: {x: 500 m, y: 0 m, height: 70 m}");
    g_autofree char *soil = replaced(gate, "radius: 50 m}}", "radius: 50 m}, height: 61 m}");
    g_autofree char *high = lint(soil);
    ck_assert_msg(strstr(high, "no node is lower than 61 m above the ground"), "%s", high);

    g_autofree char *both = replaced(gate, "height: 90 m}", "height: 160 m}");
    g_autofree char *two_nodes = replaced(both, "height: 70 m}", "height: 170 m}");
    g_autofree char *two = lint(two_nodes);
    ck_assert_msg(strstr(two, "'gate' is 170 m above the ground (and 1 more node is that high)"),
                  "%s", two);
    g_autofree char *low = lint(gate);
    ck_assert_str_eq(low, "");
}
END_TEST

START_TEST(nodes_far_from_all_others_are_told)
{
    assert_among("at: {x: 0 m, y: 0 m}", "at: {x: 0 m, y: -900 km}", "16:3",
                 "'ridge' is 900 km from the middle of the other nodes");
    assert_not_among("at: {x: 0 m, y: 0 m}", "at: {x: 0 m, y: -100 km}", "from the middle");
}
END_TEST

START_TEST(ambient_traffic_that_drowns_everything_is_told)
{
    assert_among("traffic:\n",
                 "ambient:\n  - {bearer: valley, everywhere: yes, power: 100 dBm, busy: 99.9 %, "
                 "burst: 200 ms}\ntraffic:\n",
                 "36:5", "each radio on 'valley' receives this ambient traffic at 100 dBm");
    assert_among("traffic:\n",
                 "ambient:\n  - {bearer: valley, everywhere: yes, power: -110 dBm, busy: 90.1 %, "
                 "burst: 200 ms}\ntraffic:\n",
                 "36:5", "this ambient traffic fills 'valley' for 90.1 % of the time");
    assert_warns("traffic:\n",
                 "ambient:\n  - {bearer: valley, at: {x: 1 km, y: 0 m}, power: 41 dBm, busy: 3 %, "
                 "burst: 200 ms}\ntraffic:\n",
                 "36:5", "this ambient traffic on 'valley' is radiated at 41 dBm");
    assert_silent("traffic:\n",
                  "ambient:\n"
                  "  - {bearer: valley, everywhere: yes, power: -73 dBm, busy: 90 %, burst: 1 s}\n"
                  "  - {bearer: valley, at: {x: 1 km, y: 0 m}, power: 40 dBm, busy: 3 %, burst: "
                  "200 ms}\n"
                  "traffic:\n");
}
END_TEST

/* 50 % of an hour in bursts of 180 us: 10,000,000. */
START_TEST(what_ambient_traffic_costs_is_told)
{
    assert_warns("traffic:\n",
                 "ambient:\n  - {bearer: yard, everywhere: yes, power: -110 dBm, busy: 50 %, "
                 "burst: 10 us}\ntraffic:\n",
                 "36:5",
                 "ambient traffic makes 180 million bursts in each replication, most of them here, "
                 "of 10 us each");
    assert_silent("traffic:\n",
                  "ambient:\n  - {bearer: yard, everywhere: yes, power: -110 dBm, busy: 50 %, "
                  "burst: 180 us}\ntraffic:\n");
}
END_TEST

START_TEST(a_table_without_rows_is_told)
{
    g_autofree char *folder = g_dir_make_tmp("spate-lint-XXXXXX", NULL);
    g_autofree char *path = g_build_filename(folder, "t.csv", NULL);
    g_autofree char *links = g_strdup_printf("links:\n  - {table: %s}\nbridges:\n", path);
    ck_assert(g_file_set_contents(path, "sender,receiver,bearer,loss\n", -1, NULL));
    assert_warns("bridges:\n", links, "28:13", "this table has no rows");

    g_autofree char *nodes = g_strdup_printf(
        "nodes:\n  beds:\n    place: {table: %s}\n    radios: {yard: {power: 14 dBm}}\n", path);
    ck_assert(g_file_set_contents(path, "name,x,y\n", -1, NULL));
    assert_warns("nodes:\n", nodes, "17:20", "this table has no rows");
    ck_assert(g_file_set_contents(path, "name,x,y\nplum,505 m,1 m\n", -1, NULL));
    assert_silent("nodes:\n", nodes);
    g_unlink(path);
    g_rmdir(folder);
}
END_TEST

CHECK_MAIN("lint-figures", figures_of_radios_beyond_what_there_is_are_told, a_group_is_told_of_once,
           a_sensitivity_that_no_receiver_has_is_told,
           a_propagation_that_loses_less_than_free_space_is_told,
           exponents_and_shadowing_beyond_measure_are_told,
           streets_beyond_what_was_measured_are_told,
           a_link_that_loses_less_than_free_space_is_told, heights_above_the_sea_are_told,
           nodes_far_from_all_others_are_told, ambient_traffic_that_drowns_everything_is_told,
           what_ambient_traffic_costs_is_told, a_table_without_rows_is_told)
