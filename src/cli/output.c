/* output.c - where results go */
#include "cli/cli.h"

#include <errno.h>
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
    CliStatus status = CLI_DONE;
    CliStream *stream = cli_stream_open(path != NULL ? path : "-", &status);
    if (stream == NULL)
        return status;
    cli_stream_append(stream, text, length);
    return cli_stream_close(stream, true);
}
