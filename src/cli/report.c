/* report.c - spate report, and the page that run and compare write too */
#include "cli/cli.h"

#include "report/result/result-reader.h"

CliStatus
cli_page_write(const char *name, const char *json, gsize length, const SpatePagePrivacy *privacy,
               const char *output)
{
    GError *error = NULL;
    bool has_detail = false;
    g_autofree char *page = spate_page_new(name, json, length, privacy, &has_detail, &error);
    if (page == NULL)
        return cli_complain_error(error);
    CliStatus status = cli_output_write(output, CLI_EXACT, page, strlen(page));
    if (status == CLI_DONE && !has_detail)
        cli_complain(CLI_DONE,
                     "%s has measures only: for a map and a replay, run with --detail or --report",
                     name);
    return status;
}

static CliStatus
cli_report(CliOptions *options)
{
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "report takes one result; see spate report --help");
    CliStatus status = cli_places_note(options, "result");
    if (status != CLI_DONE)
        return status;
    const char *path = options->arguments[0];
    GError *error = NULL;
    g_autoptr(GByteArray) json = spate_result_bytes(path, &error);
    if (json == NULL)
        return cli_complain_error(error);
    return cli_page_write(strcmp(path, "-") == 0 ? "standard input" : path,
                          (const char *)json->data, json->len, &options->privacy, options->output);
}

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
