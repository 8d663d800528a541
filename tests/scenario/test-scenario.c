/* test-scenario.c - what a good scenario file means */
#include "core/time.h"
#include "scenario/scenario.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static SpateScenarioFile *
read_good(const char *name)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *path = g_strdup_printf("%s/good/%s", SCENARIO_DIR, name);
    SpateScenarioFile *file = spate_scenario_file_read(path, NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "no error");
    return file;
}

static SpateScenario *
load(const char *name, const char *variant)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file = read_good(name);
    SpateScenario *scenario = spate_scenario_new(file, variant, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "no error");
    return scenario;
}

static const SpateScenarioNode *
node(const SpateScenario *scenario, const char *name)
{
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        if (strcmp(scenario->nodes[i].name, name) == 0)
            return &scenario->nodes[i];
    ck_abort_msg("no node %s", name);
}

static const SpateScenarioBearer *
bearer(const SpateScenario *scenario, const char *name)
{
    for (uint32_t i = 0; i < scenario->n_bearers; i++)
        if (strcmp(scenario->bearers[i].name, name) == 0)
            return &scenario->bearers[i];
    ck_abort_msg("no bearer %s", name);
}

static const SpateScenarioTraffic *
traffic(const SpateScenario *scenario, const char *name)
{
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        if (strcmp(scenario->traffics[i].name, name) == 0)
            return &scenario->traffics[i];
    ck_abort_msg("no traffic %s", name);
}

static const SpateScenarioGroup *
group(const SpateScenario *scenario, const char *name)
{
    for (uint32_t i = 0; i < scenario->n_groups; i++)
        if (strcmp(scenario->groups[i].name, name) == 0)
            return &scenario->groups[i];
    ck_abort_msg("no group %s", name);
}

static SpatePosition
place(const SpateScenario *scenario, const char *name)
{
    const SpateScenarioNode *found = node(scenario, name);
    return spate_placement_at(found->placement, found->placement_index, scenario->seed, 0);
}

static uint32_t
number(const SpateScenario *scenario, const char *name)
{
    return (uint32_t)(node(scenario, name) - scenario->nodes);
}

#define assert_near(a, b) ck_assert_double_eq_tol(a, b, 1e-9)

START_TEST(what_is_not_said_has_its_default)
{
    g_autoptr(SpateScenario) scenario = load("small.yaml", NULL);
    const SpateBearer *radio = &bearer(scenario, "valley")->radio;
    const SpateScenarioNode *a = node(scenario, "a");

    ck_assert_uint_eq(scenario->seed, 1);
    ck_assert_int_eq(scenario->warm_up_ns, 0);
    ck_assert_int_eq(scenario->cool_down_ns, 60 * SPATE_NS_PER_S);
    ck_assert_uint_eq(scenario->replications, 1);
    ck_assert_int_eq(radio->modulation.coding_rate_denominator, 5);
    ck_assert_int_eq(radio->modulation.preamble_symbols, 8);
    ck_assert_int_eq(radio->modulation.lock_symbols, 5);
    ck_assert(radio->modulation.explicit_header && radio->modulation.crc);
    ck_assert_int_eq(radio->modulation.low_data_rate_optimise, SPATE_LDRO_AUTO);
    ck_assert_int_eq(radio->overhead_bytes, 0);
    ck_assert_int_eq(radio->largest_frame_bytes, 255);
    assert_near(radio->noise_figure_db, 6);
    ck_assert(isnan(radio->sensitivity_dbm) && isnan(radio->protection_same_db));
    ck_assert_int_eq(radio->access.method, SPATE_ACCESS_NONE);
    ck_assert_int_eq(radio->duty_limit_ns, 360 * SPATE_NS_PER_S);
    ck_assert_int_eq(radio->turnaround_ns, 0);
    ck_assert_int_eq(bearer(scenario, "valley")->fading.kind, SPATE_FADING_NONE);
    ck_assert_int_eq(a->flooding.policy, SPATE_FLOOD_CLASSIC);
    ck_assert_uint_eq(a->flooding.hop_limit, 8);
    assert_near(a->flooding.jitter_airtimes, 6);
    ck_assert_uint_eq(a->flooding.route_record_bytes, 0);
    ck_assert_uint_eq(a->queue.frames, 32);
    ck_assert(!a->queue.by_class);
    ck_assert_int_eq(a->queue.expire_ns, 0);
    assert_near(a->isolation_db, 40);
    assert_near(a->site_loss_db, 0);
    ck_assert(!a->radios[0].relays);
    ck_assert(isnan(a->radios[0].supply_sending_w));
    ck_assert_str_eq(traffic(scenario, "talk")->class_name, "talk");
    ck_assert(!traffic(scenario, "talk")->together);
    ck_assert_ptr_null(traffic(scenario, "talk")->on_bearers);
}
END_TEST

START_TEST(the_example_of_the_manual_reads)
{
    g_autoptr(SpateScenario) scenario = load("two-bearers.yaml", NULL);

    ck_assert_uint_eq(scenario->n_nodes, 62);
    ck_assert_uint_eq(scenario->n_bearers, 2);
    ck_assert_uint_eq(scenario->n_crossings, 2);
    ck_assert_str_eq(scenario->crossings[0].name, "up");
    ck_assert_uint_eq(scenario->crossings[0].rules->len, 1);
    ck_assert_str_eq(scenario->title, "Tarn Hollow, one ridge and two bearers");
    ck_assert_int_eq(bearer(scenario, "yard")->radio.overhead_bytes, 43);
    ck_assert_int_eq(bearer(scenario, "yard")->radio.largest_frame_bytes, 293);
    ck_assert_int_eq(bearer(scenario, "yard")->radio.modulation.rate_bps, 250000);
    ck_assert_int_eq(bearer(scenario, "yard")->radio.modulation.preamble_ns, 192000);
    const SpateScenarioTraffic *alarm = traffic(scenario, "river-alarm");
    ck_assert_uint_eq(alarm->n_at, 2);
    ck_assert_int_eq(alarm->at_ns[1], 95 * SPATE_NS_PER_MIN);
    ck_assert_uint_eq(alarm->n_recipients, 1);
    ck_assert_uint_eq(alarm->recipients[0], number(scenario, "ridge"));
}
END_TEST

START_TEST(a_rule_knows_traffics_origins_and_its_line)
{
    g_autoptr(SpateScenario) scenario = load("two-bearers.yaml", NULL);
    const SpateRule *rule = &g_array_index(scenario->crossings[0].rules, SpateRule, 0);
    uint32_t moisture = (uint32_t)(traffic(scenario, "soil-moisture") - scenario->traffics);
    uint32_t talk = (uint32_t)(traffic(scenario, "village-talk") - scenario->traffics);

    ck_assert_int_eq(rule->action, SPATE_RULE_HOLD_BACK);
    ck_assert(rule->traffics[moisture] && !rule->traffics[talk]);
    ck_assert(rule->origins[number(scenario, "soil-7")]);
    ck_assert(!rule->origins[number(scenario, "ridge")]);
    ck_assert_ptr_null(rule->recipients);
    ck_assert_uint_eq(rule->line, 54);
}
END_TEST

START_TEST(a_variant_changes_what_it_sets_and_nothing_else)
{
    g_autoptr(SpateScenario) base = load("two-bearers.yaml", "base");
    g_autoptr(SpateScenario) open = load("two-bearers.yaml", "open");

    ck_assert_uint_eq(base->crossings[0].rules->len, 1);
    ck_assert_uint_eq(open->crossings[0].rules->len, 0);
    ck_assert_uint_eq(open->n_nodes, base->n_nodes);
    ck_assert_str_eq(open->sha256, base->sha256);
}
END_TEST

START_TEST(entries_of_lists_are_set_by_number)
{
    g_autoptr(SpateScenario) slower = load("every-key.yaml", "slower");
    const SpateScenarioCrossing *down = NULL;
    for (uint32_t i = 0; i < slower->n_crossings; i++)
        if (strcmp(slower->crossings[i].name, "down") == 0)
            down = &slower->crossings[i];

    ck_assert_int_eq(bearer(slower, "slow")->radio.modulation.spreading_factor, 12);
    ck_assert_int_eq(g_array_index(down->rules, SpateRule, 0).action, SPATE_RULE_HOLD_BACK);
}
END_TEST

START_TEST(a_setting_comes_after_the_variant)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *path = g_strdup_printf("%s/good/every-key.yaml", SCENARIO_DIR);
    const SpateSetting settings[] = {{"nodes.field.count", "7"}, {"run.duration", "1 h"}};
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read(path, settings, 2, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) quiet = spate_scenario_new(file, "quiet", &error);

    ck_assert_uint_eq(group(quiet, "field")->n_members, 7);
    ck_assert_int_eq(quiet->duration_ns, SPATE_NS_PER_HOUR);
    ck_assert_int_eq(traffic(quiet, "talk")->every_ns, 20 * SPATE_NS_PER_MIN);
}
END_TEST

START_TEST(a_bad_setting_is_shown_in_its_own_text)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *path = g_strdup_printf("%s/good/small.yaml", SCENARIO_DIR);
    const SpateSetting settings[] = {{"run.duration", "1 h"}, {"run.seed", "4"}, {"seed", "x"}};
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read(path, settings, 3, &error);

    ck_assert_ptr_nonnull(file);
    ck_assert_ptr_null(spate_scenario_new(file, NULL, &error));
    ck_assert_ptr_nonnull(strstr(error->message, "--set:1:1: unknown key 'seed'"));
    ck_assert_ptr_nonnull(strstr(error->message, "--set:1:6: "));
}
END_TEST

static char *
fault_with(const char *path, const char *value)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *bad = g_strdup_printf("%s/bad/no-time-left.yaml", SCENARIO_DIR);
    const SpateSetting setting = {path, value};
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read(bad, &setting, 1, &error);
    g_autoptr(SpateScenario) scenario =
        file != NULL ? spate_scenario_new(file, NULL, &error) : NULL;
    return g_strdup(scenario != NULL ? "" : error->message);
}

/* 50 s without the cool-down of 60 s that nobody gave. */
START_TEST(a_setting_may_mend_a_fault_of_the_file)
{
    g_autofree char *mended = fault_with("run.cool-down", "1 s");
    g_autofree char *same = fault_with("run.cool-down", "50 s");
    g_autofree char *other = fault_with("run.warm-up", "5 s");
    ck_assert_str_eq(mended, "");
    ck_assert_ptr_nonnull(
        strstr(same, "2:17: 'duration' leaves no time in which messages count\n"));
    ck_assert_ptr_nonnull(strstr(same, "longer than 'warm-up' (0 s) and 'cool-down' (50 s)"));
    ck_assert_ptr_nonnull(strstr(other, "longer than 'warm-up' (5 s) and 'cool-down' (1 min)"));
}
END_TEST

START_TEST(a_setting_may_mend_a_variant)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *path = g_strdup_printf("%s/good/small.yaml", SCENARIO_DIR), *small = NULL;
    ck_assert(g_file_get_contents(path, &small, NULL, NULL));
    g_autofree char *text =
        g_strconcat(small, "variants: {brief: {set: {run.duration: 30 s}}}\n", NULL);
    const SpateSetting setting = {"run.cool-down", "1 s"};
    g_autoptr(SpateScenarioFile) bare =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, NULL);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), &setting, 1, &error);
    ck_assert_ptr_null(bare);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
}
END_TEST

/* Such a spread is for the longer interval of `quiet`. */
START_TEST(a_setting_is_checked_with_what_is_used_only)
{
    g_autoptr(GError) base_error = NULL, slower_error = NULL;
    g_autofree char *path = g_strdup_printf("%s/good/every-key.yaml", SCENARIO_DIR);
    const SpateSetting settings[] = {{"traffic.talk.spread", "8 min"}};
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read(path, settings, 1, &base_error);
    ck_assert_msg(file != NULL, "%s", base_error != NULL ? base_error->message : "");
    g_autoptr(SpateScenario) quiet = spate_scenario_new(file, "quiet", &base_error);
    ck_assert_msg(quiet != NULL, "%s", base_error != NULL ? base_error->message : "");
    ck_assert_int_eq(traffic(quiet, "talk")->spread_ns, 8 * SPATE_NS_PER_MIN);

    ck_assert_ptr_null(spate_scenario_new(file, NULL, &base_error));
    ck_assert_ptr_nonnull(strstr(base_error->message, "would reorder messages\n"));
    ck_assert_ptr_null(spate_scenario_new(file, "slower", &slower_error));
    ck_assert_ptr_nonnull(strstr(slower_error->message, "reorder messages (in variant 'slower')"));
}
END_TEST

static char *
faults_of_setting(const char *path, const char *value)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *name = g_strdup_printf("%s/good/every-key.yaml", SCENARIO_DIR);
    const SpateSetting setting = {path, value};
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read(name, &setting, 1, &error);
    ck_assert(file == NULL || spate_scenario_new(file, NULL, &error) == NULL);
    return g_strdup(error->message);
}

/* A value that ends too early has no line behind its own. */
START_TEST(an_unfinished_setting_is_shown_at_its_end)
{
    g_autofree char *message = faults_of_setting("title", "[");

    ck_assert_msg(strstr(message, "--set:1:8: this is not YAML") != NULL, "%s", message);
    ck_assert_msg(strstr(message, "\n    title=[\n           ^\n") != NULL, "%s", message);
    ck_assert_msg(strstr(message, "line 2") == NULL, "%s", message);
}
END_TEST

START_TEST(a_rate_that_is_set_is_at_fault_in_its_own_text)
{
    g_autofree char *message = faults_of_setting("bearers.fast.rate", "300 kbit/s");

    ck_assert_msg(strstr(message, "--set:1:19: no dsss radio has that rate") != NULL, "%s",
                  message);
}
END_TEST

START_TEST(variants_are_named_in_the_order_of_the_file)
{
    g_autoptr(SpateScenarioFile) file = read_good("every-key.yaml");
    const char *const *variants = spate_scenario_file_variants(file);

    ck_assert_str_eq(variants[0], "quiet");
    ck_assert_str_eq(variants[1], "slower");
    ck_assert_ptr_null(variants[2]);
}
END_TEST

START_TEST(an_unknown_variant_is_answered_with_the_nearest)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file = read_good("every-key.yaml");

    ck_assert_ptr_null(spate_scenario_new(file, "quite", &error));
    ck_assert_ptr_nonnull(strstr(error->message, "there is no variant 'quite'"));
    ck_assert_ptr_nonnull(strstr(error->message, "did you mean 'quiet'?"));
}
END_TEST

START_TEST(every_key_of_a_bearer_arrives)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    const SpateBearer *slow = &bearer(scenario, "slow")->radio;
    const SpateBearer *fast = &bearer(scenario, "fast")->radio;
    const SpateBearer *wide = &bearer(scenario, "wide")->radio;

    ck_assert_int_eq(slow->modulation.centre_hz, 869500000);
    ck_assert_int_eq(slow->modulation.coding_rate_denominator, 8);
    ck_assert_int_eq(slow->modulation.preamble_symbols, 12);
    ck_assert(!slow->modulation.explicit_header && !slow->modulation.crc);
    ck_assert_int_eq(slow->modulation.low_data_rate_optimise, SPATE_LDRO_ON);
    ck_assert_int_eq(slow->modulation.lock_symbols, 6);
    ck_assert_int_eq(slow->overhead_bytes, 8);
    ck_assert_int_eq(slow->largest_frame_bytes, 200);
    assert_near(slow->noise_figure_db, 7.5);
    assert_near(slow->sensitivity_dbm, -130);
    ck_assert_int_eq(slow->access.method, SPATE_ACCESS_CAD);
    ck_assert_int_eq(slow->access.cad_slots, 8);
    ck_assert_int_eq(slow->access.cad_tries, 3);
    ck_assert(!slow->access.cad_payload);
    assert_near(slow->access.cad_detection, 0.9);
    ck_assert_int_eq(slow->duty_limit_ns, 36 * SPATE_NS_PER_S);
    ck_assert_int_eq(slow->turnaround_ns, 5 * SPATE_NS_PER_MS);
    assert_near(slow->protection_same_db, 6);
    assert_near(slow->protection_other_db, -10);
    ck_assert_int_eq(fast->modulation.rate_bps, 1000000);
    ck_assert_int_eq(fast->modulation.preamble_ns, 96000);
    ck_assert_int_eq(fast->largest_frame_bytes, 290);
    assert_near(fast->access.csma_threshold_dbm, -82);
    /* 812.5 kHz: SX1280 data sheet. */
    ck_assert_int_eq(wide->modulation.bandwidth_hz.numerator,
                     812500 * wide->modulation.bandwidth_hz.denominator);
}
END_TEST

START_TEST(every_key_of_propagation_arrives)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    const SpatePropagation *slow = &bearer(scenario, "slow")->propagation;

    ck_assert_int_eq(slow->model.kind, SPATE_PATH_LOG_DISTANCE);
    assert_near(slow->model.exponent, 3.5);
    assert_near(slow->model.intercept_at_m, 10);
    assert_near(slow->model.intercept_loss_db, 60);
    assert_near(slow->model.extra_loss_db, 2);
    assert_near(slow->shadowing.sigma_db, 5);
    assert_near(slow->shadowing.shared, 0.3);
    ck_assert(!slow->shadowing.redraw);
    ck_assert_uint_eq(slow->n_between, 3);
    ck_assert_int_eq(slow->between[0].model.kind, SPATE_PATH_FREE_SPACE);
    assert_near(slow->between[0].shadowing.sigma_db, 2);
    ck_assert(slow->between[0].shadowing.redraw);
    assert_near(slow->shadowing.decorrelation_m, 20);
    assert_near(slow->between[0].shadowing.decorrelation_m, 50);
    ck_assert_int_eq(slow->between[1].model.area, SPATE_HATA_OPEN);
    assert_near(slow->between[1].shadowing.sigma_db, 0);
    ck_assert(slow->between[1].members_a[number(scenario, "mast-south")]);
    ck_assert(!slow->between[1].members_a[number(scenario, "desk")]);
    ck_assert(slow->between[1].members_b[number(scenario, "field-3")]);
    ck_assert_int_eq(bearer(scenario, "slow")->fading.kind, SPATE_FADING_RICIAN);
    ck_assert_int_eq(bearer(scenario, "slow")->fading.coherence_ns, 2 * SPATE_NS_PER_S);
    ck_assert_int_eq(bearer(scenario, "fast")->fading.kind, SPATE_FADING_RAYLEIGH);
    ck_assert_int_eq(bearer(scenario, "wide")->fading.kind, SPATE_FADING_NAKAGAMI);
    assert_near(bearer(scenario, "wide")->fading.nakagami_m, 2);
}
END_TEST

START_TEST(every_key_of_a_move_arrives)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    const SpateMoves *moves = &node(scenario, "desk")->moves;

    assert_near(scenario->move_step_m, 25);
    ck_assert_uint_eq(moves->n_points, 2);
    assert_near(moves->points[0].x_m, 200);
    assert_near(moves->points[0].y_m, 100);
    assert_near(moves->points[1].x_m, 200);
    assert_near(moves->points[1].y_m, 0);
    /* 5.4 km in 3600 s */
    assert_near(moves->speed_m_per_s, 1.5);
    ck_assert_int_eq(moves->from_ns, 2 * SPATE_NS_PER_MIN);
    ck_assert(moves->back);
    ck_assert_uint_eq(node(scenario, "mast-north")->moves.n_points, 0);
}
END_TEST

/* 1.5 m/s from 2 min to 2 days, back and forth without end, a step every 25 m. */
START_TEST(the_steps_of_a_run_are_counted)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);

    assert_near(spate_scenario_steps(scenario), ceil(1.5 * (2 * 86400 - 120) / 25));
}
END_TEST

START_TEST(every_key_of_a_node_arrives)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    const SpateScenarioNode *mast = node(scenario, "mast-north");
    /* Bearers are numbered by name: fast, slow, wide. */
    const SpateScenarioRadio *slow = &mast->radios[1];

    ck_assert_uint_eq(mast->n_radios, 2);
    ck_assert_uint_eq(slow->bearer, 1);
    assert_near(slow->power_dbm, 10 * log10(500));
    assert_near(slow->antenna.gain_dbi, 9);
    assert_near(slow->antenna.azimuth_deg, 180);
    assert_near(slow->antenna.beamwidth_deg, 65);
    assert_near(slow->antenna.front_to_back_db, 25);
    assert_near(slow->feeder_loss_db, 1);
    assert_near(slow->noise_rise_db, 3);
    assert_near(slow->supply_sending_w, 2);
    assert_near(slow->supply_receiving_w, 0.05);
    assert_near(slow->supply_asleep_w, 0.03);
    ck_assert_int_eq(slow->listening.every_ns, 2 * SPATE_NS_PER_S);
    ck_assert_int_eq(slow->listening.for_ns, 50 * SPATE_NS_PER_MS);
    ck_assert_int_eq(slow->listening.after_sending_ns, 10 * SPATE_NS_PER_S);
    ck_assert_int_eq(slow->listening.phase, SPATE_PHASE_TOGETHER);
    ck_assert(!spate_listening_sleeps(&mast->radios[0].listening));
    ck_assert(slow->relays && mast->radios[0].relays);
    assert_near(mast->isolation_db, 55);
    assert_near(mast->site_loss_db, 1);
    ck_assert_uint_eq(mast->queue.frames, 8);
    ck_assert(mast->queue.by_class);
    ck_assert_int_eq(mast->queue.expire_ns, 30 * SPATE_NS_PER_S);
    ck_assert(!node(scenario, "desk")->radios[0].relays);
    assert_near(place(scenario, "mast-north").y_m, 2000);
    assert_near(place(scenario, "mast-north").height_m, 30);
}
END_TEST

START_TEST(a_node_overrides_flooding_key_by_key)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    const SpateFlooding *mast = &node(scenario, "mast-north")->flooding;
    const SpateFlooding *desk = &node(scenario, "desk")->flooding;

    ck_assert_int_eq(desk->policy, SPATE_FLOOD_COUNTER);
    ck_assert_uint_eq(desk->copies, 3);
    assert_near(desk->jitter_airtimes, 4);
    ck_assert_int_eq(desk->duplicates_for_ns, 10 * SPATE_NS_PER_MIN);
    ck_assert_int_eq(mast->policy, SPATE_FLOOD_PROBABILITY);
    assert_near(mast->p, 0.5);
    assert_near(mast->jitter_airtimes, 2);
    ck_assert(mast->weakest_first);
    ck_assert_uint_eq(mast->hop_limit, 5);
    ck_assert_uint_eq(mast->route_record_bytes, 2);
    ck_assert_uint_eq(mast->duplicates_entries, 100);
    ck_assert_int_eq(mast->duplicates_for_ns, 5 * SPATE_NS_PER_MIN);
}
END_TEST

START_TEST(rules_of_the_top_hold_for_nodes_without_their_own)
{
    g_autoptr(SpateScenario) scenario = load("relay-rules.yaml", NULL);
    const GArray *rules = node(scenario, "posts-1")->relay_rules;
    const SpateRule *first = &g_array_index(rules, SpateRule, 0);
    const SpateRule *second = &g_array_index(rules, SpateRule, 1);
    uint32_t siren = (uint32_t)(traffic(scenario, "siren") - scenario->traffics);

    ck_assert_uint_eq(rules->len, 2);
    ck_assert_ptr_eq(node(scenario, "posts-2")->relay_rules, rules);
    ck_assert_uint_eq(node(scenario, "posts-1")->flooding.hop_limit, 3);
    ck_assert_int_eq(first->action, SPATE_RULE_PASS);
    ck_assert(first->traffics[siren]);
    ck_assert_uint_eq(first->line, 18);
    ck_assert_int_eq(second->action, SPATE_RULE_HOLD_BACK);
    ck_assert(second->origins[number(scenario, "posts-2")]);
    ck_assert(!second->origins[number(scenario, "mast")]);
    ck_assert_int_eq(second->occupancy_bearer, 0);
    ck_assert_uint_eq(second->line, 19);
}
END_TEST

START_TEST(rules_of_a_node_stand_in_place_of_those_of_the_top)
{
    g_autoptr(SpateScenario) scenario = load("relay-rules.yaml", NULL);
    const GArray *mast = node(scenario, "mast")->relay_rules;

    ck_assert_uint_eq(mast->len, 1);
    ck_assert_int_eq(g_array_index(mast, SpateRule, 0).action, SPATE_RULE_THIN);
    ck_assert_uint_eq(g_array_index(mast, SpateRule, 0).line, 27);
    ck_assert_uint_eq(node(scenario, "gate")->relay_rules->len, 0);
    /* Does not relay: its missing radio on the valley is no fault. */
    ck_assert_ptr_null(node(scenario, "hut")->relay_rules);
}
END_TEST

START_TEST(a_variant_sets_rules_of_flooding)
{
    g_autoptr(SpateScenario) open = load("relay-rules.yaml", "open");

    ck_assert_uint_eq(node(open, "posts-1")->relay_rules->len, 0);
    ck_assert_uint_eq(node(open, "mast")->relay_rules->len, 1);
    ck_assert_uint_eq(node(open, "gate")->relay_rules->len, 1);
}
END_TEST

START_TEST(shapes_place_their_nodes)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);

    /* A line has both its ends. */
    assert_near(place(scenario, "row-1").x_m, 0);
    assert_near(place(scenario, "row-2").x_m, 50);
    assert_near(place(scenario, "row-2").y_m, 100);
    assert_near(place(scenario, "row-3").y_m, 200);
    assert_near(place(scenario, "row-3").height_m, 3);
    /* A grid is filled row by row: five in three columns are two rows. */
    assert_near(place(scenario, "orchard-2").x_m, 10);
    assert_near(place(scenario, "orchard-3").x_m, 20);
    assert_near(place(scenario, "orchard-3").y_m, 0);
    assert_near(place(scenario, "orchard-4").x_m, 0);
    assert_near(place(scenario, "orchard-4").y_m, 10);
    assert_near(place(scenario, "orchard-5").x_m, 10);
    /* Points count themselves, and may differ in height. */
    ck_assert_uint_eq(group(scenario, "posts")->n_members, 2);
    assert_near(place(scenario, "posts-1").height_m, 4);
    assert_near(place(scenario, "posts-2").height_m, 5);
    assert_near(place(scenario, "posts-2").y_m, 4);
    ck_assert(!node(scenario, "field-1")->placement->redraw);
    ck_assert(node(scenario, "shed-1")->placement->redraw);
    ck_assert(!node(scenario, "row-1")->placement->redraw);
}
END_TEST

START_TEST(nodes_bearers_and_traffics_are_sorted_by_name)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);

    for (uint32_t i = 1; i < scenario->n_nodes; i++)
        ck_assert_int_lt(strcmp(scenario->nodes[i - 1].name, scenario->nodes[i].name), 0);
    for (uint32_t i = 1; i < scenario->n_bearers; i++)
        ck_assert_int_lt(strcmp(scenario->bearers[i - 1].name, scenario->bearers[i].name), 0);
    for (uint32_t i = 1; i < scenario->n_traffics; i++)
        ck_assert_int_lt(strcmp(scenario->traffics[i - 1].name, scenario->traffics[i].name), 0);
    for (uint32_t i = 1; i < scenario->n_groups; i++)
        ck_assert_int_lt(strcmp(scenario->groups[i - 1].name, scenario->groups[i].name), 0);
}
END_TEST

START_TEST(groups_stand_for_all_their_nodes)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    const SpateScenarioGroup *all = group(scenario, "all");

    ck_assert_uint_eq(all->n_members, 6);
    for (uint32_t i = 1; i < all->n_members; i++)
        ck_assert_uint_lt(all->members[i - 1], all->members[i]);
    ck_assert_uint_eq(group(scenario, "desk")->n_members, 1);
}
END_TEST

START_TEST(links_of_groups_are_those_of_all_pairs)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    bool found = false;

    /* Two masts to and from the desk, and one way to field-1. */
    ck_assert_uint_eq(scenario->n_given_losses, 5);
    for (uint32_t i = 0; i < 5; i++) {
        const SpateGivenLoss *loss = &scenario->given_losses[i];
        if (loss->from_node == number(scenario, "desk") &&
            loss->to_node == number(scenario, "field-1")) {
            found = true;
            ck_assert_int_eq(loss->bearer, -1);
            assert_near(loss->loss_db, 120);
        } else {
            ck_assert_int_eq(loss->bearer, 1);
            assert_near(loss->loss_db, 100);
        }
    }
    ck_assert(found);
}
END_TEST

START_TEST(traffic_knows_its_ends_class_and_times)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    const SpateScenarioTraffic *talk = traffic(scenario, "talk");
    const SpateScenarioTraffic *siren = traffic(scenario, "siren");
    const SpateScenarioTraffic *chat = traffic(scenario, "chat");

    ck_assert_uint_eq(talk->n_recipients, scenario->n_nodes);
    ck_assert_uint_eq(talk->n_sources, 3);
    ck_assert_uint_eq(talk->class_rank, 1);
    ck_assert(talk->together);
    ck_assert_int_eq(talk->spread_ns, SPATE_NS_PER_MIN);
    ck_assert(talk->on_bearers[0] && !talk->on_bearers[1]);
    ck_assert_uint_eq(talk->hop_limit, 3);
    ck_assert_int_eq(talk->deadline_ns, 20 * SPATE_NS_PER_S);
    ck_assert_uint_eq(siren->n_recipients, 0);
    ck_assert_uint_eq(siren->class_rank, 0);
    ck_assert_int_eq(siren->at_ns[0], 30 * SPATE_NS_PER_MIN);
    ck_assert_uint_eq(chat->class_rank, 2);
    ck_assert_int_eq(chat->times, SPATE_OFFERS_POISSON);
    ck_assert_int_eq(chat->mean_interval_ns, 90 * SPATE_NS_PER_S);
    ck_assert_uint_eq(chat->n_recipients, 3);
}
END_TEST

/* One list of classes serves several scenarios. */
START_TEST(priority_declares_classes_that_no_traffic_has)
{
    g_autoptr(GError) error = NULL;
    const char text[] =
        "spate: 1\nrun: {duration: 1 h}\nbearers: {v: {kind: dsss, frequency: 2437 MHz}}\n"
        "nodes: {a: {at: {x: 0 m, y: 0 m}, radios: {v: {power: 9 dBm}}}}\n"
        "priority: [alarm, talk]\n"
        "flooding: {rules: [{when: {class: alarm}, do: pass}, {when: {class: [alarm, talk]}, do: "
        "hold-back}]}\n"
        "traffic:\n  talk: {from: a, to: nobody, payload: 9 bytes, every: 5 min}\n"
        "  news: {from: a, to: nobody, payload: 9 bytes, every: 5 min}\n";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("text", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);
    const GArray *rules = g_ptr_array_index(scenario->relay_rules, 0);
    const SpateRule *of_alarm = &g_array_index(rules, SpateRule, 0);
    const SpateRule *of_both = &g_array_index(rules, SpateRule, 1);

    ck_assert_uint_eq(traffic(scenario, "talk")->class_rank, 1);
    ck_assert_uint_eq(traffic(scenario, "news")->class_rank, 2);
    ck_assert(!of_alarm->traffics[0] && !of_alarm->traffics[1]);
    ck_assert(!of_both->traffics[0] && of_both->traffics[1]);
}
END_TEST

START_TEST(a_bridge_of_a_group_crosses_at_each_of_its_nodes)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);

    /* mast-north: down of the group, then its own up; mast-south: down. */
    ck_assert_uint_eq(scenario->n_crossings, 3);
    ck_assert_uint_eq(scenario->n_bridges, 2);
    ck_assert_str_eq(scenario->bridge_names[0], "mast-north");
    ck_assert_uint_eq(scenario->crossings[0].node, number(scenario, "mast-north"));
    ck_assert_str_eq(scenario->crossings[0].name, "down");
    ck_assert_uint_eq(scenario->crossings[0].bridge, 1);
    ck_assert_str_eq(scenario->crossings[1].name, "up");
    ck_assert_uint_eq(scenario->crossings[1].bridge, 0);
    ck_assert(scenario->crossings[1].otherwise_passes);
    ck_assert_uint_eq(scenario->crossings[2].node, number(scenario, "mast-south"));
    ck_assert(!scenario->crossings[2].otherwise_passes);
    ck_assert_ptr_eq(scenario->crossings[0].rules, scenario->crossings[2].rules);
}
END_TEST

START_TEST(every_condition_and_action_of_a_rule_arrives)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);
    const SpateRule *rules = (const SpateRule *)(void *)scenario->crossings[0].rules->data;
    uint32_t siren = (uint32_t)(traffic(scenario, "siren") - scenario->traffics);
    uint32_t talk = (uint32_t)(traffic(scenario, "talk") - scenario->traffics);

    /* Both `class` and `traffic` must hold. */
    ck_assert(rules[0].traffics[talk] && !rules[0].traffics[siren]);
    ck_assert(rules[1].recipients[number(scenario, "row-1")]);
    ck_assert(rules[1].origins[number(scenario, "desk")]);
    assert_near(rules[2].size_bytes.above, 20);
    assert_near(rules[2].size_bytes.below, 30);
    assert_near(rules[2].hops.above, 2);
    ck_assert(isnan(rules[2].hops.below));
    ck_assert_int_eq(rules[2].action, SPATE_RULE_LIMIT);
    assert_near(rules[2].limit_per_s, 6 / 3600.0);
    assert_near(rules[2].limit_burst, 4);
    ck_assert(rules[2].per_origin);
    assert_near(rules[3].received_dbm.below, -110);
    ck_assert_int_eq(rules[3].occupancy_bearer, 1);
    assert_near(rules[3].occupancy_above, 0.2);
    ck_assert_int_eq(rules[3].action, SPATE_RULE_THIN);
    ck_assert_uint_eq(rules[3].thin_keep, 1);
    ck_assert_uint_eq(rules[3].thin_of, 4);
    assert_near(rules[4].limit_burst, 1);
    ck_assert(!rules[4].per_origin);
    ck_assert_int_eq(rules[4].occupancy_bearer, -1);
    ck_assert_int_eq(rules[5].action, SPATE_RULE_DIGEST);
    ck_assert_int_eq(rules[5].digest_every_ns, 90 * SPATE_NS_PER_S);
    ck_assert_uint_eq(rules[5].digest_most, 7);
    ck_assert_int_eq(rules[6].action, SPATE_RULE_DELAY);
    assert_near(rules[6].delay_until_below, 0.25);
    ck_assert_int_eq(rules[6].delay_at_most_ns, 120 * SPATE_NS_PER_S);
}
END_TEST

START_TEST(ambient_traffic_arrives)
{
    g_autoptr(SpateScenario) scenario = load("every-key.yaml", NULL);

    ck_assert_uint_eq(scenario->n_ambient, 2);
    ck_assert(!scenario->ambient[0].everywhere);
    assert_near(scenario->ambient[0].position.x_m, 50);
    assert_near(scenario->ambient[0].busy, 0.1);
    ck_assert_int_eq(scenario->ambient[0].burst_ns, 2 * SPATE_NS_PER_MS);
    ck_assert(scenario->ambient[1].everywhere);
    ck_assert_uint_eq(scenario->ambient[1].bearer, 1);
}
END_TEST

/* A minute of latitude at 60 degrees is about 1856.7 m (its length, 1852.3 m in the mean, grows
 * towards the poles): M = a (1 - e^2) / (1 - e^2 sin^2)^1.5 = 6383454 m there, so that 0.01 degrees
 * are 1114.1 m; of longitude N cos = 3197105 m, so that 0.1 degrees are 5580.0 m. */
START_TEST(lat_and_lon_are_places_on_the_ellipsoid)
{
    g_autoptr(SpateScenario) scenario = load("geographic.yaml", NULL);
    SpatePosition a = place(scenario, "a"), b = place(scenario, "b"), c = place(scenario, "c");

    ck_assert(scenario->is_geographic && a.is_geographic);
    ck_assert_double_eq(b.latitude_deg, 60.01);
    ck_assert_double_eq(c.longitude_deg, 10.1);
    ck_assert_double_eq_tol(spate_ground_distance_m(a, b), 1114.12, 0.1);
    ck_assert_double_eq_tol(spate_ground_distance_m(a, c), 5580.0, 0.1);
}
END_TEST

/* All shapes of good/across.yaml lie on both sides of 180 degrees, or at a pole. */
START_TEST(shapes_may_lie_across_the_meridian_of_180_degrees)
{
    g_autoptr(SpateScenario) scenario = load("across.yaml", NULL);
    SpatePosition middle = place(scenario, "ridge");
    bool is_east = false, is_west = false;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        SpatePosition at = place(scenario, scenario->nodes[i].name);
        ck_assert(at.longitude_deg >= -180 && at.longitude_deg <= 180);
        if (fabs(at.latitude_deg) > 80)
            continue;
        /* The corners are within 0.02 degrees of the middle, 1.1 km to the east, 2.2 to the north.
         */
        ck_assert_double_lt(spate_ground_distance_m(middle, at), 2600);
        is_east = is_east || at.longitude_deg < 0;
        is_west = is_west || at.longitude_deg > 0;
    }
    ck_assert(is_east && is_west);
    ck_assert_double_eq_tol(place(scenario, "grid-3").longitude_deg, -179.98, 1e-9);
    /* Half of the way along a line. */
    SpatePosition from = place(scenario, "line-1"), half = place(scenario, "line-2");
    SpatePosition to = place(scenario, "line-3");
    ck_assert_double_eq_tol(spate_ground_distance_m(from, half), spate_ground_distance_m(half, to),
                            1e-6);
    ck_assert_double_eq_tol(fabs(half.longitude_deg), 180, 1e-9);
    /* Over the pole, from one side to the other. */
    SpatePosition pole = place(scenario, "pole-1");
    ck_assert_double_eq(pole.latitude_deg, 90);
    for (int i = 1; i <= 20; i++) {
        g_autofree char *name = g_strdup_printf("ice-%d", i);
        ck_assert_double_lt(spate_ground_distance_m(pole, place(scenario, name)), 500.001);
    }
}
END_TEST

START_TEST(the_order_of_the_file_does_not_matter)
{
    g_autoptr(SpateScenario) first = load("geographic.yaml", NULL);
    g_autoptr(SpateScenario) second = load("geographic-turned.yaml", NULL);

    ck_assert_double_eq(place(first, "b").latitude_deg, place(second, "b").latitude_deg);
    ck_assert_double_eq(place(first, "c").longitude_deg, place(second, "c").longitude_deg);
}
END_TEST

/* sha256sum of coreutils over the file's bytes. */
START_TEST(the_digest_is_that_of_the_text)
{
    g_autoptr(GError) error = NULL;
    const char text[] =
        "spate: 1\nrun: {duration: 1 h}\nbearers:\n  v: {kind: dsss, frequency: 2437 "
        "MHz}\nnodes:\n  a: {at: {x: 0 m, y: 0 m}}\n";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("text", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);

    ck_assert_str_eq(scenario->sha256,
                     "d7207fe9119134d6fe0b2b2c12b89828839b1dc3d6d4c82b86b404a886302903");
}
END_TEST

/* `no` is a word like any other where a name stands. */
START_TEST(yaml_traps_keep_their_text)
{
    g_autoptr(GError) error = NULL;
    const char text[] =
        "spate: 1\ntitle: no\nrun: {duration: 1 h}\nbearers:\n  on: {kind: dsss, "
        "frequency: 2437 MHz}\nnodes:\n  no: {at: {x: 0 m, y: 0 m}}\n  010: {at: {x: "
        "0 m, y: 0 m}}\n";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("text", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);

    ck_assert_str_eq(scenario->title, "no");
    ck_assert_str_eq(scenario->nodes[0].name, "010");
    ck_assert_str_eq(scenario->nodes[1].name, "no");
    ck_assert_str_eq(scenario->bearers[0].name, "on");
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("scenario");
    TCase *reads = tcase_create("reads");
    tcase_add_test(reads, what_is_not_said_has_its_default);
    tcase_add_test(reads, the_example_of_the_manual_reads);
    tcase_add_test(reads, a_rule_knows_traffics_origins_and_its_line);
    tcase_add_test(reads, every_key_of_a_bearer_arrives);
    tcase_add_test(reads, every_key_of_propagation_arrives);
    tcase_add_test(reads, every_key_of_a_move_arrives);
    tcase_add_test(reads, the_steps_of_a_run_are_counted);
    tcase_add_test(reads, every_key_of_a_node_arrives);
    tcase_add_test(reads, a_node_overrides_flooding_key_by_key);
    tcase_add_test(reads, rules_of_the_top_hold_for_nodes_without_their_own);
    tcase_add_test(reads, rules_of_a_node_stand_in_place_of_those_of_the_top);
    tcase_add_test(reads, shapes_place_their_nodes);
    tcase_add_test(reads, nodes_bearers_and_traffics_are_sorted_by_name);
    tcase_add_test(reads, groups_stand_for_all_their_nodes);
    tcase_add_test(reads, links_of_groups_are_those_of_all_pairs);
    tcase_add_test(reads, traffic_knows_its_ends_class_and_times);
    tcase_add_test(reads, priority_declares_classes_that_no_traffic_has);
    tcase_add_test(reads, a_bridge_of_a_group_crosses_at_each_of_its_nodes);
    tcase_add_test(reads, every_condition_and_action_of_a_rule_arrives);
    tcase_add_test(reads, ambient_traffic_arrives);
    tcase_add_test(reads, lat_and_lon_are_places_on_the_ellipsoid);
    tcase_add_test(reads, shapes_may_lie_across_the_meridian_of_180_degrees);
    tcase_add_test(reads, the_order_of_the_file_does_not_matter);
    tcase_add_test(reads, the_digest_is_that_of_the_text);
    tcase_add_test(reads, yaml_traps_keep_their_text);
    suite_add_tcase(suite, reads);

    TCase *variants = tcase_create("variants");
    tcase_add_test(variants, a_variant_changes_what_it_sets_and_nothing_else);
    tcase_add_test(variants, a_variant_sets_rules_of_flooding);
    tcase_add_test(variants, entries_of_lists_are_set_by_number);
    tcase_add_test(variants, a_setting_comes_after_the_variant);
    tcase_add_test(variants, a_bad_setting_is_shown_in_its_own_text);
    tcase_add_test(variants, a_setting_may_mend_a_fault_of_the_file);
    tcase_add_test(variants, a_setting_may_mend_a_variant);
    tcase_add_test(variants, a_setting_is_checked_with_what_is_used_only);
    tcase_add_test(variants, an_unfinished_setting_is_shown_at_its_end);
    tcase_add_test(variants, a_rate_that_is_set_is_at_fault_in_its_own_text);
    tcase_add_test(variants, variants_are_named_in_the_order_of_the_file);
    tcase_add_test(variants, an_unknown_variant_is_answered_with_the_nearest);
    suite_add_tcase(suite, variants);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
