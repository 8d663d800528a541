/* test-report.c - a result as text, to the byte
 *
 * The expected texts follow from the format by hand; no other program writes it.
 */
#include "report/report.h"

#include "document/csv-text.h"
#include "document/numbers.h"
#include "result-by-hand.h"
#include <check.h>
#include <json-glib/json-glib.h>
#include <stdlib.h>
#include <string.h>

static char *
written(const SpateResult *result, SpateFormat format, bool colour)
{
    SpateTableStyle style = {.colour = colour};
    GString *text = g_string_new(NULL);
    spate_report_append(text, result, format, &style);
    return g_string_free(text, FALSE);
}

START_TEST(json_has_the_keys_of_the_format_in_their_order)
{
    g_autoptr(SpateResult) result = hand_result();

    g_autofree char *text = written(result, SPATE_FORMAT_JSON, false);

    ck_assert_str_eq(
        text, "{\"format\": \"spate-result/1\", \"command\": \"compare\", \"version\": "
              "\"" SPATE_VERSION "\",\n"
              " \"scenario\": {\"title\": \"Höhe \\\"A\\\"\", \"sha256\": \"ab12\"}, \"seed\": 7, "
              "\"replications\": 3, \"duration_s\": 7200, \"warm_up_s\": 90.5,\n"
              " \"variants\": [\n"
              "  {\"name\": \"base\", \"measures\": [\n"
              "    {\"measure\": \"delivery\", \"traffic\": \"talk\", \"unit\": \"ratio\", "
              "\"mean\": 0.9, \"ci95\": [0.8, 1], \"n\": 3, \"values\": [0.8, 0.9, 1]},\n"
              "    {\"measure\": \"latency-p95\", \"traffic\": \"talk\", \"unit\": \"s\", "
              "\"mean\": 1.25, \"ci95\": null, \"n\": 2, \"values\": [1, null, 1.5]},\n"
              "    {\"measure\": \"load\", \"traffic\": \"talk\", \"bearer\": \"valley\", "
              "\"unit\": \"erlang\", \"mean\": 0.0125, \"ci95\": [0.0125, 0.0125], \"n\": 3, "
              "\"values\": [0.0125, 0.0125, 0.0125]},\n"
              "    {\"measure\": \"held-back\", \"bridge\": \"farm\", \"unit\": \"1\", "
              "\"mean\": 12, \"ci95\": [12, 12], \"n\": 3, \"values\": [12, 12, 12]}]},\n"
              "  {\"name\": \"open\", \"measures\": [\n"
              "    {\"measure\": \"delivery\", \"traffic\": \"talk\", \"unit\": \"ratio\", "
              "\"mean\": 0.1, \"ci95\": [0, 0.25], \"n\": 3, \"values\": [0, 0.1, 0.2]},\n"
              "    {\"measure\": \"latency-p95\", \"traffic\": \"talk\", \"unit\": \"s\", "
              "\"mean\": null, \"ci95\": null, \"n\": 0, \"values\": [null, null, null]},\n"
              "    {\"measure\": \"load\", \"traffic\": \"talk\", \"bearer\": \"valley\", "
              "\"unit\": \"erlang\", \"mean\": 0.02, \"ci95\": [0.02, 0.02], \"n\": 3, "
              "\"values\": [0.02, 0.02, 0.02]},\n"
              "    {\"measure\": \"held-back\", \"bridge\": \"farm\", \"unit\": \"1\", "
              "\"mean\": 0, \"ci95\": [0, 0], \"n\": 3, \"values\": [0, 0, 0]}]}],\n"
              " \"differences\": [\n"
              "  {\"variant\": \"open\", \"versus\": \"base\", \"measure\": \"delivery\", "
              "\"traffic\": \"talk\", \"mean\": -0.8, \"ci95\": [-0.9, -0.7], \"n\": 3},\n"
              "  {\"variant\": \"open\", \"versus\": \"base\", \"measure\": \"load\", "
              "\"traffic\": \"talk\", \"bearer\": \"valley\", \"mean\": 0.0075, "
              "\"ci95\": [-0.0005, 0.0155], \"n\": 3}]}\n");
}
END_TEST

START_TEST(json_is_read_by_a_reader_of_json_whatever_the_title_holds)
{
    g_autoptr(SpateResult) result = hand_result();
    g_free(result->title);
    result->title = g_strdup("a \"b\" \\ \t \n \x01 ü \xf0\x9f\x93\xa1");

    g_autofree char *text = written(result, SPATE_FORMAT_JSON, false);
    g_autoptr(JsonParser) parser = json_parser_new();
    ck_assert(json_parser_load_from_data(parser, text, -1, NULL));

    JsonObject *root = json_node_get_object(json_parser_get_root(parser));
    JsonObject *scenario = json_object_get_object_member(root, "scenario");
    ck_assert_str_eq(json_object_get_string_member(scenario, "title"), result->title);
}
END_TEST

START_TEST(json_says_so_if_it_was_interrupted)
{
    g_autoptr(SpateResult) result = hand_result();
    result->interrupted = true;

    g_autofree char *text = written(result, SPATE_FORMAT_JSON, false);

    ck_assert_ptr_nonnull(strstr(text, "\"warm_up_s\": 90.5, \"interrupted\": true,\n"));
}
END_TEST

START_TEST(csv_has_the_same_rows_flat)
{
    g_autoptr(SpateResult) result = hand_result();

    g_autofree char *text = written(result, SPATE_FORMAT_CSV, false);

    ck_assert_str_eq(text, "kind,variant,versus,measure,traffic,bearer,node,bridge,to,unit,mean,"
                           "ci95_low,ci95_high,n\n"
                           "measure,base,,delivery,talk,,,,,ratio,0.9,0.8,1,3\n"
                           "measure,base,,latency-p95,talk,,,,,s,1.25,,,2\n"
                           "measure,base,,load,talk,valley,,,,erlang,0.0125,0.0125,0.0125,3\n"
                           "measure,base,,held-back,,,,farm,,1,12,12,12,3\n"
                           "measure,open,,delivery,talk,,,,,ratio,0.1,0,0.25,3\n"
                           "measure,open,,latency-p95,talk,,,,,s,,,,0\n"
                           "measure,open,,load,talk,valley,,,,erlang,0.02,0.02,0.02,3\n"
                           "measure,open,,held-back,,,,farm,,1,0,0,0,3\n"
                           "difference,open,base,delivery,talk,,,,,ratio,-0.8,-0.9,-0.7,3\n"
                           "difference,open,base,load,talk,valley,,,,erlang,0.0075,-0.0005,"
                           "0.0155,3\n");
}
END_TEST

/* RFC 4180, section 2, rules 6 and 7 */
START_TEST(csv_quotes_what_would_break_a_row)
{
    g_autoptr(SpateResult) result = hand_result();
    g_free(result->variants[0].name);
    result->variants[0].name = g_strdup("a \"wide\", flat file");

    g_autofree char *text = written(result, SPATE_FORMAT_CSV, false);

    ck_assert_ptr_nonnull(strstr(text, "\nmeasure,\"a \"\"wide\"\", flat file\",,delivery,"));
}
END_TEST

static void
assert_cells(const char *csv, const char *wanted)
{
    g_autoptr(GString) cells = g_string_new(NULL);
    spate_append_csv_text_cells(cells, csv, strlen(csv));
    ck_assert_str_eq(cells->str, wanted);
}

START_TEST(csv_for_spreadsheets_has_no_cell_that_is_a_formula)
{
    assert_cells("=1+1,@now,+3 dB\n-5 dBm,\"=HYPERLINK(\"\"x\"\",\"\"y\"\")\"\n",
                 "\"'=1+1\",\"'@now\",\"'+3 dB\"\n"
                 "\"'-5 dBm\",\"'=HYPERLINK(\"\"x\"\",\"\"y\"\")\"\n");
    assert_cells(" =1,\"\t=1\",\"a\n=1\",\uFF1D1\n", "\"' =1\",\"'\t=1\",\"a\n=1\",\"'\uFF1D1\"\n");
    assert_cells("-inf,-0x1p3,-,=", "\"'-inf\",\"'-0x1p3\",\"'-\",\"'=\"");
}
END_TEST

START_TEST(csv_for_spreadsheets_keeps_numbers_and_other_text)
{
    static const char *const SAME[] = {"-5,+3,-0.25,-1.5e-07,1e+20\n", "a=b,\"x, -y\",,\n\n",
                                       "\"a \"\"=b\"\"\",\"\"\n"};
    for (size_t i = 0; i < G_N_ELEMENTS(SAME); i++)
        assert_cells(SAME[i], SAME[i]);
}
END_TEST

START_TEST(table_shows_variants_below_each_other_with_their_differences)
{
    g_autoptr(SpateResult) result = hand_result();

    g_autofree char *text = written(result, SPATE_FORMAT_TABLE, false);

    ck_assert_str_eq(text,
                     "Höhe \"A\"\n"
                     "3 replications of 2 h, counted after 90.5 s, seed 7\n"
                     "differences: to base, replication by replication; * the interval excludes 0\n"
                     "each interval alone: about one in twenty misleads where nothing changes\n"
                     "open: all may cross\n"
                     "\n"
                     "traffic talk                      mean     95 % interval       difference"
                     "       95 % interval\n"
                     "  delivery, %             base    90.0     [80.0, 100.0]\n"
                     "                          open    10.0       [0.0, 25.0]            -80.0"
                     "      [-90.0, -70.0]  *\n"
                     "  latency-p95, s          base    1.25                    n 2\n"
                     "                          open       -                    n 0\n"
                     "  load on valley, erlang  base  0.0125  [0.0125, 0.0125]\n"
                     "                          open  0.0200  [0.0200, 0.0200]          +0.0075"
                     "  [-0.0005, +0.0155]\n"
                     "\n"
                     "bridge farm                       mean     95 % interval       difference"
                     "       95 % interval\n"
                     "  held-back               base    12.0      [12.0, 12.0]\n"
                     "                          open     0.0        [0.0, 0.0]\n");
}
END_TEST

START_TEST(table_of_one_variant_needs_no_name_and_no_differences)
{
    g_autoptr(SpateResult) result = hand_result();
    size_t n_variants = result->n_variants, n_differences = result->n_differences;
    result->n_variants = 1;
    result->n_differences = 0;

    g_autofree char *text = written(result, SPATE_FORMAT_TABLE, false);

    ck_assert_str_eq(text, "Höhe \"A\"\n"
                           "3 replications of 2 h, counted after 90.5 s, seed 7\n"
                           "\n"
                           "traffic talk                mean     95 % interval\n"
                           "  delivery, %               90.0     [80.0, 100.0]\n"
                           "  latency-p95, s            1.25                    n 2\n"
                           "  load on valley, erlang  0.0125  [0.0125, 0.0125]\n"
                           "\n"
                           "bridge farm                 mean     95 % interval\n"
                           "  held-back                 12.0      [12.0, 12.0]\n");
    result->n_variants = n_variants;
    result->n_differences = n_differences;
}
END_TEST

START_TEST(table_of_one_replication_shows_no_intervals)
{
    g_autoptr(SpateResult) result = hand_result();
    result->n_replications = 1;
    result->n_differences = 0;
    for (size_t v = 0; v < result->n_variants; v++)
        for (size_t i = 0; i < result->variants[v].n_rows; i++) {
            result->variants[v].rows[i].ci95 = (SpateInterval){NAN, NAN};
            result->variants[v].rows[i].n = 1;
        }

    g_autofree char *text = written(result, SPATE_FORMAT_TABLE, false);

    ck_assert_ptr_nonnull(strstr(text, "one replication: its uncertainty cannot be estimated\n"));
    ck_assert_ptr_null(strstr(text, "interval"));
    ck_assert_ptr_nonnull(strstr(text, "\n  delivery, %             base    90.0\n"));
}
END_TEST

START_TEST(table_leaves_out_parts_that_are_nothing_in_every_variant)
{
    g_autoptr(SpateResult) result = hand_result();
    result->variants[0].rows[2].mean = 0.0;
    result->variants[1].rows[2].mean = 0.0;

    g_autofree char *text = written(result, SPATE_FORMAT_TABLE, false);

    ck_assert_ptr_null(strstr(text, "load on valley"));
}
END_TEST

START_TEST(table_is_bold_on_a_terminal_only)
{
    g_autoptr(SpateResult) result = hand_result();

    g_autofree char *bold = written(result, SPATE_FORMAT_TABLE, true);
    g_autofree char *plain = written(result, SPATE_FORMAT_TABLE, false);

    ck_assert_ptr_nonnull(strstr(bold, "\033[1mHöhe \"A\"\033[0m\n"));
    ck_assert_ptr_null(strchr(plain, '\033'));
    g_autoptr(GString) stripped = g_string_new(bold);
    g_string_replace(stripped, "\033[1m", "", 0);
    g_string_replace(stripped, "\033[0m", "", 0);
    ck_assert_str_eq(stripped->str, plain);
}
END_TEST

static const struct {
    double value;
    const char *text;
} NUMBERS[] = {
    {0.0, "0"},
    {-0.0, "0"},
    {1.0, "1"},
    {-21600.0, "-21600"},
    {0.1, "0.1"},
    {0.1 + 0.2, "0.30000000000000004"}, /* its neighbour of 16 digits is another number */
    {1.0 / 3.0, "0.3333333333333333"},
    {123456789012345680.0, "1.2345678901234568e+17"},
    {5e-7, "5e-07"},
    {NAN, "null"},
    {INFINITY, "null"},
};

START_TEST(numbers_are_in_their_shortest_form)
{
    g_autoptr(GString) text = g_string_new(NULL);

    spate_append_number(text, NUMBERS[_i].value);

    ck_assert_str_eq(text->str, NUMBERS[_i].text);
    if (isfinite(NUMBERS[_i].value))
        ck_assert(g_ascii_strtod(text->str, NULL) == NUMBERS[_i].value);
}
END_TEST

static const struct {
    double value;
    int decimals;
    gboolean sign;
    const char *text;
} FIXED[] = {
    {0.125, 2, FALSE, "0.12"}, /* a tie goes to the even digit (IEEE 754) */
    {2.0, 1, TRUE, "+2.0"},    {-2.0, 1, TRUE, "-2.0"}, {-0.04, 1, TRUE, "0.0"},
    {0.04, 1, TRUE, "0.0"},    {NAN, 1, FALSE, "-"},
};

START_TEST(fixed_figures_have_their_digits_and_no_negative_zero)
{
    g_autoptr(GString) text = g_string_new(NULL);

    spate_append_fixed(text, FIXED[_i].value, FIXED[_i].decimals, FIXED[_i].sign);

    ck_assert_str_eq(text->str, FIXED[_i].text);
}
END_TEST

START_TEST(three_digits_of_the_largest_are_shown)
{
    ck_assert_int_eq(spate_decimals_for(0.0), 0);
    ck_assert_int_eq(spate_decimals_for(1234.0), 0);
    ck_assert_int_eq(spate_decimals_for(100.0), 0);
    ck_assert_int_eq(spate_decimals_for(99.0), 1);
    ck_assert_int_eq(spate_decimals_for(1.0), 2);
    ck_assert_int_eq(spate_decimals_for(0.0493), 4);
    ck_assert_int_eq(spate_decimals_for(1e-9), 6);
    ck_assert_int_eq(spate_decimals_for(NAN), 0);
}
END_TEST

START_TEST(an_interval_that_leaves_out_zero_reads_so)
{
    ck_assert_int_eq(spate_decimals_to_tell(0.03, 0.8, 1), 2);
    ck_assert_int_eq(spate_decimals_to_tell(-0.8, -0.0004, 1), 4);
    ck_assert_int_eq(spate_decimals_to_tell(0.06, 0.8, 1), 1);
    ck_assert_int_eq(spate_decimals_to_tell(0.05, 0.8, 1), 2);
    ck_assert_int_eq(spate_decimals_to_tell(-0.03, 0.8, 1), 1);
    ck_assert_int_eq(spate_decimals_to_tell(0.0, 0.8, 1), 1);
    ck_assert_int_eq(spate_decimals_to_tell(NAN, NAN, 1), 1);
    ck_assert_int_eq(spate_decimals_to_tell(1e-17, 0.8, 1), 1); /* rounding */
}
END_TEST

START_TEST(a_star_never_stands_beside_a_zero)
{
    g_autoptr(SpateResult) result = hand_result();
    result->differences[0].mean = 0.004;
    result->differences[0].ci95 = (SpateInterval){0.0003, 0.008};
    g_autofree char *text = written(result, SPATE_FORMAT_TABLE, false);
    ck_assert_msg(strstr(text, "+0.40      [+0.03, +0.80]  *\n") != NULL, "%s", text);
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("report");
    TCase *formats = tcase_create("formats");
    tcase_add_test(formats, json_has_the_keys_of_the_format_in_their_order);
    tcase_add_test(formats, json_is_read_by_a_reader_of_json_whatever_the_title_holds);
    tcase_add_test(formats, json_says_so_if_it_was_interrupted);
    tcase_add_test(formats, csv_has_the_same_rows_flat);
    tcase_add_test(formats, csv_quotes_what_would_break_a_row);
    tcase_add_test(formats, csv_for_spreadsheets_has_no_cell_that_is_a_formula);
    tcase_add_test(formats, csv_for_spreadsheets_keeps_numbers_and_other_text);
    tcase_add_test(formats, table_shows_variants_below_each_other_with_their_differences);
    tcase_add_test(formats, an_interval_that_leaves_out_zero_reads_so);
    tcase_add_test(formats, a_star_never_stands_beside_a_zero);
    tcase_add_test(formats, table_of_one_variant_needs_no_name_and_no_differences);
    tcase_add_test(formats, table_of_one_replication_shows_no_intervals);
    tcase_add_test(formats, table_leaves_out_parts_that_are_nothing_in_every_variant);
    tcase_add_test(formats, table_is_bold_on_a_terminal_only);
    suite_add_tcase(suite, formats);
    TCase *numbers = tcase_create("numbers");
    tcase_add_loop_test(numbers, numbers_are_in_their_shortest_form, 0, G_N_ELEMENTS(NUMBERS));
    tcase_add_loop_test(numbers, fixed_figures_have_their_digits_and_no_negative_zero, 0,
                        G_N_ELEMENTS(FIXED));
    tcase_add_test(numbers, three_digits_of_the_largest_are_shown);
    suite_add_tcase(suite, numbers);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
