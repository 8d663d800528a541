/* failing-calls.c - loaded before the C library, it makes one call of the program fail
 *
 *     FAILING_CALL   open, read, write, fsync, close, rename, link or fchmod
 *     FAILING_NTH    which of them, from 1; those that follow fail too if FAILING_ON is set
 *     FAILING_HOW    a number of errno; or "short": less is read or written than was asked for; or
 *                    "signal": nothing fails, but SIGTERM comes right after the call
 *     FAILING_MARK   a file that is made once a call has failed
 *
 * What a build that measures coverage writes at the end of the program is left alone.
 */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#define SHORT_BYTES 7

static unsigned long n_calls;
static bool is_over; /* coverage is being written */

static void
mark(void)
{
    const char *path = getenv("FAILING_MARK");
    if (path == NULL)
        return;
    long file = syscall(SYS_openat, AT_FDCWD, path, O_WRONLY | O_CREAT | O_CLOEXEC, 0666);
    syscall(SYS_close, file);
}

static bool
is_due(const char *call)
{
    const char *chosen = getenv("FAILING_CALL"), *nth = getenv("FAILING_NTH");
    if (is_over || chosen == NULL || nth == NULL || strcmp(chosen, call) != 0)
        return false;
    unsigned long wanted = strtoul(nth, NULL, 10);
    unsigned long number = __atomic_add_fetch(&n_calls, 1, __ATOMIC_SEQ_CST);
    if (number != wanted && (number < wanted || getenv("FAILING_ON") == NULL))
        return false;
    mark();
    return true;
}

static bool
is_short(void)
{
    const char *how = getenv("FAILING_HOW");
    return how != NULL && strcmp(how, "short") == 0;
}

static bool
is_signal(void)
{
    const char *how = getenv("FAILING_HOW");
    return how != NULL && strcmp(how, "signal") == 0;
}

/* What the call that was made gave; then the signal comes. */
static int
stop(int result)
{
    int why = errno;
    kill(getpid(), SIGTERM);
    errno = why;
    return result;
}

/* -1, as such calls say it. */
static int
fail(void)
{
    const char *how = getenv("FAILING_HOW");
    errno = how != NULL ? (int)strtol(how, NULL, 10) : EIO;
    return -1;
}

static size_t
fewer(size_t length)
{
    return length < SHORT_BYTES ? length : SHORT_BYTES;
}

/* The function that would have been called. */
#define NEXT(name) ((__typeof__(&name))(void *)dlsym(RTLD_NEXT, #name))

static bool
is_due_open(const char *path)
{
    const char *dot = strrchr(path, '.');
    is_over = is_over || (dot != NULL && strcmp(dot, ".gcda") == 0);
    return is_due("open");
}

static mode_t
mode_of(int flags, va_list arguments)
{
    return (flags & (O_CREAT | O_TMPFILE)) != 0 ? (mode_t)va_arg(arguments, int) : 0;
}

int
open(const char *path, int flags, ...)
{
    va_list arguments;
    va_start(arguments, flags);
    mode_t mode = mode_of(flags, arguments);
    va_end(arguments);
    if (!is_due_open(path))
        return NEXT(open)(path, flags, mode);
    return is_signal() ? stop(NEXT(open)(path, flags, mode)) : fail();
}

int
open64(const char *path, int flags, ...)
{
    va_list arguments;
    va_start(arguments, flags);
    mode_t mode = mode_of(flags, arguments);
    va_end(arguments);
    if (!is_due_open(path))
        return NEXT(open64)(path, flags, mode);
    return is_signal() ? stop(NEXT(open64)(path, flags, mode)) : fail();
}

int
mkostemp(char *path, int flags)
{
    if (!is_due("open"))
        return NEXT(mkostemp)(path, flags);
    return is_signal() ? stop(NEXT(mkostemp)(path, flags)) : fail();
}

FILE *
fopen(const char *path, const char *mode)
{
    if (!is_due_open(path))
        return NEXT(fopen)(path, mode);
    fail();
    return NULL;
}

ssize_t
read(int file, void *into, size_t length)
{
    if (!is_due("read"))
        return NEXT(read)(file, into, length);
    return is_short() ? NEXT(read)(file, into, fewer(length)) : fail();
}

/* As the C library does it: the stream remembers the failure. */
size_t
fread(void *into, size_t size, size_t n, FILE *stream)
{
    if (is_short() || !is_due("read"))
        return NEXT(fread)(into, size, n, stream);
    stream->_flags |= 0x20;
    fail();
    return 0;
}

ssize_t
write(int file, const void *from, size_t length)
{
    if (!is_due("write"))
        return NEXT(write)(file, from, length);
    if (is_signal()) {
        ssize_t written = NEXT(write)(file, from, length);
        stop(0);
        return written;
    }
    return is_short() ? NEXT(write)(file, from, fewer(length)) : fail();
}

/* As SQLite reads and writes: at a place, by either name. */
ssize_t
pread64(int file, void *into, size_t length, off64_t at)
{
    if (!is_due("read"))
        return NEXT(pread64)(file, into, length, at);
    return is_short() ? NEXT(pread64)(file, into, fewer(length), at) : fail();
}

ssize_t
pwrite64(int file, const void *from, size_t length, off64_t at)
{
    if (!is_due("write"))
        return NEXT(pwrite64)(file, from, length, at);
    return is_short() ? NEXT(pwrite64)(file, from, fewer(length), at) : fail();
}

int
ftruncate64(int file, off64_t length)
{
    return is_due("truncate") ? fail() : NEXT(ftruncate64)(file, length);
}

int
unlink(const char *path)
{
    return is_due("unlink") ? fail() : NEXT(unlink)(path);
}

int
fdatasync(int file)
{
    return is_due("fsync") ? fail() : NEXT(fdatasync)(file);
}

int
fsync(int file)
{
    if (!is_due("fsync"))
        return NEXT(fsync)(file);
    return is_signal() ? stop(NEXT(fsync)(file)) : fail();
}

/* What Linux does: the file is closed all the same. */
int
close(int file)
{
    bool due = is_due("close");
    int result = NEXT(close)(file);
    if (!due)
        return result;
    return is_signal() ? stop(result) : fail();
}

int
rename(const char *from, const char *to)
{
    if (!is_due("rename"))
        return NEXT(rename)(from, to);
    return is_signal() ? stop(NEXT(rename)(from, to)) : fail();
}

int
link(const char *from, const char *to)
{
    if (!is_due("link"))
        return NEXT(link)(from, to);
    return is_signal() ? stop(NEXT(link)(from, to)) : fail();
}

int
fchmod(int file, mode_t mode)
{
    return is_due("fchmod") ? fail() : NEXT(fchmod)(file, mode);
}
