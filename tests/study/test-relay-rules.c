/* test-relay-rules.c - rules of flooding, from the file to the air */
#include "study/run/run.h"
#include "support/check-main.h"

#include <string.h>

/* Only neighbours hear each other: 160 dB are far below any sensitivity, 90 dB far above. */
static const char LINE[] =
    "spate: 1\n"
    "run: {duration: 11 min}\n"
    "bearers:\n"
    "  valley:\n"
    "    kind: lora\n"
    "    frequency: 869.5 MHz\n"
    "    bandwidth: 125 kHz\n"
    "    spreading-factor: 7\n"
    "flooding: {jitter: {at-most: 0 airtimes}}\n"
    "nodes:\n"
    "  a: {at: {x: 0 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
    "  b: {at: {x: 1 m, y: 0 m}, radios: {valley: {power: 14 dBm}}, relay: [valley]}\n"
    "  c: {at: {x: 2 m, y: 0 m}, radios: {valley: {power: 14 dBm}}, relay: [valley]}\n"
    "  d: {at: {x: 3 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
    "links:\n"
    "  - {between: [a, b], loss: 90 dB}\n"
    "  - {between: [b, c], loss: 90 dB}\n"
    "  - {between: [c, d], loss: 90 dB}\n"
    "  - {between: [a, c], loss: 160 dB}\n"
    "  - {between: [a, d], loss: 160 dB}\n"
    "  - {between: [b, d], loss: 160 dB}\n"
    "traffic:\n"
    "  talk: {from: a, to: [b, c, d], payload: 20 bytes, at: [1 min, 2 min, 3 min, 4 min]}\n"
    "variants:\n"
    "  one: {set: {nodes.c.flooding.rules: [{when: {traffic: talk}, do: hold-back}]}}\n"
    "  all: {set: {flooding.rules: [{do: hold-back}]}}\n"
    "  all-but-one: {set: {flooding.rules: [{do: hold-back}], nodes.b.flooding.rules: []}}\n"
    "  half: {set: {nodes.b.flooding.rules: [{do: {thin: {keep: 1, of: 2}}}]}}\n"
    "  from-others: {set: {flooding.rules: [{when: {from: d}, do: hold-back}]}}\n";

enum { A, B, C, D, N_NODES };

/* How many of the four messages came to each node. */
typedef struct {
    uint32_t delivered[N_NODES];
} Counts;

static void
count_delivered(gpointer self, const SpateEvent *event)
{
    Counts *counts = self;
    counts->delivered[event->node]++;
}

static Counts
run_variant(const char *variant)
{
    g_autoptr(GError) error = NULL;
    Counts counts = {{0}};
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("line.yaml", LINE, strlen(LINE), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, variant, &error);
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    g_autoptr(SpateRun) run = spate_run_new(world, 0, &error);
    ck_assert_ptr_nonnull(run);
    const SpateObserver observer = {SPATE_EVENT_DELIVERED, count_delivered, &counts};
    spate_run_add_observer(run, &observer);
    ck_assert(spate_run_go(run, NULL, NULL));
    return counts;
}

static void
assert_delivered(const char *variant, uint32_t at_b, uint32_t at_c, uint32_t at_d)
{
    Counts counts = run_variant(variant);
    ck_assert_uint_eq(counts.delivered[B], at_b);
    ck_assert_uint_eq(counts.delivered[C], at_c);
    ck_assert_uint_eq(counts.delivered[D], at_d);
}

START_TEST(a_node_that_holds_back_still_gets_its_own_messages)
{
    assert_delivered("base", 4, 4, 4);
    assert_delivered("one", 4, 4, 0);
}
END_TEST

START_TEST(rules_of_the_top_hold_at_every_node_without_its_own)
{
    assert_delivered("all", 4, 0, 0);
    assert_delivered("all-but-one", 4, 4, 0);
}
END_TEST

START_TEST(what_a_rule_lets_pass_is_relayed)
{
    assert_delivered("half", 4, 2, 2);
    assert_delivered("from-others", 4, 4, 4);
}
END_TEST

int
main(void)
{
    TCase *cases = tcase_create("relay rules");
    tcase_add_test(cases, a_node_that_holds_back_still_gets_its_own_messages);
    tcase_add_test(cases, rules_of_the_top_hold_at_every_node_without_its_own);
    tcase_add_test(cases, what_a_rule_lets_pass_is_relayed);
    Suite *suite = suite_create("relay-rules");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
