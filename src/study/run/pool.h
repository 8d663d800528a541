/* pool.h - tasks on threads
 *
 * Tasks are numbered and handed out in that order, whatever the threads' pace; each is expected to
 * write to a place of its own.  Nothing here knows what a task is.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

typedef enum {
    SPATE_TASK_DONE,
    SPATE_TASK_STOPPED, /* it noticed the stop itself; it does not count */
    SPATE_TASK_FAILED   /* none after it is begun; those before it are still finished */
} SpateTaskEnd;

typedef struct {
    uint32_t n_tasks;
    SpateTaskEnd (*perform)(gpointer user, uint32_t number); /* from any thread */
    gpointer user;
    unsigned jobs;            /* threads; 0: all cores */
    const volatile int *stop; /* non-zero: no more tasks are begun; may be NULL */
    /* Called from the calling thread, now and then, with the tasks done; may be NULL. */
    void (*progress)(gpointer user, uint32_t done);
} SpatePool;

/* Returns when no thread works any more. */
void spate_pool_run(const SpatePool *pool);
