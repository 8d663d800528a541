/* pool.h - tasks on threads
 *
 * Tasks are numbered and handed out in that order, whatever the threads' pace; each is expected to
 * write to a place of its own.  Nothing here knows what a task is.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

typedef struct {
    uint32_t n_tasks;
    /* From any thread.  False without an error: it was stopped, and does not count.  False with an
     * error: no task after it is begun; those before it are still finished. */
    bool (*perform)(gpointer user, uint32_t number, GError **error);
    gpointer user;
    unsigned jobs;            /* threads; 0: all cores */
    const volatile int *stop; /* non-zero: no more tasks are begun; may be NULL */
    /* Called from the calling thread, now and then, with the tasks done; may be NULL. */
    void (*progress)(gpointer user, uint32_t done);
} SpatePool;

/* Returns when no thread works any more; false with the error of the first task that failed. */
bool spate_pool_run(const SpatePool *pool, GError **error);
