/* merge.c - spate merge */
#include "cli/cli.h"

#include <errno.h>
#include <fcntl.h>
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
    "  --csv-text-cells      CSV in which no text is a formula of a spreadsheet\n"
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

/* An empty file with the mode of the one that it is to replace; SQLite fills it, and gives its
 * journal the same mode. */
static CliStatus
make_part(const char *part, const char *target)
{
    int file = open(part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (file < 0)
        return cli_complain(CLI_TROUBLE, "cannot write %s: %s", part, g_strerror(errno));
    cli_output_keep_mode(file, target);
    close(file);
    return CLI_DONE;
}

static CliStatus
merge_to_store(const CliOptions *options)
{
    if (options->output == NULL || cli_output_is_standard(options->output))
        return cli_complain(CLI_USAGE,
                            "merge needs --output STORE, or --format; see spate merge --help");
    /* An input may be the output: it is joined, and nothing of it is lost. */
    cli_places_store("--output", options->output);
    CliStatus status = cli_places_check();
    if (status == CLI_DONE)
        status = cli_output_check(options->output);
    if (status != CLI_DONE)
        return status;
    g_autofree char *target = cli_output_target(options->output);
    g_autofree char *part = g_strdup_printf("%s.part", target);
    g_autofree char *journal = g_strdup_printf("%s-journal", part);
    unlink(part);
    unlink(journal);
    status = make_part(part, target);
    if (status == CLI_DONE)
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
    if (!cli_cells_check(options, true, format))
        return CLI_USAGE;
    for (guint i = 0; i < options->n_arguments; i++)
        cli_places_store(NULL, options->arguments[i]);
    CliStatus status = cli_places_note(options, "store");
    if (status != CLI_DONE)
        return status;
    GError *error = NULL;
    g_autoptr(SpateStore) store = spate_store_open(NULL, true, &error);
    if (store == NULL)
        return cli_store_complain(error);
    status = merge_all(store, options);
    return status == CLI_DONE ? cli_store_write(store, format, options) : status;
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
    if (!cli_options_read(&options, CLI_TAKES_OUTPUT | CLI_TAKES_CELLS, extra, HELP, argc, argv,
                          &status))
        return status;
    if (options.n_arguments == 0)
        return cli_complain(CLI_USAGE, "merge takes stores; see spate merge --help");
    return format != NULL ? merge_to_text(&options, format) : merge_to_store(&options);
}
