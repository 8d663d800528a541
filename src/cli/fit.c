/* fit.c - spate fit */
#include "cli/cli.h"

#include "report/fit/fit-report.h"
#include <math.h>
#include <string.h>

enum { TABLE, JSON };

static bool
read_question(const CliOptions *options, SpateFitQuestion *question)
{
    question->power_dbm = question->sensitivity_dbm = question->frequency_hz = NAN;
    question->bearer = cli_option_text(options, "bearer");
    question->wants_models = cli_option_is_set(options, "compare");
    question->leaves_out_wild = cli_option_is_set(options, "without-wild");
    question->leaves_diffraction = cli_option_is_set(options, "without-diffraction");
    return cli_option_quantity(options, "power", SPATE_DIM_LEVEL, -100, 100,
                               &question->power_dbm) &&
           cli_option_quantity(options, "sensitivity", SPATE_DIM_LEVEL, -200, 0,
                               &question->sensitivity_dbm) &&
           cli_option_quantity(options, "frequency", SPATE_DIM_FREQUENCY, 1e6, 1e11,
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

/* As usual in temperate climates (Recommendation ITU-R P.530), and in a scenario. */
#define EARTH_RADIUS_FACTOR (4.0 / 3.0)

/* That of --elevation; NULL without a complaint where none is given. */
static SpateTerrain *
read_terrain(const CliOptions *options, CliStatus *status)
{
    GError *error = NULL;
    const char *path = cli_option_text(options, "elevation");
    if (path == NULL)
        return NULL;
    g_autoptr(SpateRaster) raster = spate_raster_open(path, &error);
    if (raster != NULL)
        return spate_terrain_new(raster, EARTH_RADIUS_FACTOR);
    *status =
        cli_complain(CLI_TROUBLE, "--elevation: '%s' cannot be read: %s", path, error->message);
    g_error_free(error);
    return NULL;
}

static CliStatus
write_all(const CliOptions *options, const SpateFit *fit, int format)
{
    g_autoptr(GString) svg = g_string_new(NULL), text = g_string_new(NULL);
    if (options->plots.n > 0)
        spate_fit_append_residuals(svg, fit);
    CliStatus status = cli_plots_write_one(options, svg);
    if (status != CLI_DONE)
        return status;
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
    if (cli_option_is_set(options, "elevation"))
        cli_places_read("height model", cli_option_text(options, "elevation"));
    CliStatus status = cli_places_note(options, "walk test");
    if (status != CLI_DONE)
        return status;
    g_autoptr(SpateScenario) scenario = read_scenario(options, &status);
    if (status != CLI_DONE)
        return status;
    if (scenario != NULL && question.bearer != NULL &&
        cli_find_bearer(scenario, question.bearer) == UINT32_MAX)
        return CLI_USAGE;
    g_autoptr(SpateTerrain) terrain = read_terrain(options, &status);
    if (status != CLI_DONE)
        return status;
    question.terrain = terrain;
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
     "compare models by AIC: free-space, two-ray, street-level, terrain and log-distance"},
    {"elevation", CLI_FILE, "FILE",
     "a height model: what the ground takes is then known, and not the law's [terrain of the "
     "scenario]"},
    {"without-diffraction", CLI_NO_VALUE, NULL, "leave what the ground takes in the law"},
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
