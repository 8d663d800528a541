/* merge.c - spate merge */
#include "cli/cli.h"

#include <sys/stat.h>

/* The output, if it is a store; a file of that name may also be one of the arguments. */
typedef struct {
    const CliOptions *options;
    const char *output; /* NULL: none */
    SpateStore *store;
} Merge;

static bool
merge_all(const Merge *merge, GError **error)
{
    const CliOptions *options = merge->options;
    for (guint i = 0; i < options->n_arguments; i++) {
        const char *path = options->arguments[i];
        struct stat input, output;
        bool is_output = merge->output != NULL && stat(path, &input) == 0 &&
                         stat(merge->output, &output) == 0 && input.st_dev == output.st_dev &&
                         input.st_ino == output.st_ino;
        if (is_output && spate_store_is_begun(merge->store))
            continue;
        if (is_output) {
            g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN, "%s: it has no sweep",
                        path);
            return false;
        }
        if (!spate_store_merge(merge->store, path, error))
            return false;
    }
    return spate_store_sum_up_all(merge->store, error);
}

/* " (8, 9, 12 and 3 more)": */
static char *
list_points(const uint32_t *points, uint32_t n_listed, uint32_t n)
{
    GString *text = g_string_new(NULL);
    for (uint32_t i = 0; i < n_listed; i++)
        g_string_append_printf(text, "%s%u", i > 0 ? ", " : "", points[i]);
    if (n > n_listed)
        g_string_append_printf(text, " and %u more", n - n_listed);
    return g_string_free(text, FALSE);
}

/* How much of the sweep is there, and how to get the rest. */
static CliStatus
tell_extent(SpateStore *store, const CliOptions *options)
{
    SpateStoreExtent extent;
    GError *error = NULL;
    if (options->quiet)
        return CLI_DONE;
    if (!spate_store_extent(store, &extent, &error))
        return cli_store_complain(error);
    cli_complain(CLI_DONE, "%u runs at %u of %u points", extent.n_runs, extent.n_begun,
                 extent.n_points);
    uint32_t n_missing = extent.n_points - extent.n_begun;
    g_autofree char *missing = list_points(extent.missing, extent.n_listed_missing, n_missing);
    g_autofree char *few = list_points(extent.few, extent.n_listed_few, extent.n_few);
    if (n_missing > 0)
        cli_complain(CLI_DONE, "%u of %u points have no runs: %s", n_missing, extent.n_points,
                     missing);
    if (extent.n_few > 0)
        cli_complain(CLI_DONE, "%u of %u points have fewer than %u runs: %s", extent.n_few,
                     extent.n_points, extent.most, few);
    if (n_missing > 0 || extent.n_few > 0)
        cli_complain(CLI_DONE,
                     "to complete them, run spate sweep again for the missing or unfinished shards "
                     "and merge again, or run it without --shard and with "
                     "--store on a merged store");
    return CLI_DONE;
}

/* One batch: the output has all of it in the end, or is as it was.  It stays locked in between. */
static CliStatus
merge_batch(const Merge *merge)
{
    GError *error = NULL;
    spate_store_stop_on(merge->store, cli_interrupt_flag());
    if (spate_store_begin_batch(merge->store, &error) && merge_all(merge, &error) &&
        spate_store_end_batch(merge->store, &error))
        return CLI_DONE;
    spate_store_drop_batch(merge->store);
    if (!g_error_matches(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_STOPPED) ||
        *cli_interrupt_flag() == 0)
        return cli_store_complain(error);
    g_error_free(error);
    return cli_complain(CLI_INTERRUPTED, "interrupted: %s is unchanged", merge->options->output);
}

/* A new output goes again if it gets nothing, before the lock on it does. */
static CliStatus
merge_into(Merge *merge, bool is_new)
{
    g_autofree char *journal = g_strdup_printf("%s-journal", merge->output);
    GError *error = NULL;
    if (is_new)
        cli_interrupt_hold();
    g_autoptr(SpateStore) store = spate_store_open(merge->output, true, &error);
    is_new = is_new && store != NULL && !spate_store_is_begun(store);
    if (is_new) {
        cli_interrupt_remove(merge->output);
        cli_interrupt_remove(journal);
    }
    cli_interrupt_release();
    if (store == NULL)
        return cli_store_complain(error);
    merge->store = store;
    CliStatus status = merge_batch(merge);
    if (status == CLI_DONE)
        status = tell_extent(store, merge->options);
    if (!is_new)
        return status;
    cli_interrupt_hold();
    if (!spate_store_is_begun(store))
        spate_store_remove(store);
    cli_interrupt_leave(merge->output);
    cli_interrupt_leave(journal);
    cli_interrupt_release();
    return status;
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
    Merge merge = {.options = options, .output = target};
    cli_interrupt_keep_results();
    return merge_into(&merge, !g_file_test(target, G_FILE_TEST_EXISTS));
}

static CliStatus
merge_to_text(const CliOptions *options)
{
    if (!cli_cells_check(options))
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
    const Merge merge = {.options = options, .store = store};
    status = merge_batch(&merge);
    if (status == CLI_DONE)
        status = cli_store_write(store, options);
    return status == CLI_DONE ? tell_extent(store, options) : status;
}

static CliStatus
cli_merge(CliOptions *options)
{
    if (options->n_arguments == 0)
        return cli_complain(CLI_USAGE, "merge takes one or more stores; see spate merge --help");
    return cli_option_text(options, "format") != NULL ? merge_to_text(options)
                                                      : merge_to_store(options);
}

static const CliOption OPTIONS[] = {
    {"format", CLI_WORD, "table|json|csv", "write text instead of a store"},
    {"output", CLI_FILE, "FILE", "the joined store, or the text (- is standard output)"},
    {"quiet", CLI_NO_VALUE, NULL, "do not report how many runs there are and what is missing"},
};

const CliCommand CLI_MERGE = {
    .name = "merge",
    .run = cli_merge,
    .summary = "join the stores of a sweep that was run in shards",
    .usage = "STORE... --output STORE\n"
             "STORE... --format table|json|csv [--output FILE]",
    .about = "Joins the stores of a sweep that was run in shards. They must be of the same "
             "scenario, settings, points and version of spate; runs that several of them have must "
             "agree. An output that already exists is joined too, so that merging again changes "
             "nothing; it is locked meanwhile. With --format, the joined results are written as "
             "text. Points that lack runs are reported.",
    .arguments = CLI_FILE,
    .takes = CLI_TAKES_OUTPUT | CLI_TAKES_CELLS,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 done, 2 bad usage, or stores that do not match, 3 could not read or write, "
              "or a store is damaged, 130 interrupted (the output is as before).",
    .example = "spate merge valley.*-of-4.sqlite --output valley.sqlite",
};
