/* run.c - spate run */
#include "cli/cli.h"

static const CliOption OPTIONS[] = {
    {"events", CLI_FILE, "FILE", "write every event, one JSON object a line"},
    {"capture", CLI_FILE, "FILE.pcapng",
     "write the first replication's frames for packet analysers"},
    {"events-of", CLI_TEXT, "TRAFFIC", "log and capture only these messages (repeatable)"},
    {"capture-at", CLI_TEXT, "NODE",
     "capture what this node receives, not all frames (repeatable)"},
};

static CliStatus cli_run(int argc, char **argv);

const CliCommand CLI_RUN = {
    .name = "run",
    .run = cli_run,
    .summary = "simulate a scenario and print the measures",
    .usage = "SCENARIO [OPTION...]",
    .about = "Simulates all replications of the scenario and prints the measures with their 95 % "
             "intervals. SCENARIO may be - (standard input).",
    .arguments = CLI_FILE,
    .takes = CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_DETAIL | CLI_TAKES_SET |
             CLI_TAKES_VARIANT | CLI_TAKES_FORMAT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 done, 2 bad usage or scenario, 3 could not read, write or finish, 130 interrupted "
              "(what was finished is kept).",
    .example = "spate run scenarios/tarn-hollow.yaml --replications 5 --format json",
};

static CliStatus
cli_run(int argc, char **argv)
{
    CliStatus status;
    g_auto(CliOptions) options = {0};
    g_auto(CliLogs) logs = {0};
    const GOptionEntry extra[] = {
        {.long_name = "events", .arg = G_OPTION_ARG_FILENAME, .arg_data = &logs.events},
        {.long_name = "capture", .arg = G_OPTION_ARG_FILENAME, .arg_data = &logs.capture},
        {.long_name = "events-of", .arg = G_OPTION_ARG_FILENAME_ARRAY, .arg_data = &logs.events_of},
        {.long_name = "capture-at",
         .arg = G_OPTION_ARG_FILENAME_ARRAY,
         .arg_data = &logs.capture_at},
        {NULL},
    };
    if (!cli_options_read(&options, &CLI_RUN, extra, argc, argv, &status))
        return status;
    if (options.n_arguments != 1)
        return cli_complain(CLI_USAGE, "run takes one scenario; see spate run --help");
    status = cli_places_note(&options, "scenario");
    cli_logs_note(&logs);
    if (status == CLI_DONE)
        status = cli_places_check();
    if (status != CLI_DONE)
        return status;
    g_autoptr(SpateScenarioFile) file = cli_scenario_file(options.arguments[0], &options, &status);
    if (file == NULL)
        return status;

    static const char *const BASE[] = {"base", NULL};
    const char *const *names =
        options.variants != NULL ? (const char *const *)options.variants : BASE;
    g_autoptr(GPtrArray) scenarios =
        g_ptr_array_new_with_free_func((GDestroyNotify)spate_scenario_free);
    for (size_t i = 0; names[i] != NULL; i++) {
        SpateScenario *scenario = cli_scenario(file, names[i], &options, &status);
        if (scenario == NULL)
            return status;
        g_ptr_array_add(scenarios, scenario);
    }
    const SpateScenario *const *all = (const SpateScenario *const *)scenarios->pdata;
    status = cli_logs_check(&logs, all, scenarios->len);
    if (status == CLI_DONE)
        status = cli_study("run", file, all, names, scenarios->len, &options);
    if (status == CLI_DONE)
        status = cli_logs_write(&logs, all, names, scenarios->len, &options);
    return status;
}
