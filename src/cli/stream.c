/* stream.c - output reaches its place whole, or not at all
 *
 * A file is written under another name beside its place, synced, then renamed.
 */
#include "cli/cli.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

struct CliStream {
    char *path;      /* as the user calls it */
    char *target;    /* NULL: written where it is, as to a pipe */
    char *temporary; /* beside the target */
    CliForm form;
    bool is_terminal;
    bool is_new; /* nothing may be in its place */
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

/* A pipe that nobody reads yet can be waited for, and a signal end the wait. */
static int
open_special(const char *path)
{
    int to;
    do
        to = open(path, O_WRONLY | O_CLOEXEC);
    while (to < 0 && errno == EINTR);
    return to;
}

/* No signal comes between the file and the note that it is to be removed. */
static int
open_beside(CliStream *stream)
{
    stream->target = cli_output_target(stream->path);
    if (stream->target == NULL)
        return -1;
    stream->temporary = g_strdup_printf("%s.XXXXXX", stream->target);
    cli_interrupt_hold();
    int to = mkostemp(stream->temporary, O_CLOEXEC);
    int problem = errno;
    if (to >= 0)
        cli_interrupt_remove(stream->temporary);
    cli_interrupt_release();
    if (to >= 0)
        cli_output_keep_mode(to, stream->target);
    errno = problem;
    return to;
}

CliStream *
cli_stream_open(const char *path, CliForm form, CliStatus *status)
{
    *status = cli_places_check();
    if (*status != CLI_DONE)
        return NULL;
    CliStream *stream = g_new0(CliStream, 1);
    bool is_standard = cli_output_is_standard(path);
    stream->path = g_strdup(is_standard ? "standard output" : path);
    stream->to = is_standard                   ? STDOUT_FILENO
                 : cli_output_is_special(path) ? open_special(path)
                                               : open_beside(stream);
    if (stream->to >= 0) {
        stream->form = form;
        stream->is_terminal = isatty(stream->to) == 1;
        return stream;
    }
    *status = complain(stream, errno);
    free_stream(stream);
    return NULL;
}

void
cli_stream_keep_old(CliStream *stream)
{
    stream->is_new = true;
}

bool
cli_stream_is_fine(const CliStream *stream)
{
    return stream->problem == 0;
}

/* Whoever shares a pipe with us may have asked never to wait on it.  We do. */
static bool
may_go_on(int to)
{
    struct pollfd room = {.fd = to, .events = POLLOUT};
    return errno == EINTR || (errno == EAGAIN && (poll(&room, 1, -1) >= 0 || errno == EINTR));
}

static void
write_whole(CliStream *stream, const char *rest, gsize length)
{
    while (length > 0 && stream->problem == 0) {
        ssize_t written = write(stream->to, rest, length);
        if (written < 0 && may_go_on(stream->to))
            continue;
        if (written < 0) {
            stream->problem = errno;
            return;
        }
        rest += written;
        length -= (gsize)written;
    }
}

void
cli_stream_append(CliStream *stream, const void *bytes, gsize length)
{
    if (stream->form == CLI_EXACT && !stream->is_terminal) {
        write_whole(stream, bytes, length);
        return;
    }
    g_autoptr(GString) formed = g_string_sized_new(length);
    cli_form_append(formed, stream->form, stream->is_terminal, bytes, length);
    write_whole(stream, formed->str, formed->len);
}

static void
note_problem(CliStream *stream, int result)
{
    if (result != 0 && stream->problem == 0)
        stream->problem = errno;
}

static int
sync_file(int file)
{
    int result;
    do
        result = fsync(file);
    while (result != 0 && errno == EINTR);
    return result;
}

/* A second name fails where the first is taken; then the temporary one goes.  Some file systems
 * know one name for each file only: nothing was there when the command began. */
static int
move_beside_nothing(const char *from, const char *to)
{
    if (link(from, to) == 0)
        return unlink(from);
    return errno == EPERM || errno == EOPNOTSUPP || errno == ENOSYS ? rename(from, to) : -1;
}

/* Once the last output is in place the command is done, and no signal makes it a failure. */
static void
put_in_place(CliStream *stream, bool keep, bool is_last)
{
    bool is_whole = keep && stream->problem == 0;
    cli_interrupt_hold();
    if (is_whole)
        note_problem(stream, stream->is_new ? move_beside_nothing(stream->temporary, stream->target)
                                            : rename(stream->temporary, stream->target));
    if (!is_whole || stream->problem != 0)
        unlink(stream->temporary);
    cli_interrupt_leave(stream->temporary);
    if (is_last)
        cli_interrupt_end();
    cli_interrupt_release();
}

CliStatus
cli_stream_close(CliStream *stream, bool keep)
{
    bool is_file = stream->temporary != NULL;
    if (is_file && keep && stream->problem == 0)
        note_problem(stream, sync_file(stream->to));
    /* It is closed even if a signal came: here, as on most systems, never to be closed again. */
    if (stream->to != STDOUT_FILENO && close(stream->to) != 0 && errno != EINTR)
        note_problem(stream, -1);
    bool is_last = cli_places_leave();
    if (is_file)
        put_in_place(stream, keep, is_last);
    else if (is_last)
        cli_interrupt_end();
    CliStatus status = stream->problem != 0 ? complain(stream, stream->problem) : CLI_DONE;
    free_stream(stream);
    return status;
}
