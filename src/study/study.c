/* study.c - replications on threads
 *
 * A task is one replication of one scenario.  Tasks are numbered replication by replication, all
 * scenarios of one replication side by side, and handed out in that order: whenever the study
 * stops, what is finished is a prefix of replications (and a few tasks more, which are thrown
 * away).  A task writes to a place of its own, so the threads share nothing but the
 * counter of tasks and the worlds, which never change.  What is kept of a task is one value for
 * each row.
 */
#include "study/study.h"

#include "study/run.h"
#include "study/summary.h"
#include <pthread.h>

G_DEFINE_QUARK(spate - study - error, spate_study_error)

/* One scenario of the study; the rows are those of its plan. */
typedef struct {
    const SpateScenario *scenario;
    SpateWorld *world;
    SpateMeasureRow *rows;
    size_t n_rows;
} Arm;

typedef struct {
    SpateMeasureValue *values; /* by row of the arm; NULL until the task is finished */
    GError *error;
} Task;

typedef struct {
    Arm *arms;
    uint32_t n_arms;
    uint32_t n_replications;
    Task *tasks; /* [replication * n_arms + arm] */
    uint32_t n_tasks;
    const SpateStudyOptions *options;

    /* POSIX's, not GLib's: the thread sanitizer knows what these promise. */
    pthread_mutex_t mutex;
    pthread_cond_t changed;
    /* under the mutex */
    uint32_t next;      /* task to hand out */
    uint32_t end;       /* tasks from here on are not handed out */
    uint32_t n_done;    /* finished */
    uint32_t n_working; /* threads */
} Study;

static void
clear_study(Study *study)
{
    for (uint32_t i = 0; i < study->n_tasks; i++) {
        g_free(study->tasks[i].values);
        g_clear_error(&study->tasks[i].error);
    }
    g_free(study->tasks);
    for (uint32_t i = 0; i < study->n_arms; i++) {
        spate_world_free(study->arms[i].world);
        g_free(study->arms[i].rows);
    }
    g_free(study->arms);
    pthread_mutex_destroy(&study->mutex);
    pthread_cond_destroy(&study->changed);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Study, clear_study)

/* Replications that all scenarios have, unless the options say how many. */
static uint32_t
replications_wanted(const SpateScenario *const *scenarios, size_t n_scenarios,
                    const SpateStudyOptions *options)
{
    if (options->replications > 0)
        return options->replications;
    uint32_t wanted = scenarios[0]->replications;
    for (size_t i = 1; i < n_scenarios; i++)
        wanted = MIN(wanted, scenarios[i]->replications);
    return wanted;
}

/* One world for each scenario; all replications share it. */
static bool
build_arms(Study *study, const SpateScenario *const *scenarios, GError **error)
{
    for (uint32_t i = 0; i < study->n_arms; i++) {
        Arm *arm = &study->arms[i];
        arm->scenario = scenarios[i];
        arm->world = spate_world_new(scenarios[i], error);
        if (arm->world == NULL)
            return false;
        arm->rows = spate_measure_rows(spate_world_plan(arm->world), &arm->n_rows);
    }
    return true;
}

static bool
is_stopped(const Study *study)
{
    return study->options->stop != NULL && g_atomic_int_get(study->options->stop) != 0;
}

/* Without values and without an error if it was stopped. */
static void
perform(Study *study, uint32_t number)
{
    const Arm *arm = &study->arms[number % study->n_arms];
    Task *task = &study->tasks[number];
    g_autoptr(SpateRun) run = spate_run_new(arm->world, number / study->n_arms, &task->error);
    if (run == NULL || !spate_run_go(run, study->options->stop))
        return;
    task->values = g_memdup2(spate_run_values(run), arm->n_rows * sizeof(SpateMeasureValue));
}

/* A thread: takes one task after the other.  After one that failed, those before it are still
 * finished, so that the error told is always the first, whatever the threads' pace. */
static void *
work(void *user)
{
    Study *study = user;
    pthread_mutex_lock(&study->mutex);
    while (study->next < study->end && !is_stopped(study)) {
        uint32_t number = study->next++;
        pthread_mutex_unlock(&study->mutex);
        perform(study, number);
        pthread_mutex_lock(&study->mutex);
        if (study->tasks[number].error != NULL)
            study->end = MIN(study->end, number);
        study->n_done += study->tasks[number].values != NULL;
        pthread_cond_signal(&study->changed);
    }
    study->n_working--;
    pthread_cond_signal(&study->changed);
    pthread_mutex_unlock(&study->mutex);
    return NULL;
}

/* Until no thread works any more; tells progress on the way, without holding up the threads. */
static void
watch(Study *study)
{
    uint32_t told = 0;
    pthread_mutex_lock(&study->mutex);
    while (study->n_working > 0 || study->n_done > told) {
        if (study->n_done == told) {
            pthread_cond_wait(&study->changed, &study->mutex);
            continue;
        }
        told = study->n_done;
        pthread_mutex_unlock(&study->mutex);
        if (study->options->progress != NULL)
            study->options->progress(study->options->user, told, study->n_tasks);
        pthread_mutex_lock(&study->mutex);
    }
    pthread_mutex_unlock(&study->mutex);
}

static bool
start_thread(Study *study, pthread_t *thread)
{
    pthread_mutex_lock(&study->mutex);
    study->n_working++;
    pthread_mutex_unlock(&study->mutex);
    if (pthread_create(thread, NULL, work, study) == 0)
        return true;
    pthread_mutex_lock(&study->mutex);
    study->n_working--;
    pthread_mutex_unlock(&study->mutex);
    return false;
}

/* A machine that has no thread to give finishes too, only later. */
static void
run_tasks(Study *study)
{
    unsigned jobs = study->options->jobs > 0 ? study->options->jobs : g_get_num_processors();
    jobs = MIN(jobs, study->n_tasks);
    g_autofree pthread_t *threads = g_new0(pthread_t, jobs);
    unsigned n_threads = 0;
    while (n_threads < jobs && start_thread(study, &threads[n_threads]))
        n_threads++;
    if (n_threads == 0) {
        study->n_working = 1;
        work(study);
    }
    watch(study);
    for (unsigned i = 0; i < n_threads; i++)
        pthread_join(threads[i], NULL);
}

/* Replications that all arms have finished, from 0 without a gap. */
static uint32_t
replications_finished(const Study *study)
{
    uint32_t task = 0;
    while (task < study->n_tasks && study->tasks[task].values != NULL)
        task++;
    return task / study->n_arms;
}

/* The error of the first task that failed, if any did. */
static bool
raise_error(Study *study, GError **error)
{
    for (uint32_t i = 0; i < study->n_tasks; i++) {
        if (study->tasks[i].error != NULL) {
            g_propagate_error(error, g_steal_pointer(&study->tasks[i].error));
            return true;
        }
    }
    return false;
}

/* The names of a row; the plan numbers all things that a row is counted by. */
static void
name_row(SpateResultRow *named, const SpateMeasureRow *row, const SpatePlan *plan)
{
    named->measure = row->measure;
    if (row->traffic >= 0)
        named->traffic = g_strdup(plan->traffics[row->traffic].name);
    if (row->bearer >= 0)
        named->bearer = g_strdup(plan->bearer_names[row->bearer]);
    if (row->node >= 0)
        named->node = g_strdup(plan->nodes[row->node].name);
    if (row->bridge >= 0)
        named->bridge = g_strdup(plan->bridge_names[row->bridge]);
}

static void
fill_row(SpateResultRow *row, const Study *study, uint32_t arm, size_t index, uint32_t n)
{
    bool is_share = spate_measure_info(row->measure)->is_share;
    row->values = g_new(double, n);
    row->counts = is_share ? g_new(double, n) : NULL;
    row->ofs = is_share ? g_new(double, n) : NULL;
    for (uint32_t i = 0; i < n; i++) {
        const SpateMeasureValue *value = &study->tasks[i * study->n_arms + arm].values[index];
        row->values[i] = value->value;
        if (is_share) {
            row->counts[i] = value->count;
            row->ofs[i] = value->of;
        }
    }
    spate_summary_of_row(row, n);
}

/* What the file says about a variant of that name; NULL if it says nothing. */
static const char *
find_summary(const SpateScenario *scenario, const char *name)
{
    for (uint32_t i = 0; i < scenario->n_variants; i++)
        if (g_str_equal(scenario->variants[i].name, name))
            return scenario->variants[i].summary;
    return NULL;
}

static void
fill_variant(SpateResultVariant *variant, const Study *study, uint32_t number, const char *name,
             uint32_t n_replications)
{
    const Arm *arm = &study->arms[number];
    variant->name = g_strdup(name);
    variant->summary = g_strdup(find_summary(arm->scenario, name));
    variant->n_rows = arm->n_rows;
    variant->rows = g_new0(SpateResultRow, arm->n_rows);
    for (size_t i = 0; i < arm->n_rows; i++) {
        name_row(&variant->rows[i], &arm->rows[i], spate_world_plan(arm->world));
        fill_row(&variant->rows[i], study, number, i, n_replications);
    }
}

static SpateResult *
sum_up(const Study *study, const char *command, const char *const *names, uint32_t n_replications)
{
    const SpateScenario *first = study->arms[0].scenario;
    SpateResult *result = g_new0(SpateResult, 1);
    result->command = g_strdup(command);
    result->title = g_strdup(first->title);
    result->sha256 = g_strdup(first->sha256);
    result->seed = first->seed;
    result->n_replications = n_replications;
    result->duration_ns = first->duration_ns;
    result->warm_up_ns = first->warm_up_ns;
    result->interrupted = n_replications < study->n_replications;
    result->n_variants = study->n_arms;
    result->variants = g_new0(SpateResultVariant, study->n_arms);
    for (uint32_t i = 0; i < study->n_arms; i++)
        fill_variant(&result->variants[i], study, i, names[i], n_replications);
    spate_summary_add_differences(result);
    return result;
}

SpateResult *
spate_study_run(const char *command, const SpateScenario *const *scenarios,
                const char *const *names, size_t n_scenarios, const SpateStudyOptions *options,
                GError **error)
{
    g_assert(n_scenarios > 0);
    g_auto(Study) study = {
        .n_arms = (uint32_t)n_scenarios,
        .n_replications = replications_wanted(scenarios, n_scenarios, options),
        .options = options,
        .mutex = PTHREAD_MUTEX_INITIALIZER,
        .changed = PTHREAD_COND_INITIALIZER,
    };
    study.arms = g_new0(Arm, study.n_arms);
    if (!build_arms(&study, scenarios, error))
        return NULL;
    g_assert(study.n_replications > 0 && study.n_replications <= UINT32_MAX / study.n_arms);
    study.n_tasks = study.end = study.n_replications * study.n_arms;
    study.tasks = g_new0(Task, study.n_tasks);

    run_tasks(&study);
    if (raise_error(&study, error))
        return NULL;
    uint32_t finished = replications_finished(&study);
    if (finished == 0) {
        g_set_error(error, SPATE_STUDY_ERROR, SPATE_STUDY_ERROR_INTERRUPTED,
                    "interrupted before the first replication was finished");
        return NULL;
    }
    return sum_up(&study, command, names, finished);
}
