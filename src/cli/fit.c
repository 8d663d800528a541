/* fit.c - spate fit */
#include "cli/cli.h"

#include "report/fit/fit-report.h"
#include "scenario/text/quantity.h"
#include <math.h>
#include <string.h>

enum { TABLE, JSON };

/* NAN where it is not given; false with a complaint. */
static bool
read_option(const CliOptions *options, const char *option, SpateDimension dimension, double least,
            double most, double *value)
{
    const char *text = cli_option_text(options, option);
    *value = NAN;
    if (text == NULL)
        return true;
    g_autofree char *wrong =
        spate_quantity_parse(text, dimension, (SpateRange){least, most}, value);
    if (wrong != NULL)
        cli_complain(CLI_USAGE, "--%s: %s", option, wrong);
    return wrong == NULL;
}

static bool
read_question(const CliOptions *options, SpateFitQuestion *question)
{
    question->bearer = cli_option_text(options, "bearer");
    question->wants_models = cli_option_is_set(options, "compare");
    question->leaves_out_wild = cli_option_is_set(options, "without-wild");
    return read_option(options, "power", SPATE_DIM_LEVEL, -100, 100, &question->power_dbm) &&
           read_option(options, "sensitivity", SPATE_DIM_LEVEL, -200, 0,
                       &question->sensitivity_dbm) &&
           read_option(options, "frequency", SPATE_DIM_FREQUENCY, 1e6, 1e11,
                       &question->frequency_hz);
}

/* NULL without a complaint where none is given. */
static SpateScenario *
read_scenario(const CliOptions *options, CliStatus *status)
{
    const char *path = cli_option_text(options, "scenario");
    if (path == NULL)
        return NULL;
    g_autoptr(SpateScenarioFile) file = cli_scenario_file(path, options, status);
    return file != NULL ? cli_scenario(file, "base", options, status) : NULL;
}

static CliStatus
check_bearer(const SpateScenario *scenario, const char *bearer)
{
    if (scenario == NULL || bearer == NULL ||
        spate_scenario_find_bearer(scenario, bearer) != UINT32_MAX)
        return CLI_DONE;
    g_autofree const char **names = g_new0(const char *, scenario->n_bearers + 1u);
    for (uint32_t i = 0; i < scenario->n_bearers; i++)
        names[i] = scenario->bearers[i].name;
    g_autofree char *all = g_strjoinv(", ", (char **)names);
    g_autofree char *list = g_strconcat("; there are: ", all, NULL);
    return cli_complain_unknown("--bearer: the scenario has no bearer", bearer, names, list);
}

static CliStatus
write_all(const CliOptions *options, const SpateFit *fit, int format)
{
    for (size_t i = 0; i < options->plots.n; i++) {
        g_autoptr(GString) svg = g_string_new(NULL);
        spate_fit_append_residuals(svg, fit);
        CliStatus status =
            cli_output_write(options->plots.all[i].path, CLI_EXACT, svg->str, svg->len);
        if (status != CLI_DONE)
            return status;
    }
    g_autoptr(GString) text = g_string_new(NULL);
    if (format == JSON)
        spate_fit_append_json(text, fit);
    else
        spate_fit_append_table(text, fit);
    return cli_output_write(options->output, format == JSON ? CLI_EXACT : CLI_SHOWN, text->str,
                            text->len);
}

static CliStatus
cli_fit(CliOptions *options)
{
    SpateFitQuestion question;
    int format = TABLE;
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "fit takes one table of a walk test; see spate fit --help");
    const char *path = options->arguments[0], *with = cli_option_text(options, "scenario");
    if (!cli_option_word(options, "format", &format) || !read_question(options, &question))
        return CLI_USAGE;
    if (with != NULL && strcmp(path, "-") == 0 && strcmp(with, "-") == 0)
        return cli_complain(CLI_USAGE, "--scenario: standard input is the walk test already");
    if (with != NULL)
        cli_places_read("scenario", with);
    CliStatus status = cli_places_note(options, "walk test");
    if (status != CLI_DONE)
        return status;
    g_autoptr(SpateScenario) scenario = read_scenario(options, &status);
    if (status == CLI_DONE)
        status = check_bearer(scenario, question.bearer);
    if (status != CLI_DONE)
        return status;
    GError *error = NULL;
    g_autoptr(SpateWalk) walk = spate_walk_read(path, SPATE_WALK_OF_PLACES, scenario, &error);
    g_autoptr(SpateFit) fit = NULL;
    const char *name = strcmp(path, "-") == 0 ? "standard input" : path;
    if (walk != NULL)
        fit = spate_fit_new(name, walk, scenario, &question, &error);
    return fit != NULL ? write_all(options, fit, format) : cli_complain_error(error);
}

static const CliOption OPTIONS[] = {
    {"power", CLI_TEXT, "LEVEL",
     "power and antenna gains less feeder losses of both ends together, such as \"14 dBm\" [those "
     "of the scenario's nodes]"},
    {"sensitivity", CLI_TEXT, "LEVEL",
     "what was not heard was weaker than that, such as \"-129 dBm\" [of the scenario's bearer]"},
    {"frequency", CLI_TEXT, "FREQUENCY", "for free space and --compare [of the scenario's bearer]"},
    {"bearer", CLI_TEXT, "NAME", "only its rows; and its name in what is to be pasted"},
    {"scenario", CLI_FILE, "SCENARIO",
     "where the nodes that the table names are, and what radios they have"},
    {"compare", CLI_NO_VALUE, NULL,
     "compare models by AIC: free-space, two-ray, log-distance with and without an intercept of "
     "its own"},
    {"without-wild", CLI_NO_VALUE, NULL, "fit without the wild samples"},
    {"plot", CLI_TEXTS, "residuals=FILE.svg", "draw what the fit leaves of each sample"},
    {"format", CLI_WORD, "table|json", "a table for people (the default) or JSON"},
};

static const char *const PLOTS[] = {"residuals", NULL};

const CliCommand CLI_FIT = {
    .name = "fit",
    .run = cli_fit,
    .summary = "fit a propagation model to a walk test",
    .usage = "FILE.csv [OPTION...]",
    .about = "Fits the log-distance model with shadowing to the samples of a walk test, with 95 % "
             "intervals, and prints it as propagation and doubt of a scenario, ready to paste. A "
             "row of the table is a sample: the distance, or x and y, or lat and lon of both ends "
             "(sender-x, receiver-x ...), or names of nodes of --scenario; and received-power, "
             "empty where nothing was heard. Those count too: the level was below the sensitivity.",
    .arguments = CLI_FILE,
    .takes = CLI_TAKES_OUTPUT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .plots = PLOTS,
    .status = "0 done, 2 bad usage, table or scenario, 3 could not read or write.",
    .example = "spate fit walk.csv --power \"14 dBm\" --sensitivity \"-129 dBm\"",
};
