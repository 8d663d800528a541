/* study.c - replications of scenarios, and what is kept of them
 *
 * A task is one replication of one scenario.  Tasks are numbered replication by replication, all
 * scenarios of one replication side by side, and handed out in that order: whenever the study
 * stops, what is finished is a prefix of replications (and a few tasks more, which do not
 * show).  A task writes to a place of its own, so the threads share nothing but the
 * counter of tasks and the worlds, which never change.  What is kept of a task is one value for
 * each row, and one result for each claim.
 */
#include "study/study.h"

#include "scenario/layout.h"
#include "study/run/summary.h"
#include "study/watch/latency-kept.h"

G_DEFINE_QUARK(spate - study - error, spate_study_error)

/* One scenario of the study; the rows are those of its plan. */
typedef struct {
    const SpateScenario *scenario;
    const char *name;
    SpateWorld *world;
    SpateMeasureRow *rows;
    size_t n_rows;
    const SpateExpectation *const *expectations; /* of messages */
    size_t n_expectations;
    SpateWorld *shown; /* NULL: nothing is shown */
    bool keeps_latency;
    const SpateRunWatcher *watcher; /* that sees each run too; NULL: none */
    gpointer watcher_user;
} Arm;

typedef struct {
    const Arm *arm;
    bool is_first;                   /* of its arm */
    SpateMeasureValue *values;       /* by row of the arm; NULL until the task is finished */
    SpateDetailKept *kept;           /* NULL: nothing is to be shown */
    GArray *latency;                 /* SpateLatencyCount; NULL: not to be kept */
    SpateClaimResult *claim_results; /* by expectation of the arm; NULL without any */
} Task;

struct SpateStudy {
    Arm *arms;
    uint32_t n_arms;
    uint32_t first;    /* the replication that number 0 is */
    uint32_t n_wanted; /* replications */
    Task *tasks;       /* [replication * n_arms + arm] */
    uint32_t n_tasks;
};

/* ---- lifetime -------------------------------------------------------------------------------- */

/* The first world with the links of the scenario; NULL: none. */
static SpateWorld *
find_alike(const SpateStudy *study, const SpateScenario *scenario)
{
    for (uint32_t i = 0; study != NULL && i < study->n_arms && study->arms[i].world != NULL; i++)
        if (spate_world_has_links_of(study->arms[i].world, scenario))
            return study->arms[i].world;
    return NULL;
}

SpateStudy *
spate_study_new(const SpateScenario *const *scenarios, const char *const *names, size_t n_scenarios,
                GError **error)
{
    return spate_study_new_beside(NULL, scenarios, names, n_scenarios, error);
}

SpateStudy *
spate_study_new_beside(const SpateStudy *other, const SpateScenario *const *scenarios,
                       const char *const *names, size_t n_scenarios, GError **error)
{
    g_assert(n_scenarios > 0);
    g_autoptr(SpateStudy) study = g_new0(SpateStudy, 1);
    study->n_arms = (uint32_t)n_scenarios;
    study->arms = g_new0(Arm, n_scenarios);
    for (size_t i = 0; i < n_scenarios; i++) {
        Arm *arm = &study->arms[i];
        arm->scenario = scenarios[i];
        arm->name = names[i];
        SpateWorld *like = find_alike(other, scenarios[i]);
        arm->world = spate_world_new_like(
            scenarios[i], like != NULL ? like : find_alike(study, scenarios[i]), error);
        if (arm->world == NULL)
            return NULL;
        arm->rows = spate_measure_rows(spate_world_plan(arm->world), &arm->n_rows);
    }
    return g_steal_pointer(&study);
}

void
spate_study_free(SpateStudy *study)
{
    if (study == NULL)
        return;
    for (uint32_t i = 0; i < study->n_tasks; i++) {
        g_free(study->tasks[i].values);
        g_free(study->tasks[i].claim_results);
        spate_detail_kept_free(study->tasks[i].kept);
        g_clear_pointer(&study->tasks[i].latency, g_array_unref);
    }
    g_free(study->tasks);
    for (uint32_t i = 0; i < study->n_arms; i++) {
        spate_world_free(study->arms[i].world);
        spate_world_free(study->arms[i].shown);
        g_free(study->arms[i].rows);
    }
    g_free(study->arms);
    g_free(study);
}

void
spate_study_watch(SpateStudy *study, size_t scenario, const SpateExpectation *const *expectations,
                  size_t n_expectations)
{
    g_assert(scenario < study->n_arms && study->n_tasks == 0);
    study->arms[scenario].expectations = expectations;
    study->arms[scenario].n_expectations = n_expectations;
}

void
spate_study_start_at(SpateStudy *study, uint32_t first)
{
    g_assert(study->n_tasks == 0);
    study->first = first;
}

bool
spate_study_keep_detail(SpateStudy *study, GError **error)
{
    g_assert(study->n_tasks == 0);
    for (uint32_t i = 0; i < study->n_arms; i++) {
        study->arms[i].shown =
            spate_world_of_replication(study->arms[i].world, study->first, error);
        if (study->arms[i].shown == NULL)
            return false;
    }
    return true;
}

void
spate_study_keep_latency(SpateStudy *study)
{
    g_assert(study->n_tasks == 0);
    for (uint32_t i = 0; i < study->n_arms; i++)
        study->arms[i].keeps_latency = true;
}

void
spate_study_observe(SpateStudy *study, size_t scenario, const SpateRunWatcher *watcher,
                    gpointer user)
{
    g_assert(scenario < study->n_arms && study->n_tasks == 0);
    study->arms[scenario].watcher = watcher;
    study->arms[scenario].watcher_user = user;
}

const SpateWorld *
spate_study_shown_world(const SpateStudy *study, size_t scenario)
{
    g_assert(scenario < study->n_arms);
    return study->arms[scenario].shown;
}

const SpateWorld *
spate_study_world(const SpateStudy *study, size_t scenario)
{
    g_assert(scenario < study->n_arms);
    return study->arms[scenario].world;
}

/* ---- running --------------------------------------------------------------------------------- */

/* What observes a run; each is NULL where the arm does not want it. */
typedef struct {
    SpateDetailWatch *detail;
    SpateDetailTally *latency;
    SpateWitness *witness;
    SpateClaim *claims; /* the witness's */
    gpointer other;     /* of the arm's watcher */
    GDestroyNotify free_other;
} Watch;

static void
free_watch(gpointer watch)
{
    Watch *seen = watch;
    spate_detail_watch_free(seen->detail);
    spate_detail_tally_free(seen->latency);
    spate_witness_free(seen->witness);
    g_free(seen->claims);
    if (seen->free_other != NULL)
        seen->free_other(seen->other);
    g_free(seen);
}

static gpointer
watch_run(gpointer user, SpateRun *run, GError **error)
{
    const Task *task = user;
    const Arm *arm = task->arm;
    const SpateScenario *scenario = spate_world_scenario(spate_run_world(run));
    gpointer other = NULL;
    if (arm->watcher != NULL &&
        (other = arm->watcher->watch(arm->watcher_user, run, error)) == NULL)
        return NULL;
    Watch *watch = g_new0(Watch, 1);
    watch->other = other;
    watch->free_other = arm->watcher != NULL ? arm->watcher->free : NULL;
    watch->detail = arm->shown != NULL ? spate_detail_watch_new(run, task->is_first) : NULL;
    watch->latency = arm->keeps_latency ? spate_latency_watch_new(run) : NULL;
    if (arm->n_expectations == 0)
        return watch;
    watch->claims = g_new(SpateClaim, arm->n_expectations);
    for (size_t i = 0; i < arm->n_expectations; i++)
        watch->claims[i] = spate_claim_of(arm->expectations[i], scenario);
    watch->witness =
        spate_witness_new(spate_world_plan(spate_run_world(run)), watch->claims,
                          arm->n_expectations, scenario->warm_up_ns, scenario->duration_ns);
    const SpateObserver observer = spate_witness_observer(watch->witness);
    spate_run_add_observer(run, &observer);
    return watch;
}

/* Traffics have the same numbers in every replication. */
static void
collect(gpointer user, uint32_t replication, SpateRun *run, gpointer watch)
{
    Task *task = user;
    const Arm *arm = task->arm;
    const Watch *seen = watch;
    if (seen->detail != NULL)
        task->kept = spate_detail_watch_keep(seen->detail, arm->shown);
    if (seen->latency != NULL) {
        SpateDetailCounts counts = spate_detail_tally_counts(seen->latency);
        task->latency = spate_latency_keep(&counts, spate_world_plan(arm->world)->n_traffics);
        spate_detail_counts_clear(&counts);
    }
    if (seen->witness != NULL)
        task->claim_results = spate_witness_results(seen->witness);
    if (arm->watcher != NULL)
        arm->watcher->collect(arm->watcher_user, replication, run, seen->other);
    task->values = g_memdup2(spate_run_values(run), arm->n_rows * sizeof(SpateMeasureValue));
}

static const SpateRunWatcher WATCHER = {watch_run, collect, free_watch};

static void
make_room(SpateStudy *study, uint32_t n_replications)
{
    g_assert(n_replications <= UINT32_MAX / study->n_arms);
    uint32_t n_tasks = n_replications * study->n_arms;
    if (n_tasks > study->n_tasks)
        study->tasks = g_renew(Task, study->tasks, n_tasks);
    for (; study->n_tasks < n_tasks; study->n_tasks++)
        study->tasks[study->n_tasks] = (Task){.arm = &study->arms[study->n_tasks % study->n_arms],
                                              .is_first = study->n_tasks < study->n_arms};
}

/* Some 5 GB, and as much again for what is made of them. */
#define MOST_VALUES UINT64_C(200000000)

static bool
check_size(SpateStudy *const *studies, const uint32_t *n_replications, size_t n_studies,
           GError **error)
{
    uint64_t n_values = 0;
    for (size_t i = 0; i < n_studies; i++) {
        for (uint32_t k = 0; k < studies[i]->n_arms; k++) {
            /* Of one replication: one of each measure, and the counts of what is shown. */
            const Arm *arm = &studies[i]->arms[k];
            uint64_t n = MAX(arm->n_rows, 1);
            if (arm->shown != NULL)
                n += spate_detail_kept_values(spate_world_plan(arm->shown));
            n_values += n_replications[i] * n;
        }
    }
    if (n_values <= MOST_VALUES)
        return true;
    g_set_error(
        error, SPATE_STUDY_ERROR, SPATE_STUDY_ERROR_TOO_LARGE,
        "%" G_GUINT64_FORMAT
        " values of all measures, variants and replications exceed the limit of %" G_GUINT64_FORMAT
        "; use fewer replications",
        n_values, MOST_VALUES);
    return false;
}

/* Adds the runs of so many replications that are not finished; returns how many are. */
static uint32_t
add_runs(SpateStudy *study, uint32_t n_replications, GArray *pending)
{
    uint32_t n_finished = 0;
    for (uint32_t i = 0; i < n_replications * study->n_arms; i++) {
        Task *task = &study->tasks[i];
        const SpateRunTask run = {
            .world = task->arm->world,
            .replication = study->first + i / study->n_arms,
            .names_disturbers = task->arm->shown != NULL || task->arm->watcher != NULL,
            .watcher = &WATCHER,
            .user = task,
        };
        if (task->values != NULL)
            n_finished++;
        else
            g_array_append_val(pending, run);
    }
    return n_finished;
}

static int
compare_replications(gconstpointer a, gconstpointer b)
{
    uint32_t first = ((const SpateRunTask *)a)->replication;
    uint32_t second = ((const SpateRunTask *)b)->replication;
    return (first > second) - (first < second);
}

bool
spate_studies_run(SpateStudy *const *studies, const uint32_t *n_replications, size_t n_studies,
                  const SpateStudyOptions *options, GError **error)
{
    g_autoptr(GArray) pending = g_array_new(FALSE, FALSE, sizeof(SpateRunTask));
    uint32_t n_before = 0;
    if (!check_size(studies, n_replications, n_studies, error))
        return false;
    for (size_t i = 0; i < n_studies; i++) {
        g_assert(n_replications[i] > 0);
        make_room(studies[i], n_replications[i]);
        studies[i]->n_wanted = MAX(studies[i]->n_wanted, n_replications[i]);
        n_before += add_runs(studies[i], n_replications[i], pending);
    }
    /* A stable sort. */
    if (options->in_step)
        g_array_sort(pending, compare_replications);
    return spate_run_tasks((SpateRunTask *)(void *)pending->data, pending->len, n_before, options,
                           error);
}

void
spate_study_adopt(SpateStudy *study, size_t scenario, const SpateStudy *from, size_t of)
{
    g_assert(scenario < study->n_arms && of < from->n_arms);
    const Arm *arm = &study->arms[scenario];
    uint32_t n = spate_study_n_replications(from);
    g_assert(study->first == from->first && arm->n_rows == from->arms[of].n_rows &&
             arm->n_expectations == from->arms[of].n_expectations);
    g_assert(arm->shown == NULL && !arm->keeps_latency);
    make_room(study, n);
    for (uint32_t i = 0; i < n; i++) {
        const Task *finished = &from->tasks[i * from->n_arms + of];
        Task *task = &study->tasks[i * study->n_arms + scenario];
        g_assert(task->values == NULL);
        task->values = g_memdup2(finished->values, arm->n_rows * sizeof(SpateMeasureValue));
        task->claim_results =
            g_memdup2(finished->claim_results, arm->n_expectations * sizeof(SpateClaimResult));
    }
}

uint32_t
spate_study_n_replications(const SpateStudy *study)
{
    uint32_t task = 0;
    while (task < study->n_tasks && study->tasks[task].values != NULL)
        task++;
    return task / study->n_arms;
}

const SpateClaimResult *
spate_study_claim_result(const SpateStudy *study, size_t scenario, uint32_t replication,
                         size_t expectation)
{
    g_assert(scenario < study->n_arms && expectation < study->arms[scenario].n_expectations);
    const Task *task = &study->tasks[replication * study->n_arms + scenario];
    g_assert(task->claim_results != NULL);
    return &task->claim_results[expectation];
}

const SpateDetailKept *
spate_study_kept(const SpateStudy *study, size_t scenario, uint32_t replication)
{
    g_assert(scenario < study->n_arms);
    return study->tasks[replication * study->n_arms + scenario].kept;
}

/* ---- summing up ------------------------------------------------------------------------------ */

static void
fill_row(SpateResultRow *row, const SpateStudy *study, uint32_t arm, size_t index, uint32_t n)
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

static void
fill_variant(SpateResultVariant *variant, const SpateStudy *study, uint32_t number,
             uint32_t n_replications)
{
    const Arm *arm = &study->arms[number];
    variant->name = g_strdup(arm->name);
    for (uint32_t i = 0; variant->summary == NULL && i < arm->scenario->n_variants; i++)
        if (g_str_equal(arm->scenario->variants[i].name, arm->name))
            variant->summary = g_strdup(arm->scenario->variants[i].summary);
    variant->n_rows = arm->n_rows;
    variant->rows = g_new0(SpateResultRow, arm->n_rows);
    for (size_t i = 0; i < arm->n_rows; i++) {
        spate_result_row_name(&variant->rows[i], &arm->rows[i], spate_world_plan(arm->world));
        fill_row(&variant->rows[i], study, number, i, n_replications);
    }
    if (!arm->keeps_latency)
        return;
    const SpatePlan *plan = spate_world_plan(arm->world);
    variant->n_latencies = plan->n_traffics;
    variant->latencies = spate_latency_none(plan);
    for (uint32_t i = 0; i < n_replications; i++)
        spate_latency_add(variant->latencies, study->tasks[i * study->n_arms + number].latency);
}

/* Whether the replications of the scenario draw the value at that path. */
static bool
draws(const SpateScenario *scenario, const char *path)
{
    for (uint32_t i = 0; i < scenario->n_doubts; i++)
        if (g_str_equal(scenario->doubts[i].path, path))
            return !scenario->doubts[i].is_fixed;
    return false;
}

/* What the replications drew for uncertain inputs. */
static void
fill_drawn(SpateResult *result, const SpateStudy *study)
{
    uint32_t n_replications = result->n_replications;
    g_autoptr(GArray) drawn = g_array_new(FALSE, FALSE, sizeof(SpateDrawn));
    for (uint32_t arm = 0; arm < study->n_arms; arm++) {
        const SpateScenario *scenario = study->arms[arm].scenario;
        for (uint32_t i = 0; i < scenario->n_doubts; i++) {
            const SpateDoubt *doubt = &scenario->doubts[i];
            bool is_known = doubt->is_fixed;
            for (guint k = 0; !is_known && k < drawn->len; k++)
                is_known = g_str_equal(g_array_index(drawn, SpateDrawn, k).path, doubt->path);
            if (is_known)
                continue;
            SpateDrawn its = {g_strdup(doubt->path), g_strdup(doubt->unit), doubt->low, doubt->high,
                              g_new(double, n_replications + 1)};
            for (uint32_t k = 0; k < n_replications; k++)
                its.values[k] = spate_doubt_value(doubt, scenario->seed, study->first + k);
            g_array_append_val(drawn, its);
        }
    }
    gsize n = 0;
    result->drawn = (SpateDrawn *)g_array_steal(drawn, &n);
    result->n_drawn = n;
    for (uint32_t arm = 0; arm < study->n_arms; arm++) {
        bool *is_drawn = result->variants[arm].is_drawn = g_new0(bool, n + 1);
        for (size_t k = 0; k < n; k++)
            is_drawn[k] = draws(study->arms[arm].scenario, result->drawn[k].path);
    }
}

SpateResult *
spate_study_result(const SpateStudy *study, const char *command)
{
    uint32_t n_replications = spate_study_n_replications(study);
    const SpateScenario *first = study->arms[0].scenario;
    SpateResult *result = g_new0(SpateResult, 1);
    result->command = g_strdup(command);
    result->title = g_strdup(first->title);
    result->sha256 = g_strdup(first->sha256);
    result->seed = first->seed;
    result->n_replications = n_replications;
    result->duration_ns = first->duration_ns;
    result->warm_up_ns = first->warm_up_ns;
    result->interrupted = n_replications < study->n_wanted;
    result->n_variants = study->n_arms;
    result->variants = g_new0(SpateResultVariant, study->n_arms);
    for (uint32_t i = 0; i < study->n_arms; i++)
        fill_variant(&result->variants[i], study, i, n_replications);
    g_autofree const SpateScenario **scenarios = g_new(const SpateScenario *, study->n_arms);
    for (uint32_t i = 0; i < study->n_arms; i++)
        scenarios[i] = study->arms[i].scenario;
    result->one_layout = spate_scenarios_hold_layout(scenarios, study->n_arms);
    fill_drawn(result, study);
    spate_summary_add_differences(result);
    return result;
}

/* ---- all at once ----------------------------------------------------------------------------- */

uint32_t
spate_study_wanted(const SpateScenario *const *scenarios, size_t n_scenarios, uint32_t replications)
{
    if (replications > 0)
        return replications;
    uint32_t wanted = scenarios[0]->replications;
    for (size_t i = 1; i < n_scenarios; i++)
        wanted = MIN(wanted, scenarios[i]->replications);
    return wanted;
}

SpateResult *
spate_study_run(const char *command, const SpateScenario *const *scenarios,
                const char *const *names, size_t n_scenarios, const SpateStudyOptions *options,
                GError **error)
{
    g_autoptr(SpateStudy) study = spate_study_new(scenarios, names, n_scenarios, error);
    if (study == NULL)
        return NULL;
    uint32_t n_replications = spate_study_wanted(scenarios, n_scenarios, options->replications);
    if (!spate_studies_run(&study, &n_replications, 1, options, error))
        return NULL;
    if (spate_study_n_replications(study) > 0)
        return spate_study_result(study, command);
    g_set_error(error, SPATE_STUDY_ERROR, SPATE_STUDY_ERROR_INTERRUPTED,
                "interrupted before the first replication was finished");
    return NULL;
}
