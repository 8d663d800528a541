/* store.c - a store as text, for sweep and merge */
#include "cli/cli.h"

#include "report/sweep/sweep-report.h"

CliStatus
cli_store_complain(GError *error)
{
    bool is_usage = g_error_matches(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN) ||
                    g_error_matches(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_CHANGED);
    CliStatus status = cli_complain_error(error);
    return is_usage ? CLI_USAGE : status;
}

static void
pour(gpointer user, const void *text, gsize length)
{
    cli_stream_append(user, text, length);
}

CliStatus
cli_store_write(SpateStore *store, const CliOptions *options)
{
    CliStatus status = CLI_DONE;
    CliStream *stream =
        cli_stream_open(options->output, cli_form_of(options, options->format), &status);
    if (stream == NULL)
        return status;
    GError *error = NULL;
    bool is_read = spate_sweep_report(store, options->format, pour, stream, &error);
    status = cli_stream_close(stream, is_read);
    return is_read ? status : cli_store_complain(error);
}
