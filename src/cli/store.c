/* store.c - a store as text, for sweep and merge */
#include "cli/cli.h"

#include "report/sweep/sweep-report.h"
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
cli_store_format(const CliCommand *command, const char *text, SpateFormat *format)
{
    int chosen = SPATE_FORMAT_TABLE;
    bool is_read = cli_command_read_word(command, "format", text, &chosen);
    *format = (SpateFormat)chosen;
    return is_read;
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
