/* pool.c - tasks on threads */
#include "core/pool.h"

#include "core/stop.h"
#include <pthread.h>

typedef struct {
    const SpatePool *pool;
    /* POSIX's, not GLib's: the thread sanitizer knows what these promise. */
    pthread_mutex_t mutex;
    pthread_cond_t changed;
    /* under the mutex */
    uint32_t next;      /* task to hand out */
    uint32_t end;       /* tasks from here on are not handed out */
    uint32_t n_done;    /* finished */
    uint32_t n_working; /* threads */
    GError *failure;    /* of the first task that failed */
} Work;

/* Under the mutex. */
static void
note_end(Work *work, uint32_t number, bool is_done, GError *error)
{
    work->n_done += is_done;
    if (error == NULL)
        return;
    if (number < work->end) {
        g_clear_error(&work->failure);
        work->failure = error;
        work->end = number;
    } else {
        g_error_free(error);
    }
}

/* A thread: takes one task after the other.  After one that failed, those before it are still
 * finished, so that the error told is always the first, whatever the threads' pace. */
static void *
work_on(void *user)
{
    Work *work = user;
    const SpatePool *pool = work->pool;
    pthread_mutex_lock(&work->mutex);
    while (work->next < work->end && !spate_is_stopped(pool->stop)) {
        uint32_t number = work->next++;
        pthread_mutex_unlock(&work->mutex);
        GError *error = NULL;
        bool is_done = pool->perform(pool->user, number, &error);
        pthread_mutex_lock(&work->mutex);
        note_end(work, number, is_done, error);
        pthread_cond_signal(&work->changed);
    }
    work->n_working--;
    pthread_cond_signal(&work->changed);
    pthread_mutex_unlock(&work->mutex);
    return NULL;
}

/* Until no thread works any more; reports progress meanwhile, without holding up the threads. */
static void
watch(Work *work)
{
    uint32_t told = 0;
    pthread_mutex_lock(&work->mutex);
    while (work->n_working > 0 || work->n_done > told) {
        if (work->n_done == told) {
            pthread_cond_wait(&work->changed, &work->mutex);
            continue;
        }
        told = work->n_done;
        pthread_mutex_unlock(&work->mutex);
        if (work->pool->progress != NULL)
            work->pool->progress(work->pool->user, told);
        pthread_mutex_lock(&work->mutex);
    }
    pthread_mutex_unlock(&work->mutex);
}

static bool
start_thread(Work *work, pthread_t *thread)
{
    pthread_mutex_lock(&work->mutex);
    work->n_working++;
    pthread_mutex_unlock(&work->mutex);
    if (pthread_create(thread, NULL, work_on, work) == 0)
        return true;
    pthread_mutex_lock(&work->mutex);
    work->n_working--;
    pthread_mutex_unlock(&work->mutex);
    return false;
}

/* A machine that has no thread to give finishes too, only later. */
bool
spate_pool_run(const SpatePool *pool, GError **error)
{
    Work work = {
        .pool = pool,
        .mutex = PTHREAD_MUTEX_INITIALIZER,
        .changed = PTHREAD_COND_INITIALIZER,
        .end = pool->n_tasks,
    };
    unsigned jobs = pool->jobs > 0 ? pool->jobs : g_get_num_processors();
    jobs = MIN(jobs, pool->n_tasks);
    g_autofree pthread_t *threads = g_new0(pthread_t, jobs);
    unsigned n_threads = 0;
    while (n_threads < jobs && start_thread(&work, &threads[n_threads]))
        n_threads++;
    if (n_threads == 0) {
        work.n_working = 1;
        work_on(&work);
    }
    watch(&work);
    for (unsigned i = 0; i < n_threads; i++)
        pthread_join(threads[i], NULL);
    pthread_mutex_destroy(&work.mutex);
    pthread_cond_destroy(&work.changed);
    if (work.failure != NULL)
        g_propagate_error(error, work.failure);
    return work.failure == NULL;
}
