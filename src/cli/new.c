/* new.c - spate new */
#include "cli/cli.h"

#include "starter.h"
#include <gio/gio.h>

static CliStatus
cli_new(CliOptions *options)
{
    const char *output = options->output;
    if (options->n_arguments > 0)
        return cli_complain(CLI_USAGE, "new takes no scenario; see spate new --help");
    CliStatus status = cli_places_note(options, "scenario");
    if (status != CLI_DONE)
        return status;
    bool keeps_old = !cli_option_is_set(options, "force") && !cli_output_is_standard(output) &&
                     !cli_output_is_special(output);
    if (keeps_old && g_file_test(output, G_FILE_TEST_EXISTS))
        return cli_complain(
            CLI_USAGE, "--output: %s already exists; replace it with --force or name another file",
            output);
    CliStream *stream = cli_stream_open(output, CLI_SHOWN, &status);
    if (stream == NULL)
        return status;
    if (keeps_old)
        cli_stream_keep_old(stream);
    g_autoptr(GBytes) bytes = g_resource_lookup_data(starter_get_resource(), "/spate/starter.yaml",
                                                     G_RESOURCE_LOOKUP_FLAGS_NONE, NULL);
    g_assert(bytes != NULL);
    gsize length;
    const char *text = g_bytes_get_data(bytes, &length);
    cli_stream_append(stream, text, length);
    return cli_stream_close(stream, true);
}

static const CliOption OPTIONS[] = {
    {"output", CLI_FILE, "FILE", "into a file that is not there yet"},
    {"force", CLI_NO_VALUE, NULL, "replace the file if it is there"},
};

const CliCommand CLI_NEW = {
    .name = "new",
    .run = cli_new,
    .summary = "print a small commented scenario to start from",
    .usage = "[OPTION...]",
    .about = "Prints a small commented scenario to start from.",
    .arguments = CLI_NO_VALUE,
    .takes = CLI_TAKES_OUTPUT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 done, 2 bad usage, 3 could not write.",
    .example = "spate new > valley.yaml && spate run valley.yaml",
};
