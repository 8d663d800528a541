/* page.c - from a result's JSON to a written page */
#include "cli/cli.h"

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
