/* run.c - spate run */
#include "cli/cli.h"
#include "cli/globe.h"

/* Complains early of what no map can show. */
static CliStatus
check_map(const SpateScenario *scenario, size_t n, const CliOptions *options)
{
    CliStatus status = CLI_DONE;
    GError *error = NULL;
    if (!options->detail)
        return cli_complain(CLI_USAGE, "--format geojson needs --detail: it shows the links");
    if (n > 1)
        return cli_complain(CLI_USAGE, "--format geojson shows one variant at a time");
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    if (world == NULL)
        return cli_complain_error(error);
    g_free(cli_globe_places(world, &status));
    return status;
}

static CliStatus
cli_run(CliOptions *options)
{
    static const char *const BASE[] = {"base", NULL};
    if (!cli_cells_check(options))
        return CLI_USAGE;
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "run takes one scenario; see spate run --help");
    CliStatus status = cli_places_note(options, "scenario");
    cli_logs_note(options);
    if (status == CLI_DONE)
        status = cli_places_check();
    if (status != CLI_DONE)
        return status;
    g_autoptr(SpateScenarioFile) file = cli_scenario_file(options->arguments[0], options, &status);
    if (file == NULL)
        return status;
    const char *const *names =
        options->variants != NULL ? (const char *const *)options->variants : BASE;
    g_autoptr(GPtrArray) scenarios = cli_scenarios(file, names, options, &status);
    if (scenarios == NULL)
        return status;
    const SpateScenario *const *all = (const SpateScenario *const *)scenarios->pdata;
    if (options->is_map)
        status = check_map(all[0], scenarios->len, options);
    if (status == CLI_DONE)
        status = cli_logs_check(options, all, scenarios->len);
    if (status == CLI_DONE)
        status = cli_study("run", file, all, names, scenarios->len, options);
    if (status == CLI_DONE)
        status = cli_logs_write(options, all, names, scenarios->len);
    return status;
}

static const CliOption OPTIONS[] = {
    {"format", CLI_WORD, "table|json|csv|geojson",
     "a table for people (the default), or for programs; with --detail GeoJSON has nodes as points "
     "and who hears whom as lines, for a map"},
    {"events", CLI_FILE, "FILE", "write every event, one JSON object a line"},
    {"capture", CLI_FILE, "FILE.pcapng",
     "write the first replication's frames for packet analysers"},
    {"events-of", CLI_TEXTS, "TRAFFIC", "log and capture only these messages (repeatable)"},
    {"capture-at", CLI_TEXTS, "NODE",
     "capture what this node receives, not all frames (repeatable)"},
};

const CliCommand CLI_RUN = {
    .name = "run",
    .run = cli_run,
    .summary = "simulate a scenario and print the measures",
    .usage = "SCENARIO [OPTION...]",
    .about = "Simulates all replications of the scenario and prints the measures with their 95 % "
             "intervals. SCENARIO may be - (standard input).",
    .arguments = CLI_FILE,
    .takes = CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_DETAIL | CLI_TAKES_SET |
             CLI_TAKES_VARIANT | CLI_TAKES_OUTPUT | CLI_TAKES_CELLS,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 done, 2 bad usage or scenario, 3 could not read, write or finish, 130 interrupted "
              "(what was finished is kept).",
    .example = "spate run scenarios/tarn-hollow.yaml --replications 5 --format json",
};
