/* interrupt.c - Ctrl-C keeps what is finished, and leaves nothing half done */
#include "cli/cli.h"

#include <pthread.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

/* Events, capture, result: no more are written at a time. */
#define MOST_FILES 4

static const int SIGNALS[] = {SIGINT, SIGTERM, SIGHUP};

static pthread_t main_thread;
static volatile int interrupted;
static volatile int has_results;
static volatile int is_over;
static const char *volatile to_remove[MOST_FILES];

static _Noreturn void
end_at_once(const char *why)
{
    for (size_t i = 0; i < MOST_FILES; i++)
        if (to_remove[i] != NULL)
            unlink(to_remove[i]);
    ssize_t ignored = write(STDERR_FILENO, why, strlen(why));
    (void)ignored;
    _exit(CLI_INTERRUPTED);
}

/* Before anything is finished there is nothing to wait for: a large world can take long to build.
 * A signal to another thread is passed on, so that one that holds signals back is not ended. */
static void
note_signal(int number)
{
    if (!pthread_equal(pthread_self(), main_thread)) {
        pthread_kill(main_thread, number);
        return;
    }
    if (g_atomic_int_get(&is_over) != 0)
        return;
    if (g_atomic_int_get(&has_results) == 0)
        end_at_once("spate: interrupted before anything was finished\n");
    if (interrupted != 0)
        end_at_once("spate: interrupted again: stopped immediately\n");
    g_atomic_int_set(&interrupted, 1);
}

static sigset_t
signal_set(void)
{
    sigset_t signals;
    sigemptyset(&signals);
    for (size_t i = 0; i < G_N_ELEMENTS(SIGNALS); i++)
        sigaddset(&signals, SIGNALS[i]);
    return signals;
}

void
cli_interrupt_catch(void)
{
    main_thread = pthread_self();
    struct sigaction action = {.sa_handler = note_signal, .sa_mask = signal_set()};
    for (size_t i = 0; i < G_N_ELEMENTS(SIGNALS); i++) {
        struct sigaction before;
        bool is_known = sigaction(SIGNALS[i], NULL, &before) == 0;
        /* As nohup wants it. */
        if (SIGNALS[i] == SIGHUP && is_known && before.sa_handler == SIG_IGN)
            continue;
        sigaction(SIGNALS[i], &action, NULL);
    }
}

void
cli_interrupt_hold(void)
{
    sigset_t signals = signal_set();
    pthread_sigmask(SIG_BLOCK, &signals, NULL);
}

void
cli_interrupt_release(void)
{
    sigset_t signals = signal_set();
    pthread_sigmask(SIG_UNBLOCK, &signals, NULL);
}

static void
replace_file(const char *old_path, const char *new_path)
{
    for (size_t i = 0; i < MOST_FILES; i++) {
        if (to_remove[i] == old_path) {
            to_remove[i] = new_path;
            return;
        }
    }
    g_assert_not_reached();
}

void
cli_interrupt_remove(const char *path)
{
    replace_file(NULL, path);
}

void
cli_interrupt_leave(const char *path)
{
    replace_file(path, NULL);
}

void
cli_interrupt_keep_results(void)
{
    g_atomic_int_set(&has_results, 1);
}

void
cli_interrupt_end(void)
{
    g_atomic_int_set(&is_over, 1);
}

const volatile int *
cli_interrupt_flag(void)
{
    return &interrupted;
}
