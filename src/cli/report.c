/* report.c - spate report */
#include "cli/cli.h"

#include "report/result-reader.h"

static const char HELP[] =
    "usage: spate report RESULT.json [OPTION...]\n"
    "\n"
    "Makes one self-contained HTML page from a result of run or compare: the answer, the\n"
    "comparison, a map, where reception is lost, and the replay of single messages. It\n"
    "opens from disk in any browser, loads nothing, and can be passed on. For all but\n"
    "the comparison the result must be made with --detail.\n"
    "\n"
    "  --blur DISTANCE       move every place by a random step of at most that, such as\n"
    "                        \"200 m\", so that nobody's home is published; the scenario's\n"
    "                        text is left out, margins and heights are told coarsely\n"
    "  --anonymous           numbers instead of the names of nodes and bridges\n"
    "  --blur-seed N         the same steps and numbers again: keep it to yourself, and\n"
    "                        use it for every page of one mesh (many pages with different\n"
    "                        steps give the places away); a random one otherwise\n"
    "  --output FILE         instead of standard output\n"
    "\n"
    "Exit status: 0 done, 2 bad usage or no such result, 3 could not read or write.\n"
    "\n"
    "Example: spate compare valley.yaml --format json --detail --output r.json\n"
    "         spate report r.json --blur \"200 m\" --output valley.html\n";

CliStatus
cli_report(int argc, char **argv)
{
    CliStatus status;
    g_auto(CliOptions) options = {0};
    if (!cli_options_read(&options, CLI_TAKES_OUTPUT | CLI_TAKES_HIDING, NULL, HELP, argc, argv,
                          &status))
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
