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

/* More links than that are a ring: as many as Linux follows, path_resolution(7). */
#define MOST_LINKS 40

char *
cli_output_target(const char *path)
{
    char *resolved = realpath(path, NULL);
    if (resolved != NULL) {
        char *target = g_strdup(resolved);
        free(resolved);
        return target;
    }
    /* What the last link names is not there yet: it is what has to be made. */
    g_autofree char *target = g_strdup(path);
    for (int i = 0; i <= MOST_LINKS; i++) {
        g_autofree char *link = g_file_read_link(target, NULL);
        if (link == NULL)
            return g_steal_pointer(&target);
        g_autofree char *folder = g_path_get_dirname(target);
        g_free(target);
        target = g_path_is_absolute(link) ? g_strdup(link) : g_build_filename(folder, link, NULL);
    }
    errno = ELOOP;
    return NULL;
}

static CliStatus
complain_errno(const char *what)
{
    return cli_complain(CLI_TROUBLE, "cannot write %s: %s", what, g_strerror(errno));
}

CliStatus
cli_output_check(const char *path)
{
    if (cli_output_is_standard(path))
        return CLI_DONE;
    if (g_file_test(path, G_FILE_TEST_IS_DIR)) {
        errno = EISDIR;
        return complain_errno(path);
    }
    g_autofree char *target = cli_output_target(path);
    if (target == NULL)
        return complain_errno(path);
    g_autofree char *folder = g_path_get_dirname(target);
    if (!cli_output_is_special(path) && access(folder, W_OK | X_OK) != 0)
        return complain_errno(path);
    return CLI_DONE;
}

/* Whoever could not read the old file must not be able to read the new one. */
void
cli_output_keep_mode(int file, const char *target)
{
    struct stat old;
    mode_t mask = umask(0);
    umask(mask);
    mode_t mode = 0666 & ~mask;
    if (stat(target, &old) == 0 && S_ISREG(old.st_mode)) {
        mode = old.st_mode & 0777;
        bool is_kept =
            fchown(file, old.st_uid, old.st_gid) == 0 || fchown(file, (uid_t)-1, old.st_gid) == 0;
        if (!is_kept)
            mode = (mode & ~(mode_t)S_IRWXG) | (mode & (mode_t)S_IRWXO) << 3;
    }
    if (fchmod(file, mode) != 0)
        return; /* a file system without modes */
}

CliStatus
cli_output_write(const char *path, CliForm form, const char *text, gsize length)
{
    CliStatus status = CLI_DONE;
    CliStream *stream = cli_stream_open(path, form, &status);
    if (stream == NULL)
        return status;
    cli_stream_append(stream, text, length);
    return cli_stream_close(stream, true);
}

CliStatus
cli_output_result(const CliOptions *options, const GString *text)
{
    return cli_output_write(options->output, cli_form_of(options, options->format), text->str,
                            text->len);
}
