/* interrupt.c - Ctrl-C keeps what is finished */
#include "cli/cli.h"

#include <signal.h>
#include <unistd.h>

static volatile int interrupted;

static void
note_signal(int number)
{
    (void)number;
    if (interrupted != 0)
        _exit(CLI_INTERRUPTED);
    g_atomic_int_set(&interrupted, 1);
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
