/* new.c - spate new */
#include "cli/cli.h"

#include "starter.h"
#include <gio/gio.h>

static const char HELP[] = "usage: spate new [--output FILE]\n"
                           "\n"
                           "Prints a small commented scenario to start from.\n"
                           "\n"
                           "Exit status: 0 done, 2 bad usage, 3 could not write.\n"
                           "\n"
                           "Example: spate new > valley.yaml && spate run valley.yaml\n";

CliStatus
cli_new(int argc, char **argv)
{
    CliStatus status;
    g_auto(CliOptions) options = {0};
    if (!cli_options_read(&options, CLI_TAKES_FORMAT, NULL, HELP, argc, argv, &status))
        return status;
    if (options.n_arguments > 0)
        return cli_complain(CLI_USAGE, "new takes no scenario; see spate new --help");
    if (options.format != SPATE_FORMAT_TABLE)
        return cli_complain(CLI_USAGE, "new prints YAML; --format does not apply");
    g_autoptr(GBytes) bytes = g_resource_lookup_data(starter_get_resource(), "/spate/starter.yaml",
                                                     G_RESOURCE_LOOKUP_FLAGS_NONE, NULL);
    g_assert(bytes != NULL);
    gsize length;
    const char *text = g_bytes_get_data(bytes, &length);
    return cli_output_write(options.output, text, length);
}
