/* store.c - a store as text, for sweep and merge */
#include "cli/cli.h"

#include "report/sweep-report.h"
#include <string.h>

CliStatus
cli_store_complain(GError *error)
{
    bool is_usage = g_error_matches(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN) ||
                    g_error_matches(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_CHANGED);
    CliStatus status = cli_complain_error(error);
    return is_usage ? CLI_USAGE : status;
}

bool
cli_store_format(const char *text, SpateFormat *format)
{
    static const char *const NAMES[] = {"table", "json", "csv", NULL};
    for (int i = 0; NAMES[i] != NULL; i++) {
        if (strcmp(NAMES[i], text) == 0) {
            *format = (SpateFormat)i;
            return true;
        }
    }
    cli_complain(CLI_USAGE, "--format: '%s' is none of table, json, csv", text);
    return false;
}

static void
pour(gpointer user, const void *text, gsize length)
{
    cli_stream_append(user, text, length);
}

CliStatus
cli_store_write(SpateStore *store, SpateFormat format, const CliOptions *options)
{
    CliStatus status = CLI_DONE;
    CliStream *stream = cli_stream_open(options->output != NULL ? options->output : "-",
                                        cli_form_of(options, format), &status);
    if (stream == NULL)
        return status;
    GError *error = NULL;
    bool is_read = spate_sweep_report(store, format, pour, stream, &error);
    status = cli_stream_close(stream, is_read);
    return is_read ? status : cli_store_complain(error);
}
