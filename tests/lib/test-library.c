/* test-library.c - what a program can do with libspate and nothing else */
#include "study/small-scenario.h"
#include "support/check-main.h"

#include <glib/gstdio.h>
#include <math.h>
#include <spate/spate.h>
#include <string.h>

static SpateFile *file;

static void
set_up(void)
{
    g_autoptr(GError) error = NULL;
    file = spate_file_parse("small.yaml", SMALL_SCENARIO, NULL, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
}

static void
tear_down(void)
{
    spate_file_free(file);
}

START_TEST(a_file_tells_its_variants)
{
    const char *const *variants = spate_file_variants(file);
    ck_assert_str_eq(variants[0], "open");
    ck_assert_ptr_null(variants[1]);
}
END_TEST

START_TEST(a_file_on_disk_reads_like_a_text)
{
    g_autofree char *path = NULL;
    int descriptor = g_file_open_tmp("spate-XXXXXX.yaml", &path, NULL);
    ck_assert_int_ge(descriptor, 0);
    ck_assert(g_file_set_contents(path, SMALL_SCENARIO, -1, NULL));
    g_autoptr(SpateFile) from_disk = spate_file_load(path, NULL, NULL);
    ck_assert_ptr_nonnull(from_disk);
    ck_assert_str_eq(spate_file_variants(from_disk)[0], "open");
    g_close(descriptor, NULL);
    g_remove(path);
}
END_TEST

START_TEST(errors_say_which_kind_they_are)
{
    g_autoptr(GError) unreadable = NULL;
    ck_assert_ptr_null(spate_file_load("/nonexistent/mesh.yaml", NULL, &unreadable));
    ck_assert(g_error_matches(unreadable, SPATE_ERROR, SPATE_ERROR_UNREADABLE));

    g_autoptr(GError) bad = NULL;
    ck_assert_ptr_null(spate_file_parse("bad.yaml", "spate: 1\nbearer: {}\n", NULL, &bad));
    ck_assert(g_error_matches(bad, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO));
    ck_assert_ptr_nonnull(strstr(bad->message, "bad.yaml:2:1"));

    g_autoptr(GError) unknown = NULL;
    ck_assert_ptr_null(spate_model_new(file, "closed", &unknown));
    ck_assert(g_error_matches(unknown, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO));

    g_autoptr(GError) setting = NULL;
    const char *const settings[] = {"run.duration", NULL};
    ck_assert_ptr_null(spate_file_parse("small.yaml", SMALL_SCENARIO, settings, &setting));
    ck_assert(g_error_matches(setting, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO));
}
END_TEST

START_TEST(settings_change_values)
{
    const char *const settings[] = {"run.duration=30 min", "nodes.soil.count=3", NULL};
    g_autoptr(SpateFile) changed = spate_file_parse("small.yaml", SMALL_SCENARIO, settings, NULL);
    g_autoptr(SpateModel) model = spate_model_new(changed, NULL, NULL);
    ck_assert_int_eq(spate_model_duration_ns(model), INT64_C(1800000000000));
    ck_assert_uint_eq(spate_model_count(model, SPATE_NAMED_NODE), 6);
}
END_TEST

START_TEST(a_model_names_its_parts_in_alphabetical_order)
{
    g_autoptr(SpateModel) model = spate_model_new(file, "base", NULL);
    ck_assert_uint_eq(spate_model_count(model, SPATE_NAMED_NODE), 15);
    ck_assert_str_eq(spate_model_name(model, SPATE_NAMED_NODE, 0), "gate");
    ck_assert_uint_eq(spate_model_count(model, SPATE_NAMED_BEARER), 2);
    ck_assert_str_eq(spate_model_name(model, SPATE_NAMED_BEARER, 1), "yard");
    ck_assert_str_eq(spate_model_name(model, SPATE_NAMED_TRAFFIC, 0), "readings");
    ck_assert_str_eq(spate_model_name(model, SPATE_NAMED_BRIDGE, 0), "gate");
    ck_assert_uint_eq(spate_model_replications(model), 6);
    ck_assert_int_eq(spate_model_warm_up_ns(model), INT64_C(60000000000));
}
END_TEST

/* What an observer saw of the time after the warm-up. */
typedef struct {
    const SpateModel *model;
    int64_t warm_up_ns, last_ns;
    double messages, deliveries;
    double started;
    double audible, received;
    double decoded, refused;
} Seen;

static void
see_outcomes(Seen *seen, const SpateEvent *event)
{
    ck_assert_int_eq(event->at_ns - event->frame->started_ns, event->frame->airtime_ns);
    for (size_t i = 0; i < event->n_receptions; i++) {
        const SpateReception *reception = &event->receptions[i];
        ck_assert_double_lt(spate_reception_level_dbm(event, i), 0.0);
        seen->audible += 1.0;
        seen->received += reception->outcome == SPATE_OUTCOME_RECEIVED;
        ck_assert_uint_eq(spate_model_bearer_of(seen->model, reception->receiver), 0);
        ck_assert(reception->outcome != SPATE_OUTCOME_RECEIVED ||
                  reception->disturber == SPATE_NO_DISTURBER);
        if (reception->outcome == SPATE_OUTCOME_LOST_BUSY)
            ck_assert_uint_eq(spate_model_bearer_of(seen->model, reception->disturber), 0);
    }
}

static void
see_decision(Seen *seen, const SpateEvent *event)
{
    if (event->decision != SPATE_DECISION_HELD_BACK || event->at_ns < seen->warm_up_ns)
        return;
    ck_assert_str_eq(spate_model_name(seen->model, SPATE_NAMED_CROSSING, event->crossing), "up");
    ck_assert_uint_eq(spate_model_bridge_of(seen->model, event->crossing), 0);
    ck_assert_uint_eq(event->rule, 0);
    ck_assert_uint_gt(event->rule_line, 0);
    seen->refused += 1.0;
}

static void
see(void *self, const SpateEvent *event)
{
    Seen *seen = self;
    ck_assert_int_ge(event->at_ns, seen->last_ns);
    seen->last_ns = event->at_ns;
    bool counts = event->message->offered_ns >= seen->warm_up_ns && event->message->traffic == 1;
    bool is_late_on_valley = event->frame != NULL && event->frame->started_ns >= seen->warm_up_ns &&
                             spate_model_bearer_of(seen->model, event->radio) == 0;
    if (event->frame != NULL || event->kind == SPATE_EVENT_DECIDED)
        ck_assert_uint_eq(spate_model_node_of(seen->model, event->radio), event->node);
    switch (event->kind) {
    case SPATE_EVENT_OFFERED:
        seen->messages += counts;
        break;
    case SPATE_EVENT_DELIVERED:
        seen->deliveries += counts;
        break;
    case SPATE_EVENT_STARTED:
        seen->started += is_late_on_valley;
        break;
    case SPATE_EVENT_ENDED:
        if (is_late_on_valley)
            see_outcomes(seen, event);
        break;
    case SPATE_EVENT_ARRIVED:
    case SPATE_EVENT_REDUNDANT:
    case SPATE_EVENT_TRIED:
    case SPATE_EVENT_ANSWERED:
    case SPATE_EVENT_ACKNOWLEDGED:
    case SPATE_EVENT_ROUTE_LEARNED:
    case SPATE_EVENT_ROUTE_DROPPED:
        seen->decoded += is_late_on_valley;
        break;
    case SPATE_EVENT_DECIDED:
        see_decision(seen, event);
        break;
    case SPATE_EVENT_DIGESTED:
        ck_abort_msg("no rule makes digests");
        break;
    case SPATE_EVENT_WENT_DOWN:
    case SPATE_EVENT_CAME_BACK:
        ck_abort_msg("no node fails");
        break;
    case SPATE_EVENT_MOVED:
        ck_abort_msg("no node moves");
        break;
    case SPATE_EVENT_QUEUED:
    case SPATE_EVENT_DROPPED:
        break;
    }
}

static double
value(const SpateModel *model, const SpateReplication *replication, SpateRowNames names)
{
    size_t row = 0;
    ck_assert(spate_model_find_row(model, &names, &row));
    return spate_replication_value(replication, row);
}

START_TEST(events_and_measures_tell_the_same)
{
    g_autoptr(SpateModel) model = spate_model_new(file, NULL, NULL);
    Seen seen = {.model = model, .warm_up_ns = spate_model_warm_up_ns(model)};
    /* Bits that are no kinds ask for nothing. */
    const SpateObserver observer = {UINT32_MAX, see, &seen};
    g_autoptr(SpateReplication) run = spate_replicate(model, 3, &observer, NULL, NULL);
    ck_assert_ptr_nonnull(run);
    ck_assert_double_eq(
        value(model, run, (SpateRowNames){.measure = "messages", .traffic = "talk"}),
        seen.messages);
    ck_assert_double_eq_tol(
        value(model, run, (SpateRowNames){.measure = "delivery", .traffic = "talk"}),
        seen.deliveries / (2.0 * seen.messages), 1e-12);
    ck_assert_double_eq(
        value(model, run, (SpateRowNames){.measure = "transmissions", .bearer = "valley"}),
        seen.started);
    ck_assert_double_eq(
        value(model, run, (SpateRowNames){.measure = "audible", .bearer = "valley"}), seen.audible);
    ck_assert_double_eq_tol(
        value(model, run, (SpateRowNames){.measure = "received", .bearer = "valley"}),
        seen.received / seen.audible, 1e-12);
    ck_assert_double_eq(
        value(model, run, (SpateRowNames){.measure = "held-back", .bridge = "gate"}), seen.refused);
    ck_assert_double_gt(seen.refused, 0.0);
    ck_assert_double_eq(seen.decoded, seen.received);
}

static void
count_carried(void *self, const SpateEvent *event)
{
    double *n_carried = self;
    ck_assert_int_eq(event->kind, SPATE_EVENT_DIGESTED);
    ck_assert_uint_ge(event->n_carried, 1);
    ck_assert_uint_lt(event->carried[0], event->message->number);
    ck_assert_uint_eq(event->message->payload_bytes, 24 * event->n_carried);
    *n_carried += (double)event->n_carried;
}

START_TEST(digests_tell_what_they_carry)
{
    static const char *const set[] = {
        "bridges.gate.up.rules=[{when: {class: readings}, do: {digest: {every: 1 min}}}]", NULL};
    g_autoptr(SpateFile) with_digests = spate_file_parse("small", SMALL_SCENARIO, set, NULL);
    ck_assert_ptr_nonnull(with_digests);
    g_autoptr(SpateModel) model = spate_model_new(with_digests, NULL, NULL);
    double n_carried = 0.0;
    const SpateObserver observer = {SPATE_EVENT_DIGESTED, count_carried, &n_carried};
    g_autoptr(SpateReplication) run = spate_replicate(model, 0, &observer, NULL, NULL);
    ck_assert_ptr_nonnull(run);
    ck_assert_double_gt(n_carried, 50.0);
}
END_TEST

START_TEST(watching_does_not_change_a_run)
{
    g_autoptr(SpateModel) model = spate_model_new(file, NULL, NULL);
    Seen seen = {.model = model};
    const SpateObserver observer = {SPATE_ALL_EVENTS, see, &seen};
    g_autoptr(SpateReplication) watched = spate_replicate(model, 0, &observer, NULL, NULL);
    g_autoptr(SpateReplication) alone = spate_replicate(model, 0, NULL, NULL, NULL);
    for (size_t i = 0; i < spate_model_n_rows(model); i++) {
        double a = spate_replication_value(watched, i), b = spate_replication_value(alone, i);
        ck_assert(a == b || (isnan(a) && isnan(b)));
    }
}
END_TEST

static void
stop(void *self, const SpateEvent *event)
{
    *(volatile int *)self = 1;
}

START_TEST(an_observer_can_stop_the_run)
{
    g_autoptr(SpateModel) model = spate_model_new(file, NULL, NULL);
    g_autoptr(GError) error = NULL;
    volatile int is_stopped = 0;
    const SpateObserver observer = {SPATE_EVENT_DELIVERED, stop, (void *)&is_stopped};
    ck_assert_ptr_null(spate_replicate(model, 0, &observer, &is_stopped, &error));
    ck_assert(g_error_matches(error, SPATE_ERROR, SPATE_ERROR_STOPPED));
    ck_assert_int_eq(is_stopped, 1);
}
END_TEST

START_TEST(a_summary_compares_variants)
{
    SpateSummaryOptions options = {.replications = 4, .jobs = 2};
    g_autoptr(SpateSummary) summary = spate_summarise(file, NULL, &options, NULL);
    ck_assert_uint_eq(spate_summary_n_replications(summary), 4);
    ck_assert_uint_eq(spate_summary_n_variants(summary), 2);
    ck_assert_str_eq(spate_summary_variant(summary, 0), "base");
    ck_assert_str_eq(spate_summary_variant(summary, 1), "open");
    bool found = false;
    for (size_t i = 0; i < spate_summary_n_differences(summary); i++) {
        SpateSummaryDifference difference = spate_summary_difference(summary, i);
        ck_assert_str_eq(difference.variant, "open");
        ck_assert_str_eq(difference.versus, "base");
        if (g_str_equal(difference.names.measure, "load") &&
            g_strcmp0(difference.names.bearer, "valley") == 0 && difference.names.traffic == NULL) {
            ck_assert_double_gt(difference.low, 0.0);
            ck_assert_uint_eq(difference.n, 4);
            found = true;
        }
    }
    ck_assert(found);
}
END_TEST

START_TEST(a_summary_of_one_variant_is_that_of_its_runs)
{
    const char *const variants[] = {"open", NULL};
    SpateSummaryOptions options = {.replications = 2};
    g_autoptr(SpateSummary) summary = spate_summarise(file, variants, &options, NULL);
    g_autoptr(SpateModel) model = spate_model_new(file, "open", NULL);
    g_autoptr(SpateReplication) second = spate_replicate(model, 1, NULL, NULL, NULL);
    ck_assert_uint_eq(spate_summary_n_differences(summary), 0);
    ck_assert_uint_eq(spate_summary_n_rows(summary, 0), spate_model_n_rows(model));
    for (size_t i = 0; i < spate_model_n_rows(model); i++) {
        SpateSummaryRow row = spate_summary_row(summary, 0, i);
        double expected = spate_replication_value(second, i);
        ck_assert(row.values[1] == expected || (isnan(row.values[1]) && isnan(expected)));
        ck_assert_str_eq(row.names.measure, spate_model_row(model, i).measure);
    }
}
END_TEST

START_TEST(a_summary_of_one_layout_says_so)
{
    const char *const settings[] = {"nodes.soil.place.redraw=once", NULL};
    const char *const variants[] = {"base", NULL};
    SpateSummaryOptions options = {.replications = 1};
    g_autoptr(SpateSummary) redrawn = spate_summarise(file, variants, &options, NULL);
    g_autoptr(SpateFile) held = spate_file_parse("small.yaml", SMALL_SCENARIO, settings, NULL);
    g_autoptr(SpateSummary) summary = spate_summarise(held, variants, &options, NULL);
    ck_assert(!spate_summary_is_of_one_layout(redrawn));
    ck_assert(spate_summary_is_of_one_layout(summary));
}
END_TEST

START_TEST(a_summary_can_be_stopped)
{
    volatile int stop = 1;
    SpateSummaryOptions options = {.stop = &stop};
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(spate_summarise(file, NULL, &options, &error));
    ck_assert(g_error_matches(error, SPATE_ERROR, SPATE_ERROR_STOPPED));
}
END_TEST

static SpateFile *
file_that_expects(const char *expect)
{
    const char *const settings[] = {expect, "size={vary: nodes.soil.count, from: 1, to: 3}", NULL};
    g_autoptr(GError) error = NULL;
    SpateFile *expecting = spate_file_parse("small.yaml", SMALL_SCENARIO, settings, &error);
    ck_assert_msg(expecting != NULL, "%s", error != NULL ? error->message : "");
    return expecting;
}

START_TEST(a_summary_is_written_as_a_result)
{
    SpateSummaryOptions options = {.replications = 2};
    g_autoptr(SpateSummary) summary = spate_summarise(file, NULL, &options, NULL);
    g_autofree char *json = spate_summary_json(summary);
    ck_assert(g_str_has_prefix(json, "{\"format\": \"spate-result/1\""));
    ck_assert_ptr_nonnull(strstr(json, "\"differences\": ["));
}
END_TEST

START_TEST(expectations_are_judged)
{
    g_autoptr(SpateFile) expecting =
        file_that_expects("expect=[{measure: occupancy, bearer: valley, at-most: 99 %}, "
                          "{measure: occupancy, bearer: valley, at-least: 99 %}]");
    g_autoptr(SpateVerdicts) verdicts = spate_verdicts_new(expecting, NULL, NULL);
    ck_assert_uint_eq(spate_verdicts_count(verdicts), 2);
    SpateExpected first = spate_verdicts_get(verdicts, 0);
    SpateExpected second = spate_verdicts_get(verdicts, 1);
    ck_assert_int_eq(first.verdict, SPATE_EXPECTED_PASS);
    ck_assert_int_eq(second.verdict, SPATE_EXPECTED_FAIL);
    ck_assert_str_eq(second.expectation, "occupancy on valley is at least 99 %");
    ck_assert(first.low <= first.mean && first.mean <= first.high);
    ck_assert_uint_eq(first.n, spate_verdicts_n_replications(verdicts));
    ck_assert_ptr_nonnull(strstr(first.finding, "95 % interval"));
    g_autofree char *json = spate_verdicts_json(verdicts, true);
    ck_assert_ptr_nonnull(strstr(json, "\"passed\": 1, \"failed\": 1"));
}
END_TEST

START_TEST(values_are_sized)
{
    g_autoptr(SpateFile) expecting =
        file_that_expects("expect=[{measure: occupancy, bearer: valley, at-most: 99 %}]");
    SpateSummaryOptions options = {.replications = 2};
    g_autoptr(SpateSizing) sizing = spate_sizing_new(expecting, &options, NULL);
    ck_assert_uint_eq(spate_sizing_n_bands(sizing), 1);
    SpateSizingBand band = spate_sizing_band(sizing, 0);
    ck_assert_int_eq(band.answer, SPATE_BAND_MEETS);
    ck_assert_str_eq(band.from, "1");
    ck_assert_str_eq(band.to, "3");
    g_autofree char *json = spate_sizing_json(sizing);
    ck_assert(g_str_has_prefix(json, "{\"format\": \"spate-size/1\""));
}
END_TEST

START_TEST(what_nothing_is_expected_of_cannot_be_sized)
{
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(spate_sizing_new(file, NULL, &error));
    ck_assert(g_error_matches(error, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO));
    g_autoptr(SpateVerdicts) verdicts = spate_verdicts_new(file, NULL, NULL);
    ck_assert_uint_eq(spate_verdicts_count(verdicts), 0);
}
END_TEST

int
main(void)
{
    TCase *cases = tcase_create("library");
    tcase_add_checked_fixture(cases, set_up, tear_down);
    tcase_set_timeout(cases, 60);
    tcase_add_test(cases, a_file_tells_its_variants);
    tcase_add_test(cases, a_file_on_disk_reads_like_a_text);
    tcase_add_test(cases, errors_say_which_kind_they_are);
    tcase_add_test(cases, settings_change_values);
    tcase_add_test(cases, a_model_names_its_parts_in_alphabetical_order);
    tcase_add_test(cases, events_and_measures_tell_the_same);
    tcase_add_test(cases, digests_tell_what_they_carry);
    tcase_add_test(cases, watching_does_not_change_a_run);
    tcase_add_test(cases, an_observer_can_stop_the_run);
    tcase_add_test(cases, a_summary_compares_variants);
    tcase_add_test(cases, a_summary_of_one_variant_is_that_of_its_runs);
    tcase_add_test(cases, a_summary_of_one_layout_says_so);
    tcase_add_test(cases, a_summary_can_be_stopped);
    tcase_add_test(cases, a_summary_is_written_as_a_result);
    tcase_add_test(cases, expectations_are_judged);
    tcase_add_test(cases, values_are_sized);
    tcase_add_test(cases, what_nothing_is_expected_of_cannot_be_sized);
    Suite *suite = suite_create("library");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
