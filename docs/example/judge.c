/* judge.c - a program that asks libspate what a scenario expects, and how far it may grow
 *
 *     cc judge.c $(pkg-config --cflags --libs spate) -o judge
 *     ./judge scenarios/yard-of-100.yaml
 *
 * Prints a line for each expectation and, where the file says what `size` varies, one for each band
 * of values.  Ends with status 0 if every expectation is met, 1 if not, 2 if something is wrong.
 */
#include <spate/spate.h>
#include <stdio.h>

static int
complain(GError *error)
{
    fprintf(stderr, "%s\n", error->message);
    g_error_free(error);
    return 2;
}

static bool
print_verdicts(const SpateVerdicts *verdicts)
{
    static const char *const WORDS[] = {[SPATE_EXPECTED_PASS] = "pass",
                                        [SPATE_EXPECTED_FAIL] = "fail",
                                        [SPATE_EXPECTED_UNDECIDED] = "undecided"};
    bool is_met = true;
    for (size_t i = 0; i < spate_verdicts_count(verdicts); i++) {
        SpateExpected expected = spate_verdicts_get(verdicts, i);
        printf("%-9s  %s\n           %s\n", WORDS[expected.verdict], expected.expectation,
               expected.finding);
        is_met = is_met && expected.leans_to_pass;
    }
    return is_met;
}

static void
print_sizes(const SpateSizing *sizing)
{
    static const char *const WORDS[] = {[SPATE_BAND_MEETS] = "meets all",
                                        [SPATE_BAND_UNSURE] = "uncertain",
                                        [SPATE_BAND_FAILS] = "fails",
                                        [SPATE_BAND_OPEN] = "not judged"};
    for (size_t i = 0; i < spate_sizing_n_bands(sizing); i++) {
        SpateSizingBand band = spate_sizing_band(sizing, i);
        printf("%-10s  %s to %s\n", WORDS[band.answer], band.from, band.to);
    }
}

int
main(int argc, char **argv)
{
    GError *error = NULL;
    if (argc != 2) {
        fprintf(stderr, "usage: judge SCENARIO\n");
        return 2;
    }
    g_autoptr(SpateFile) file = spate_file_load(argv[1], NULL, &error);
    if (file == NULL)
        return complain(error);
    g_autoptr(SpateVerdicts) verdicts = spate_verdicts_new(file, NULL, &error);
    if (verdicts == NULL)
        return complain(error);
    bool is_met = print_verdicts(verdicts);

    /* A file that says nothing of `size` is no failure here. */
    g_autoptr(SpateSizing) sizing = spate_sizing_new(file, NULL, NULL);
    if (sizing != NULL)
        print_sizes(sizing);
    return is_met ? 0 : 1;
}
