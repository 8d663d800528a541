/* test-explain.c - a message that did not arrive says why
 *
 * A line of houses on the yard, a bridge, a mast and a far hut in the valley; losses are given, so
 * that who hears whom is known.
 *
 *     soil -- (yard) -- gate -- (valley) -- mast -- (valley) -- hut
 */
#include "core/time.h"
#include "report/check/explanation-words.h"
#include "support/check-main.h"

#include <string.h>

enum { GATE, HUT, MAST, SOIL }; /* by name */
enum { VALLEY, YARD };

#define HEAD                                                                                       \
    "spate: 1\n"                                                                                   \
    "run: {duration: 10 min}\n"                                                                    \
    "bearers:\n"                                                                                   \
    "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9}\n"      \
    "  yard: {kind: dsss, frequency: 2437 MHz, propagation: {model: log-distance, exponent: 6}}\n" \
    "links:\n"                                                                                     \
    "  - {between: [gate, mast], loss: 120 dB}\n"                                                  \
    "  - {between: [mast, hut], loss: 120 dB}\n"                                                   \
    "  - {between: [gate, hut], loss: 150 dB}\n"

#define NODES                                                                                      \
    "nodes:\n"                                                                                     \
    "  gate: {at: {x: 10 m, y: 0 m}, radios: {yard: {power: 20 dBm}, valley: {power: 14 dBm}},\n"  \
    "    relay: [yard, valley]}\n"                                                                 \
    "  hut: {at: {x: 2 km, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"                          \
    "  mast: {at: {x: 1 km, y: 0 m}, radios: {valley: {power: 14 dBm}}, relay: [valley]}\n"        \
    "  soil: {at: {x: 0 m, y: 0 m}, radios: {yard: {power: 10 dBm}}}\n"

#define TRAFFIC "traffic: {alarm: {from: soil, to: hut, payload: 16 bytes, at: [30 s, 60 s]}}\n"

static char *
explained(const char *text, SpateExplainWanted wanted)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan.yaml", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    ck_assert_ptr_nonnull(world);
    g_autoptr(SpateExplanation) explanation = spate_explain(world, 0, &wanted, &error);
    ck_assert_ptr_nonnull(explanation);
    return spate_explanation_text(explanation);
}

static void
says(const char *explanation, const char *part)
{
    ck_assert_msg(strstr(explanation, part) != NULL, "'%s' is not in:\n%s", part, explanation);
}

static const SpateExplainWanted AT_THE_HUT = {.question = SPATE_EXPLAIN_NOT_REACHED,
                                              .message = {.origin = SOIL},
                                              .node = HUT,
                                              .within_ns = 500 * SPATE_NS_PER_MS};

START_TEST(a_rule_that_held_it_back_is_named_with_its_line)
{
    g_autofree char *text =
        explained(HEAD NODES TRAFFIC "bridges:\n"
                                     "  gate:\n"
                                     "    up:\n"
                                     "      from: yard\n"
                                     "      to: valley\n"
                                     "      rules:\n"
                                     "        - {when: {size: {above: 10 bytes}}, do: hold-back}\n",
                  AT_THE_HUT);
    says(text, "alarm of soil, offered at 0:00:30.000\n");
    says(text, "it never reached hut\n");
    says(text, "gate gets it on yard from soil (hop 1; ");
    says(text, "gate does not let it across to valley (crossing 'up'): the rule at plan.yaml:23 "
               "(hold-back)\n");
    says(text, "no node sent it on a bearer on which hut has a radio\n");
}
END_TEST

START_TEST(the_second_offer_of_a_source_is_another_message)
{
    SpateExplainWanted wanted = AT_THE_HUT;
    wanted.message.offer = 1;
    g_autofree char *text = explained(HEAD NODES TRAFFIC, wanted);
    says(text, "offered at 0:01:00.000\n");
}
END_TEST

START_TEST(a_node_out_of_reach_hears_how_much_is_missing)
{
    /* 14 dBm less 150 dB; SF9 in 125 kHz needs -174 + 51 + 6 - 12.5 = -129.5 dBm. */
    g_autofree char *text =
        explained(HEAD NODES TRAFFIC "flooding: {hop-limit: 2}\n"
                                     "bridges: {gate: {up: {from: yard, to: valley}}}\n",
                  AT_THE_HUT);
    says(text,
         "hut hears none of the nodes that sent it: the strongest, gate on valley, is 6.5 dB too "
         "weak there\n");
    says(text, "mast does not relay it on valley: it has done 2 hops, and its hop limit is "
               "reached\n");
}
END_TEST

START_TEST(a_collision_names_the_disturber)
{
    /* The hut hears the mast and, much louder, the shed that talks all the time. */
    SpateExplainWanted wanted = AT_THE_HUT;
    wanted.message.origin = SOIL + 1; /* after the shed */
    g_autofree char *text =
        explained(HEAD "  - {between: [shed, hut], loss: 100 dB}\n"
                       "  - {between: [shed, mast], loss: 200 dB}\n"
                       "  - {between: [shed, gate], loss: 200 dB}\n" NODES
                       "  shed: {at: {x: 3 km, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
                       "bridges: {gate: {up: {from: yard, to: valley}}}\n"
                       "traffic:\n"
                       "  alarm: {from: soil, to: hut, payload: 16 bytes, at: [30 s]}\n"
                       "  chatter: {from: shed, to: nobody, payload: 200 bytes, every: 1 s, "
                       "phase: together}\n",
                  wanted);
    says(text, "hut could hear mast on valley (");
    says(text, "shed's frame on valley\n");
}
END_TEST

START_TEST(a_late_message_shows_where_the_time_went)
{
    SpateExplainWanted wanted = AT_THE_HUT;
    wanted.within_ns = SPATE_NS_PER_MS;
    g_autofree char *text =
        explained(HEAD NODES TRAFFIC "flooding: {jitter: {at-most: 0 airtimes}}\n"
                                     "bridges: {gate: {up: {from: yard, to: valley}}}\n",
                  wanted);
    says(text, "it reached hut after ");
    says(text, ", not within 0.001 s; its path:\n");
    says(text, "gate gets it on yard from soil (hop 1; ");
    says(text, "gate decides to let it across to valley (crossing 'up'), by its 'otherwise'\n");
    says(text, "mast gets it on valley from gate (hop 2; 23.5 dB above its sensitivity)\n");
    says(text, "hut gets it on valley from mast (hop 3; 23.5 dB above its sensitivity)\n");
}
END_TEST

START_TEST(what_should_not_have_come_shows_its_way)
{
    SpateExplainWanted wanted = AT_THE_HUT;
    wanted.question = SPATE_EXPLAIN_REACHED;
    g_autofree char *text =
        explained(HEAD NODES TRAFFIC "bridges: {gate: {up: {from: yard, to: valley}}}\n", wanted);
    says(text, "it reached hut; its path:\n");
    says(text, "hut gets it on valley from mast (hop 3; ");
}
END_TEST

START_TEST(what_should_not_have_been_sent_shows_who_sent_it)
{
    SpateExplainWanted wanted = AT_THE_HUT;
    wanted.question = SPATE_EXPLAIN_SENT_ON;
    wanted.bearer = VALLEY;
    g_autofree char *text =
        explained(HEAD NODES TRAFFIC "bridges: {gate: {up: {from: yard, to: valley}}}\n", wanted);
    says(text, "gate sent it on valley; its path there:\n");
    says(text, "gate gets it on yard from soil (hop 1; ");
    says(text, "gate decides to let it across to valley (crossing 'up'), by its 'otherwise'\n");
    says(text, "gate sends it on valley\n");
}
END_TEST

START_TEST(a_message_that_waits_for_a_digest_says_so)
{
    g_autofree char *text = explained(
        HEAD NODES TRAFFIC
        "bridges: {gate: {up: {from: yard, to: valley, rules: [{do: {digest: {every: 1 h}}}]}}}\n",
        AT_THE_HUT);
    says(text, "gate does not let it across to valley (crossing 'up') by itself: the rule at "
               "plan.yaml:17 (digest) collects it\n");
    says(text, "gate still waits to send it on valley when the run ends\n");
}
END_TEST

/* soil -- gate -- hut, and a pump next to soil whose copy reaches the gate but not the hut; only
 * the gate waits before it relays, so that it hears the pump first. */
#define COUNTER                                                                                    \
    "spate: 1\n"                                                                                   \
    "run: {duration: 10 min}\n"                                                                    \
    "bearers:\n"                                                                                   \
    "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9}\n"      \
    "flooding: {policy: counter, copies: 1, jitter: {at-most: 0 airtimes}}\n"                      \
    "links:\n"                                                                                     \
    "  - {between: [soil, gate], loss: 120 dB}\n"                                                  \
    "  - {between: [soil, pump], loss: 120 dB}\n"                                                  \
    "  - {between: [pump, gate], loss: 120 dB}\n"                                                  \
    "  - {between: [gate, hut], loss: 120 dB}\n"                                                   \
    "  - {between: [soil, hut], loss: 160 dB}\n"                                                   \
    "  - {between: [pump, hut], loss: 150 dB}\n"                                                   \
    "nodes:\n"                                                                                     \
    "  gate: {at: {x: 10 m, y: 0 m}, radios: {valley: {power: 14 dBm}}, relay: [valley],\n"        \
    "    flooding: {policy: counter, copies: 1, jitter: {at-most: 1000 airtimes}%s}}\n"            \
    "  hut: {at: {x: 2 km, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"                          \
    "  pump: {at: {x: 1 km, y: 0 m}, radios: {valley: {power: 14 dBm}}, relay: [valley]}\n"        \
    "  soil: {at: {x: 0 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n" TRAFFIC

/* In its jitter or, since the channel was busy with the first message, delayed by a rule. */
START_TEST(a_relay_that_copies_cancel_is_told)
{
    static const char *const RULES[] = {
        "", ", rules: [{do: {delay: {until-below: 0.001 %, at-most: 1 h}}}]"};
    SpateExplainWanted wanted = AT_THE_HUT;
    wanted.message.offer = 1;
    for (size_t i = 0; i < G_N_ELEMENTS(RULES); i++) {
        g_autofree char *plan = g_strdup_printf(COUNTER, RULES[i]);
        g_autofree char *text = explained(plan, wanted);
        says(text,
             "hut hears none of the nodes that sent it: the strongest, pump on valley, is 6.5 dB "
             "too weak there\n");
        says(text, "gate drops its frame on valley: enough copies of it were heard meanwhile "
                   "(counter)\n");
        ck_assert_ptr_null(strstr(text, "still waits"));
    }
}
END_TEST

START_TEST(a_relay_out_of_reach_hears_how_much_is_missing)
{
    g_autofree char *text =
        explained("spate: 1\n"
                  "run: {duration: 10 min}\n"
                  "bearers:\n"
                  "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, "
                  "spreading-factor: 9}\n"
                  "  yard: {kind: dsss, frequency: 2437 MHz}\n"
                  "links:\n"
                  "  - {between: [gate, soil], loss: 120 dB}\n"
                  "  - {between: [gate, mast], loss: 145 dB}\n"
                  "  - {between: [gate, hut], loss: 170 dB}\n"
                  "  - {between: [soil, mast], loss: 160 dB}\n"
                  "  - {between: [soil, hut], loss: 180 dB}\n"
                  "nodes:\n"
                  "  gate: {at: {x: 10 m, y: 0 m}, radios: {valley: {power: 14 dBm}}, relay: "
                  "[valley]}\n"
                  "  hut: {at: {x: 2 km, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
                  "  mast: {at: {x: 1 km, y: 0 m}, radios: {valley: {power: 14 dBm}}, relay: "
                  "[valley]}\n"
                  "  soil: {at: {x: 0 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n" TRAFFIC,
                  AT_THE_HUT);
    says(text,
         "hut hears none of the nodes that sent it: the strongest, gate on valley, is 26.5 dB too "
         "weak there\n");
    says(text,
         "mast would relay it, but hears no node that has it: the strongest, gate on valley, is "
         "1.5 dB too weak there\n");
}
END_TEST

/* The level without fading is enough; what Rayleigh fading leaves of it now and then is not. */
START_TEST(a_frame_that_faded_is_not_called_too_weak)
{
    g_auto(GStrv) parts = g_strsplit(
        HEAD NODES TRAFFIC "bridges: {gate: {up: {from: yard, to: valley}}}\n", "factor: 9", 2);
    bool was_seen = false;
    for (int seed = 1; seed <= 200 && !was_seen; seed++) {
        g_autofree char *plan =
            g_strdup_printf("%sfactor: 9, fading: rayleigh%sseed: %d\n", parts[0], parts[1], seed);
        g_autofree char *text = explained(plan, AT_THE_HUT);
        ck_assert_ptr_null(strstr(text, "is -"));
        was_seen =
            strstr(text, "dB above its sensitivity there without fading, but faded\n") != NULL;
    }
    ck_assert(was_seen);
}
END_TEST

START_TEST(what_waits_when_the_run_ends_says_so)
{
    g_autofree char *text =
        explained("spate: 1\n"
                  "run: {duration: 10 min}\n"
                  "bearers: {valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, "
                  "spreading-factor: 9, duty-cycle: 0.001 %}}\n"
                  "nodes:\n"
                  "  hut: {at: {x: 0 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
                  "  soil: {at: {x: 9 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
                  "  gate: {at: {x: 9 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
                  "  mast: {at: {x: 9 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n" TRAFFIC,
                  AT_THE_HUT);
    says(text, "+0.000 s soil still waits to send it on valley when the run ends (its duty cycle "
               "allows 0.036 s on the air in any hour)\n");
}
END_TEST

START_TEST(a_digest_counts_its_own_hops)
{
    g_autofree char *text = explained(
        HEAD NODES TRAFFIC "bridges: {gate: {up: {from: yard, to: valley, rules: [{do: {digest: "
                           "{every: 10 s, most: 9}}}]}}}\n",
        AT_THE_HUT);
    says(text, "hut gets it on valley from mast (hop 2 of the digest; ");
}
END_TEST

#define ASKED                                                                                      \
    "traffic: {talk: {from: gate, to: mast, payload: 16 bytes, at: 30 s, acknowledge: {within: 2 " \
    "s, tries: 2}}}\n"

static const SpateExplainWanted ANSWER_TO_GATE = {.question = SPATE_EXPLAIN_NOT_ACKNOWLEDGED,
                                                  .message = {.origin = GATE}};

/* The mast hears the gate, but not the other way round. */
START_TEST(an_acknowledgement_that_died_says_where)
{
    g_autofree char *text =
        explained(HEAD "  - {from: mast, to: gate, loss: 150 dB}\n" NODES ASKED, ANSWER_TO_GATE);
    says(text, "talk of gate, offered at 0:00:30.000\n");
    says(text, "it reached mast after ");
    says(text, "but no acknowledgement came back to gate; the acknowledgements:\n");
    says(text, "gate hears none of the nodes that sent it");
}
END_TEST

START_TEST(a_try_that_never_came_says_where)
{
    g_autofree char *text =
        explained(HEAD "  - {from: gate, to: mast, loss: 150 dB}\n" NODES ASKED, ANSWER_TO_GATE);
    says(text, "it never reached mast\n");
    says(text, "mast hears none of the nodes that sent it");
}
END_TEST

#define MAST_DOWN "outages: [{node: mast, at: 20 s, for: 15 s}]\n"

START_TEST(a_relay_that_was_down_is_told)
{
    g_autofree char *text = explained(HEAD NODES TRAFFIC MAST_DOWN, AT_THE_HUT);
    says(text, "mast was down from 0:00:20.000 to 0:00:35.000\n");
    ck_assert_ptr_null(strstr(text, "mast would relay it"));
    SpateExplainWanted second = AT_THE_HUT;
    second.message.offer = 1;
    g_autofree char *later = explained(HEAD NODES TRAFFIC MAST_DOWN, second);
    ck_assert_ptr_null(strstr(later, "was down"));
}
END_TEST

START_TEST(a_recipient_that_was_down_is_told)
{
    g_autofree char *text =
        explained(HEAD NODES TRAFFIC "outages: [{node: hut, at: 20 s, for: 1 h}]\n", AT_THE_HUT);
    says(text, "hut was down from 0:00:20.000 on\n");
    ck_assert_ptr_null(strstr(text, "hut hears none"));
}
END_TEST

START_TEST(a_source_that_was_down_is_told)
{
    g_autofree char *text =
        explained(HEAD NODES TRAFFIC "outages: [{node: soil, at: 30 s, for: 1 s}]\n", AT_THE_HUT);
    says(text, "soil was down from 0:00:30.000 to 0:00:31.000\n");
}
END_TEST

/* In a digest, which would be sent five minutes after. */
START_TEST(what_waits_at_a_node_that_fails_is_not_pending)
{
    g_autofree char *text = explained(
        HEAD NODES TRAFFIC
        "bridges: {gate: {up: {from: yard, to: valley, rules: [{do: {digest: {every: 5 min}}}]}}}\n"
        "outages: [{node: gate, at: 2 min, for: 1 s}]\n",
        AT_THE_HUT);
    says(text, "gate was down from 0:02:00.000 to 0:02:01.000\n");
    ck_assert_ptr_null(strstr(text, "still waits"));
}
END_TEST

/* In steps of 10 m it is at 10 km after 90 s, where 83.5 + 80 dB are lost of 14 dBm, 20 dB more
 * than -129.5 dBm allows; it began at 100 m, and will be at 66 km. */
START_TEST(a_node_that_moves_was_out_of_reach_where_it_was_then)
{
    g_autofree char *text = explained(
        "spate: 1\n"
        "run: {duration: 10 min}\n"
        "bearers:\n"
        "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"
        "    propagation: {model: log-distance, exponent: 2, intercept: {at: 1 m, loss: 83.5 "
        "dB}}}\n"
        "nodes:\n"
        "  hut: {at: {x: 100 m, y: 0 m}, radios: {valley: {power: 14 dBm}},\n"
        "    moves: {along: [{x: 100 km, y: 0 m}], speed: 110 m/s}}\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
        "traffic: {alarm: {from: mast, to: hut, payload: 16 bytes, at: [90 s]}}\n",
        (SpateExplainWanted){
            .question = SPATE_EXPLAIN_NOT_REACHED, .message = {.origin = 1}, .node = 0});
    says(text, "the strongest, mast on valley, is 20.0 dB too weak there\n");
}
END_TEST

CHECK_MAIN("explain", a_relay_that_was_down_is_told, a_recipient_that_was_down_is_told,
           a_source_that_was_down_is_told, a_node_that_moves_was_out_of_reach_where_it_was_then,
           what_waits_at_a_node_that_fails_is_not_pending, an_acknowledgement_that_died_says_where,
           a_try_that_never_came_says_where, a_rule_that_held_it_back_is_named_with_its_line,
           the_second_offer_of_a_source_is_another_message,
           a_node_out_of_reach_hears_how_much_is_missing, a_collision_names_the_disturber,
           a_late_message_shows_where_the_time_went, what_should_not_have_come_shows_its_way,
           what_should_not_have_been_sent_shows_who_sent_it,
           a_message_that_waits_for_a_digest_says_so, a_digest_counts_its_own_hops,
           a_relay_that_copies_cancel_is_told, a_relay_out_of_reach_hears_how_much_is_missing,
           a_frame_that_faded_is_not_called_too_weak, what_waits_when_the_run_ends_says_so)
