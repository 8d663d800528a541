/* stream.c - long output reaches its place whole, or not at all
 *
 * A file is written under another name beside its place, synced, then renamed.
 */
#include "cli/cli.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct CliStream {
    char *path;      /* as the user calls it */
    char *target;    /* NULL: written where it is, as to a pipe */
    char *temporary; /* beside the target */
    int to;
    int problem; /* errno of the first failure */
};

static CliStatus
complain(const CliStream *stream, int problem)
{
    return cli_complain(CLI_TROUBLE, "cannot write %s: %s", stream->path, g_strerror(problem));
}

static void
free_stream(CliStream *stream)
{
    g_free(stream->path);
    g_free(stream->target);
    g_free(stream->temporary);
    g_free(stream);
}

/* As the umask would have it, which mkstemp() does not ask. */
static void
allow_others(int file)
{
    mode_t mask = umask(0);
    umask(mask);
    if (fchmod(file, 0666 & ~mask) != 0)
        return; /* a file system without modes */
}

static void
open_file(CliStream *stream)
{
    if (cli_output_is_standard(stream->path)) {
        stream->to = STDOUT_FILENO;
    } else if (cli_output_is_special(stream->path)) {
        stream->to = open(stream->path, O_WRONLY | O_CLOEXEC);
    } else {
        stream->target = cli_output_target(stream->path);
        stream->temporary = g_strdup_printf("%s.XXXXXX", stream->target);
        stream->to = mkostemp(stream->temporary, O_CLOEXEC);
    }
}

CliStream *
cli_stream_open(const char *path, CliStatus *status)
{
    CliStream *stream = g_new0(CliStream, 1);
    stream->path = g_strdup(path);
    open_file(stream);
    if (stream->to < 0) {
        *status = complain(stream, errno);
        free_stream(stream);
        return NULL;
    }
    if (stream->temporary != NULL) {
        allow_others(stream->to);
        cli_interrupt_remove(stream->temporary);
    }
    return stream;
}

bool
cli_stream_is_fine(const CliStream *stream)
{
    return stream->problem == 0;
}

void
cli_stream_append(CliStream *stream, const void *bytes, gsize length)
{
    const char *rest = bytes;
    while (length > 0 && stream->problem == 0) {
        ssize_t written = write(stream->to, rest, length);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0) {
            stream->problem = errno;
            return;
        }
        rest += written;
        length -= (gsize)written;
    }
}

static void
note_problem(CliStream *stream, int result)
{
    if (result != 0 && stream->problem == 0)
        stream->problem = errno;
}

CliStatus
cli_stream_close(CliStream *stream, bool keep)
{
    bool is_file = stream->temporary != NULL;
    if (is_file && keep && stream->problem == 0)
        note_problem(stream, fsync(stream->to));
    if (stream->to != STDOUT_FILENO)
        note_problem(stream, close(stream->to));
    if (is_file && keep && stream->problem == 0)
        note_problem(stream, rename(stream->temporary, stream->target));
    if (is_file && (!keep || stream->problem != 0))
        unlink(stream->temporary);
    cli_interrupt_remove(NULL);
    CliStatus status = stream->problem != 0 ? complain(stream, stream->problem) : CLI_DONE;
    free_stream(stream);
    return status;
}
