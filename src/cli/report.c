/* report.c - spate report */
#include "cli/cli.h"

#include "report/result/result-reader.h"

static CliStatus cli_report(int argc, char **argv);

const CliCommand CLI_REPORT = {
    .name = "report",
    .run = cli_report,
    .summary = "make a web page from a result",
    .usage = "RESULT.json [OPTION...]",
    .about = "Makes one self-contained HTML page from a result of run or compare: the answer, the "
             "comparison, a map, where reception is lost, and the replay of single messages. It "
             "opens from disk in any browser, loads nothing, and can be passed on. Everything but "
             "the comparison needs a result made with --detail.",
    .arguments = CLI_FILE,
    .takes = CLI_TAKES_OUTPUT | CLI_TAKES_HIDING,
    .status = "0 done, 2 bad usage or a bad result, 3 could not read or write.",
    .example = "spate compare valley.yaml --format json --detail --output r.json\n         spate "
               "report r.json --blur \"200 m\" --output valley.html",
};

static CliStatus
cli_report(int argc, char **argv)
{
    CliStatus status;
    g_auto(CliOptions) options = {0};
    if (!cli_options_read(&options, &CLI_REPORT, NULL, argc, argv, &status))
        return status;
    if (options.n_arguments != 1)
        return cli_complain(CLI_USAGE, "report takes one result; see spate report --help");
    status = cli_places_note(&options, "result");
    if (status != CLI_DONE)
        return status;
    GError *error = NULL;
    g_autoptr(GByteArray) json = spate_result_bytes(options.arguments[0], &error);
    if (json == NULL)
        return cli_complain_error(error);
    const char *name =
        strcmp(options.arguments[0], "-") == 0 ? "standard input" : options.arguments[0];
    return cli_page_write(name, (const char *)json->data, json->len, &options.privacy,
                          options.output);
}
