/* test-pool.c - tasks on threads: all are done, a stop ends them, the first failure counts */
#include "core/pool.h"
#include "support/check-main.h"

#define N_TASKS   200
#define MOST_JOBS 4

typedef struct {
    gint n_performed[N_TASKS]; /* atomic */
    uint32_t fails_from;       /* this task and those after it fail, and wait for each other */
    uint32_t stops_at;         /* this task sets the flag, and does not count */
    volatile int stop;
    uint32_t told;
} Tasks;

static bool
perform(gpointer user, uint32_t number, GError **error)
{
    Tasks *tasks = user;
    g_atomic_int_inc(&tasks->n_performed[number]);
    if (number == tasks->stops_at) {
        g_atomic_int_set(&tasks->stop, 1);
        return false;
    }
    if (number < tasks->fails_from)
        return true;
    /* The first of them is the last to fail. */
    if (number == tasks->fails_from)
        g_usleep(20000);
    g_set_error(error, G_FILE_ERROR, G_FILE_ERROR_FAILED, "task %u", number);
    return false;
}

static void
note_progress(gpointer user, uint32_t done)
{
    Tasks *tasks = user;
    ck_assert_uint_gt(done, tasks->told);
    tasks->told = done;
}

static bool
run(Tasks *tasks, uint32_t n_tasks, unsigned jobs, GError **error)
{
    const SpatePool pool = {.n_tasks = n_tasks,
                            .perform = perform,
                            .user = tasks,
                            .jobs = jobs,
                            .stop = &tasks->stop,
                            .progress = note_progress};
    return spate_pool_run(&pool, error);
}

START_TEST(each_task_is_performed_once)
{
    for (unsigned jobs = 1; jobs <= MOST_JOBS; jobs++) {
        Tasks tasks = {.fails_from = N_TASKS, .stops_at = N_TASKS};
        g_autoptr(GError) error = NULL;
        ck_assert(run(&tasks, N_TASKS, jobs, &error));
        ck_assert_ptr_null(error);
        ck_assert_uint_eq(tasks.told, N_TASKS);
        for (uint32_t i = 0; i < N_TASKS; i++)
            ck_assert_int_eq(tasks.n_performed[i], 1);
    }
}
END_TEST

START_TEST(no_tasks_are_done_at_once)
{
    Tasks tasks = {.fails_from = 0};
    ck_assert(run(&tasks, 0, MOST_JOBS, NULL));
    ck_assert_uint_eq(tasks.told, 0);
}
END_TEST

START_TEST(the_error_is_that_of_the_first_task_that_fails)
{
    for (unsigned jobs = 1; jobs <= MOST_JOBS; jobs++) {
        Tasks tasks = {.fails_from = 100, .stops_at = N_TASKS};
        g_autoptr(GError) error = NULL;
        ck_assert(!run(&tasks, N_TASKS, jobs, &error));
        ck_assert_str_eq(error->message, "task 100");
        ck_assert_uint_eq(tasks.told, 100);
        for (uint32_t i = 0; i <= 100; i++)
            ck_assert_int_eq(tasks.n_performed[i], 1);
        ck_assert_int_eq(tasks.n_performed[N_TASKS - 1], 0);
    }
}
END_TEST

START_TEST(a_stop_is_no_failure)
{
    for (unsigned jobs = 1; jobs <= MOST_JOBS; jobs++) {
        Tasks tasks = {.fails_from = N_TASKS, .stops_at = 50};
        g_autoptr(GError) error = NULL;
        ck_assert(run(&tasks, N_TASKS, jobs, &error));
        ck_assert_ptr_null(error);
        ck_assert_uint_ge(tasks.told, 50);
        ck_assert_uint_lt(tasks.told, N_TASKS);
    }
}
END_TEST

CHECK_MAIN("pool", each_task_is_performed_once, no_tasks_are_done_at_once,
           the_error_is_that_of_the_first_task_that_fails, a_stop_is_no_failure)
