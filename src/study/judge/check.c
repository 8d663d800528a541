/* check.c - what is run for the expectations of a file, until when, and why what failed did */
#include "study/judge/check.h"

#include "core/pool.h"
#include "core/stop.h"
#include "scenario/layout.h"
#include "scenario/read/expect-check.h"
#include "study/judge/against.h"
#include "study/judge/check-private.h"
#include <string.h>

void
spate_check_free(SpateCheck *check)
{
    if (check == NULL)
        return;
    spate_study_free(check->study);
    spate_result_free(check->result);
    g_clear_pointer(&check->differences, g_array_unref);
    g_clear_pointer(&check->uncompared, g_array_unref);
    for (guint i = 0; check->claims != NULL && i < check->scenarios->len; i++)
        g_ptr_array_unref(check->claims[i]);
    g_free(check->claims);
    for (guint i = 0; i < check->scenarios->len; i++)
        if (g_ptr_array_index(check->scenarios, i) != check->base)
            spate_scenario_free(g_ptr_array_index(check->scenarios, i));
    spate_scenario_free(check->base);
    for (size_t i = 0; i < check->n_points; i++) {
        g_free(check->points[i].origin);
        spate_doubt_verdict_free(check->points[i].doubt);
        spate_explanation_free(check->points[i].explanation);
    }
    g_free(check->points);
    g_ptr_array_unref(check->names);
    g_ptr_array_unref(check->scenarios);
    g_free(check);
}

/* ---- what they are about --------------------------------------------------------------------- */

static const char *
or_base(const char *variant)
{
    return variant != NULL ? variant : "base";
}

static void
choose_points(SpateCheck *check, const SpateCheckOptions *options)
{
    check->points = g_new0(SpateCheckPoint, check->base->n_expectations);
    for (uint32_t i = 0; i < check->base->n_expectations; i++) {
        const SpateExpectation *expectation = &check->base->expectations[i];
        if (options->variants == NULL ||
            g_strv_contains(options->variants, or_base(expectation->variant)))
            check->points[check->n_points++].expectation = expectation;
    }
}

bool
spate_check_is_of_one_layout(const SpateCheck *check)
{
    return spate_scenarios_hold_layout((const SpateScenario *const *)check->scenarios->pdata,
                                       check->scenarios->len);
}

static SpateScenario *
read_scenario(const SpateScenarioFile *file, const SpateCheckOptions *options, const char *name,
              GError **error)
{
    SpateTrial trial = options->trial != NULL ? *options->trial : (SpateTrial){0};
    trial.variant = name;
    SpateScenario *scenario = spate_scenario_try(file, &trial, error);
    if (scenario != NULL && options->has_seed)
        scenario->seed = options->seed;
    return scenario;
}

/* The number of a scenario of the study; built when it is first asked for.  False with an error. */
static bool
find_arm(SpateCheck *check, const SpateScenarioFile *file, const SpateCheckOptions *options,
         const char *variant, uint32_t *arm, GError **error)
{
    guint index = 0;
    const char *name = or_base(variant);
    if (!g_ptr_array_find_with_equal_func(check->names, name, g_str_equal, &index)) {
        bool is_base = strcmp(name, "base") == 0;
        SpateScenario *scenario = is_base ? check->base : read_scenario(file, options, name, error);
        if (scenario == NULL)
            return false;
        index = check->names->len;
        g_ptr_array_add(check->names, (gpointer)(uintptr_t)name);
        g_ptr_array_add(check->scenarios, scenario);
    }
    *arm = index;
    return true;
}

static bool
find_arms(SpateCheck *check, const SpateScenarioFile *file, const SpateCheckOptions *options,
          GError **error)
{
    for (size_t i = 0; i < check->n_points; i++) {
        SpateCheckPoint *point = &check->points[i];
        const SpateExpectation *expectation = point->expectation;
        if (!find_arm(check, file, options, expectation->variant, &point->arm, error))
            return false;
        point->versus = point->arm;
        if (expectation->kind == SPATE_EXPECT_CHANGE &&
            !find_arm(check, file, options, expectation->versus, &point->versus, error))
            return false;
    }
    return true;
}

/* False with an error if one of them can never be judged. */
static bool
check_points(const SpateCheck *check, GError **error)
{
    g_autoptr(SpateFaults) faults = spate_faults_new_like(check->base->later);
    for (size_t i = 0; i < check->n_points; i++) {
        const SpateCheckPoint *point = &check->points[i];
        const uint32_t arms[] = {point->arm, point->versus};
        size_t n_arms = point->expectation->kind == SPATE_EXPECT_CHANGE ? 2 : 1;
        for (size_t k = 0; k < n_arms; k++) {
            const char *name = g_ptr_array_index(check->names, arms[k]);
            g_autofree char *context = g_strdup_printf("in variant '%s'", name);
            spate_faults_set_context(faults, strcmp(name, "base") == 0 ? NULL : context);
            spate_expectation_check(point->expectation,
                                    g_ptr_array_index(check->scenarios, arms[k]), faults);
        }
    }
    return !spate_faults_raise(faults, error);
}

/* What the earlier result has too, as far as the file still has it. */
static bool
find_arms_of(SpateCheck *check, const SpateScenarioFile *file, const SpateCheckOptions *options,
             GError **error)
{
    uint32_t arm = 0;
    const SpateResult *before = options->before;
    for (size_t i = 0; before != NULL && i < before->n_variants; i++) {
        const char *name = before->variants[i].name;
        bool is_there =
            strcmp(name, "base") == 0 || g_strv_contains(spate_scenario_file_variants(file), name);
        bool is_wanted = options->variants == NULL || g_strv_contains(options->variants, name);
        if (is_there && is_wanted && !find_arm(check, file, options, name, &arm, error))
            return false;
    }
    return true;
}

/* ---- making ---------------------------------------------------------------------------------- */

static bool
make_study(SpateCheck *check, const SpateStudy *beside, GError **error)
{
    guint n = check->names->len;
    check->claims = g_new0(GPtrArray *, n);
    for (guint i = 0; i < n; i++)
        check->claims[i] = g_ptr_array_new();
    for (size_t i = 0; i < check->n_points; i++) {
        SpateCheckPoint *point = &check->points[i];
        if (!spate_expectation_is_claim(point->expectation) &&
            !spate_expectation_is_about_answers(point->expectation))
            continue;
        point->claim = check->claims[point->arm]->len;
        g_ptr_array_add(check->claims[point->arm], (gpointer)(uintptr_t)point->expectation);
    }
    check->study =
        spate_study_new_beside(beside, (const SpateScenario *const *)check->scenarios->pdata,
                               (const char *const *)check->names->pdata, n, error);
    if (check->study == NULL)
        return false;
    spate_study_start_at(check->study, check->first);
    for (guint i = 0; i < n; i++)
        spate_study_watch(check->study, i, (const SpateExpectation *const *)check->claims[i]->pdata,
                          check->claims[i]->len);
    return true;
}

/* Few looks at many replications cost less certainty than many looks. */
static uint32_t
next_wanted(uint32_t n_wanted, uint32_t n_at_most)
{
    return (uint32_t)MIN((uint64_t)2 * n_wanted, n_at_most);
}

/* How many replications there are at most, and when verdicts are judged. */
static void
plan_looks(SpateCheck *check, const SpateCheckOptions *options)
{
    bool is_given = options->replications > 0;
    check->n_first = is_given ? options->replications : check->base->replications;
    check->n_at_most = is_given ? options->replications : check->base->replications_at_most;
    if (!is_given && check->n_at_most <= check->n_first)
        check->n_at_most = MAX(check->n_first, options->most_replications);
    check->n_looks = 1;
    for (uint32_t n = check->n_first; n < check->n_at_most; n = next_wanted(n, check->n_at_most))
        check->n_looks++;
    check->stops_at_failure = options->stops_at_failure && !is_given;
    uint32_t n_early = spate_early_replications(check->n_first);
    if (check->stops_at_failure && (uint64_t)2 * n_early < check->n_first)
        check->n_early = n_early;
    check->n_wanted = check->n_early > 0 ? check->n_early : check->n_first;
}

SpateCheck *
spate_check_new(const SpateScenarioFile *file, const SpateCheckOptions *options, GError **error)
{
    g_autoptr(SpateCheck) check = g_new0(SpateCheck, 1);
    check->names = g_ptr_array_new();
    check->scenarios = g_ptr_array_new();
    check->base = read_scenario(file, options, "base", error);
    if (check->base == NULL)
        return NULL;
    plan_looks(check, options);
    check->first = options->first;
    check->before = options->before;
    if (check->before != NULL && !spate_against_is_fit(check->before, check->base, error))
        return NULL;
    choose_points(check, options);
    if (!find_arms(check, file, options, error) || !check_points(check, error) ||
        !find_arms_of(check, file, options, error))
        return NULL;
    if (check->names->len > 0 && !make_study(check, options->beside, error))
        return NULL;
    return g_steal_pointer(&check);
}

/* False if nothing is expected of the variant. */
static bool
has_arm(const SpateCheck *check, const char *variant, guint *arm)
{
    return check->study != NULL &&
           g_ptr_array_find_with_equal_func(check->names, variant, g_str_equal, arm);
}

void
spate_check_watch(const SpateCheck *check, const char *variant, SpateStudy *study)
{
    guint arm = 0;
    if (has_arm(check, variant, &arm))
        spate_study_watch(study, 0, (const SpateExpectation *const *)check->claims[arm]->pdata,
                          check->claims[arm]->len);
}

void
spate_check_adopt(SpateCheck *check, const char *variant, const SpateStudy *study)
{
    guint arm = 0;
    if (has_arm(check, variant, &arm))
        spate_study_adopt(check->study, arm, study, 0);
}

void
spate_check_adopt_others(SpateCheck *check, const char *variant, const SpateCheck *from)
{
    for (guint i = 0; check->study != NULL && i < check->names->len; i++) {
        const char *name = g_ptr_array_index(check->names, i);
        guint of = 0;
        if (strcmp(name, variant) != 0 && has_arm(from, name, &of))
            spate_study_adopt(check->study, i, from->study, of);
    }
}

/* ---- replications ---------------------------------------------------------------------------- */

/* So that more replications would not mend it, as they may what is missing so far. */
static bool
has_failed(const SpateJudgement *judgement)
{
    return judgement->kind == SPATE_VERDICT_FAIL &&
           (judgement->missing == SPATE_NOTHING_MISSING || judgement->n_undelivered > 0 ||
            judgement->missing == SPATE_MISSING_MEASURE);
}

static bool
is_given_up(const SpateCheck *check)
{
    for (size_t i = 0; check->stops_at_failure && i < check->n_points; i++)
        if (has_failed(&check->points[i].judgement))
            return true;
    return false;
}

/* At the early look nothing is decided but that. */
static bool
is_open(const SpateCheck *check)
{
    if (spate_check_is_early(check) || is_given_up(check))
        return !is_given_up(check);
    for (size_t i = 0; i < check->n_points; i++) {
        const SpateJudgement *judgement = &check->points[i].judgement;
        if (judgement->kind == SPATE_VERDICT_UNDECIDED && judgement->more != SPATE_MORE_NEVER)
            return true;
    }
    return false;
}

/* One round: what is wanted of those that are open.  False with an error. */
static bool
run_and_judge(GPtrArray *open, const SpateStudyOptions *options, GError **error)
{
    g_autofree SpateStudy **studies = g_new(SpateStudy *, open->len);
    g_autofree uint32_t *wanted = g_new(uint32_t, open->len);
    for (guint i = 0; i < open->len; i++) {
        const SpateCheck *check = g_ptr_array_index(open, i);
        studies[i] = check->study;
        wanted[i] = check->n_wanted;
    }
    if (!spate_studies_run(studies, wanted, open->len, options, error))
        return false;
    for (guint i = 0; i < open->len; i++)
        spate_check_judge(g_ptr_array_index(open, i));
    return true;
}

/* ---- explaining ------------------------------------------------------------------------------ */

/* A point to explain. */
typedef struct {
    const SpateCheck *check;
    SpateCheckPoint *point;
} Question;

/* The replication ran once before, so it does not fail. */
static bool
explain(gpointer user, uint32_t number, GError **error)
{
    static const SpateExplainQuestion QUESTIONS[] = {
        [SPATE_EXPECT_VALUE] = SPATE_EXPLAIN_NOT_ACKNOWLEDGED,
        [SPATE_EXPECT_REACHES] = SPATE_EXPLAIN_NOT_REACHED,
        [SPATE_EXPECT_NEVER_REACHES] = SPATE_EXPLAIN_REACHED,
        [SPATE_EXPECT_NEVER_ON] = SPATE_EXPLAIN_SENT_ON,
    };
    const Question *question = &g_array_index((const GArray *)user, Question, number);
    SpateCheckPoint *point = question->point;
    g_autoptr(SpateWorld) world = spate_check_world_of_broken(question->check, point);
    SpateClaim claim = spate_claim_of(point->expectation, spate_world_scenario(world));
    const SpateExplainWanted wanted = {.question = QUESTIONS[claim.kind],
                                       .message = point->broken.first,
                                       .node = claim.node,
                                       .bearer = claim.bearer,
                                       .within_ns = claim.within_ns};
    point->explanation = spate_explain(world, point->replication, &wanted, NULL);
    return true;
}

static void
explain_all(SpateCheck *const *checks, size_t n_checks, const SpateStudyOptions *options)
{
    g_autoptr(GArray) questions = g_array_new(FALSE, FALSE, sizeof(Question));
    for (size_t i = 0; i < n_checks; i++) {
        for (size_t k = 0; k < checks[i]->n_points; k++) {
            const Question question = {checks[i], &checks[i]->points[k]};
            if (question.point->is_broken && question.point->judgement.kind != SPATE_VERDICT_PASS)
                g_array_append_val(questions, question);
        }
    }
    const SpatePool pool = {.n_tasks = questions->len,
                            .perform = explain,
                            .user = questions,
                            .jobs = options->jobs,
                            .stop = options->stop};
    spate_pool_run(&pool, NULL);
}

bool
spate_checks_run(SpateCheck *const *checks, size_t n_checks, const SpateStudyOptions *options,
                 GError **error)
{
    g_autoptr(GPtrArray) open = g_ptr_array_new();
    for (size_t i = 0; i < n_checks; i++)
        if (checks[i]->study != NULL)
            g_ptr_array_add(open, checks[i]);
    while (open->len > 0) {
        if (!run_and_judge(open, options, error))
            return false;
        if (spate_is_stopped(options->stop))
            break;
        for (guint i = open->len; i-- > 0;) {
            SpateCheck *check = g_ptr_array_index(open, i);
            if (check->n_wanted < check->n_at_most && is_open(check))
                check->n_wanted = spate_check_is_early(check)
                                      ? check->n_first
                                      : next_wanted(check->n_wanted, check->n_at_most);
            else
                g_ptr_array_remove_index(open, i);
        }
    }
    for (size_t i = 0; i < n_checks; i++)
        if (checks[i]->before != NULL && checks[i]->result != NULL)
            spate_against_judge(checks[i]);
    explain_all(checks, n_checks, options);
    return true;
}
