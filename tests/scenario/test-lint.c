/* test-lint.c - what lint warns of, and that it keeps quiet */
#include "lint-cases.h"
#include "scenario/read/regulations.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

START_TEST(a_clean_file_gives_no_output)
{
    g_autofree char *warnings = lint(CLEAN);

    ck_assert_str_eq(warnings, "");
}
END_TEST

/* 500 mW ERP are 29.14 dBm EIRP: 24.2 dBm into 5 dBi are 29.2, 24.1 dBm are 29.1. */
START_TEST(erp_is_what_leaves_the_antenna_less_a_dipole)
{
    assert_warns(
        "ridge:\n    at: {x: 0 m, y: 0 m}\n    radios: {valley: {power: 14 dBm}}",
        "ridge:\n    at: {x: 0 m, y: 0 m}\n    radios: {valley: {power: 24.2 dBm, antenna: "
        "{gain: 5 dBi}}}",
        "18:14", "more than the 26.99 dBm of EU/CEPT, P, ETSI EN 300 220-2");
    assert_warns("ridge:\n    at: {x: 0 m, y: 0 m}\n    radios: {valley: {power: 14 dBm}}",
                 "ridge:\n    at: {x: 0 m, y: 0 m}\n    radios: {valley: {power: 25.2 dBm, "
                 "feeder-loss: 1 dB, antenna: {gain: 5 dBi}}}",
                 "18:14", "check your local rules");

    g_autofree char *text =
        replaced(CLEAN, "valley: {power: 14 dBm}}\n    relay",
                 "valley: {power: 24.1 dBm, antenna: {gain: 5 dBi}}}\n    relay");
    g_autofree char *warnings = lint(text);
    ck_assert_str_eq(warnings, "");
}
END_TEST

/* EN 300 328: 20 dBm EIRP.  One warning for a group of four. */
START_TEST(eirp_at_2_4_ghz_has_its_limit)
{
    assert_warns("    radios: {yard: {power: 14 dBm}}",
                 "    radios: {yard: {power: 18 dBm, antenna: {gain: 8 dBi}}}", "26:14",
                 "'soil-1' has 26.0 dBm EIRP on 'yard', more than the 20 dBm of EU/CEPT");
}
END_TEST

START_TEST(a_duty_cycle_above_the_band_is_told)
{
    assert_warns("duty-cycle: 10 %", "duty-cycle: 20 %", "4:3",
                 "'valley' has a duty cycle of 20 %; 10 % is the limit of EU/CEPT, band P");
    assert_warns("    duty-cycle: 10 %\n", "", "4:3", "'valley' has no duty cycle; 10 %");
}
END_TEST

START_TEST(a_band_for_alarms_and_no_band_are_told)
{
    assert_warns("869.5 MHz\n    bandwidth: 125 kHz", "869.35 MHz\n    bandwidth: 62.5 kHz", "4:3",
                 "'valley' lies in a band for alarms");
    assert_warns("869.5 MHz", "500 MHz", "4:3", "'valley' is outside all bands");
    /* The centre is in, an edge is out. */
    assert_warns("869.5 MHz", "869.64 MHz", "4:3", "'valley' is outside all bands");
}
END_TEST

/* 47 CFR 15.247: 0.4 s on a channel; SF12 at 125 kHz takes more than a second. */
START_TEST(long_frames_at_915_mhz_are_told)
{
    assert_warns("869.5 MHz\n    bandwidth: 125 kHz\n    spreading-factor: 10",
                 "915 MHz\n    bandwidth: 125 kHz\n    spreading-factor: 12", "36:3",
                 "400 ms is the limit of US/FCC");
}
END_TEST

/* The later counts.  Both ways is one entry: told once. */
START_TEST(a_loss_that_is_given_twice_is_told)
{
    assert_warns("bridges:\n",
                 "links:\n"
                 "  - {between: [ridge, gate], loss: 90 dB}\n"
                 "  - {between: [gate, ridge], loss: 95.5 dB}\n"
                 "bridges:\n",
                 "29:5",
                 "the loss from 'gate' to 'ridge' is given twice; this one counts; line 28 gave "
                 "90 dB");
    assert_warns("bridges:\n",
                 "links:\n"
                 "  - {between: [ridge, gate], loss: 90 dB}\n"
                 "  - {between: [gate, soil], bearer: yard, loss: 80 dB}\n"
                 "  - {from: ridge, to: gate, loss: 95 dB}\n"
                 "bridges:\n",
                 "30:5", "the loss from 'ridge' to 'gate' is given twice");
    assert_warns("bridges:\n",
                 "links:\n"
                 "  - {from: ridge, to: gate, loss: 90 dB}\n"
                 "  - {from: ridge, to: gate, loss: 95 dB}\n"
                 "  - {from: ridge, to: gate, loss: 95 dB}\n"
                 "bridges:\n",
                 "30:5", "line 28 gave 90 dB");
}
END_TEST

START_TEST(losses_that_do_not_contradict_are_not_told)
{
    static const char *const links[] = {
        "  - {from: ridge, to: gate, loss: 90 dB}\n  - {from: gate, to: ridge, loss: 95 dB}\n",
        "  - {between: [ridge, gate], loss: 90 dB}\n  - {between: [ridge, gate], loss: 90 dB}\n",
        ("  - {between: [ridge, gate], loss: 90 dB}\n"
         "  - {between: [ridge, gate], bearer: valley, loss: 95 dB}\n"),
        "  - {between: [gate, soil], loss: 90 dB}\n  - {between: [gate, soil-1], loss: 95 dB}\n",
    };
    for (size_t i = 0; i < G_N_ELEMENTS(links); i++) {
        g_autofree char *section = g_strdup_printf("links:\n%sbridges:\n", links[i]);
        g_autofree char *text = replaced(CLEAN, "bridges:\n", section);
        g_autofree char *warnings = lint(text);
        ck_assert_str_eq(warnings, "");
    }
}
END_TEST

START_TEST(recipients_without_a_fitting_radio_are_told)
{
    assert_warns("from: [ridge, gate], to: [ridge, gate]", "from: ridge, to: soil", "36:3",
                 "no one can receive 'talk': 'soil-1' has no radio on a bearer that carries it");
    assert_warns("from: [ridge, gate], to: [ridge, gate]", "from: ridge, to: [gate, soil]", "36:3",
                 "not all can receive 'talk'");
    assert_warns("from: [ridge, gate], to: [ridge, gate]", "from: ridge, to: ridge", "36:3",
                 "its source is its only recipient");
    assert_warns("from: [ridge, gate], to: [ridge, gate],", "from: ridge, to: nobody, on: yard,",
                 "36:3", "'ridge' cannot send 'talk'");
}
END_TEST

/* 20 + 43 bytes on the yard, 250 + 43 at most. */
START_TEST(frames_that_are_never_sent_are_told)
{
    assert_warns("from: soil, to: [gate, ridge], payload: 20 bytes",
                 "from: soil, to: [gate, ridge], payload: 251 bytes", "37:3",
                 "frames of 'moisture' are never sent on 'yard': 294 bytes, its largest frame has "
                 "293");
}
END_TEST

/* 20 bytes at SF10 take 0.37 s; 0.005 % of an hour are 0.18 s. */
START_TEST(frames_beyond_the_duty_cycle_are_told)
{
    g_autofree char *text = replaced(CLEAN, "duty-cycle: 10 %", "duty-cycle: 0.005 %");
    g_autofree char *warnings = lint(text);

    ck_assert_ptr_nonnull(
        strstr(warnings, "frames of 'talk' are never sent on 'valley': one takes"));
}
END_TEST

START_TEST(more_than_a_radio_may_send_is_told)
{
    g_autofree char *text = replaced(CLEAN, "duty-cycle: 10 %", "duty-cycle: 0.1 %");
    g_autofree char *warnings = lint(text);

    /* 20 bytes at SF10 take 370.688 ms (AN1200.13), every 300 s. */
    ck_assert_ptr_nonnull(strstr(warnings,
                                 "the messages of 'gate' alone take 0.124 % of the time on "
                                 "'valley', which leaves it 0.1 %"));
}
END_TEST

START_TEST(times_after_the_last_offer_are_told)
{
    assert_warns("to: [ridge, gate], payload: 20 bytes, every: 5 min",
                 "to: [ridge, gate], payload: 20 bytes, at: [10 min, 59.5 min]", "36:3",
                 "'talk' has times too late for an offer");
}
END_TEST

START_TEST(a_rule_behind_one_that_matches_all_is_told)
{
    assert_warns("        - {when: {from: soil-1}, do: hold-back}\n        - {do: pass}\n",
                 "        - {do: pass}\n        - {when: {from: soil-1}, do: hold-back}\n", "34:11",
                 "no message reaches this rule of 'up'");
    assert_warns("nodes:\n",
                 "flooding:\n  rules:\n    - {do: pass}\n    - {do: hold-back}\nnodes:\n", "18:7",
                 "no message reaches this rule of 'flooding'");
}
END_TEST

#define FIRST_RULE "        - {when: {from: soil-1}, do: hold-back}\n"
#define PASS_RULE  "        - {do: pass}\n"

START_TEST(a_rule_that_nothing_fits_is_told)
{
    /* moisture has 20 bytes, goes to gate and ridge, and may do 7 hops before the last */
    static const char *const DEAD[] = {"{traffic: moisture, size: {above: 20 bytes}}",
                                       "{from: soil, to: soil-2}", "{traffic: talk, from: soil}",
                                       "{hops: {above: 7}}",
                                       "{traffic: talk, from: [soil, ridge], to: soil}"};
    for (size_t i = 0; i < G_N_ELEMENTS(DEAD); i++) {
        g_autofree char *rules =
            g_strdup_printf("        - {when: %s, do: hold-back}\n" FIRST_RULE, DEAD[i]);
        assert_warns(FIRST_RULE, rules, "33:11",
                     "this rule of 'up' can never match: no offered message fits it");
    }
    /* Each of these fits something. */
    static const char *const ALIVE[] = {"{traffic: moisture, size: {above: 19 bytes}}",
                                        "{hops: {above: 6}}", "{from: soil, to: ridge}",
                                        "{traffic: talk, from: ridge}"};
    for (size_t i = 0; i < G_N_ELEMENTS(ALIVE); i++) {
        g_autofree char *rules =
            g_strdup_printf(FIRST_RULE "        - {when: %s, do: hold-back}\n", ALIVE[i]);
        g_autofree char *text = replaced(CLEAN, FIRST_RULE, rules);
        g_autofree char *warnings = lint(text);
        ck_assert_str_eq(warnings, "");
    }
}
END_TEST

/* The gate's own talk does not cross at the gate. */
START_TEST(a_node_s_own_messages_do_not_count_for_its_rules)
{
    assert_warns(FIRST_RULE, FIRST_RULE "        - {when: {from: gate}, do: hold-back}\n", "34:11",
                 "this rule of 'up' can never match");
}
END_TEST

START_TEST(a_rule_hidden_by_an_earlier_one_names_its_line)
{
    assert_warns(FIRST_RULE,
                 "        - {when: {from: soil}, do: hold-back}\n"
                 "        - {when: {from: [soil-2, soil-3], hops: {below: 3}}, do: pass}\n",
                 "34:11",
                 "no message reaches this rule of 'up': the one at line 33 takes them all");
    /* By two together: the last of them is named. */
    assert_warns(
        FIRST_RULE,
        "        - {when: {from: [soil-1, soil-2]}, do: hold-back}\n"
        "        - {when: {from: [soil-3, soil-4]}, do: pass}\n"
        "        - {when: {traffic: moisture, received-power: {below: -90 dBm}}, do: pass}\n",
        "35:11", "no message reaches this rule of 'up': the one at line 34 takes them all");
    assert_warns(FIRST_RULE,
                 "        - {when: {occupancy: {bearer: valley, above: 10 %}}, do: hold-back}\n"
                 "        - {when: {occupancy: {bearer: valley, above: 20 %}}, do: pass}\n",
                 "34:11", "the one at line 33 takes them");
}
END_TEST

START_TEST(what_hops_and_levels_may_leave_is_not_hidden)
{
    static const char *const BEFORE[] = {
        "{from: soil, hops: {below: 3}}", "{from: soil, received-power: {above: -100 dBm}}",
        "{occupancy: {bearer: valley, above: 20 %}}", "{from: [soil-1, soil-2, soil-3]}"};
    for (size_t i = 0; i < G_N_ELEMENTS(BEFORE); i++) {
        g_autofree char *rules =
            g_strdup_printf("        - {when: %s, do: hold-back}\n"
                            "        - {when: {from: soil, hops: {below: 4}}, do: hold-back}\n",
                            BEFORE[i]);
        g_autofree char *text = replaced(CLEAN, FIRST_RULE, rules);
        g_autofree char *warnings = lint(text);
        ck_assert_str_eq(warnings, "");
    }
}
END_TEST

/* A digest of the gate may have any size, and comes from the gate. */
START_TEST(where_digests_are_made_sizes_and_origins_are_open)
{
    g_autofree char *text =
        replaced(CLEAN, FIRST_RULE,
                 "        - {when: {traffic: moisture, size: {above: 20 bytes}}, do: hold-back}\n"
                 "        - {when: {from: soil}, do: {digest: {every: 5 min}}}\n");
    g_autofree char *warnings = lint(text);
    ck_assert_str_eq(warnings, "");
}
END_TEST

START_TEST(a_hop_limit_that_forbids_relaying_is_told)
{
    assert_warns("    relay: [valley]", "    relay: [valley]\n    flooding: {hop-limit: 1}", "16:3",
                 "'ridge' never relays");
}
END_TEST

START_TEST(unused_things_are_told)
{
    assert_warns("nodes:\n", "  spare: {kind: dsss, frequency: 2462 MHz}\nnodes:\n", "15:3",
                 "no node has a radio on 'spare'");
    assert_warns("nodes:\n", "nodes:\n  idle: {at: {x: 1 m, y: 1 m}}\n", "16:3",
                 "'idle' has no radio");
}
END_TEST

START_TEST(a_class_that_looks_like_a_slip_is_told)
{
    assert_warns("nodes:\n", "priority: [alarm, tolk]\nnodes:\n", "15:19",
                 "no traffic has the class 'tolk'\n    priority: [alarm, tolk]\n"
                 "                      ^\n    did you mean 'talk'?");
    assert_silent("nodes:\n", "priority: [talk, tolk, alarm]\nnodes:\n");
}
END_TEST

START_TEST(a_group_in_one_spot_is_told)
{
    assert_warns("    place: {circle: {centre: {x: 500 m, y: 0 m}, radius: 50 m}}",
                 "    at: {x: 500 m, y: 0 m}", "23:3", "are at the same place");
    assert_warns("radius: 50 m", "radius: 0 m", "23:3", "are at the same place");
}
END_TEST

START_TEST(free_space_that_nobody_chose_is_told)
{
    assert_warns("    kind: dsss\n    frequency: 2437 MHz\n    propagation: {model: log-distance, "
                 "exponent: 3}\n",
                 "    kind: dsss\n    frequency: 2437 MHz\n", "11:3",
                 "'yard' has no 'propagation': free space reaches farthest");
}
END_TEST

START_TEST(too_few_draws_of_what_is_in_doubt_are_told)
{
    const char *last = "to: [gate, ridge], payload: 20 bytes, every: 5 min}\n";
    g_autofree char *doubt =
        g_strconcat(last, "doubt: {bearers.valley.noise-figure: [5 dB, 9 dB]}\n", NULL);
    assert_warns(last, doubt, "38:9", "at least 10 replications are needed");
    g_autofree char *many = replaced(CLEAN, last, doubt);
    g_autofree char *often = replaced(many, "{duration: 1 h", "{duration: 1 h, replications: 10");
    g_autofree char *warnings = lint(often);
    ck_assert_str_eq(warnings, "");
}
END_TEST

START_TEST(what_sources_alone_overload_is_told)
{
    g_autofree char *text =
        replaced(CLEAN, "from: soil, to: [gate, ridge], payload: 20 bytes, every: 5 min",
                 "from: soil, to: [gate, ridge], payload: 20 bytes, every: 7 ms");
    g_autofree char *warnings = lint(text);

    /* 63 bytes at 250 kbit/s and 192 us: 2.208 ms, four times in 7 ms. */
    ck_assert_ptr_nonnull(strstr(warnings, "the sources alone offer 1.26 erlang on 'yard'"));
}
END_TEST

/* ---- the table against the figures as collected ---------------------------------------------- */

/* The next field of a line of comma-separated values. */
static char *
next_field(const char **line)
{
    GString *field = g_string_new(NULL);
    bool quoted = false;
    for (; **line != '\0' && (quoted || **line != ','); (*line)++) {
        if (**line == '"')
            quoted = !quoted;
        else
            g_string_append_c(field, **line);
    }
    if (**line == ',')
        (*line)++;
    return g_string_free(field, FALSE);
}

static bool
is_in_table(char *const *fields)
{
    size_t n;
    const SpateRegulation *rows = spate_regulations(&n);
    double low_hz = g_ascii_strtod(fields[2], NULL) * 1e6;
    double high_hz = g_ascii_strtod(fields[3], NULL) * 1e6;
    double limit_dbm = g_ascii_strtod(fields[4], NULL);
    double duty = fields[7][0] == '\0' ? 1 : g_ascii_strtod(fields[7], NULL) / 100;
    for (size_t i = 0; i < n; i++)
        if (strcmp(rows[i].region, fields[0]) == 0 && fabs(rows[i].low_hz - low_hz) < 1 &&
            fabs(rows[i].high_hz - high_hz) < 1 && fabs(rows[i].limit_dbm - limit_dbm) < 0.001 &&
            strcmp(spate_limit_kind_name(rows[i].kind), fields[5]) == 0 &&
            fabs(rows[i].duty_cycle - duty) < 1e-9)
            return true;
    return false;
}

/* A row that turns a level of ERP ("25 mW ERP = 13.98 dBm ERP") into one of EIRP: by the gain that
 * lint reckons with. */
static bool
is_conversion(char *const *fields)
{
    double erp_dbm;
    if (strcmp(fields[0], "conversion") != 0)
        return false;
    ck_assert_int_eq(sscanf(fields[9], "%*d mW ERP = %lf dBm ERP", &erp_dbm), 1);
    ck_assert_double_eq_tol(erp_dbm + SPATE_DIPOLE_GAIN_DBI, g_ascii_strtod(fields[4], NULL),
                            0.0051);
    return true;
}

/* tests/reference/regulations.csv: its sources stand in its columns. */
START_TEST(every_limit_that_was_collected_is_in_the_table)
{
    g_autofree char *path = g_strdup_printf("%s/../reference/regulations.csv", SCENARIO_DIR);
    g_autofree char *text = NULL;
    size_t n_checked = 0, n_converted = 0;
    ck_assert(g_file_get_contents(path, &text, NULL, NULL));
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    for (size_t i = 1; lines[i] != NULL && lines[i][0] != '\0'; i++) {
        const char *line = lines[i];
        char *fields[10];
        for (size_t k = 0; k < G_N_ELEMENTS(fields); k++)
            fields[k] = next_field(&line);
        n_converted += is_conversion(fields);
        if (fields[2][0] != '\0' && fields[4][0] != '\0') {
            ck_assert_msg(is_in_table(fields), "line %zu: %s", i + 1, lines[i]);
            n_checked++;
        }
        for (size_t k = 0; k < G_N_ELEMENTS(fields); k++)
            g_free(fields[k]);
    }
    size_t n_rows;
    spate_regulations(&n_rows);
    ck_assert_uint_eq(n_checked, n_rows);
    ck_assert_uint_eq(n_converted, 5);
}
END_TEST

/* The warning of an expectation, at the value that begins with `at`. */
static void
assert_expected(const char *expectation, const char *at, const char *words)
{
    static const char HEAD[] = "expect: [";
    g_autofree char *with = g_strdup_printf("spate: 1\n%s%s]\n", HEAD, expectation);
    int column = (int)(strlen(HEAD) + (size_t)(strstr(expectation, at) - expectation)) + 1;
    g_autofree char *place = g_strdup_printf("2:%d", column);
    assert_warns("spate: 1\n", with, place, words);
}

static void
assert_fine(const char *expectation)
{
    g_autofree char *with = g_strdup_printf("spate: 1\nexpect: [%s]\n", expectation);
    assert_silent("spate: 1\n", with);
}

START_TEST(expectations_that_cannot_fail_are_told)
{
    static const char ALWAYS[] = "this bound cannot fail";
    assert_expected("{measure: delivery, traffic: talk, at-most: 100 %}", "100", ALWAYS);
    assert_expected("{measure: delivery, traffic: talk, at-least: 0, at-most: 50 %}", "0, ",
                    ALWAYS);
    assert_expected("{measure: hops-mean, traffic: talk, at-least: 1}", "1}", ALWAYS);
    assert_expected("{traffic: talk, reaches: gate, within: 5 s, in-at-least: 0 %}", "0 %", ALWAYS);
    assert_expected("{traffic: talk, reaches: gate, within: 5 s, at-least: 0 %}", "0 %", ALWAYS);
    assert_fine("{measure: delivery, traffic: talk, at-least: 0.1 %, at-most: 99.9 %}");
    assert_fine("{measure: messages, traffic: talk, at-most: 1000000}");
    assert_fine("{traffic: talk, reaches: gate, within: 60 s}");
    static const char VARIANT[] = "spate: 1\n"
                                  "variants: {v: {set: {traffic.talk.every: 6 min}}}\n"
                                  "expect: [{variant: v, measure: delivery, traffic: talk, %s}]\n";
    static const char *const CHANGES[] = {"change-at-least: -100 %", "change-at-least: -1.0",
                                          "change-at-most: 1.0"};
    for (size_t i = 0; i < G_N_ELEMENTS(CHANGES); i++) {
        g_autofree char *with = g_strdup_printf(VARIANT, CHANGES[i]);
        const char *line = strstr(with, "expect");
        g_autofree char *place =
            g_strdup_printf("3:%d", (int)(strstr(line, strchr(CHANGES[i], ' ')) - line) + 2);
        assert_warns("spate: 1\n", with, place, ALWAYS);
    }
}
END_TEST

START_TEST(what_is_judged_by_less_than_it_seems_is_told)
{
    assert_expected("{traffic: talk, reaches: gate, within: 2 min}", "2 min",
                    "messages offered in the last 120 s of the run are not judged");
    assert_fine("{measure: duty-max, bearer: valley, at-most: 10 %}");
    assert_warns("run: {duration: 1 h}\n",
                 "run: {duration: 1 h, warm-up: 1 s}\n"
                 "expect: [{measure: duty-max, bearer: valley, at-most: 10 %}]\n",
                 "3:20", "only 3599 s count");
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("lint");
    TCase *limits = tcase_create("limits");
    tcase_add_test(limits, a_clean_file_gives_no_output);
    tcase_add_test(limits, erp_is_what_leaves_the_antenna_less_a_dipole);
    tcase_add_test(limits, eirp_at_2_4_ghz_has_its_limit);
    tcase_add_test(limits, a_duty_cycle_above_the_band_is_told);
    tcase_add_test(limits, a_band_for_alarms_and_no_band_are_told);
    tcase_add_test(limits, long_frames_at_915_mhz_are_told);
    tcase_add_test(limits, every_limit_that_was_collected_is_in_the_table);
    suite_add_tcase(suite, limits);

    TCase *meaning = tcase_create("meaning");
    tcase_add_test(meaning, a_loss_that_is_given_twice_is_told);
    tcase_add_test(meaning, losses_that_do_not_contradict_are_not_told);
    tcase_add_test(meaning, recipients_without_a_fitting_radio_are_told);
    tcase_add_test(meaning, frames_that_are_never_sent_are_told);
    tcase_add_test(meaning, frames_beyond_the_duty_cycle_are_told);
    tcase_add_test(meaning, more_than_a_radio_may_send_is_told);
    tcase_add_test(meaning, times_after_the_last_offer_are_told);
    tcase_add_test(meaning, a_rule_behind_one_that_matches_all_is_told);
    tcase_add_test(meaning, a_rule_that_nothing_fits_is_told);
    tcase_add_test(meaning, a_node_s_own_messages_do_not_count_for_its_rules);
    tcase_add_test(meaning, a_rule_hidden_by_an_earlier_one_names_its_line);
    tcase_add_test(meaning, what_hops_and_levels_may_leave_is_not_hidden);
    tcase_add_test(meaning, where_digests_are_made_sizes_and_origins_are_open);
    tcase_add_test(meaning, a_hop_limit_that_forbids_relaying_is_told);
    tcase_add_test(meaning, unused_things_are_told);
    tcase_add_test(meaning, a_class_that_looks_like_a_slip_is_told);
    tcase_add_test(meaning, a_group_in_one_spot_is_told);
    tcase_add_test(meaning, free_space_that_nobody_chose_is_told);
    tcase_add_test(meaning, too_few_draws_of_what_is_in_doubt_are_told);
    tcase_add_test(meaning, what_sources_alone_overload_is_told);
    tcase_add_test(meaning, expectations_that_cannot_fail_are_told);
    tcase_add_test(meaning, what_is_judged_by_less_than_it_seems_is_told);
    suite_add_tcase(suite, meaning);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
