/* places.c - what a command reads and writes, so that no output destroys an input
 *
 * Every file of a command is noted here, and checked before the first byte goes out: no output may
 * be one of the inputs, or the place of another output.  Tables that a scenario names note
 * themselves when they are opened.  Files are distinguished by device and inode, so that hard
 * links, symbolic links, "x" and "./x" are one file; one that is not there yet by its folder and
 * name.
 */
#include "cli/cli.h"

#include "scenario/read/tables.h"
#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct {
    char *what; /* "scenario"; of outputs the option, "--output" */
    char *path;
    bool is_stream; /* an output that is written by stream.c */
} Place;

static GMutex mutex; /* a table may be opened by any thread */
static GPtrArray *inputs, *outputs;
static GHashTable *known; /* paths of inputs */
static unsigned n_streams_left;

static void
add(GPtrArray **array, const char *what, const char *path, bool is_stream)
{
    Place *place = g_new(Place, 1);
    *place = (Place){g_strdup(what), g_strdup(path), is_stream};
    if (*array == NULL)
        *array = g_ptr_array_new();
    g_ptr_array_add(*array, place);
}

void
cli_places_read(const char *what, const char *path)
{
    g_mutex_lock(&mutex);
    if (known == NULL)
        known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    if (g_hash_table_add(known, g_strdup(path)))
        add(&inputs, what, path, false);
    g_mutex_unlock(&mutex);
}

void
cli_places_write(const char *option, const char *path)
{
    add(&outputs, option, path != NULL ? path : "-", true);
    n_streams_left++;
}

void
cli_places_store(const char *option, const char *path)
{
    static const char *const JOURNALS[] = {"-journal", "-wal", "-shm"};
    if (option != NULL)
        add(&outputs, option, path, false);
    for (size_t i = 0; i < G_N_ELEMENTS(JOURNALS); i++) {
        g_autofree char *journal = g_strconcat(path, JOURNALS[i], NULL);
        add(&outputs, "the journal of a store", journal, false);
    }
}

static void
note_table(const char *path)
{
    cli_places_read("table", path);
}

CliStatus
cli_places_note(const CliOptions *options, const char *what)
{
    spate_tables_set_watch(note_table);
    for (guint i = 0; i < options->n_arguments; i++)
        cli_places_read(what, options->arguments[i]);
    cli_places_write("--output", options->output);
    if (options->report != NULL)
        cli_places_write("--report", options->report);
    for (size_t i = 0; i < options->plots.n; i++)
        cli_places_write("--plot", options->plots.all[i].path);
    return cli_places_check();
}

bool
cli_places_leave(void)
{
    if (n_streams_left > 0)
        n_streams_left--;
    return n_streams_left == 0;
}

typedef struct {
    struct stat facts; /* of the file, or of the folder that it is to be in */
    char *name;        /* in that folder; NULL: the file is there */
} Identity;

static void
identity_clear(Identity *identity)
{
    g_free(identity->name);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Identity, identity_clear)

/* "-" is the standard file of that number.  False if there is no such place. */
static bool
identify(Identity *identity, const char *path, int standard)
{
    if (strcmp(path, "-") == 0)
        return fstat(standard, &identity->facts) == 0;
    if (stat(path, &identity->facts) == 0)
        return true;
    g_autofree char *target = cli_output_target(path);
    if (target == NULL)
        return false;
    g_autofree char *folder = g_path_get_dirname(target);
    identity->name = g_path_get_basename(target);
    return stat(folder, &identity->facts) == 0;
}

static bool
is_same(const Identity *a, const Identity *b)
{
    return a->facts.st_dev == b->facts.st_dev && a->facts.st_ino == b->facts.st_ino &&
           g_strcmp0(a->name, b->name) == 0;
}

/* Whatever is written there is gone. */
static bool
is_null_device(const struct stat *facts)
{
    struct stat null;
    return S_ISCHR(facts->st_mode) && stat("/dev/null", &null) == 0 &&
           facts->st_rdev == null.st_rdev;
}

static const char *
name_of(const Place *place, const char *standard)
{
    return strcmp(place->path, "-") == 0 ? standard : place->path;
}

/* Only a plain file can be destroyed. */
static CliStatus
check_against_inputs(const Place *output, const Identity *identity)
{
    for (guint i = 0; inputs != NULL && i < inputs->len; i++) {
        const Place *input = g_ptr_array_index(inputs, i);
        g_auto(Identity) read = {0};
        if (identify(&read, input->path, STDIN_FILENO) && read.name == NULL &&
            S_ISREG(read.facts.st_mode) && is_same(&read, identity))
            return cli_complain(CLI_USAGE, "%s: %s would overwrite the %s %s; name another file",
                                output->what, name_of(output, "standard output"), input->what,
                                name_of(input, "on standard input"));
    }
    return CLI_DONE;
}

static CliStatus
check_against_outputs(const Place *output, const Identity *identity, guint n)
{
    for (guint i = 0; i < n; i++) {
        const Place *other = g_ptr_array_index(outputs, i);
        g_auto(Identity) written = {0};
        if (!identify(&written, other->path, STDOUT_FILENO) || !is_same(&written, identity) ||
            is_null_device(&written.facts))
            continue;
        if (cli_output_is_standard(output->path) && strcmp(other->what, "--output") == 0)
            return cli_complain(CLI_USAGE,
                                "%s: standard output takes the result; give --output FILE too",
                                output->what);
        bool is_twice = strcmp(output->what, other->what) == 0;
        return cli_complain(CLI_USAGE, "%s: %s is where %s%s goes; name another file", output->what,
                            name_of(output, "standard output"), is_twice ? "another " : "",
                            other->what);
    }
    return CLI_DONE;
}

CliStatus
cli_places_check(void)
{
    CliStatus status = CLI_DONE;
    g_mutex_lock(&mutex);
    for (guint i = 0; outputs != NULL && i < outputs->len && status == CLI_DONE; i++) {
        const Place *output = g_ptr_array_index(outputs, i);
        g_auto(Identity) identity = {0};
        if (!identify(&identity, output->path, STDOUT_FILENO))
            continue;
        status = check_against_inputs(output, &identity);
        if (status == CLI_DONE)
            status = check_against_outputs(output, &identity, i);
    }
    for (guint i = 0; outputs != NULL && i < outputs->len && status == CLI_DONE; i++) {
        const Place *output = g_ptr_array_index(outputs, i);
        if (output->is_stream)
            status = cli_output_check(output->path);
    }
    g_mutex_unlock(&mutex);
    return status;
}
