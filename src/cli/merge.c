/* merge.c - spate merge */
#include "cli/cli.h"

#include <errno.h>
#include <stdio.h>
#include <unistd.h>

static const char HELP[] =
    "usage: spate merge STORE... --output STORE\n"
    "       spate merge STORE... --format table|json|csv [--output FILE]\n"
    "\n"
    "Joins the stores of a sweep that was run in shards. They must be of the same\n"
    "scenario, settings, points and version of spate; runs that several of them have\n"
    "must agree. An output that is there already is joined too, so that merging once\n"
    "more changes nothing. With --format, what the stores hold is written as text.\n"
    "\n"
    "  --output FILE         the joined store, or the text (- is standard output)\n"
    "  --format table|json|csv\n"
    "\n"
    "Exit status: 0 done, 2 bad usage, or stores that do not fit together, 3 could not\n"
    "read or write.\n"
    "\n"
    "Example: spate merge valley.*-of-4.sqlite --output valley.sqlite\n";

static CliStatus
merge_all(SpateStore *store, const CliOptions *options)
{
    GError *error = NULL;
    for (guint i = 0; i < options->n_arguments; i++)
        if (!spate_store_merge(store, options->arguments[i], &error))
            return cli_store_complain(error);
    return CLI_DONE;
}

static bool
is_there(const char *path)
{
    return g_file_test(path, G_FILE_TEST_EXISTS);
}

/* Beside its place, so that the output is whole or as it was. */
static CliStatus
merge_into(const char *part, const char *target, const CliOptions *options)
{
    GError *error = NULL;
    g_autoptr(SpateStore) store = spate_store_open(part, true, &error);
    if (store == NULL || (is_there(target) && !spate_store_merge(store, target, &error)))
        return cli_store_complain(error);
    return merge_all(store, options);
}

static CliStatus
merge_to_store(const CliOptions *options)
{
    static const char *const NONE[] = {NULL};
    if (options->output == NULL || cli_output_is_standard(options->output))
        return cli_complain(CLI_USAGE,
                            "merge needs --output STORE, or --format; see spate merge --help");
    CliStatus status = cli_output_check(options->output, NONE);
    if (status != CLI_DONE)
        return status;
    g_autofree char *target = cli_output_target(options->output);
    g_autofree char *part = g_strdup_printf("%s.part", target);
    g_autofree char *journal = g_strdup_printf("%s-journal", part);
    unlink(part);
    unlink(journal);
    status = merge_into(part, target, options);
    if (status == CLI_DONE && rename(part, target) != 0)
        status =
            cli_complain(CLI_TROUBLE, "cannot write %s: %s", options->output, g_strerror(errno));
    if (status != CLI_DONE)
        unlink(part);
    return status;
}

static CliStatus
merge_to_text(const CliOptions *options, const char *format_text)
{
    SpateFormat format;
    if (!cli_store_format(format_text, &format))
        return CLI_USAGE;
    CliStatus status = cli_output_check(options->output, (const char *const *)options->arguments);
    if (status != CLI_DONE)
        return status;
    GError *error = NULL;
    g_autoptr(SpateStore) store = spate_store_open(NULL, true, &error);
    if (store == NULL)
        return cli_store_complain(error);
    status = merge_all(store, options);
    return status == CLI_DONE ? cli_store_write(store, format, options->output) : status;
}

CliStatus
cli_merge(int argc, char **argv)
{
    CliStatus status;
    g_auto(CliOptions) options = {0};
    g_autofree char *format = NULL;
    const GOptionEntry extra[] = {
        {.long_name = "format", .arg = G_OPTION_ARG_FILENAME, .arg_data = &format},
        {NULL},
    };
    if (!cli_options_read(&options, CLI_TAKES_OUTPUT, extra, HELP, argc, argv, &status))
        return status;
    if (options.n_arguments == 0)
        return cli_complain(CLI_USAGE, "merge takes stores; see spate merge --help");
    return format != NULL ? merge_to_text(&options, format) : merge_to_store(&options);
}
