/* test-rules.c - what may be carried on */
#include "rules/rules.h"

#include "support/check-main.h"
#include <math.h>

#define N_NODES 4

static const SpateBounds ANY = {NAN, NAN};
static const uint32_t RECIPIENTS[] = {0, 2};

/* A rule that matches everything. */
static SpateRule
rule_that(SpateRuleAction action)
{
    return (SpateRule){.size_bytes = ANY,
                       .hops = ANY,
                       .received_dbm = ANY,
                       .occupancy_bearer = -1,
                       .action = action};
}

static SpateRule
limit(double per_s, double burst)
{
    SpateRule rule = rule_that(SPATE_RULE_LIMIT);
    rule.limit_per_s = per_s;
    rule.limit_burst = burst;
    return rule;
}

static SpateRule
thin(uint32_t keep, uint32_t of)
{
    SpateRule rule = rule_that(SPATE_RULE_THIN);
    rule.thin_keep = keep;
    rule.thin_of = of;
    return rule;
}

static double
occupancy_of_30_percent_on_bearer_1(gpointer user, uint32_t bearer)
{
    ck_assert_uint_eq(bearer, 1);
    return 0.3;
}

static SpateRuleSubject
message(void)
{
    return (SpateRuleSubject){
        .traffic = 1,
        .origin = 2,
        .size_bytes = 24,
        .hops = 3,
        .received_dbm = -100.0,
        .recipients = RECIPIENTS,
        .n_recipients = 2,
        .occupancy = occupancy_of_30_percent_on_bearer_1,
    };
}

/* Whether a rule that holds back takes the message, where others pass. */
static bool
rule_takes(const SpateRule *rule, const SpateRuleSubject *subject)
{
    g_autoptr(SpateRuleMemory) memory = spate_rule_memory_new(rule, 1, N_NODES);
    SpateVerdict verdict = spate_rules_judge(rule, 1, true, memory, subject);
    ck_assert_uint_eq(verdict.rule, verdict.passes ? SPATE_NO_RULE : 0);
    return !verdict.passes;
}

START_TEST(a_rule_without_conditions_takes_everything)
{
    SpateRule rule = rule_that(SPATE_RULE_HOLD_BACK);
    SpateRuleSubject subject = message();
    ck_assert(rule_takes(&rule, &subject));
}
END_TEST

START_TEST(bounds_are_strict)
{
    SpateRuleSubject subject = message();
    SpateRule above = rule_that(SPATE_RULE_HOLD_BACK), below = rule_that(SPATE_RULE_HOLD_BACK);

    above.size_bytes.above = 24;
    below.size_bytes.below = 24;
    ck_assert(!rule_takes(&above, &subject));
    ck_assert(!rule_takes(&below, &subject));
    above.size_bytes.above = 23;
    below.size_bytes.below = 25;
    ck_assert(rule_takes(&above, &subject));
    ck_assert(rule_takes(&below, &subject));
}
END_TEST

START_TEST(hops_and_received_power_have_bounds_too)
{
    SpateRuleSubject subject = message();
    SpateRule hops = rule_that(SPATE_RULE_HOLD_BACK), power = rule_that(SPATE_RULE_HOLD_BACK);

    hops.hops = (SpateBounds){2, 4};
    power.received_dbm = (SpateBounds){-100.5, -99.5};
    ck_assert(rule_takes(&hops, &subject));
    ck_assert(rule_takes(&power, &subject));
    subject.hops = 4;
    subject.received_dbm = -99.5;
    ck_assert(!rule_takes(&hops, &subject));
    ck_assert(!rule_takes(&power, &subject));
}
END_TEST

START_TEST(traffics_and_origins_are_sets)
{
    SpateRuleSubject subject = message();
    bool second[] = {false, true, false, false}, third[] = {false, false, true, false};
    SpateRule rule = rule_that(SPATE_RULE_HOLD_BACK);

    rule.traffics = second;
    ck_assert(rule_takes(&rule, &subject));
    rule.origins = third;
    ck_assert(rule_takes(&rule, &subject));
    rule.traffics = third;
    ck_assert(!rule_takes(&rule, &subject));
}
END_TEST

START_TEST(to_matches_when_any_recipient_is_named)
{
    SpateRuleSubject subject = message();
    bool first[] = {true, true, false, false}, others[] = {false, true, false, true};
    SpateRule rule = rule_that(SPATE_RULE_HOLD_BACK);

    rule.recipients = first;
    ck_assert(rule_takes(&rule, &subject));
    rule.recipients = others;
    ck_assert(!rule_takes(&rule, &subject));
}
END_TEST

START_TEST(the_source_is_none_of_its_recipients)
{
    SpateRuleSubject subject = message();
    bool only_source[] = {false, false, true, false};
    SpateRule rule = rule_that(SPATE_RULE_HOLD_BACK);
    rule.recipients = only_source;

    ck_assert(!rule_takes(&rule, &subject));
    subject.origin = 1;
    ck_assert(rule_takes(&rule, &subject));
}
END_TEST

START_TEST(occupancy_must_lie_above)
{
    SpateRuleSubject subject = message();
    SpateRule rule = rule_that(SPATE_RULE_HOLD_BACK);
    rule.occupancy_bearer = 1;

    rule.occupancy_above = 0.29;
    ck_assert(rule_takes(&rule, &subject));
    rule.occupancy_above = 0.3;
    ck_assert(!rule_takes(&rule, &subject));
}
END_TEST

START_TEST(the_first_rule_that_matches_decides)
{
    SpateRule rules[] = {rule_that(SPATE_RULE_HOLD_BACK), rule_that(SPATE_RULE_PASS),
                         rule_that(SPATE_RULE_HOLD_BACK)};
    rules[0].size_bytes.above = 100;
    SpateRuleSubject subject = message();
    g_autoptr(SpateRuleMemory) memory = spate_rule_memory_new(rules, 3, N_NODES);

    SpateVerdict verdict = spate_rules_judge(rules, 3, false, memory, &subject);
    ck_assert(verdict.passes);
    ck_assert_uint_eq(verdict.rule, 1);
}
END_TEST

START_TEST(otherwise_decides_where_no_rule_matches)
{
    SpateRuleSubject subject = message();
    g_autoptr(SpateRuleMemory) memory = spate_rule_memory_new(NULL, 0, N_NODES);

    ck_assert(spate_rules_judge(NULL, 0, true, memory, &subject).passes);
    SpateVerdict refused = spate_rules_judge(NULL, 0, false, memory, &subject);
    ck_assert(!refused.passes);
    ck_assert_uint_eq(refused.rule, SPATE_NO_RULE);
}
END_TEST

/* Judges messages of one origin at the given seconds; 1 for each that passes. */
static void
assert_passes_at(const SpateRule *rule, size_t n, const double *at_s, const int *expected)
{
    g_autoptr(SpateRuleMemory) memory = spate_rule_memory_new(rule, 1, N_NODES);
    SpateRuleSubject subject = message();
    for (size_t i = 0; i < n; i++) {
        subject.now_ns = llround(at_s[i] * 1e9);
        ck_assert_msg(spate_rules_judge(rule, 1, true, memory, &subject).passes == expected[i],
                      "message %zu at %g s", i, at_s[i]);
    }
}

/* A token bucket as in RFC 2697, section 3: it starts full (CBS 3), and a token flows in every 10 s
 * while it is not.  Worked by hand: after 100 s it holds 3 again, not 10. */
START_TEST(a_bucket_starts_full_and_fills_continuously)
{
    SpateRule rule = limit(0.1, 3);
    const double at_s[] = {0, 0, 0, 0, 9.999999999, 10, 15, 20, 100, 100, 100, 100, 110};
    const int passes[] = {1, 1, 1, 0, 0, 1, 0, 1, 1, 1, 1, 0, 1};
    assert_passes_at(&rule, G_N_ELEMENTS(at_s), at_s, passes);
}
END_TEST

START_TEST(a_message_held_back_takes_no_token)
{
    SpateRule rule = limit(0.1, 1);
    const double at_s[] = {0, 3, 6, 9, 10, 12, 19, 20};
    const int passes[] = {1, 0, 0, 0, 1, 0, 0, 1};
    assert_passes_at(&rule, G_N_ELEMENTS(at_s), at_s, passes);
}
END_TEST

/* A row that comes just as fast as tokens flow in never runs dry: no rounding is added up.  49 an
 * hour is a rate that a sum of doubles misses. */
START_TEST(a_row_at_the_very_rate_always_passes)
{
    const int per_hour[] = {4, 7, 49};
    for (size_t i = 0; i < G_N_ELEMENTS(per_hour); i++) {
        SpateRule rule = limit(per_hour[i] / 3600.0, 1);
        g_autoptr(SpateRuleMemory) memory = spate_rule_memory_new(&rule, 1, N_NODES);
        SpateRuleSubject subject = message();
        for (int k = 0; k < 2000; k++) {
            subject.now_ns = (int64_t)(k * ceil(3600e9 / per_hour[i]));
            ck_assert_msg(spate_rules_judge(&rule, 1, true, memory, &subject).passes,
                          "message %d at %d an hour", k, per_hour[i]);
        }
    }
}
END_TEST

START_TEST(a_bucket_for_each_origin_is_its_own)
{
    SpateRule rule = limit(0.1, 1);
    rule.per_origin = true;
    g_autoptr(SpateRuleMemory) memory = spate_rule_memory_new(&rule, 1, N_NODES);
    SpateRuleSubject subject = message();

    ck_assert(spate_rules_judge(&rule, 1, true, memory, &subject).passes);
    ck_assert(!spate_rules_judge(&rule, 1, true, memory, &subject).passes);
    subject.origin = 3;
    ck_assert(spate_rules_judge(&rule, 1, true, memory, &subject).passes);
    ck_assert(!spate_rules_judge(&rule, 1, true, memory, &subject).passes);
}
END_TEST

START_TEST(of_each_row_the_first_pass)
{
    SpateRule rule = thin(2, 5);
    const double at_s[12] = {0};
    const int passes[] = {1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 1, 1};
    assert_passes_at(&rule, G_N_ELEMENTS(at_s), at_s, passes);
}
END_TEST

START_TEST(rows_of_each_origin_are_its_own)
{
    SpateRule rule = thin(1, 3);
    rule.per_origin = true;
    g_autoptr(SpateRuleMemory) memory = spate_rule_memory_new(&rule, 1, N_NODES);
    SpateRuleSubject subject = message();
    const uint32_t origins[] = {0, 1, 0, 0, 1, 0, 1, 1};
    const int passes[] = {1, 1, 0, 0, 0, 1, 0, 1};
    for (size_t i = 0; i < G_N_ELEMENTS(origins); i++) {
        subject.origin = origins[i];
        ck_assert_int_eq(spate_rules_judge(&rule, 1, true, memory, &subject).passes, passes[i]);
    }
}
END_TEST

/* A reader that gives up clears what it has, and its array once more. */
START_TEST(a_cleared_rule_holds_nothing)
{
    SpateRule rule = rule_that(SPATE_RULE_HOLD_BACK);
    SpateRuleSubject subject = message();
    rule.traffics = g_new0(bool, 2);
    rule.origins = g_new0(bool, N_NODES);
    rule.recipients = g_new0(bool, N_NODES);
    ck_assert(!rule_takes(&rule, &subject));

    spate_rule_clear(&rule);
    spate_rule_clear(&rule);
    ck_assert(rule_takes(&rule, &subject));
}
END_TEST

START_TEST(only_the_rule_that_decides_remembers)
{
    SpateRule rules[] = {thin(1, 2), limit(0.1, 1)};
    rules[0].size_bytes.below = 100;
    g_autoptr(SpateRuleMemory) memory = spate_rule_memory_new(rules, 2, N_NODES);
    SpateRuleSubject small = message(), large = message();
    large.size_bytes = 200;

    ck_assert(spate_rules_judge(rules, 2, true, memory, &small).passes);
    ck_assert(!spate_rules_judge(rules, 2, true, memory, &small).passes);
    ck_assert(spate_rules_judge(rules, 2, true, memory, &large).passes);
    ck_assert(!spate_rules_judge(rules, 2, true, memory, &large).passes);
    ck_assert(spate_rules_judge(rules, 2, true, memory, &small).passes);
}
END_TEST

int
main(void)
{
    TCase *conditions = tcase_create("when");
    tcase_add_test(conditions, a_rule_without_conditions_takes_everything);
    tcase_add_test(conditions, bounds_are_strict);
    tcase_add_test(conditions, hops_and_received_power_have_bounds_too);
    tcase_add_test(conditions, traffics_and_origins_are_sets);
    tcase_add_test(conditions, to_matches_when_any_recipient_is_named);
    tcase_add_test(conditions, the_source_is_none_of_its_recipients);
    tcase_add_test(conditions, occupancy_must_lie_above);
    tcase_add_test(conditions, the_first_rule_that_matches_decides);
    tcase_add_test(conditions, otherwise_decides_where_no_rule_matches);
    TCase *actions = tcase_create("do");
    tcase_add_test(actions, a_bucket_starts_full_and_fills_continuously);
    tcase_add_test(actions, a_message_held_back_takes_no_token);
    tcase_add_test(actions, a_row_at_the_very_rate_always_passes);
    tcase_add_test(actions, a_bucket_for_each_origin_is_its_own);
    tcase_add_test(actions, of_each_row_the_first_pass);
    tcase_add_test(actions, rows_of_each_origin_are_its_own);
    tcase_add_test(actions, a_cleared_rule_holds_nothing);
    tcase_add_test(actions, only_the_rule_that_decides_remembers);
    Suite *suite = suite_create("rules");
    suite_add_tcase(suite, conditions);
    suite_add_tcase(suite, actions);
    return run_suite(suite);
}
