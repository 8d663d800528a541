/* interrupt.c - Ctrl-C keeps what is finished */
#include "cli/cli.h"

#include <signal.h>
#include <unistd.h>

static volatile int interrupted;
static volatile int has_results;
static const char *volatile to_remove;

/* Before anything is finished there is nothing to wait for: a large world can take long to build.
 */
static void
note_signal(int number)
{
    static const char NOTHING[] = "spate: interrupted before the first replication was finished\n";
    (void)number;
    if (g_atomic_int_get(&has_results) == 0) {
        ssize_t ignored = write(STDERR_FILENO, NOTHING, sizeof NOTHING - 1);
        (void)ignored;
        _exit(CLI_INTERRUPTED);
    }
    if (interrupted != 0) {
        if (to_remove != NULL)
            unlink(to_remove);
        _exit(CLI_INTERRUPTED);
    }
    g_atomic_int_set(&interrupted, 1);
}

void
cli_interrupt_keep_results(void)
{
    g_atomic_int_set(&has_results, 1);
}

void
cli_interrupt_remove(const char *path)
{
    to_remove = path;
}

const volatile int *
cli_interrupt_flag(void)
{
    struct sigaction action = {.sa_handler = note_signal};
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    return &interrupted;
}
