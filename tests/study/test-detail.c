/* test-detail.c - what a report shows agrees with what is measured */
#include "study/detail/detail.h"
#include "support/check-main.h"

#include <math.h>
#include <string.h>

/* Two bearers, a bridge, a relay that drowns now and then, ambient traffic. */
static const char PLAN[] =
    "spate: 1\nseed: 8\nrun: {duration: 20 min, warm-up: 2 min, replications: 4}\n"
    "bearers:\n"
    "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"
    "    propagation: {model: log-distance, exponent: 3, shadowing: 4 dB}}\n"
    "  yard: {kind: dsss, frequency: 2437 MHz, access: {method: csma},\n"
    "    propagation: {model: log-distance, exponent: 2.8}}\n"
    "flooding: {policy: classic}\n"
    "nodes:\n"
    "  far: {at: {x: 2 km, y: 0 m, height: 5 m}, radios: {air: {power: 14 dBm}}, relay: [air]}\n"
    "  gate: {at: {x: 0 m, y: 0 m, height: 5 m}, radios: {air: {power: 14 dBm}, yard: {power: 9 "
    "dBm}}, relay: [air, yard]}\n"
    "  hut: {at: {x: 10 m, y: 9 m, height: 5 m}, radios: {air: {power: 14 dBm}}, relay: [air]}\n"
    "  soil: {count: 9, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 60 m}, height: 1 m},\n"
    "    radios: {yard: {power: 9 dBm}}, relay: [yard]}\n"
    "bridges: {gate: {up: {from: yard, to: air}, down: {from: air, to: yard, rules: [{when: "
    "{class: readings}, do: hold-back}]}}}\n"
    "traffic:\n"
    "  readings: {class: readings, from: soil, to: far, payload: 40 bytes, mean-interval: 20 s}\n"
    "  talk: {class: talk, from: [far, hut], to: [soil, far, hut], payload: 40 bytes,\n"
    "    mean-interval: 20 s}\n"
    "ambient:\n  - {bearer: air, everywhere: yes, power: -100 dBm, busy: 5 %, burst: 200 ms}\n"
    "variants:\n"
    "  quiet: {set: {traffic.readings.mean-interval: 3 min}}\n";

static SpateScenarioFile *file;
static SpateScenario *scenarios[2];
static SpateStudy *study;
static SpateResult *result;
static SpateDetail *detail;

static void
set_up_with(const char *text)
{
    static const char *const NAMES[] = {"base", "quiet"};
    g_autoptr(GError) error = NULL;
    const uint32_t n = 4;
    file = spate_scenario_file_parse("plan", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    for (size_t i = 0; i < 2; i++)
        scenarios[i] = spate_scenario_new(file, NAMES[i], NULL);
    study = spate_study_new((const SpateScenario *const *)scenarios, NAMES, 2, NULL);
    ck_assert(spate_study_keep_detail(study, NULL));
    spate_study_keep_latency(study);
    ck_assert(spate_studies_run(&study, &n, 1, &(SpateStudyOptions){.jobs = 2}, &error));
    result = spate_study_result(study, "compare");
    detail = spate_detail_new(study, 2, &(SpateStudyOptions){.jobs = 2}, NULL);
}

static void
set_up(void)
{
    set_up_with(PLAN);
}

static void
tear_down(void)
{
    spate_detail_free(detail);
    spate_result_free(result);
    spate_study_free(study);
    for (size_t i = 0; i < 2; i++)
        spate_scenario_free(scenarios[i]);
    spate_scenario_file_free(file);
}

/* The row of the result; counts and values over all replications. */
static const SpateResultRow *
row_of(size_t variant, SpateMeasure measure, const char *traffic, const char *bearer)
{
    for (size_t i = 0; i < result->variants[variant].n_rows; i++) {
        const SpateResultRow *row = &result->variants[variant].rows[i];
        if (row->measure == measure && g_strcmp0(row->traffic, traffic) == 0 &&
            g_strcmp0(row->bearer, bearer) == 0 && row->node == NULL && row->bridge == NULL)
            return row;
    }
    ck_abort_msg("no such row");
}

static double
sum(const double *values)
{
    double all = 0;
    for (uint32_t i = 0; i < result->n_replications; i++)
        all += values[i];
    return all;
}

START_TEST(pairs_of_nodes_are_those_of_traffics)
{
    static const char *const TRAFFICS[] = {"readings", "talk"};
    for (size_t v = 0; v < 2; v++) {
        double pairs = 0, delivered = 0, to = 0, got = 0, from = 0, sent = 0;
        for (size_t t = 0; t < 2; t++) {
            const SpateResultRow *row = row_of(v, SPATE_MEASURE_DELIVERY, TRAFFICS[t], NULL);
            pairs += sum(row->ofs);
            delivered += sum(row->counts);
        }
        const SpateDetailVariant *variant = &detail->variants[v];
        for (uint32_t i = 0; i < scenarios[v]->n_nodes; i++) {
            const SpateDetailShare *to_node = &variant->to_node[i];
            const SpateDetailShare *from_node = &variant->from_node[i];
            to += (double)to_node->n_pairs;
            from += (double)from_node->n_pairs;
            got += to_node->n_pairs > 0 ? (double)to_node->n_pairs * to_node->share : 0;
            sent += from_node->n_pairs > 0 ? (double)from_node->n_pairs * from_node->share : 0;
            ck_assert(to_node->n_pairs == 0 || (to_node->ci95.low <= to_node->share &&
                                                to_node->share <= to_node->ci95.high));
        }
        ck_assert_double_eq(to, pairs);
        ck_assert_double_eq(from, pairs);
        ck_assert_double_eq_tol(got, delivered, 1e-6);
        ck_assert_double_eq_tol(sent, delivered, 1e-6);
    }
}
END_TEST

START_TEST(outcomes_of_radios_are_those_of_bearers)
{
    static const SpateMeasure LOST[] = {SPATE_MEASURE_LOST_COLLISION, SPATE_MEASURE_LOST_BUSY,
                                        SPATE_MEASURE_LOST_SENDING, SPATE_MEASURE_LOST_BLOCKED,
                                        SPATE_MEASURE_RECEIVED};
    const SpatePlan *plan = spate_world_plan(detail->variants[0].shown);
    double hours = 18.0 / 60.0 * result->n_replications;
    for (uint32_t b = 0; b < plan->n_bearers; b++) {
        double counts[G_N_ELEMENTS(LOST)] = {0}, audible = 0, redundant = 0, load = 0, n = 0;
        for (uint32_t r = 0; r < plan->n_radios; r++) {
            const SpateDetailRadio *radio = &detail->variants[0].radios[r];
            double its = radio->audible_per_hour * hours;
            const double shares[] = {radio->lost_collision, radio->lost_busy, radio->lost_sending,
                                     radio->lost_blocked, radio->received};
            if (plan->radios[r].bearer != b)
                continue;
            for (size_t k = 0; k < G_N_ELEMENTS(LOST); k++)
                counts[k] += its * shares[k];
            ck_assert_double_eq_tol(shares[0] + shares[1] + shares[2] + shares[3] + shares[4], 1.0,
                                    1e-9);
            audible += its;
            redundant += its * radio->received * radio->redundant;
            load += radio->sending;
            n += radio->transmissions_per_hour * hours;
        }
        const char *name = plan->bearer_names[b];
        for (size_t k = 0; k < G_N_ELEMENTS(LOST); k++)
            ck_assert_double_eq_tol(counts[k], sum(row_of(0, LOST[k], NULL, name)->counts), 1e-6);
        ck_assert_double_eq_tol(audible, sum(row_of(0, SPATE_MEASURE_AUDIBLE, NULL, name)->values),
                                1e-6);
        ck_assert_double_eq_tol(redundant,
                                sum(row_of(0, SPATE_MEASURE_REDUNDANT, NULL, name)->counts), 1e-6);
        ck_assert_double_eq_tol(load, row_of(0, SPATE_MEASURE_LOAD, NULL, name)->mean, 1e-9);
        ck_assert_double_eq_tol(n, sum(row_of(0, SPATE_MEASURE_TRANSMISSIONS, NULL, name)->values),
                                1e-6);
    }
}
END_TEST

START_TEST(disturbers_account_for_what_is_lost)
{
    const SpateDetailVariant *variant = &detail->variants[0];
    const SpatePlan *plan = spate_world_plan(variant->shown);
    g_autofree double *lost = g_new0(double, plan->n_radios);
    bool has_ambient = false;
    for (guint i = 0; i < variant->disturbers->len; i++) {
        const SpateDetailDisturber *its =
            &g_array_index(variant->disturbers, SpateDetailDisturber, i);
        lost[its->receiver] += its->share;
        ck_assert_double_eq_tol(its->share, its->collision + its->busy + its->blocked, 1e-12);
        ck_assert(its->share <= 1.0 && its->share > 0.0);
        has_ambient = has_ambient || its->blame == SPATE_BLAME_AMBIENT;
    }
    ck_assert(has_ambient);
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        const SpateDetailRadio *radio = &variant->radios[r];
        double all = radio->lost_collision + radio->lost_busy + radio->lost_blocked;
        ck_assert_double_le(lost[r], all + 1e-9);
        /* on air there are no more than five senders */
        if (plan->radios[r].bearer == 0)
            ck_assert_double_eq_tol(lost[r], all, 1e-9);
    }
}
END_TEST

/* The timeline counts what began in the warm-up too. */
START_TEST(the_timeline_adds_up_to_the_load)
{
    const SpateDetailVariant *variant = &detail->variants[1];
    const SpatePlan *plan = spate_world_plan(variant->shown);
    for (uint32_t b = 0; b < plan->n_bearers; b++) {
        double all = 0, parts = 0;
        for (uint32_t step = 20; step < SPATE_DETAIL_STEPS; step++) {
            all += variant->timeline[b].mean[step];
            for (uint32_t t = 0; t < plan->n_traffics; t++)
                parts +=
                    variant
                        ->airtime[((size_t)b * plan->n_traffics + t) * SPATE_DETAIL_STEPS + step];
        }
        double load = row_of(1, SPATE_MEASURE_LOAD, NULL, plan->bearer_names[b])->mean;
        ck_assert_double_eq_tol(parts, all, 1e-9);
        ck_assert_double_eq_tol(all / 180.0, load, 0.005 * load + 1e-6);
    }
    ck_assert_int_eq(detail->step_ns, INT64_C(6000000000));
}
END_TEST

START_TEST(latencies_are_those_of_deliveries)
{
    const SpateDetailVariant *variant = &detail->variants[0];
    const SpatePlan *plan = spate_world_plan(variant->shown);
    for (uint32_t t = 0; t < plan->n_traffics; t++) {
        double n = 0, hops = 0;
        const uint64_t *counts =
            &variant->latency[(size_t)t * SPATE_DETAIL_HOPS * SPATE_LATENCY_BINS];
        for (uint32_t h = 0; h < SPATE_DETAIL_HOPS; h++)
            for (uint32_t bin = 0; bin < SPATE_LATENCY_BINS; bin++) {
                double its = (double)counts[h * SPATE_LATENCY_BINS + bin];
                n += its;
                hops += its * (h + 1);
            }
        const char *name = plan->traffics[t].name;
        ck_assert_double_eq(n, sum(row_of(0, SPATE_MEASURE_DELIVERY, name, NULL)->counts));
        /* the mean over replications, which have about as many deliveries each */
        ck_assert_double_eq_tol(hops / n, row_of(0, SPATE_MEASURE_HOPS_MEAN, name, NULL)->mean,
                                0.05);
    }
}
END_TEST

/* The details tell it by hops too. */
START_TEST(latencies_of_a_result_are_those_of_its_details)
{
    for (size_t v = 0; v < 2; v++) {
        const SpateResultVariant *variant = &result->variants[v];
        ck_assert_uint_eq(variant->n_latencies, 2);
        for (size_t i = 0; i < 2 * SPATE_LATENCY_BINS; i++) {
            size_t t = i / SPATE_LATENCY_BINS, bin = i % SPATE_LATENCY_BINS;
            uint64_t n = 0;
            for (size_t h = 0; h < SPATE_DETAIL_HOPS; h++)
                n += detail->variants[v]
                         .latency[(t * SPATE_DETAIL_HOPS + h) * SPATE_LATENCY_BINS + bin];
            ck_assert_uint_eq(variant->latencies[t].bins[bin], n);
        }
    }
    ck_assert_str_eq(result->variants[0].latencies[0].traffic,
                     spate_world_plan(detail->variants[0].shown)->traffics[0].name);
}
END_TEST

START_TEST(bins_begin_at_twentieths_of_a_decade)
{
    ck_assert_uint_eq(spate_latency_bin(0), 0);
    ck_assert_uint_eq(spate_latency_bin(999999), 0);
    ck_assert_uint_eq(spate_latency_bin(1000000), 0);
    ck_assert_uint_eq(spate_latency_bin(1122019), 1);
    ck_assert_uint_eq(spate_latency_bin(1122018), 0);
    ck_assert_uint_eq(spate_latency_bin(INT64_C(1000000000)), 60);
    ck_assert_uint_eq(spate_latency_bin(INT64_MAX), SPATE_LATENCY_BINS - 1);
}
END_TEST

/* The loss between two nodes far apart, by hand: free space at 1 m (31.23 dB) and 30 lg d. */
START_TEST(links_are_those_of_the_budget)
{
    const SpateDetailVariant *variant = &detail->variants[0];
    const SpatePlan *plan = spate_world_plan(variant->shown);
    for (guint i = 0; i < variant->links->len; i++) {
        const SpateDetailLink *link = &g_array_index(variant->links, SpateDetailLink, i);
        ck_assert_uint_lt(link->from, link->to);
        ck_assert_uint_eq(plan->radios[link->from].bearer, plan->radios[link->to].bearer);
        if (strcmp(plan->nodes[plan->radios[link->from].node].name, "far") != 0 ||
            strcmp(plan->nodes[plan->radios[link->to].node].name, "gate") != 0)
            continue;
        double loss_db = 20.0 * log10(4.0 * G_PI * 869.5e6 / 299792458.0) + 30.0 * log10(2000.0);
        ck_assert_double_eq_tol(link->margin_db, 14.0 - loss_db + 129.53, 0.02);
        return;
    }
    ck_abort_msg("far and gate hear each other");
}
END_TEST

START_TEST(messages_are_followed_in_every_variant)
{
    ck_assert_uint_ge(detail->messages->len, 3);
    bool has_missed = false, has_reached = false;
    for (guint i = 0; i < detail->messages->len; i++) {
        const SpateDetailMessage *message = &g_array_index(detail->messages, SpateDetailMessage, i);
        const SpateMessageTrace *trace = detail->variants[0].replay[i];
        ck_assert_ptr_nonnull(trace);
        ck_assert_int_eq(trace->offered_ns, message->offered_ns);
        ck_assert_int_ge(message->offered_ns, INT64_C(120000000000));
        guint n_delivered = 0;
        for (guint k = 0; k < trace->steps->len; k++)
            n_delivered += spate_message_trace_step(trace, k)->kind == SPATE_EVENT_DELIVERED;
        guint n_pairs = trace->wanted.traffic == 0 ? 1 : 10;
        has_missed = has_missed || message->why == SPATE_CHOSEN_MISSED_SOME;
        has_reached = has_reached || message->why == SPATE_CHOSEN_REACHED_ALL;
        if (message->why == SPATE_CHOSEN_REACHED_ALL)
            ck_assert_uint_eq(n_delivered, n_pairs);
        else
            ck_assert_uint_lt(n_delivered, n_pairs);
    }
    ck_assert(has_missed && has_reached);
    /* both variants offer the same talk at the same time */
    for (guint i = 0; i < detail->messages->len; i++)
        if (strcmp(g_array_index(detail->messages, SpateDetailMessage, i).traffic, "talk") == 0)
            ck_assert_int_eq(detail->variants[1].replay[i]->offered_ns,
                             detail->variants[0].replay[i]->offered_ns);
}
END_TEST

/* One never comes back, one is back before messages count, one is down for nearly all the rest. */
START_TEST(a_message_knows_who_is_down_meanwhile)
{
    tear_down();
    g_autofree char *text = g_strconcat(PLAN, "outages:\n  - {node: soil-1, at: 9 s, for: 1 day}\n",
                                        "  - {node: soil-2, at: 10 s, for: 5 s}\n",
                                        "  - {node: soil-3, at: 119 s, for: 1000 s}\n", NULL);
    set_up_with(text);
    for (guint i = 0; i < detail->messages->len; i++) {
        const SpateMessageTrace *trace = detail->variants[0].replay[i];
        g_autoptr(GArray) outages = spate_message_trace_outages(trace);
        const SpateTraceOutage *its = (const SpateTraceOutage *)(const void *)outages->data;

        ck_assert_int_lt(trace->offered_ns, INT64_C(1119000000000));
        ck_assert_uint_eq(outages->len, 2);
        for (guint k = 0; k < 2; k++) {
            bool is_first = its[k].until_ns == INT64_MAX;
            ck_assert_str_eq(trace->plan->nodes[its[k].node].name, is_first ? "soil-1" : "soil-3");
            ck_assert_int_eq(its[k].from_ns,
                             is_first ? INT64_C(9000000000) : INT64_C(119000000000));
            ck_assert(is_first || its[k].until_ns == INT64_C(1119000000000));
        }
        ck_assert_int_ne(its[0].node, its[1].node);
    }
}
END_TEST

/* What is in doubt gives other replications other nodes: those of the first are shown. */
START_TEST(nodes_that_come_and_go_are_counted_by_name)
{
    tear_down();
    g_autofree char *text = g_strconcat(PLAN, "doubt: {nodes.soil.count: [3, 12]}\n", NULL);
    set_up_with(text);
    const SpatePlan *plan = spate_world_plan(detail->variants[0].shown);
    g_autoptr(SpateScenario) first = spate_scenario_redraw(scenarios[0], 0, NULL);
    ck_assert_uint_eq(plan->n_nodes, first->n_nodes);
    double pairs = 0;
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        if (strcmp(plan->nodes[i].name, "far") == 0)
            pairs = (double)detail->variants[0].to_node[i].n_pairs;
    /* far gets readings from every sensor of every draw, and talk from hut */
    double readings = sum(row_of(0, SPATE_MEASURE_DELIVERY, "readings", NULL)->ofs);
    ck_assert_double_gt(pairs, readings);
}
END_TEST

int
main(void)
{
    TCase *cases = tcase_create("detail");
    tcase_add_checked_fixture(cases, set_up, tear_down);
    tcase_set_timeout(cases, 60);
    tcase_add_test(cases, pairs_of_nodes_are_those_of_traffics);
    tcase_add_test(cases, outcomes_of_radios_are_those_of_bearers);
    tcase_add_test(cases, disturbers_account_for_what_is_lost);
    tcase_add_test(cases, the_timeline_adds_up_to_the_load);
    tcase_add_test(cases, latencies_are_those_of_deliveries);
    tcase_add_test(cases, latencies_of_a_result_are_those_of_its_details);
    tcase_add_test(cases, bins_begin_at_twentieths_of_a_decade);
    tcase_add_test(cases, links_are_those_of_the_budget);
    tcase_add_test(cases, messages_are_followed_in_every_variant);
    tcase_add_test(cases, a_message_knows_who_is_down_meanwhile);
    tcase_add_test(cases, nodes_that_come_and_go_are_counted_by_name);
    Suite *suite = suite_create("detail");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
