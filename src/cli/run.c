/* run.c - spate run */
#include "cli/cli.h"

static const char HELP[] =
    "usage: spate run SCENARIO [OPTION...]\n"
    "\n"
    "Simulates the scenario, all its replications, and prints the measures with their\n"
    "95 % intervals. SCENARIO may be - (standard input).\n"
    "\n"
    "  --variant NAME        a variant instead of the base (repeatable; base is one)\n"
    "  --set PATH=VALUE      change a value, as in nodes.soil.count=80 (repeatable)\n"
    "  --seed N              another seed than the scenario's\n"
    "  --replications N      more or fewer than the scenario says\n"
    "  --jobs N              threads (default: all cores); never changes a result\n"
    "  --format table|json|csv\n"
    "  --csv-text-cells      CSV in which no text is a formula of a spreadsheet\n"
    "  --output FILE         instead of standard output\n"
    "  --events FILE         writes all that happens, one JSON object a line\n"
    "  --capture FILE.pcapng writes the first replication's frames for packet readers\n"
    "  --events-of TRAFFIC   only these messages in events and capture (repeatable)\n"
    "  --capture-at NODE     what this node receives, not the air (repeatable)\n"
    "  --detail              JSON with what a report shows (with --format json)\n"
    "  --report FILE.html    the page itself; see spate report --help for --blur,\n"
    "                        --anonymous and --blur-seed\n"
    "  --plot NAME=FILE.svg  one picture for documents (repeatable): delivery, load,\n"
    "                        delivery-in-time, latency, losses or difference\n"
    "  --quiet               no progress\n"
    "\n"
    "Exit status: 0 done, 2 bad usage or scenario, 3 could not read, write or finish,\n"
    "130 interrupted (what was finished is kept).\n"
    "\n"
    "Example: spate run scenarios/tarn-hollow.yaml --replications 5 --format json\n";

CliStatus
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
    if (!cli_options_read(&options,
                          CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_DETAIL | CLI_TAKES_SET |
                              CLI_TAKES_VARIANT | CLI_TAKES_FORMAT,
                          extra, HELP, argc, argv, &status))
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
