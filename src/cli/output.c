/* output.c - results reach their place whole, or not at all */
#include "cli/cli.h"

#include <errno.h>
#include <fcntl.h>
#include <gio/gio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool
cli_output_is_standard(const char *path)
{
    struct stat named, standard;
    if (path == NULL || strcmp(path, "-") == 0)
        return true;
    return stat(path, &named) == 0 && fstat(STDOUT_FILENO, &standard) == 0 &&
           named.st_dev == standard.st_dev && named.st_ino == standard.st_ino;
}

bool
cli_output_is_special(const char *path)
{
    struct stat facts;
    return stat(path, &facts) == 0 && !S_ISREG(facts.st_mode);
}

char *
cli_output_target(const char *path)
{
    char *resolved = realpath(path, NULL);
    char *target = g_strdup(resolved != NULL ? resolved : path);
    free(resolved);
    return target;
}

static CliStatus
complain_errno(const char *what)
{
    return cli_complain(CLI_TROUBLE, "cannot write %s: %s", what, g_strerror(errno));
}

static bool
write_all(int to, const char *text, gsize length)
{
    while (length > 0) {
        ssize_t written = write(to, text, length);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            return false;
        text += written;
        length -= (gsize)written;
    }
    return true;
}

static CliStatus
write_special(const char *path, const char *text, gsize length)
{
    int to = open(path, O_WRONLY | O_CLOEXEC);
    if (to < 0)
        return complain_errno(path);
    bool fine = write_all(to, text, length);
    int reason = errno;
    if (close(to) != 0 && fine) {
        fine = false;
        reason = errno;
    }
    errno = reason;
    return fine ? CLI_DONE : complain_errno(path);
}

static bool
is_same_file(const char *a, const char *b)
{
    struct stat first, second;
    return stat(a, &first) == 0 && stat(b, &second) == 0 && S_ISREG(first.st_mode) &&
           first.st_dev == second.st_dev && first.st_ino == second.st_ino;
}

CliStatus
cli_output_check(const char *path, const char *const *inputs)
{
    if (cli_output_is_standard(path))
        return CLI_DONE;
    for (size_t i = 0; inputs[i] != NULL; i++)
        if (is_same_file(path, inputs[i]))
            return cli_complain(CLI_USAGE, "--output: %s is the scenario itself", path);
    if (g_file_test(path, G_FILE_TEST_IS_DIR)) {
        errno = EISDIR;
        return complain_errno(path);
    }
    g_autofree char *target = cli_output_target(path);
    g_autofree char *folder = g_path_get_dirname(target);
    if (!cli_output_is_special(path) && access(folder, W_OK | X_OK) != 0)
        return complain_errno(path);
    return CLI_DONE;
}

CliStatus
cli_output_write(const char *path, const char *text, gsize length)
{
    if (cli_output_is_standard(path))
        return write_all(STDOUT_FILENO, text, length) ? CLI_DONE
                                                      : complain_errno("standard output");
    if (cli_output_is_special(path))
        return write_special(path, text, length);
    /* Written beside it, synced, then renamed. */
    g_autofree char *target = cli_output_target(path);
    g_autoptr(GError) error = NULL;
    if (g_file_set_contents_full(target, text, (gssize)length,
                                 G_FILE_SET_CONTENTS_CONSISTENT | G_FILE_SET_CONTENTS_DURABLE, 0666,
                                 &error))
        return CLI_DONE;
    return cli_complain(CLI_TROUBLE, "cannot write %s: %s", path, error->message);
}
