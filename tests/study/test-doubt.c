/* test-doubt.c - verdicts on what nobody knows */
#include "study/advise/advise-disturbers.h"
#include "study/advise/advise-relays.h"
#include "study/advise/advise.h"
#include "study/judge/size.h"
#include "support/check-main.h"

#include <math.h>
#include <string.h>

/* ---- by hand --------------------------------------------------------------------------------- */

#define N 20

/* A result of one variant with two inputs: the first goes up, the second down and up. */
static SpateResult *
new_result(void)
{
    SpateResult *result = g_new0(SpateResult, 1);
    result->n_replications = N;
    result->n_variants = 1;
    result->variants = g_new0(SpateResultVariant, 1);
    result->variants[0].is_drawn = g_new(bool, 2);
    result->drawn = g_new0(SpateDrawn, 2);
    result->n_drawn = 2;
    for (size_t k = 0; k < 2; k++) {
        result->variants[0].is_drawn[k] = true;
        result->drawn[k].path = g_strdup(k == 0 ? "nodes.a.height" : "nodes.b.height");
        result->drawn[k].unit = g_strdup("m");
        result->drawn[k].values = g_new(double, N);
        for (uint32_t i = 0; i < N; i++)
            result->drawn[k].values[i] = k == 0 ? i : (i * 7) % N;
    }
    return result;
}

START_TEST(the_input_that_decides_is_found_with_its_threshold)
{
    g_autoptr(SpateResult) result = new_result();
    double measured[N], held[N];
    for (uint32_t i = 0; i < N; i++) {
        measured[i] = 1.0 - 0.01 * i;
        held[i] = i < 13 && i != 4;
    }
    g_autoptr(SpateDoubtVerdict) verdict = spate_doubt_judge(result, 0, 0, measured, held);
    ck_assert_uint_eq(verdict->n, N);
    ck_assert_uint_eq(verdict->n_held, 12);
    const SpateDoubtEffect *first = &verdict->effects[0], *second = &verdict->effects[1];
    ck_assert_double_eq(first->correlation, -1.0);
    ck_assert(first->is_detectable && first->flips && first->holds_below);
    ck_assert_double_eq(first->from, 12.0);
    ck_assert_double_eq(first->to, 13.0);
    ck_assert_uint_eq(first->n_wrong, 1);
    ck_assert(!second->is_detectable && !second->flips);
}
END_TEST

START_TEST(a_verdict_may_hold_above_and_where_it_always_holds_nothing_flips)
{
    g_autoptr(SpateResult) result = new_result();
    double measured[N], held[N], all[N];
    for (uint32_t i = 0; i < N; i++) {
        measured[i] = i;
        held[i] = i >= 5;
        all[i] = 1;
    }
    g_autoptr(SpateDoubtVerdict) verdict = spate_doubt_judge(result, 0, 0, measured, held);
    ck_assert(verdict->effects[0].flips && !verdict->effects[0].holds_below);
    ck_assert_double_eq(verdict->effects[0].from, 4.0);
    ck_assert_uint_eq(verdict->effects[0].n_wrong, 0);
    g_autoptr(SpateDoubtVerdict) always = spate_doubt_judge(result, 0, 0, measured, all);
    ck_assert(always->effects[0].is_detectable && !always->effects[0].flips);
    ck_assert_double_gt(always->ci95.low, 0.8);
}
END_TEST

/* Draws without a value are left out; a handful tells nothing of any input. */
START_TEST(few_draws_tell_of_no_input)
{
    g_autoptr(SpateResult) result = new_result();
    double measured[N], held[N];
    for (uint32_t i = 0; i < N; i++) {
        measured[i] = i < SPATE_LEAST_DRAWS - 1 ? (double)i : (double)NAN;
        held[i] = i < SPATE_LEAST_DRAWS - 1 ? (double)(i > 3) : (double)NAN;
    }
    g_autoptr(SpateDoubtVerdict) verdict = spate_doubt_judge(result, 0, 0, measured, held);
    ck_assert_uint_eq(verdict->n, SPATE_LEAST_DRAWS - 1);
    ck_assert(!verdict->effects[0].is_detectable && !verdict->effects[0].flips);
    result->variants[0].is_drawn[0] = result->variants[0].is_drawn[1] = false;
    ck_assert_ptr_null(spate_doubt_judge(result, 0, 0, measured, held));
}
END_TEST

/* Of inputs that do nothing, at most one in twenty results may tell of one or more (Holm): of 2000
 * results 100 are expected, with a standard deviation of at most 10. */
START_TEST(chance_is_told_as_seldom_as_it_may)
{
    g_autoptr(SpateResult) result = new_result();
    uint32_t n_told = 0, n_flips = 0;
    for (uint32_t turn = 0; turn < 2000; turn++) {
        double measured[N], held[N];
        for (uint32_t i = 0; i < N; i++) {
            measured[i] = spate_doubt_value(
                &(SpateDoubt){.path = (char *)(uintptr_t) "measured", .high = 1}, turn, i);
            held[i] = measured[i] > 0.4;
        }
        g_autoptr(SpateDoubtVerdict) verdict = spate_doubt_judge(result, 0, 0, measured, held);
        n_told += verdict->effects[0].is_detectable || verdict->effects[1].is_detectable;
        n_flips += verdict->effects[0].flips || verdict->effects[1].flips;
    }
    ck_assert_uint_le(n_told, 140);
    ck_assert_uint_ge(n_told, 50);
    ck_assert_uint_le(n_flips, 140);
}
END_TEST

/* ---- by running ------------------------------------------------------------------------------ */

/* A lone LoRa frame at 869.5 MHz, 125 kHz, spreading factor 9 is decoded from -129.53 dBm on: -174
 * dBm/Hz + 50.97 dB Hz + 6 dB - 12.5 dB (SX1276 data sheet, table 13).  With 14 dBm over 3 km,
 * where the loss is that of free space at 1 m (31.23 dB, ITU-R P.525) and 10 n lg 3000 further,
 * that is up to n = 3.230. */
#define PAIR                                                                                       \
    "spate: 1\ntitle: a pair\nseed: 2\nrun: {duration: 10 min, replications: 40}\n"                \
    "bearers:\n  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz,\n"                    \
    "    spreading-factor: 9, propagation: {model: log-distance, exponent: 3}}\n"                  \
    "flooding: {policy: classic}\n"                                                                \
    "nodes:\n  a: {at: {x: 0 m, y: 0 m, height: 2 m}, radios: {air: {power: 14 dBm}}}\n"           \
    "  b: {at: {x: 3 km, y: 0 m, height: 2 m}, radios: {air: {power: 14 dBm}}}\n"                  \
    "  c: {count: 2, at: {x: 10 m, y: 10 m, height: 2 m}, radios: {air: {power: "                  \
    "0 dBm}}}\n"                                                                                   \
    "traffic: {t: {from: a, to: b, payload: 20 bytes, every: 1 min}}\n"

static double
exponent_at_the_edge(void)
{
    double sensitivity_dbm = -174.0 + 10.0 * log10(125e3) + 6.0 - 12.5;
    double loss_at_1_m_db = 20.0 * log10(4.0 * G_PI * 869.5e6 / 299792458.0);
    return (14.0 - sensitivity_dbm - loss_at_1_m_db) / (10.0 * log10(3000.0));
}

static SpateScenarioFile *
parse(const char *text)
{
    g_autoptr(GError) error = NULL;
    SpateScenarioFile *file =
        spate_scenario_file_parse("plan", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    return file;
}

static SpateCheck *
check_of(const char *text)
{
    g_autoptr(SpateScenarioFile) file = parse(text);
    const SpateCheckOptions options = {0};
    const SpateStudyOptions study = {0};
    g_autoptr(GError) error = NULL;
    SpateCheck *check = spate_check_new(file, &options, &error);
    ck_assert_msg(check != NULL && spate_checks_run(&check, 1, &study, &error), "%s",
                  error != NULL ? error->message : "");
    return check;
}

START_TEST(the_exponent_at_the_edge_of_reach_is_where_verdicts_flip)
{
    g_autoptr(SpateCheck) check =
        check_of(PAIR "expect:\n  - {measure: delivery, traffic: t, at-least: 50 %}\n"
                      "  - {traffic: t, reaches: b, within: 10 s}\n"
                      "doubt:\n  nodes.c.count: [1, 4]\n"
                      "  bearers.air.propagation.exponent: [2.7, 3.7]\n");
    double edge = exponent_at_the_edge();
    ck_assert_double_eq_tol(edge, 3.230, 0.001);
    for (size_t i = 0; i < 2; i++) {
        const SpateDoubtVerdict *verdict = check->points[i].doubt;
        const SpateDoubtEffect *effect = &verdict->effects[1];
        ck_assert(effect->flips && effect->holds_below);
        ck_assert_uint_eq(effect->n_wrong, 0);
        ck_assert_double_lt(effect->from, edge);
        ck_assert_double_gt(effect->to, edge);
        ck_assert(!verdict->effects[0].flips);
    }
    /* Even draws: the share below the edge, 53 % of 40. */
    ck_assert_double_le(check->points[0].doubt->ci95.low, edge - 2.7);
    ck_assert_double_ge(check->points[0].doubt->ci95.high, edge - 2.7);
    ck_assert_ptr_nonnull(check->points[1].explanation);
    ck_assert_str_eq(check->points[1].origin, "a");
}
END_TEST

/* What is certain is judged as ever. */
START_TEST(without_doubt_nothing_is_said_of_it)
{
    g_autoptr(SpateCheck) check =
        check_of(PAIR "expect:\n  - {measure: delivery, traffic: t, at-least: 50 %}\n");
    ck_assert_ptr_null(check->points[0].doubt);
    ck_assert_uint_eq(check->result->n_drawn, 0);
}
END_TEST

START_TEST(size_tells_of_every_value_in_how_many_draws_it_holds)
{
    const char *text = PAIR "expect: [{measure: delivery, traffic: t, at-least: 50 %}]\n"
                            "size: {vary: nodes.a.site-loss, from: 0 dB, to: 30 dB, step: 30 dB}\n"
                            "doubt: {bearers.air.propagation.exponent: [2.7, 3.7]}\n";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan.yaml", text, strlen(text), NULL, 0, NULL);
    const SpateSizeWanted wanted = {.file = file};
    const SpateStudyOptions options = {0};
    g_autoptr(SpateSize) size = spate_size_run(&wanted, &options, NULL);
    ck_assert_uint_eq(size->n_points, 2);
    /* 30 dB are 0.863 of an exponent over 3 km: the edge is at 2.37 then */
    ck_assert_uint_gt(size->points[0].verdicts[0].doubt->n_held, 10);
    ck_assert_uint_eq(size->points[1].verdicts[0].doubt->n_held, 0);
}
END_TEST

#define BRIDGED                                                                                    \
    "spate: 1\ntitle: a chatty yard\nseed: 4\nrun: {duration: 20 min, replications: 12}\n"         \
    "bearers:\n"                                                                                   \
    "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9}\n"         \
    "  yard: {kind: dsss, frequency: 2437 MHz}\n"                                                  \
    "nodes:\n"                                                                                     \
    "  far: {at: {x: 900 m, y: 0 m, height: 5 m}, radios: {air: {power: 14 dBm}}, relay: [air]}\n" \
    "  gate: {at: {x: 0 m, y: 0 m, height: 5 m}, radios: {air: {power: 14 dBm}, yard: {power: 9 "  \
    "dBm}}}\n"                                                                                     \
    "  soil: {count: 6, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 20 m}, height: 1 m},\n" \
    "    radios: {yard: {power: 9 dBm}}}\n"                                                        \
    "bridges: {gate: {up: {from: yard, to: air}}}\n"                                               \
    "traffic:\n"                                                                                   \
    "  readings: {class: readings, from: soil, to: far, payload: 40 bytes, mean-interval: 5 s}\n"  \
    "  talk: {class: talk, from: far, to: gate, payload: 40 bytes, mean-interval: 20 s}\n"         \
    "expect: [{measure: delivery, traffic: talk, at-least: 85 %}]\n"

START_TEST(advice_is_given_for_all_that_may_be)
{
    g_autoptr(SpateScenarioFile) file =
        parse(BRIDGED "doubt: {nodes.soil.count: [4, 8], nodes.gate.site-loss: [0 dB, 3 dB]}\n");
    const SpateAdviseWanted wanted = {.file = file};
    const SpateStudyOptions options = {0};
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateAdvice) advice = spate_advise(&wanted, SPATE_ADVISE_HOLD, &options, &error);
    ck_assert_msg(advice != NULL, "%s", error != NULL ? error->message : "");
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert_uint_eq(advice->streams->len, 1);
    ck_assert_double_gt(spate_advise_stream(advice, 0)->per_hour.mean, 2000.0);
    ck_assert_ptr_nonnull(advice->verified->points[0].doubt);

    g_autoptr(SpateRelayRanking) relays = spate_advise_relays(&wanted, &options, &error);
    ck_assert_msg(relays != NULL && relays->n_relays == 2, "%s",
                  error != NULL ? error->message : "");

    /* Who drowns whom is told radio by radio. */
    ck_assert_ptr_null(spate_advise_disturbers(&wanted, &options, &error));
    ck_assert_ptr_nonnull(strstr(error->message, "'doubt' changes which radios there are"));
}
END_TEST

/* Of two nodes that are written, one to four are drawn: the second has no energy where there is
 * one.
 */
START_TEST(nodes_that_are_not_drawn_have_no_value)
{
    g_autofree char *text =
        g_strconcat(PAIR,
                    "variants: {metered: {set: {nodes.c.radios.air.supply: {sending: 100 mW, "
                    "receiving: 30 mW}}}}\ndoubt: {nodes.c.count: [1, 4]}\n",
                    NULL);
    g_autoptr(SpateScenarioFile) file = parse(text);
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, "metered", NULL);
    const SpateScenario *const scenarios[] = {scenario};
    const char *const names[] = {"metered"};
    g_autoptr(SpateResult) result =
        spate_study_run("run", scenarios, names, 1, &(SpateStudyOptions){.replications = 20}, NULL);
    uint32_t n_rows = 0, n_without = 0;
    for (size_t i = 0; i < result->variants[0].n_rows; i++) {
        const SpateResultRow *row = &result->variants[0].rows[i];
        if (row->node == NULL)
            continue;
        n_rows++;
        for (uint32_t k = 0; k < 20; k++) {
            bool is_drawn = strcmp(row->node, "c-1") == 0 || result->drawn[0].values[k] >= 2.0;
            ck_assert(isnan(row->values[k]) == !is_drawn);
            n_without += !is_drawn;
        }
    }
    ck_assert_uint_eq(n_rows, 2);
    ck_assert_uint_gt(n_without, 0);
}
END_TEST

START_TEST(draws_do_not_depend_on_threads)
{
    g_autoptr(SpateScenarioFile) file =
        parse(BRIDGED "doubt: {nodes.soil.count: [4, 8], nodes.gate.site-loss: [0 dB, 3 dB]}\n");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, NULL);
    const SpateScenario *const scenarios[] = {scenario};
    const char *const names[] = {"base"};
    g_autoptr(SpateResult) one = spate_study_run(
        "run", scenarios, names, 1, &(SpateStudyOptions){.jobs = 1, .replications = 6}, NULL);
    g_autoptr(SpateResult) two = spate_study_run(
        "run", scenarios, names, 1, &(SpateStudyOptions){.jobs = 3, .replications = 6}, NULL);
    for (size_t i = 0; i < one->variants[0].n_rows; i++)
        for (uint32_t k = 0; k < 6; k++) {
            double a = one->variants[0].rows[i].values[k], b = two->variants[0].rows[i].values[k];
            ck_assert(a == b || (isnan(a) && isnan(b)));
        }
    ck_assert_uint_eq(one->n_drawn, 2);
}
END_TEST

CHECK_MAIN("doubt", the_input_that_decides_is_found_with_its_threshold,
           a_verdict_may_hold_above_and_where_it_always_holds_nothing_flips,
           few_draws_tell_of_no_input, chance_is_told_as_seldom_as_it_may,
           the_exponent_at_the_edge_of_reach_is_where_verdicts_flip,
           without_doubt_nothing_is_said_of_it,
           size_tells_of_every_value_in_how_many_draws_it_holds,
           advice_is_given_for_all_that_may_be, nodes_that_are_not_drawn_have_no_value,
           draws_do_not_depend_on_threads)
