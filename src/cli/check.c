/* check.c - spate check */
#include "cli/cli.h"

#include "report/check/check-report.h"
#include "report/result/result-reader.h"
#include "study/judge/against.h"
#include <string.h>

/* What the command works on. */
typedef struct {
    GPtrArray *files;    /* SpateScenarioFile */
    GPtrArray *checks;   /* SpateCheck */
    GPtrArray *names;    /* as shown */
    SpateResult *before; /* NULL: none */
} Suite;

/* Checks borrow their files, and the earlier result. */
static void
suite_clear(Suite *suite)
{
    g_ptr_array_unref(suite->checks);
    g_ptr_array_unref(suite->files);
    g_ptr_array_unref(suite->names);
    spate_result_free(suite->before);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Suite, suite_clear)

/* Frees the error. */
static CliStatus
complain_of_against(GError *error)
{
    bool is_trouble = g_error_matches(error, SPATE_RESULT_ERROR, SPATE_RESULT_ERROR_UNREADABLE);
    CliStatus status =
        cli_complain(is_trouble ? CLI_TROUBLE : CLI_USAGE, "--against: %s", error->message);
    g_error_free(error);
    return status;
}

static CliStatus
read_against(Suite *suite, const char *against, const CliOptions *options)
{
    if (against == NULL)
        return CLI_DONE;
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "--against takes only one scenario");
    if (strcmp(against, "-") == 0 && strcmp(options->arguments[0], "-") == 0)
        return cli_complain(CLI_USAGE, "standard input can be read only once");
    GError *error = NULL;
    suite->before = spate_result_read(against, &error);
    return suite->before != NULL ? CLI_DONE : complain_of_against(error);
}

static CliStatus
add_file(Suite *suite, const char *path, const CliOptions *options)
{
    CliStatus status = CLI_DONE;
    SpateScenarioFile *file = cli_scenario_file(path, options, &status);
    if (file == NULL)
        return status;
    g_ptr_array_add(suite->files, file);
    for (size_t i = 0; options->variants != NULL && options->variants[i] != NULL; i++) {
        status = cli_variant_check(file, options->variants[i]);
        if (status != CLI_DONE)
            return status;
    }
    const SpateCheckOptions wanted = {
        .variants = (const char *const *)options->variants,
        .has_seed = options->has_seed,
        .seed = options->seed,
        .replications = options->replications,
        .before = suite->before,
    };
    GError *error = NULL;
    SpateCheck *check = spate_check_new(file, &wanted, &error);
    if (check == NULL && error->domain == SPATE_AGAINST_ERROR)
        return complain_of_against(error);
    if (check == NULL)
        return cli_complain_error(error);
    g_ptr_array_add(suite->checks, check);
    g_ptr_array_add(suite->names, strcmp(path, "-") == 0 ? g_strdup("standard input")
                                                         : g_utf8_make_valid(path, -1));
    return CLI_DONE;
}

/* All faults of all files are reported; with any, nothing is run. */
static CliStatus
read_all(Suite *suite, const CliOptions *options)
{
    CliStatus worst = CLI_DONE;
    guint n_inputs = 0;
    for (guint i = 0; i < options->n_arguments; i++)
        n_inputs += strcmp(options->arguments[i], "-") == 0;
    if (options->n_arguments == 0)
        return cli_complain(CLI_USAGE, "check takes one or more scenarios; see spate check --help");
    if (n_inputs > 1)
        return cli_complain(CLI_USAGE, "standard input can be read only once");
    for (guint i = 0; i < options->n_arguments; i++) {
        CliStatus status = add_file(suite, options->arguments[i], options);
        worst = MAX(worst, status);
    }
    return worst;
}

/* Says what the longest of the files costs, then runs all. */
static CliStatus
run_all(const Suite *suite, const CliOptions *options, bool *is_interrupted)
{
    const SpateScenario *longest = NULL;
    uint64_t n_runs = 0;
    for (guint i = 0; i < suite->checks->len; i++) {
        const SpateCheck *check = g_ptr_array_index(suite->checks, i);
        n_runs += (uint64_t)cli_replications(options, check->base) * check->scenarios->len;
        if (longest == NULL ||
            spate_scenario_most_events(check->base) > spate_scenario_most_events(longest))
            longest = check->base;
    }
    if (longest != NULL)
        cli_cost_say(longest, n_runs, NULL, options);
    CliProgress progress;
    const SpateStudyOptions study = cli_progress_study(&progress, options);
    GError *error = NULL;
    bool is_done = spate_checks_run((SpateCheck *const *)suite->checks->pdata, suite->checks->len,
                                    &study, &error);
    cli_progress_clear(&progress);
    *is_interrupted = g_atomic_int_get(study.stop) != 0;
    return is_done ? CLI_DONE : cli_complain_error(error);
}

static CliStatus
write_verdicts(const SpateCheckReport *report, SpateCheckFormat format, const char *output)
{
    CliForm form = format == SPATE_CHECK_TAP || format == SPATE_CHECK_TABLE ? CLI_SHOWN : CLI_EXACT;
    if (format == SPATE_CHECK_TABLE && report->colour)
        form = CLI_COLOURED;
    g_autoptr(GString) text = g_string_new(NULL);
    spate_check_report_append(text, report, format);
    CliStatus status = cli_output_write(output, form, text->str, text->len);
    if (status != CLI_DONE)
        return status;
    if (report->is_interrupted)
        return cli_complain(CLI_INTERRUPTED, "interrupted: judged by the finished replications");
    return spate_check_count(report).n_failed > 0 ? CLI_FAILED : CLI_DONE;
}

static CliStatus
cli_check(CliOptions *options)
{
    const char *against = cli_option_text(options, "against");
    int format = SPATE_CHECK_TAP;
    if (!cli_option_word(options, "format", &format))
        return CLI_USAGE;
    g_auto(Suite) suite = {
        .files = g_ptr_array_new_with_free_func((GDestroyNotify)spate_scenario_file_free),
        .checks = g_ptr_array_new_with_free_func((GDestroyNotify)spate_check_free),
        .names = g_ptr_array_new_with_free_func(g_free),
    };
    if (against != NULL)
        cli_places_read("earlier result", against);
    CliStatus status = cli_places_note(options, "scenario");
    if (status == CLI_DONE)
        status = read_against(&suite, against, options);
    if (status == CLI_DONE)
        status = read_all(&suite, options);
    if (status == CLI_DONE)
        status = cli_places_check();
    bool is_interrupted = false;
    if (status == CLI_DONE)
        status = run_all(&suite, options, &is_interrupted);
    if (status != CLI_DONE)
        return status;
    g_autofree char *before = against != NULL ? g_utf8_make_valid(against, -1) : NULL;
    const SpateCheckReport report = {
        .names = (const char *const *)suite.names->pdata,
        .checks = (SpateCheck *const *)suite.checks->pdata,
        .n_checks = suite.checks->len,
        .is_strict = cli_option_is_set(options, "strict"),
        .is_interrupted = is_interrupted,
        .before = before,
        .colour = cli_terminal_style(options->output).colour,
    };
    return write_verdicts(&report, (SpateCheckFormat)format, options->output);
}

static const CliOption OPTIONS[] = {
    {"strict", CLI_NO_VALUE, NULL, "count undecided as a failure"},
    {"against", CLI_FILE, "OLD.json",
     "judge what got worse since an earlier result (of run or compare) of the one scenario, "
     "replication by replication"},
    {"format", CLI_WORD, "tap|table|junit|json",
     "TAP version 14 (the default), a table for people, JUnit XML or JSON"},
    {"variant", CLI_VARIANT, "NAME", "only expectations of this variant (repeatable)"},
    {"set", CLI_TEXTS, "PATH=VALUE", "change a value everywhere (repeatable)"},
    {"seed", CLI_TEXT, "N", "override the scenarios' seed"},
    {"replications", CLI_TEXT, "N", "override the scenarios' number or bounds"},
    {"jobs", CLI_TEXT, "N", "threads (default: all cores); never changes a verdict"},
};

const CliCommand CLI_CHECK = {
    .name = "check",
    .run = cli_check,
    .summary = "judge scenarios by their own expectations",
    .usage = "SCENARIO... [OPTION...]",
    .about = "Judges each scenario by its own expectations, and prints the verdicts in TAP, with "
             "what was measured, and why a message did not arrive. A verdict is pass, fail, or "
             "undecided (the 95 % interval contains the bound), which counts as the mean does.",
    .arguments = CLI_FILE,
    .takes =
        CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_SET | CLI_TAKES_VARIANT | CLI_TAKES_OUTPUT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status =
        "0 all expectations are met, 1 one failed, 2 bad usage or scenario (then nothing is run), "
        "3 could not read, write or finish, 130 interrupted (what was finished is judged).",
    .example = "spate check scenarios/*.yaml --format junit --output verdicts.xml",
};
