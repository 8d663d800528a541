/* test-check.c - files judged side by side give what they give alone */
#include "report/check/explanation-words.h"
#include "small-scenario.h"
#include "study/judge/against.h"
#include "study/judge/check.h"
#include "support/check-main.h"

#include <string.h>

/* One verdict is open for long, one claim is broken in each replication, one is about a variant. */
static const char EXPECT[] =
    "expect:\n"
    "  - {measure: delivery, traffic: talk, at-least: 50 %}\n"
    "  - {traffic: talk, never-on: valley}\n"
    "  - {variant: open, measure: load, bearer: valley, change-at-least: 1 %}\n";

static SpateScenarioFile *
parse(const char *replications)
{
    g_autoptr(GString) text = g_string_new(SMALL_SCENARIO);
    g_string_append(text, EXPECT);
    g_string_replace(text, "replications: 6", replications, 1);
    g_autoptr(GError) error = NULL;
    SpateScenarioFile *file =
        spate_scenario_file_parse("small.yaml", text->str, text->len, NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    return file;
}

static SpateCheck *
new_check(const SpateScenarioFile *file, const SpateCheckOptions *options)
{
    SpateCheck *check = spate_check_new(file, options, NULL);
    ck_assert_ptr_nonnull(check);
    return check;
}

static void
run(SpateCheck *const *checks, size_t n, unsigned jobs)
{
    const SpateStudyOptions options = {.jobs = jobs};
    ck_assert(spate_checks_run(checks, n, &options, NULL));
}

static void
assert_same(const SpateCheck *a, const SpateCheck *b)
{
    ck_assert_uint_eq(a->n_replications, b->n_replications);
    ck_assert_uint_eq(a->n_points, b->n_points);
    for (size_t i = 0; i < a->n_points; i++) {
        ck_assert_int_eq(a->points[i].judgement.kind, b->points[i].judgement.kind);
        ck_assert_double_eq(a->points[i].judgement.mean, b->points[i].judgement.mean);
        ck_assert_double_eq(a->points[i].judgement.ci95.low, b->points[i].judgement.ci95.low);
        ck_assert_uint_eq(a->points[i].n_broken, b->points[i].n_broken);
        g_autofree char *of_a = spate_explanation_text(a->points[i].explanation);
        g_autofree char *of_b = spate_explanation_text(b->points[i].explanation);
        ck_assert_int_eq(g_strcmp0(of_a, of_b), 0);
    }
}

START_TEST(threads_and_company_do_not_matter)
{
    const SpateCheckOptions none = {0};
    g_autoptr(SpateScenarioFile) bounded = parse("replications: {at-least: 2, at-most: 9}");
    g_autoptr(SpateScenarioFile) fixed = parse("replications: 3");
    g_autoptr(SpateCheck) alone = new_check(bounded, &none);
    g_autoptr(SpateCheck) first = new_check(bounded, &none);
    g_autoptr(SpateCheck) second = new_check(fixed, &none);
    SpateCheck *const both[] = {second, first};

    run(&alone, 1, 1);
    run(both, 2, 3);

    assert_same(alone, first);
    ck_assert_uint_eq(second->n_replications, 3);
    ck_assert_uint_ge(alone->n_replications, 2);
    /* After 2, 4, 8 and 9. */
    ck_assert_uint_eq(alone->n_looks, 4);
    ck_assert_int_eq(alone->points[1].judgement.kind, SPATE_VERDICT_FAIL);
    g_autofree char *explanation = spate_explanation_text(alone->points[1].explanation);
    ck_assert_ptr_nonnull(strstr(explanation, "sends it on valley"));
    ck_assert_int_eq(alone->points[2].judgement.kind, SPATE_VERDICT_PASS);
    ck_assert_ptr_null(alone->points[2].explanation);
}
END_TEST

START_TEST(only_what_is_asked_for_is_run)
{
    static const char *const OPEN[] = {"open", NULL}, *const BASE[] = {"base", NULL};
    const SpateCheckOptions open = {.variants = OPEN}, base = {.variants = BASE};
    g_autoptr(SpateScenarioFile) file = parse("replications: 2");
    g_autoptr(SpateCheck) of_open = new_check(file, &open);
    g_autoptr(SpateCheck) of_base = new_check(file, &base);

    ck_assert_uint_eq(of_open->n_points, 1);
    ck_assert_uint_eq(of_open->scenarios->len, 2);
    ck_assert_uint_eq(of_base->n_points, 2);
    ck_assert_uint_eq(of_base->scenarios->len, 1);
}
END_TEST

START_TEST(a_seed_and_replications_are_those_given)
{
    const SpateCheckOptions options = {.has_seed = true, .seed = 5, .replications = 4};
    g_autoptr(SpateScenarioFile) file = parse("replications: {at-least: 2, at-most: 900}");
    g_autoptr(SpateCheck) check = new_check(file, &options);
    run(&check, 1, 2);
    ck_assert_uint_eq(check->n_replications, 4);
    ck_assert_uint_eq(check->base->seed, 5);
}
END_TEST

START_TEST(what_is_stopped_at_once_is_not_judged)
{
    const SpateCheckOptions none = {0};
    volatile int stop = 1;
    const SpateStudyOptions options = {.jobs = 2, .stop = &stop};
    g_autoptr(SpateScenarioFile) file = parse("replications: 2");
    g_autoptr(SpateCheck) check = new_check(file, &none);
    ck_assert(spate_checks_run(&check, 1, &options, NULL));
    ck_assert(!spate_check_is_judged(check));
}
END_TEST

/* A claim is broken in each replication, and the load of the open gate is clear. */
START_TEST(a_candidate_is_given_up_as_soon_as_it_fails)
{
    static const char *const OPEN[] = {"open", NULL};
    const SpateCheckOptions none = {0}, candidate = {.stops_at_failure = true};
    const SpateCheckOptions given = {.stops_at_failure = true, .replications = 20};
    const SpateCheckOptions open = {.stops_at_failure = true, .variants = OPEN};
    g_autoptr(SpateScenarioFile) file = parse("replications: 20");
    g_autoptr(SpateCheck) fails = new_check(file, &candidate);
    g_autoptr(SpateCheck) meets = new_check(file, &open);
    g_autoptr(SpateCheck) exact = new_check(file, &given);
    g_autoptr(SpateCheck) verdict = new_check(file, &none);
    SpateCheck *const all[] = {fails, meets, exact, verdict};
    run(all, G_N_ELEMENTS(all), 2);

    ck_assert_uint_eq(fails->n_replications, 5);
    ck_assert_int_eq(fails->points[1].judgement.kind, SPATE_VERDICT_FAIL);
    /* The early look fails, but passes nothing. */
    ck_assert_uint_eq(meets->n_replications, 20);
    ck_assert_int_eq(meets->points[0].judgement.kind, SPATE_VERDICT_PASS);
    ck_assert_uint_eq(meets->points[0].judgement.n_looks, 2);
    ck_assert_uint_eq(exact->n_replications, 20);
    ck_assert_uint_eq(verdict->n_replications, 20);
    ck_assert_uint_eq(verdict->points[1].judgement.n_looks, 1);
}
END_TEST

/* A quarter of the replications, five at least, and under half of them. */
START_TEST(the_early_look_is_at_a_quarter)
{
    static const struct {
        const char *replications;
        uint32_t n_early;
    } CASES[] = {{"replications: 10", 0},
                 {"replications: 11", 5},
                 {"replications: 20", 5},
                 {"replications: 61", 16},
                 {"replications: {at-least: 40, at-most: 80}", 10}};
    const SpateCheckOptions candidate = {.stops_at_failure = true};
    for (size_t i = 0; i < G_N_ELEMENTS(CASES); i++) {
        g_autoptr(SpateScenarioFile) file = parse(CASES[i].replications);
        g_autoptr(SpateCheck) check = new_check(file, &candidate);
        ck_assert_uint_eq(check->n_early, CASES[i].n_early);
    }
}
END_TEST

/* More replications may bring what is missing. */
START_TEST(what_was_not_offered_so_far_is_not_given_up)
{
    static const char FLARE[] =
        "  flare: {class: flare, from: mast, to: hut, payload: 10 bytes, mean-interval: 4 h}\n"
        "variants:\n";
    g_autoptr(GError) error = NULL;
    g_autoptr(GString) text = g_string_new(SMALL_SCENARIO);
    g_string_replace(text, "variants:\n", FLARE, 1);
    g_string_replace(text, "replications: 6", "replications: 20", 1);
    g_string_append(
        text,
        "expect: [{traffic: flare, from: mast, reaches: hut, within: 1 min, in-at-least: 1 %}]\n");
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("small.yaml", text->str, text->len, NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    const SpateCheckOptions five = {.replications = 5}, candidate = {.stops_at_failure = true};
    g_autoptr(SpateCheck) early = new_check(file, &five);
    g_autoptr(SpateCheck) check = new_check(file, &candidate);
    SpateCheck *const both[] = {early, check};
    run(both, 2, 2);
    ck_assert_int_eq(early->points[0].judgement.missing, SPATE_MISSING_MESSAGES);
    ck_assert_uint_eq(check->n_replications, 20);
    ck_assert_int_eq(check->points[0].judgement.missing, SPATE_NOTHING_MISSING);
}
END_TEST

/* Of what never arrives there is no latency, in these replications as in any further ones. */
START_TEST(what_never_arrives_is_given_up)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(GString) text = g_string_new(SMALL_SCENARIO);
    g_string_replace(text, "groups:",
                     "  far:\n    at: {x: 900000 m, y: 0 m}\n"
                     "    radios: {valley: {power: 14 dBm}}\ngroups:",
                     1);
    g_string_replace(text, "variants:\n",
                     "  lost: {class: lost, from: mast, to: far, payload: 10 bytes, every: 5 min}\n"
                     "variants:\n",
                     1);
    g_string_replace(text, "replications: 6", "replications: 20", 1);
    g_string_append(text, "expect: [{measure: latency-p95, traffic: lost, at-most: 1 h}]\n");
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("small.yaml", text->str, text->len, NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    const SpateCheckOptions candidate = {.stops_at_failure = true};
    g_autoptr(SpateCheck) check = new_check(file, &candidate);
    run(&check, 1, 2);
    ck_assert_uint_eq(check->n_replications, 5);
    ck_assert_uint_eq(check->points[0].judgement.n_undelivered, 5);
}
END_TEST

/* What it knows of the base comes from a study that watched for it. */
START_TEST(a_check_takes_over_what_a_study_has_run)
{
    static const char *const NAME = "base";
    const SpateCheckOptions none = {0};
    const SpateStudyOptions options = {.jobs = 2};
    const uint32_t n = 4;
    g_autoptr(SpateScenarioFile) file = parse("replications: 6");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, NULL);
    g_autoptr(SpateCheck) alone = new_check(file, &none);
    g_autoptr(SpateCheck) helped = new_check(file, &none);
    g_autoptr(SpateStudy) study =
        spate_study_new((const SpateScenario *const *)&scenario, &NAME, 1, NULL);
    spate_check_watch(helped, "base", study);
    ck_assert(spate_studies_run(&study, &n, 1, &options, NULL));
    spate_check_adopt(helped, "base", study);

    SpateCheck *const both[] = {alone, helped};
    run(both, 2, 2);

    assert_same(alone, helped);
    ck_assert_uint_eq(helped->n_replications, 6);
}
END_TEST

static void
note_first(gpointer user, uint32_t done, uint32_t total)
{
    uint32_t *first = user;
    if (*first == 0)
        *first = done;
}

/* Its load is judged against the base, which no rules of the open gate change. */
START_TEST(a_check_takes_over_other_variants)
{
    static const char *const OPEN[] = {"open", NULL};
    const SpateTrial held = {.rules =
                                 "bridges.gate.up.rules: [{when: {class: readings}, do: {thin: "
                                 "{keep: 1, of: 2}}}]\n",
                             .rules_of = "open"};
    const SpateCheckOptions plain = {.variants = OPEN}, tried = {.variants = OPEN, .trial = &held};
    uint32_t first = 0;
    const SpateStudyOptions options = {.jobs = 1, .progress = note_first, .user = &first};
    g_autoptr(SpateScenarioFile) file = parse("replications: 6");
    g_autoptr(SpateCheck) before = new_check(file, &plain);
    g_autoptr(SpateCheck) alone = new_check(file, &tried);
    g_autoptr(SpateCheck) helped = new_check(file, &tried);
    SpateCheck *const both[] = {before, alone};
    run(both, 2, 2);

    spate_check_adopt_others(helped, "open", before);
    ck_assert(spate_checks_run(&helped, 1, &options, NULL));

    assert_same(alone, helped);
    ck_assert_double_ne(before->points[0].judgement.mean, helped->points[0].judgement.mean);
    /* The six runs of the base count as done. */
    ck_assert_uint_gt(first, 6);
}
END_TEST

/* The result of the base alone, with a seed. */
static SpateResult *
earlier(const SpateScenarioFile *file, const char *variant)
{
    static const char *const NAMES[] = {"base"};
    const SpateStudyOptions options = {.jobs = 2};
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, variant, NULL);
    const SpateScenario *const scenarios[] = {scenario};
    return spate_study_run("run", scenarios, NAMES, 1, &options, NULL);
}

START_TEST(the_same_rules_differ_in_nothing)
{
    g_autoptr(SpateScenarioFile) file = parse("replications: 5");
    g_autoptr(SpateResult) before = earlier(file, "base");
    const SpateCheckOptions options = {.before = before};
    g_autoptr(SpateCheck) check = new_check(file, &options);
    run(&check, 1, 2);
    ck_assert_uint_eq(check->differences->len, 0);
    ck_assert(check->points[0].has_since);
    ck_assert_int_eq(check->points[0].since.kind, SPATE_VERDICT_PASS);
    ck_assert_double_eq(check->points[0].since.mean, 0);
    /* a claim is in no result, and of `open` the earlier result knows nothing */
    ck_assert(!check->points[1].has_since);
    ck_assert(!check->points[2].has_since);
}
END_TEST

/* What is the base now lets less through than what was the base before. */
START_TEST(other_rules_differ_in_what_they_change)
{
    g_autoptr(SpateScenarioFile) file = parse("replications: 5");
    g_autoptr(SpateResult) before = earlier(file, "open");
    const SpateCheckOptions options = {.before = before};
    g_autoptr(SpateCheck) check = new_check(file, &options);
    run(&check, 1, 2);
    bool is_listed = false;
    for (guint i = 0; i < check->differences->len; i++) {
        const SpateDifference *difference = &g_array_index(check->differences, SpateDifference, i);
        bool is_load = difference->row->measure == SPATE_MEASURE_LOAD &&
                       g_strcmp0(difference->row->traffic, "readings") == 0 &&
                       g_strcmp0(difference->row->bearer, "valley") == 0;
        ck_assert(difference->ci95.low > 0 || difference->ci95.high < 0);
        is_listed = is_listed || (is_load && difference->mean < 0);
        ck_assert_int_ne(difference->row->measure, SPATE_MEASURE_MESSAGES);
    }
    ck_assert(is_listed);
}
END_TEST

START_TEST(another_scenario_is_refused)
{
    g_autoptr(SpateScenarioFile) file = parse("replications: 2");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, NULL);
    SpateResult before = {.title = scenario->title,
                          .seed = scenario->seed,
                          .duration_ns = scenario->duration_ns,
                          .warm_up_ns = scenario->warm_up_ns};
    ck_assert(spate_against_is_fit(&before, scenario, NULL));
    g_autoptr(GError) error = NULL;
    before.warm_up_ns = 0;
    ck_assert(!spate_against_is_fit(&before, scenario, &error));
    ck_assert_ptr_nonnull(strstr(error->message, "its warm-up is '0 s', not '60 s'"));
    g_clear_error(&error);
    before.seed = 12;
    ck_assert(!spate_against_is_fit(&before, scenario, &error));
    ck_assert_ptr_nonnull(strstr(error->message, "its seed is '12', not '11'"));
    g_clear_error(&error);
    before.title = NULL;
    ck_assert(!spate_against_is_fit(&before, scenario, &error));
    ck_assert_ptr_nonnull(strstr(error->message, "its title is '', not 'a hut"));
}
END_TEST

CHECK_MAIN("check", threads_and_company_do_not_matter, only_what_is_asked_for_is_run,
           a_seed_and_replications_are_those_given, a_candidate_is_given_up_as_soon_as_it_fails,
           the_early_look_is_at_a_quarter, what_was_not_offered_so_far_is_not_given_up,
           what_never_arrives_is_given_up, a_check_takes_over_what_a_study_has_run,
           a_check_takes_over_other_variants, what_is_stopped_at_once_is_not_judged,
           the_same_rules_differ_in_nothing, other_rules_differ_in_what_they_change,
           another_scenario_is_refused)
