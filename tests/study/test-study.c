/* test-study.c - many runs give one result, however they are shared out */
#include "small-scenario.h"
#include "study/run/run.h"
#include "study/study.h"
#include "support/check-main.h"
#include "support/sanitized.h"

#include <math.h>

static SpateScenarioFile *file;
static SpateScenario *scenarios[2];
static const char *const NAMES[] = {"base", "open"};

static void
set_up(void)
{
    g_autoptr(GError) error = NULL;
    file = spate_scenario_file_parse("small.yaml", SMALL_SCENARIO, strlen(SMALL_SCENARIO), NULL, 0,
                                     &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    for (int i = 0; i < 2; i++) {
        scenarios[i] = spate_scenario_new(file, NAMES[i], &error);
        ck_assert_msg(scenarios[i] != NULL, "%s", error != NULL ? error->message : "");
    }
}

static void
tear_down(void)
{
    for (int i = 0; i < 2; i++)
        spate_scenario_free(scenarios[i]);
    spate_scenario_file_free(file);
}

static SpateResult *
run_study(const SpateStudyOptions *options, GError **error)
{
    return spate_study_run("compare", (const SpateScenario *const *)scenarios, NAMES, 2, options,
                           error);
}

static bool
same(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

/* The first n replications of both are the same, to the last bit. */
static void
assert_same_values(const SpateResult *a, const SpateResult *b, uint32_t n)
{
    ck_assert_uint_eq(a->n_variants, b->n_variants);
    for (size_t v = 0; v < a->n_variants; v++) {
        ck_assert_uint_eq(a->variants[v].n_rows, b->variants[v].n_rows);
        for (size_t i = 0; i < a->variants[v].n_rows; i++)
            for (uint32_t k = 0; k < n; k++)
                ck_assert(same(a->variants[v].rows[i].values[k], b->variants[v].rows[i].values[k]));
    }
}

static const SpateResultRow *
find_row(const SpateResultVariant *variant, SpateMeasure measure, const char *traffic,
         const char *bearer)
{
    for (size_t i = 0; i < variant->n_rows; i++) {
        const SpateResultRow *row = &variant->rows[i];
        if (row->measure == measure && g_strcmp0(row->traffic, traffic) == 0 &&
            g_strcmp0(row->bearer, bearer) == 0)
            return row;
    }
    ck_abort_msg("no such row");
    return NULL;
}

START_TEST(the_number_of_threads_does_not_matter)
{
    SpateStudyOptions alone = {.jobs = 1}, together = {.jobs = 4};
    g_autoptr(SpateResult) one = run_study(&alone, NULL);
    g_autoptr(SpateResult) four = run_study(&together, NULL);
    ck_assert_uint_eq(one->n_replications, 6);
    ck_assert_uint_eq(four->n_replications, 6);
    assert_same_values(one, four, 6);
    ck_assert_uint_eq(one->n_differences, four->n_differences);
    for (size_t i = 0; i < one->n_differences; i++) {
        ck_assert(same(one->differences[i].mean, four->differences[i].mean));
        ck_assert(same(one->differences[i].ci95.low, four->differences[i].ci95.low));
    }
}
END_TEST

START_TEST(replications_differ_from_each_other)
{
    SpateStudyOptions options = {.jobs = 2};
    g_autoptr(SpateResult) result = run_study(&options, NULL);
    const SpateResultRow *row =
        find_row(&result->variants[0], SPATE_MEASURE_TRANSMISSIONS, NULL, "valley");
    ck_assert_double_ne(row->values[0], row->values[1]);
    ck_assert_double_lt(row->ci95.low, row->ci95.high);
}
END_TEST

/* Common random numbers: the same messages in each variant; what the bridge lets through costs
 * airtime. */
START_TEST(variants_see_the_same_messages)
{
    SpateStudyOptions options = {.jobs = 2};
    g_autoptr(SpateResult) result = run_study(&options, NULL);
    const SpateResultVariant *base = &result->variants[0], *open = &result->variants[1];
    for (uint32_t i = 0; i < 6; i++) {
        ck_assert_double_eq(find_row(base, SPATE_MEASURE_MESSAGES, "talk", NULL)->values[i],
                            find_row(open, SPATE_MEASURE_MESSAGES, "talk", NULL)->values[i]);
        ck_assert_double_eq(find_row(base, SPATE_MEASURE_LOAD, "readings", "valley")->values[i],
                            0.0);
        ck_assert_double_gt(find_row(open, SPATE_MEASURE_LOAD, "readings", "valley")->values[i],
                            0.0);
    }
    ck_assert_ptr_null(base->summary);
    ck_assert_str_eq(open->summary, "the bridge lets everything through");
}
END_TEST

START_TEST(shares_lie_between_none_and_all)
{
    SpateStudyOptions options = {.jobs = 2};
    g_autoptr(SpateResult) result = run_study(&options, NULL);
    const SpateResultVariant *base = &result->variants[0];
    for (size_t i = 0; i < base->n_rows; i++) {
        const SpateMeasureInfo *info = spate_measure_info(base->rows[i].measure);
        for (uint32_t k = 0; k < 6; k++) {
            double value = base->rows[i].values[k];
            ck_assert(isnan(value) || (value >= info->least && value <= info->most));
        }
    }
    const SpateResultRow *delivery = find_row(base, SPATE_MEASURE_DELIVERY, "talk", NULL);
    ck_assert_double_gt(delivery->mean, 0.0);
}
END_TEST

/* Stops when that many runs are finished. */
typedef struct {
    uint32_t stop_at;
    volatile int stop;
    uint32_t last_done, total;
} Interruption;

static void
interrupt(gpointer user, uint32_t done, uint32_t total)
{
    Interruption *interruption = user;
    ck_assert_uint_gt(done, interruption->last_done);
    interruption->last_done = done;
    interruption->total = total;
    if (done >= interruption->stop_at)
        g_atomic_int_set(&interruption->stop, 1);
}

/* With several threads the first replication may be the one that is not finished when the others
 * stop. */
START_TEST(an_interruption_keeps_what_all_variants_have_finished)
{
    SpateStudyOptions whole = {.jobs = 1};
    g_autoptr(SpateResult) all = run_study(&whole, NULL);
    for (unsigned jobs = 1; jobs <= 3; jobs++) {
        Interruption interruption = {.stop_at = 5};
        SpateStudyOptions options = {.replications = 2000,
                                     .jobs = jobs,
                                     .stop = &interruption.stop,
                                     .progress = interrupt,
                                     .user = &interruption};
        g_autoptr(GError) error = NULL;
        g_autoptr(SpateResult) some = run_study(&options, &error);
        ck_assert_uint_eq(interruption.total, 4000);
        if (some == NULL) {
            ck_assert_uint_gt(jobs, 1);
            ck_assert(g_error_matches(error, SPATE_STUDY_ERROR, SPATE_STUDY_ERROR_INTERRUPTED));
            continue;
        }
        ck_assert(some->interrupted);
        ck_assert_uint_ge(some->n_replications, jobs == 1 ? 2 : 1);
        ck_assert_uint_lt(some->n_replications, 2000);
        assert_same_values(some, all, MIN(some->n_replications, 6));
    }
}
END_TEST

START_TEST(stopped_at_once_is_an_error)
{
    volatile int stop = 1;
    SpateStudyOptions options = {.jobs = 2, .stop = &stop};
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(run_study(&options, &error));
    ck_assert(g_error_matches(error, SPATE_STUDY_ERROR, SPATE_STUDY_ERROR_INTERRUPTED));
}
END_TEST

START_TEST(progress_reaches_the_end)
{
    Interruption never = {.stop_at = UINT32_MAX};
    SpateStudyOptions options = {.jobs = 3, .progress = interrupt, .user = &never};
    g_autoptr(SpateResult) result = run_study(&options, NULL);
    ck_assert(!result->interrupted);
    ck_assert_uint_eq(never.last_done, 12);
    ck_assert_uint_eq(never.total, 12);
}
END_TEST

/* Bit by bit, beside another study in the same pool, and with a look at the result in between. */
START_TEST(a_study_that_goes_on_is_the_same)
{
    SpateStudyOptions options = {.jobs = 3};
    g_autoptr(SpateResult) whole = run_study(&options, NULL);
    g_autoptr(SpateStudy) one =
        spate_study_new((const SpateScenario *const *)scenarios, NAMES, 2, NULL);
    g_autoptr(SpateStudy) other =
        spate_study_new((const SpateScenario *const *)scenarios, NAMES, 1, NULL);
    SpateStudy *const studies[] = {other, one};

    ck_assert(spate_studies_run(studies, (const uint32_t[]){1, 2}, 2, &options, NULL));
    ck_assert_uint_eq(spate_study_n_replications(one), 2);
    g_autoptr(SpateResult) first = spate_study_result(one, "check");
    ck_assert(spate_studies_run(studies, (const uint32_t[]){4, 6}, 2, &options, NULL));
    g_autoptr(SpateResult) last = spate_study_result(one, "check");

    ck_assert_uint_eq(spate_study_n_replications(other), 4);
    ck_assert_uint_eq(first->n_replications, 2);
    ck_assert_uint_eq(last->n_replications, 6);
    assert_same_values(first, whole, 2);
    assert_same_values(last, whole, 6);
}
END_TEST

START_TEST(every_run_has_its_witness)
{
    SpateStudyOptions options = {.jobs = 2};
    g_autoptr(SpateStudy) study =
        spate_study_new((const SpateScenario *const *)scenarios, NAMES, 2, NULL);
    /* readings are never on the valley in the base; the open bridge lets them through */
    SpateExpectation never = {.kind = SPATE_EXPECT_NEVER_ON,
                              .traffic = scenarios[0]->traffics[0].name,
                              .bearer = scenarios[0]->bearers[0].name};
    const SpateExpectation *const expectations[] = {&never};
    spate_study_watch(study, 0, expectations, 1);
    spate_study_watch(study, 1, expectations, 1);

    ck_assert(spate_studies_run(&study, (const uint32_t[]){3}, 1, &options, NULL));

    for (uint32_t i = 0; i < 3; i++) {
        const SpateClaimResult *closed = spate_study_claim_result(study, 0, i, 0);
        const SpateClaimResult *open = spate_study_claim_result(study, 1, i, 0);
        ck_assert_uint_gt(closed->n_messages, 0);
        ck_assert_uint_eq(closed->n_broken, 0);
        ck_assert_uint_eq(open->n_messages, closed->n_messages);
        ck_assert_uint_gt(open->n_broken, 0);
        ck_assert_int_ge(open->at_ns, open->offered_ns);
    }
}
END_TEST

/* Each of 12 sources offers once in every minute: in 18 of them, between the warm-up of one and
 * the cool-down of one. */
START_TEST(offers_stop_one_cool_down_before_the_end)
{
    SpateStudyOptions options = {.jobs = 2};
    g_autoptr(SpateResult) result = run_study(&options, NULL);
    const SpateResultRow *row =
        find_row(&result->variants[0], SPATE_MEASURE_MESSAGES, "readings", NULL);
    for (uint32_t i = 0; i < result->n_replications; i++)
        ck_assert_double_eq(row->values[i], 12 * 18);
}
END_TEST

START_TEST(a_run_counts_its_events)
{
    g_autoptr(SpateWorld) world = spate_world_new(scenarios[0], NULL);
    g_autoptr(SpateRun) run = spate_run_new(world, 0, NULL);
    ck_assert(spate_run_go(run, NULL, NULL));
    ck_assert_uint_gt(spate_run_n_transmissions(run), 100);
    ck_assert_uint_gt(spate_run_n_events(run), spate_run_n_transmissions(run));
}
END_TEST

/* Each message has a mark for each of 60,000 bystanders: some thousands of them fill the memory
 * that a run may have.  What is offered is ten times what the air can carry. */
static const char OVERLOADED[] =
    "spate: 1\n"
    "title: Overload\n"
    "run: {duration: 1 h}\n"
    "bearers:\n"
    "  yard: {kind: dsss, frequency: 2437 MHz, propagation: {model: log-distance, exponent: "
    "3}}\n"
    "nodes:\n"
    "  soil:\n"
    "    count: 10\n"
    "    place: {line: {from: {x: 0 m, y: 0 m}, to: {x: 90 m, y: 0 m}}, height: 1 m}\n"
    "    radios: {yard: {power: 18 dBm}}\n"
    "    queue: {frames: 1000}\n"
    "  bystander:\n"
    "    count: 60000\n"
    "    place: {line: {from: {x: 0 m, y: 1 km}, to: {x: 9 km, y: 1 km}}, height: 1 m}\n"
    "    radios: {}\n"
    "traffic:\n"
    "  chat: {from: soil, to: nobody, payload: 20 bytes, every: 1 ms, phase: together}\n";

START_TEST(an_overloaded_mesh_is_an_error_and_not_the_end_of_memory)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) busy =
        spate_scenario_file_parse("busy.yaml", OVERLOADED, strlen(OVERLOADED), NULL, 0, &error);
    ck_assert_msg(busy != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(busy, NULL, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    const SpateStudyOptions options = {.jobs = 1};

    g_autoptr(SpateResult) result =
        spate_study_run("run", (const SpateScenario *const *)&scenario, NAMES, 1, &options, &error);

    ck_assert_ptr_null(result);
    ck_assert_msg(g_error_matches(error, SPATE_RUN_ERROR, SPATE_RUN_ERROR_OVERLOADED), "%s",
                  error != NULL ? error->message : "no error");
    ck_assert_ptr_nonnull(strstr(error->message, "messages are under way"));
    ck_assert_ptr_nonnull(strstr(error->message, "1024 MB"));

    /* Threads wait for each other's memory, and find the same. */
    g_autoptr(GError) with_threads = NULL;
    const SpateStudyOptions threads = {.jobs = 2, .replications = 2};
    ck_assert_ptr_null(spate_study_run("run", (const SpateScenario *const *)&scenario, NAMES, 1,
                                       &threads, &with_threads));
    ck_assert_str_eq(with_threads->message, error->message);
}
END_TEST

int
main(void)
{
    TCase *cases = tcase_create("study");
    tcase_add_checked_fixture(cases, set_up, tear_down);
    tcase_set_timeout(cases, 300);
    tcase_add_test(cases, the_number_of_threads_does_not_matter);
    tcase_add_test(cases, replications_differ_from_each_other);
    tcase_add_test(cases, variants_see_the_same_messages);
    tcase_add_test(cases, shares_lie_between_none_and_all);
    tcase_add_test(cases, an_interruption_keeps_what_all_variants_have_finished);
    tcase_add_test(cases, stopped_at_once_is_an_error);
    tcase_add_test(cases, progress_reaches_the_end);
    tcase_add_test(cases, a_study_that_goes_on_is_the_same);
    tcase_add_test(cases, every_run_has_its_witness);
    tcase_add_test(cases, offers_stop_one_cool_down_before_the_end);
    tcase_add_test(cases, a_run_counts_its_events);
    /* It fills a gigabyte, of which a sanitizer keeps several; test-turns shows it threads that
     * wait. */
    if (ONE_DRAW_IN == 1)
        tcase_add_test(cases, an_overloaded_mesh_is_an_error_and_not_the_end_of_memory);
    Suite *suite = suite_create("study");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
