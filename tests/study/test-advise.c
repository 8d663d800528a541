/* test-advise.c - what to hold back, which relay is missed, who disturbs whom: where it is known */
#include "advise-cases.h"
#include "report/advise/advise-report.h"
#include "scenario/text/yaml-flow.h"
#include "study/advise/advise-disturbers.h"
#include "study/advise/advise-private.h"
#include "study/advise/advise-relays.h"
#include "study/advise/advise.h"
#include "support/check-main.h"

#include <math.h>
#include <string.h>

/* ---- bridges --------------------------------------------------------------------------------- */

/* Ten talkers and a bridge, equally loud at the mast.  The bridge lets two streams across: a chatty
 * one of 4 messages a second and a quiet one of 0.2. */
#define TOWN                                                                                       \
    AIR "  yard: {kind: dsss, frequency: 2437 MHz, rate: 1 Mbit/s, propagation: {model: "          \
        "free-space}}\n"                                                                           \
        "links:\n"                                                                                 \
        "  - {from: talker, to: mast, bearer: air, loss: 80 dB}\n"                                 \
        "  - {from: gate, to: mast, bearer: air, loss: 80 dB}\n"                                   \
        "nodes:\n"                                                                                 \
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"                         \
        "  gate: {at: {x: 50 m, y: 0 m}, radios: {air: {power: 14 dBm}, yard: {power: 14 dBm}}}\n" \
        "  talker: {count: 10, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 90 m}, height: " \
        "1 "                                                                                       \
        "m}, radios: {air: {power: 14 dBm}}}\n"                                                    \
        "  pump: {at: {x: 55 m, y: 0 m}, radios: {yard: {power: 14 dBm}}}\n"                       \
        "  gauge: {at: {x: 50 m, y: 5 m}, radios: {yard: {power: 14 dBm}}}\n"                      \
        "traffic:\n"                                                                               \
        "  talk: {class: talk, from: talker, to: mast, payload: 10 bytes, mean-interval: 20 s}\n"  \
        "  chatty: {class: readings, from: pump, to: mast, payload: 10 bytes, mean-interval: 250 " \
        "ms}\n"                                                                                    \
        "  quiet: {class: readings, from: gauge, to: mast, payload: 10 bytes, mean-interval: 5 "   \
        "s}\n"

#define OPEN_GATE "bridges: {gate: {up: {from: yard, to: air}}}\n"

/* A talker's frame survives if none of the nine others begins within T of its own start (N.
 * Abramson, AFIPS FJCC 37, 1970), and if the bridge, a server with Poisson arrivals of rate r, is
 * idle when it begins (1 - r T: PASTA, R. W. Wolff, Oper. Res. 30, 1982) and gets nothing before it
 * ends. */
static double
delivery_of_talk(double rate)
{
    return exp(-2.0 * FRAME_S * 9.0 / 20.0) * (1.0 - rate * FRAME_S) * exp(-rate * FRAME_S);
}

static SpateAdvice *
advised(SpateScenarioFile *file, const char *variant, SpateAdviseGentle gentle)
{
    g_autoptr(GError) error = NULL;
    const SpateAdviseWanted wanted = {.file = file, .variant = variant};
    const SpateStudyOptions options = {0};
    SpateAdvice *advice = spate_advise(&wanted, gentle, &options, &error);
    ck_assert_msg(advice != NULL, "%s", error != NULL ? error->message : "");
    return advice;
}

static const SpateAdviseStream *
stream_of(const SpateAdvice *advice, const char *traffic)
{
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        if (strcmp(advice->scenario->traffics[stream->traffic].name, traffic) == 0)
            return stream;
    }
    ck_abort_msg("no stream of %s", traffic);
}

START_TEST(the_one_stream_that_must_be_held_back_is_found)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 92.5 %}]\n");
    /* With both 67.0 %, with the chatty one alone 68.2 %, with the quiet one alone 94.8 %; with one
     * in eight of the chatty 90.9 %. */
    ck_assert_double_lt(delivery_of_talk(4.0), 0.9);
    ck_assert_double_gt(delivery_of_talk(0.2), 0.94);

    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_THIN);

    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert(advice->is_smallest);
    ck_assert_str_eq(advice->rules, "bridges.gate.up.rules:\n"
                                    "  - {when: {traffic: chatty}, do: hold-back}\n");
    ck_assert_int_eq(advice->verified->points[0].judgement.kind, SPATE_VERDICT_PASS);
}
END_TEST

START_TEST(what_a_stream_costs_and_wins_is_what_theory_says)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 92.5 %}]\n");
    g_autoptr(SpateAdvice) advice = advised(file, "base", SPATE_ADVISE_HOLD);
    const SpateAdviseStream *chatty = stream_of(advice, "chatty");
    const SpateAdviseStream *quiet = stream_of(advice, "quiet");
    double gain = delivery_of_talk(0.2) - delivery_of_talk(4.2);

    ck_assert_double_eq_tol(chatty->gain.mean, gain, 0.015);
    ck_assert_double_eq_tol(advice->delivery.mean, delivery_of_talk(4.2), 0.015);
    ck_assert_double_gt(chatty->gain.ci95.low, 0.2);
    ck_assert(chatty->is_tried && quiet->is_tried);
    /* All frames last as long: talkers send 0.5 a second. */
    ck_assert_double_eq_tol(chatty->load_share.mean, 4.0 / 4.7, 0.01);
    ck_assert_double_eq_tol(quiet->load_share.mean, 0.2 / 4.7, 0.01);
    ck_assert_double_eq_tol(chatty->per_hour.mean, 4.0 * 3600.0, 250.0);
}
END_TEST

static SpateDisturberRanking *
disturbers_of(SpateScenarioFile *file)
{
    g_autoptr(GError) error = NULL;
    const SpateAdviseWanted wanted = {.file = file};
    const SpateStudyOptions options = {0};
    SpateDisturberRanking *ranking = spate_advise_disturbers(&wanted, &options, &error);
    ck_assert_msg(ranking != NULL, "%s", error != NULL ? error->message : "");
    return ranking;
}

/* Counted in two ways: by what crossed, and by who was on the air. */
START_TEST(collisions_are_put_down_to_the_stream_that_the_frame_carried)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 50 %}]\n");
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    g_autoptr(SpateDisturberRanking) ranking = disturbers_of(file);
    const SpateDisturbedRadio *mast = &g_array_index(ranking->radios, SpateDisturbedRadio, 0);
    const SpateDisturber *gate = &g_array_index(mast->disturbers, SpateDisturber, 0);
    double all = 0.0;
    for (guint i = 0; i < mast->disturbers->len; i++)
        all += g_array_index(mast->disturbers, SpateDisturber, i).collision;

    /* A talker's frame, one of 0.5 of 4.7 a second, that finds the bridge idle and is caught up by
     * it; what finds the bridge sending is lost as busy. */
    double caught = (1.0 - 4.2 * FRAME_S) * (1.0 - exp(-4.2 * FRAME_S)) * 0.5 / 4.7;
    ck_assert_double_eq_tol(gate->collision, caught, 0.0015);
    double of_gate = stream_of(advice, "chatty")->collision_share.mean +
                     stream_of(advice, "quiet")->collision_share.mean;
    ck_assert_double_eq_tol(of_gate, gate->collision / all, 0.005);
    ck_assert_double_eq_tol(stream_of(advice, "chatty")->collision_share.mean / of_gate, 4.0 / 4.2,
                            0.02);
}
END_TEST

/* Nobody sends on the air but the bridge, what the pump says, and the mast, which answers it; no
 * answer comes back, so that each message is tried three times. */
START_TEST(a_stream_costs_what_its_answers_cost)
{
    g_autofree char *text = g_strdup_printf("%s%s", TOWN, OPEN_GATE);
    char *chatty = strstr(text, "mean-interval: 250 ms}");
    ck_assert_ptr_nonnull(chatty);
    g_autofree char *asked =
        g_strdup_printf("%.*smean-interval: 20 s, acknowledge: {within: 2 s}}%s",
                        (int)(chatty - text), text, chatty + strlen("mean-interval: 250 ms}"));
    static const SpateSetting settings[] = {{"traffic.talk.mean-interval", "10000 day"},
                                            {"traffic.quiet.mean-interval", "10000 day"}};
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan.yaml", asked, strlen(asked), settings, 2, NULL);
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    ck_assert_double_eq(stream_of(advice, "chatty")->load_share.mean, 1.0);
}
END_TEST

START_TEST(the_gentlest_treatment_that_is_enough_is_chosen)
{
    /* One in two of the chatty: 80.0 %; one in four: 87.2 %; one in eight: 90.9 %. */
    ck_assert_double_lt(delivery_of_talk(2.2), 0.83);
    ck_assert_double_gt(delivery_of_talk(1.2), 0.85);
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 84 %}]\n");
    g_autoptr(SpateAdvice) thin = advised(file, NULL, SPATE_ADVISE_THIN);
    g_autoptr(SpateAdvice) hold = advised(file, NULL, SPATE_ADVISE_HOLD);

    ck_assert_str_eq(thin->rules,
                     "bridges.gate.up.rules:\n"
                     "  - {when: {traffic: chatty}, do: {thin: {keep: 1, of: 4, per: origin}}}\n");
    ck_assert_str_eq(hold->rules, "bridges.gate.up.rules:\n"
                                  "  - {when: {traffic: chatty}, do: hold-back}\n");
}
END_TEST

START_TEST(a_limit_is_a_part_of_what_passes_now)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 84 %}]\n");
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_LIMIT);
    double per_hour = 0.0;

    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    static const char HEAD[] = "bridges.gate.up.rules:\n"
                               "  - {when: {traffic: chatty}, do: {limit: {rate: ";
    ck_assert(g_str_has_prefix(advice->rules, HEAD));
    per_hour = g_ascii_strtod(advice->rules + strlen(HEAD), NULL);
    ck_assert_double_eq_tol(per_hour * advice->one_of, 4.0 * 3600.0, 250.0);
}
END_TEST

/* Rules that hold something back, or let something else pass, stay before the new one. */
START_TEST(a_new_rule_stands_before_the_first_that_lets_its_stream_across)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN "bridges: {gate: {up: {from: yard, to: air, rules: [\n"
                     "  {when: {traffic: quiet, size: {above: 5 bytes}}, do: hold-back},\n"
                     "  {when: {class: readings, from: [pump]}, do: {limit: {rate: 200 per min, "
                     "burst: 10}}}]}}}\n"
                     "expect: [{measure: delivery, traffic: talk, at-least: 93 %}]\n");
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);

    ck_assert_str_eq(
        advice->rules,
        "bridges.gate.up.rules:\n"
        "  - {when: {traffic: quiet, size: {above: 5 bytes}}, do: hold-back}\n"
        "  - {when: {traffic: chatty}, do: hold-back}\n"
        "  - {when: {class: readings, from: [pump]}, do: {limit: {rate: 200 per min, burst: "
        "10}}}\n");
}
END_TEST

START_TEST(what_is_met_already_needs_no_rule)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 50 %}]\n");
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_THIN);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_MET_ALREADY);
    ck_assert_ptr_null(advice->rules);
}
END_TEST

START_TEST(what_no_set_can_meet_is_said_so)
{
    /* The talkers alone reach 96.4 %. */
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 99 %}]\n");
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_THIN);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_NONE);
    ck_assert_uint_eq(advice->n_sets_tried, 3);
}
END_TEST

START_TEST(without_expectations_all_of_other_classes_is_peoples)
{
    g_autoptr(SpateScenarioFile) file = file_of(TOWN OPEN_GATE);
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_THIN);
    double gain = delivery_of_talk(0.2) - delivery_of_talk(4.2);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_NOTHING_EXPECTED);
    ck_assert_double_eq_tol(stream_of(advice, "chatty")->gain.mean, gain, 0.015);
}
END_TEST

/* Small as it is, a stream that must never be there has to be held back, in its own variant alone.
 */
START_TEST(a_variant_is_advised_by_its_own_expectations)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "variants: {dry: {set: {traffic.chatty.mean-interval: 100 s}}}\n"
                               "expect:\n"
                               "  - {variant: dry, traffic: quiet, never-on: air}\n"
                               "  - {measure: delivery, traffic: talk, at-least: 99 %}\n");
    g_autoptr(SpateAdvice) advice = advised(file, "dry", SPATE_ADVISE_THIN);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert_str_eq(advice->rules, "bridges.gate.up.rules:\n"
                                    "  - {when: {traffic: quiet}, do: hold-back}\n");
}
END_TEST

/* With both streams chatty 47 % of the talk arrives, with one of them 67 %: a difference that goes
 * when the quiet one is held back, in the variant too. */
START_TEST(rules_of_the_base_hold_in_what_it_is_compared_with)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "variants: {loud: {set: {traffic.quiet.mean-interval: 250 ms}}}\n"
                               "expect: [{versus: loud, measure: delivery, traffic: talk, "
                               "change-at-most: 0.05}]\n");
    ck_assert_double_lt(delivery_of_talk(8.0), delivery_of_talk(4.2) - 0.1);
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert_str_eq(advice->rules, "bridges.gate.up.rules:\n"
                                    "  - {when: {traffic: quiet}, do: hold-back}\n");
}
END_TEST

/* Five streams: too many for all sets.  Only together they are too much: 0.4 a second each. */
START_TEST(of_many_streams_none_is_held_back_that_can_pass)
{
    g_autoptr(GString) text = g_string_new(TOWN OPEN_GATE);
    for (int i = 1; i <= 4; i++)
        g_string_append_printf(text,
                               "  s%d: {class: readings, from: gauge, to: mast, payload: 10 bytes, "
                               "mean-interval: 2 s}\n",
                               i);
    /* The traffic section goes on where TOWN ended; bridges come after it. */
    char *bridges = strstr(text->str, OPEN_GATE);
    g_string_erase(text, bridges - text->str, (gssize)strlen(OPEN_GATE));
    g_string_append(text,
                    OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 85.5 %}]\n");
    /* The bridge sends 6.2 a second.  Without the chatty one 2.2, 80.4 %; with one less 1.7, 83.8
     * %; with two less 1.2, 87.4 %. */
    g_autoptr(SpateScenarioFile) file = file_of(text->str);
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert_uint_eq(advice->chosen->len, 3);
    ck_assert(strstr(advice->rules, "traffic: chatty}") != NULL);
}
END_TEST

START_TEST(any_number_of_threads_gives_the_same_advice)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 92.5 %}]\n");
    const SpateAdviseWanted wanted = {.file = file, .replications = 3};
    const SpateStudyOptions one = {.jobs = 1}, four = {.jobs = 4};
    g_autoptr(SpateAdvice) alone = spate_advise(&wanted, SPATE_ADVISE_THIN, &one, NULL);
    g_autoptr(SpateAdvice) abreast = spate_advise(&wanted, SPATE_ADVISE_THIN, &four, NULL);
    for (guint i = 0; i < alone->streams->len; i++) {
        const SpateAdviseStream *a = spate_advise_stream(alone, i);
        const SpateAdviseStream *b = spate_advise_stream(abreast, i);
        ck_assert_uint_eq(a->traffic, b->traffic);
        ck_assert(memcmp(&a->collision_share, &b->collision_share, sizeof a->collision_share) == 0);
        ck_assert(memcmp(&a->per_hour, &b->per_hour, sizeof a->per_hour) == 0);
    }
    ck_assert_str_eq(alone->rules, abreast->rules);
}
END_TEST

/* Of the chat that comes from the yard all recipients are in the yard: on the air it only disturbs.
 * An expectation names it, and stays met. */
#define CHAT                                                                                       \
    TOWN "  chat: {class: talk, from: pump, to: gauge, payload: 10 bytes, mean-interval: 250 "     \
         "ms}\n" OPEN_GATE "expect:\n"                                                             \
         "  - {measure: delivery, traffic: talk, at-least: 92.5 %}\n"                              \
         "  - {measure: delivery, traffic: chat, at-least: 95 %}\n"

START_TEST(what_an_expectation_names_is_held_back_where_its_recipients_are_on_the_near_side)
{
    g_autoptr(SpateScenarioFile) file = file_of(CHAT);
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    const SpateAdviseStream *chat = stream_of(advice, "chat");

    ck_assert(chat->is_peoples && chat->is_tried);
    ck_assert_double_gt(chat->gain.ci95.low, 0.0);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert_msg(strstr(advice->rules, "traffic: chat}") != NULL, "%s", advice->rules);
}
END_TEST

/* Whose loss people would feel is in no set, as long as another is enough. */
START_TEST(what_people_lose_by_is_in_no_set_where_others_are_enough)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect:\n"
                               "  - {measure: delivery, traffic: talk, at-least: 92.5 %}\n"
                               "  - {measure: delivery, traffic: quiet, at-least: 50 %}\n");
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    const SpateAdviseStream *quiet = stream_of(advice, "quiet");

    ck_assert(quiet->is_tried);
    ck_assert_double_lt(quiet->gain.ci95.high, 0.0);
    ck_assert_int_eq(quiet->left_out, SPATE_ADVISE_LOSES);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert_uint_eq(advice->n_sets_tried, 1);
}
END_TEST

/* ---- streams that are given up --------------------------------------------------------------- */

/* The talk crosses to the yard too, where nobody listens: holding it back there wins nothing.  The
 * gate hears the talkers and nobody else. */
#define TALK_GOES_DOWN                                                                             \
    "bridges: {gate: {down: {from: air, to: yard}, up: {from: yard, to: air}}}\n"                  \
    "expect: [{measure: delivery, traffic: talk, at-least: 92.5 %}]\n"

static SpateScenarioFile *
town_of_twenty(void)
{
    g_autoptr(GString) text = g_string_new(TOWN TALK_GOES_DOWN);
    g_string_replace(text, "replications: 4", "replications: 20", 1);
    g_string_replace(text, "links:\n",
                     "links:\n  - {from: talker, to: gate, bearer: air, loss: 80 dB}\n", 1);
    return file_of(text->str);
}

static char *
json_of(const SpateAdvice *advice)
{
    GString *text = g_string_new(NULL);
    spate_advise_report_append(text, advice, SPATE_FORMAT_JSON);
    return g_string_free(text, FALSE);
}

/* Of the streams of a traffic, one at each crossing, that which crosses to the bearer. */
static const SpateAdviseStream *
stream_to(const SpateAdvice *advice, const char *traffic, const char *bearer)
{
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        uint32_t to = spate_advise_crossing(advice, stream)->to_bearer;
        if (strcmp(advice->scenario->traffics[stream->traffic].name, traffic) == 0 &&
            strcmp(advice->scenario->bearers[to].name, bearer) == 0)
            return stream;
    }
    ck_abort_msg("no stream of %s", traffic);
}

START_TEST(a_stream_that_wins_nothing_is_given_up_early)
{
    g_autoptr(SpateScenarioFile) file = town_of_twenty();
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    const SpateAdviseStream *chatty = stream_to(advice, "chatty", "air");
    const SpateAdviseStream *talk = stream_to(advice, "talk", "yard");
    g_autofree char *json = json_of(advice);

    ck_assert_uint_eq(chatty->n_gain, 20);
    ck_assert_double_gt(chatty->gain.ci95.low, 0.1);
    ck_assert_double_eq(chatty->gain_level, 0.95);
    ck_assert(!chatty->is_hopeless);

    ck_assert(talk->is_hopeless);
    ck_assert_uint_eq(talk->n_gain, 5);
    ck_assert_double_gt(talk->gain.ci95.low, -0.005);
    ck_assert_double_lt(talk->gain.ci95.high, 0.005);
    /* Of three streams each has a third of 5 % on either side. */
    ck_assert_double_eq_tol(talk->gain_level, 1.0 - 2.0 * 0.05 / 3.0, 1e-12);

    ck_assert_ptr_nonnull(strstr(json, "\"gain_replications\": 20, \"gain_level\": 0.95}"));
    ck_assert_ptr_nonnull(strstr(json, "\"gain_replications\": 5, \"gain_level\": 0.966"));
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert_uint_eq(advice->n_searched, 20);
    ck_assert_ptr_nonnull(strstr(advice->rules, "traffic: chatty}, do: hold-back}"));
}
END_TEST

START_TEST(given_replications_are_run_to_the_end)
{
    g_autoptr(SpateScenarioFile) file = town_of_twenty();
    const SpateAdviseWanted wanted = {.file = file, .replications = 20};
    const SpateStudyOptions options = {0};
    g_autoptr(SpateAdvice) advice = spate_advise(&wanted, SPATE_ADVISE_HOLD, &options, NULL);
    for (guint i = 0; i < advice->streams->len; i++)
        ck_assert_uint_eq(spate_advise_stream(advice, i)->n_gain, 20);
}
END_TEST

START_TEST(any_number_of_threads_gives_up_the_same)
{
    g_autoptr(SpateScenarioFile) file = town_of_twenty();
    const SpateAdviseWanted wanted = {.file = file};
    const SpateStudyOptions one = {.jobs = 1}, two = {.jobs = 2};
    g_autoptr(SpateAdvice) alone = spate_advise(&wanted, SPATE_ADVISE_THIN, &one, NULL);
    g_autoptr(SpateAdvice) abreast = spate_advise(&wanted, SPATE_ADVISE_THIN, &two, NULL);
    g_autofree char *of_one = json_of(alone), *of_two = json_of(abreast);
    ck_assert_str_eq(of_one, of_two);
}
END_TEST

typedef struct {
    int stop;
    uint32_t after;
} Interruption;

static void
interrupt(gpointer user, uint32_t done, uint32_t total)
{
    Interruption *interruption = user;
    if (done >= interruption->after)
        g_atomic_int_set(&interruption->stop, 1);
}

/* The twenty as it is are finished, and of the first look the talk, which comes first. */
START_TEST(an_interrupted_first_look_gives_nothing_up)
{
    g_autoptr(SpateScenarioFile) file = town_of_twenty();
    const SpateAdviseWanted wanted = {.file = file};
    Interruption interruption = {.after = 31};
    const SpateStudyOptions options = {
        .jobs = 1, .stop = &interruption.stop, .progress = interrupt, .user = &interruption};
    g_autoptr(SpateAdvice) advice = spate_advise(&wanted, SPATE_ADVISE_THIN, &options, NULL);
    ck_assert(advice->interrupted);
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_OPEN);
    ck_assert_uint_eq(advice->n_replications, 20);
    ck_assert_ptr_null(advice->as_it_is);
    uint32_t least = 20;
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        ck_assert(stream->is_tried && !stream->is_hopeless);
        ck_assert_uint_le(stream->n_gain, 5);
        least = MIN(least, stream->n_gain);
    }
    g_autoptr(GString) text = g_string_new(NULL);
    g_autofree char *words =
        g_strdup_printf("streams were tried in %u replications or more so far\n", least);
    spate_advise_report_append(text, advice, SPATE_FORMAT_TABLE);
    ck_assert_ptr_nonnull(strstr(text->str, words));
}
END_TEST

static const SpateAdvisePrice *
price_of(const SpateAdvice *advice, const char *traffic, SpateMeasure measure)
{
    for (guint i = 0; i < advice->prices->len; i++) {
        const SpateAdvisePrice *price = &g_array_index(advice->prices, SpateAdvisePrice, i);
        if (price->measure == measure &&
            strcmp(advice->scenario->traffics[price->traffic].name, traffic) == 0)
            return price;
    }
    ck_abort_msg("no price of %s", traffic);
}

/* Of the replications that advice was confirmed on, run as what they are. */
static double
fresh_delivery(const SpateScenarioFile *file, const SpateAdvice *advice, const char *rules)
{
    const SpateTrial trial = {.rules = rules};
    g_autoptr(SpateScenario) scenario = spate_scenario_try(file, &trial, NULL);
    const SpateScenario *const scenarios[] = {scenario};
    const char *const names[] = {"base"};
    uint32_t n = advice->first_fresh + advice->verified->n_replications;
    const SpateStudyOptions options = {.replications = n};
    g_autoptr(SpateResult) result = spate_study_run("run", scenarios, names, 1, &options, NULL);
    const SpateResultRow *row =
        spate_check_find_row(&result->variants[0], advice->verified->points[0].expectation);
    double sum = 0.0;
    for (uint32_t i = advice->first_fresh; i < n; i++)
        sum += row->values[i];
    return sum / advice->verified->n_replications;
}

START_TEST(advice_is_confirmed_on_replications_that_the_search_did_not_see)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 92.5 %}]\n");
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    const SpateAdvisePrice *talk = price_of(advice, "talk", SPATE_MEASURE_DELIVERY);
    ck_assert_uint_ge(advice->n_searched, 4);
    ck_assert_uint_eq(advice->first_fresh, advice->n_searched);

    ck_assert_double_eq_tol(talk->before.mean, fresh_delivery(file, advice, NULL), 1e-12);
    double delivery = fresh_delivery(file, advice, advice->rules);
    ck_assert_double_eq_tol(talk->after.mean, delivery, 1e-12);
    ck_assert_double_eq_tol(advice->verified->points[0].judgement.mean, delivery, 1e-12);
}
END_TEST

START_TEST(what_fresh_replications_do_not_confirm_is_not_called_found)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 92.5 %}]\n");
    const SpateAdviseWanted wanted = {.file = file, .replications = 4};
    const SpateStudyOptions options = {0};
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    /* As if the search had kept what cannot be enough. */
    for (guint i = 0; i < advice->streams->len; i++)
        if (strcmp(advice->scenario->traffics[spate_advise_stream(advice, i)->traffic].name,
                   "quiet") == 0)
            g_array_index(advice->chosen, guint, 0) = i;
    advice->n_refuted = 0;
    ck_assert(spate_advise_confirm(advice, &wanted, &options, NULL));
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_NOT_CONFIRMED);
    ck_assert_uint_eq(advice->n_refuted, 1);
    ck_assert_ptr_nonnull(advice->prices);
}
END_TEST

/* One in two (80 %) is not confirmed, one in four (87.2 %) is, on replications that are new again.
 */
START_TEST(a_harder_treatment_follows_one_that_is_not_confirmed)
{
    static const uint32_t MET[] = {2, 4, 0};
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 84 %}]\n");
    const SpateAdviseWanted wanted = {.file = file, .replications = 4};
    const SpateStudyOptions options = {0};
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_THIN);
    g_array_set_size(advice->treatments, 0);
    g_array_append_vals(advice->treatments, MET, G_N_ELEMENTS(MET));
    advice->n_refuted = 0;
    ck_assert(spate_advise_confirm(advice, &wanted, &options, NULL));
    ck_assert_int_eq(advice->answer, SPATE_ADVISE_FOUND);
    ck_assert_uint_eq(advice->one_of, 4);
    ck_assert_uint_eq(advice->n_refuted, 1);
    ck_assert_uint_eq(advice->first_fresh, advice->n_searched + 4);
}
END_TEST

/* Nothing that is held back arrives at the mast, which hears the gate alone; talk wins what theory
 * says. */
START_TEST(every_traffic_has_its_price)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: talk, at-least: 92.5 %}]\n");
    g_autoptr(SpateAdvice) advice = advised(file, NULL, SPATE_ADVISE_HOLD);
    const SpateAdvisePrice *chatty = price_of(advice, "chatty", SPATE_MEASURE_DELIVERY);
    const SpateAdvisePrice *talk = price_of(advice, "talk", SPATE_MEASURE_DELIVERY);
    double gain = delivery_of_talk(0.2) - delivery_of_talk(4.2);

    ck_assert_ptr_eq(chatty, &g_array_index(advice->prices, SpateAdvisePrice, 0));
    ck_assert_double_gt(chatty->before.mean, 0.7);
    ck_assert_double_eq(chatty->after.mean, 0.0);
    ck_assert_double_eq_tol(chatty->change.mean, -chatty->before.mean, 1e-12);
    ck_assert_double_lt(chatty->change.ci95.high, 0.0);
    ck_assert_double_eq_tol(talk->change.mean, gain, 0.02);
    ck_assert_uint_eq(talk->change.n, advice->verified->n_replications);
    /* What never arrives has no latency, and so no change of it. */
    ck_assert_uint_eq(price_of(advice, "chatty", SPATE_MEASURE_LATENCY_P95)->change.n, 0);
    price_of(advice, "quiet", SPATE_MEASURE_DELIVERY);
}
END_TEST

START_TEST(a_bridge_that_is_silent_lets_nothing_across)
{
    g_autoptr(SpateScenarioFile) file =
        file_of(TOWN OPEN_GATE "expect: [{measure: delivery, traffic: chatty, at-least: 1 %}]\n");
    const SpateAdviseWanted wanted = {.file = file, .replications = 3};
    const SpateStudyOptions options = {0};
    g_autoptr(SpateRelayRanking) ranking = spate_advise_relays(&wanted, &options, NULL);
    ck_assert_uint_eq(ranking->n_relays, 1);
    ck_assert(ranking->relays[0].is_bridge);
    ck_assert_double_eq_tol(ranking->relays[0].loss.own.mean, ranking->delivery.mean, 1e-12);
}
END_TEST

/* ---- disturbers ------------------------------------------------------------------------------ */

/* Whose frames break a frame of T: those of a sender with Poisson arrivals of rate r, each of S,
 * are on the air when it begins, or begin before it ends. */
static double
broken(double rate, double each_s)
{
    return 1.0 - (1.0 - rate * each_s) * exp(-rate * FRAME_S);
}

START_TEST(the_desk_below_the_repeater_is_named_as_a_neighbour)
{
    g_autoptr(SpateScenarioFile) file = file_of(
        AIR "links:\n"
            "  - {from: far, to: loft, loss: 80 dB}\n"
            "  - {from: desk, to: loft, loss: 45 dB}\n"
            "nodes:\n"
            "  loft: {at: {x: 0 m, y: 0 m, height: 7 m}, radios: {air: {power: 14 dBm}}}\n"
            "  far: {at: {x: 900 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
            "  desk: {at: {x: 0 m, y: 0 m, height: 4 m}, radios: {air: {power: 14 dBm}}}\n"
            "traffic:\n"
            "  beacons: {from: far, to: loft, payload: 10 bytes, mean-interval: 500 ms}\n"
            "  weather: {from: desk, to: nobody, payload: 10 bytes, mean-interval: 500 ms}\n");
    g_autoptr(SpateDisturberRanking) ranking = disturbers_of(file);
    const SpateDisturbedRadio *loft = &g_array_index(ranking->radios, SpateDisturbedRadio, 0);
    const SpateDisturber *desk = &g_array_index(loft->disturbers, SpateDisturber, 0);

    ck_assert_int_eq(desk->blame, SPATE_BLAME_NEIGHBOUR);
    ck_assert_double_eq_tol(desk->distance_m, 3.0, 1e-9);
    /* Half of the audible frames are the desk's own. */
    ck_assert_double_eq_tol(desk->share.mean, broken(2.0, FRAME_S) / 2.0, 0.008);
    double lost = 0.0;
    for (guint i = 0; i < loft->disturbers->len; i++)
        lost += g_array_index(loft->disturbers, SpateDisturber, i).share.mean;
    ck_assert_double_eq_tol(loft->lost.mean, lost, 1e-9);
}
END_TEST

/* An ear that nobody writes to hears the far one and a chatty one, and loses most frames.  The mast
 * loses fewer, to a rare one; but it is the recipient. */
START_TEST(harm_to_recipients_goes_before_losses_that_nobody_minds)
{
    g_autoptr(SpateScenarioFile) file = file_of(
        AIR "links:\n"
            "  - {from: far, to: mast, loss: 80 dB}\n"
            "  - {from: rare, to: mast, loss: 80 dB}\n"
            "  - {from: far, to: ear, loss: 80 dB}\n"
            "  - {from: chatty, to: ear, loss: 80 dB}\n"
            "nodes:\n"
            "  ear: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
            "  mast: {at: {x: 500 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
            "  far: {at: {x: 900 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
            "  rare: {at: {x: 900 m, y: 90 m}, radios: {air: {power: 14 dBm}}}\n"
            "  chatty: {at: {x: 0 m, y: 90 m}, radios: {air: {power: 14 dBm}}}\n"
            "traffic:\n"
            "  beacons: {from: far, to: mast, payload: 10 bytes, mean-interval: 500 ms}\n"
            "  weather: {from: rare, to: nobody, payload: 10 bytes, mean-interval: 1 s}\n"
            "  noise: {from: chatty, to: nobody, payload: 10 bytes, mean-interval: 250 ms}\n");
    g_autoptr(SpateDisturberRanking) ranking = disturbers_of(file);
    const SpateDisturbedRadio *mast = &g_array_index(ranking->radios, SpateDisturbedRadio, 0);
    const SpateDisturbedRadio *ear = &g_array_index(ranking->radios, SpateDisturbedRadio, 1);
    const SpateDisturber *rare = &g_array_index(mast->disturbers, SpateDisturber, 0);

    ck_assert_double_gt(ear->lost.mean, mast->lost.mean);
    ck_assert_double_eq(ear->needed_per_hour, 0.0);
    /* Beacons alone are needed, and each has a single copy. */
    ck_assert_double_eq_tol(mast->needed_per_hour, 7200.0, 150.0);
    ck_assert_double_eq_tol(mast->missed.mean, broken(1.0, FRAME_S), 0.008);
    ck_assert_double_eq_tol(rare->missed_per_hour, mast->missed.mean * mast->needed_per_hour, 5.0);
}
END_TEST

/* The mast hears the far one and the hub that repeats it: it misses what is broken twice, a few in
 * a thousand where eight in a hundred frames are lost. */
START_TEST(what_comes_again_is_not_missed)
{
    g_autoptr(SpateScenarioFile) file = file_of(
        AIR
        "flooding: {policy: classic}\n"
        "links:\n"
        "  - {from: far, to: mast, loss: 80 dB}\n"
        "  - {from: far, to: hub, loss: 80 dB}\n"
        "  - {from: hub, to: mast, loss: 80 dB}\n"
        "  - {from: rare, to: mast, loss: 80 dB}\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  hub: {at: {x: 500 m, y: 0 m}, radios: {air: {power: 14 dBm}}, relay: [air]}\n"
        "  far: {at: {x: 900 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  rare: {at: {x: 900 m, y: 90 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic:\n"
        "  beacons: {from: far, to: mast, payload: 10 bytes, mean-interval: 20 s}\n"
        "  chat: {from: far, to: nobody, payload: 10 bytes, mean-interval: 20 s, hop-limit: 1}\n"
        "  weather: {from: rare, to: nobody, payload: 10 bytes, mean-interval: 1 s}\n");
    g_autoptr(SpateDisturberRanking) ranking = disturbers_of(file);
    for (guint i = 0; i < ranking->radios->len; i++) {
        const SpateDisturbedRadio *radio = &g_array_index(ranking->radios, SpateDisturbedRadio, i);
        /* The hub must not carry the chat on, and does not need it. */
        ck_assert_double_eq_tol(radio->needed_per_hour, 180.0, 30.0);
        ck_assert_double_lt(radio->missed.mean, 0.4 * broken(1.0, FRAME_S));
    }
}
END_TEST

/* A leaf hears its own messages again, and needs those of the three others. */
START_TEST(nobody_misses_what_it_sent_itself)
{
    g_autoptr(SpateScenarioFile) file = file_of(STAR);
    g_autoptr(SpateDisturberRanking) ranking = disturbers_of(file);
    const SpateScenario *scenario = ranking->scenario;
    double offered_per_hour = 4.0 * 60.0;
    for (guint i = 0; i < ranking->radios->len; i++) {
        const SpateDisturbedRadio *radio = &g_array_index(ranking->radios, SpateDisturbedRadio, i);
        bool is_leaf = g_str_has_prefix(
            scenario->nodes[spate_world_plan(ranking->world)->radios[radio->radio].node].name,
            "leaf");
        /* Three times the spread of 480 in two hours. */
        ck_assert_double_eq_tol(radio->needed_per_hour,
                                is_leaf ? 0.75 * offered_per_hour : offered_per_hour, 35.0);
        ck_assert_double_lt(radio->missed.mean * radio->needed_per_hour,
                            radio->lost.mean * radio->audible_per_hour + 1e-9);
    }
}
END_TEST

/* SF9, 10 bytes: 35.25 symbols of 4.096 ms (SX1276 data sheet, 4.1.1.7).  At 40 dB of isolation it
 * comes in at -26 dBm, the far frame at -66: 40 dB above it, more than other spreading factors
 * bear. */
START_TEST(the_other_radio_of_the_same_node_is_named)
{
    g_autoptr(SpateScenarioFile) file = file_of(
        AIR "  side: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"
            "    preamble: 8 symbols, propagation: {model: free-space}}\n"
            "links: [{from: far, to: mast, bearer: air, loss: 80 dB}]\n"
            "nodes:\n"
            "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}, side: {power: 14 "
            "dBm}}, isolation: 40 dB}\n"
            "  far: {at: {x: 900 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
            "traffic:\n"
            "  beacons: {from: far, to: mast, payload: 10 bytes, mean-interval: 1 s}\n"
            "  weather: {from: mast, to: nobody, on: [side], payload: 10 bytes, mean-interval: 2 "
            "s}\n");
    g_autoptr(SpateDisturberRanking) ranking = disturbers_of(file);
    const SpateDisturbedRadio *mast = &g_array_index(ranking->radios, SpateDisturbedRadio, 0);
    const SpateDisturber *side = &g_array_index(mast->disturbers, SpateDisturber, 0);

    ck_assert_int_eq(side->blame, SPATE_BLAME_OWN_RADIO);
    ck_assert_double_eq(side->distance_m, 0.0);
    ck_assert_double_eq_tol(side->share.mean, broken(0.5, 0.144384), 0.012);
    ck_assert_double_eq_tol(side->blocked, side->share.mean, 1e-9);
}
END_TEST

/* The radio has to be awake when a frame begins: a quarter of the time. */
START_TEST(what_a_radio_slept_through_is_no_ones_fault)
{
    g_autoptr(SpateScenarioFile) file = file_of(
        AIR "links: [{from: far, to: mast, loss: 80 dB}]\n"
            "nodes:\n"
            "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm,\n"
            "    listens: {every: 100 ms, for: 25 ms}}}}\n"
            "  far: {at: {x: 900 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
            "traffic: {beacons: {from: far, to: mast, payload: 10 bytes, mean-interval: 1 s}}\n");
    g_autoptr(SpateDisturberRanking) ranking = disturbers_of(file);
    const SpateDisturbedRadio *mast = &g_array_index(ranking->radios, SpateDisturbedRadio, 0);

    ck_assert(mast->sleeps);
    ck_assert_double_eq(mast->lost.mean, 0.0);
    ck_assert_double_eq_tol(mast->asleep.mean, 0.75, 0.02);
    ck_assert_double_eq_tol(mast->received.mean + mast->asleep.mean, 1.0, 1e-12);
}
END_TEST

/* ---- trying rules ---------------------------------------------------------------------------- */

/* Of the first traffic, with rules for a variant. */
static int
mean_interval_ms(const SpateScenarioFile *file, const char *variant, const char *rules_of,
                 const char *rules)
{
    g_autoptr(GError) error = NULL;
    const SpateTrial trial = {.variant = variant, .rules = rules, .rules_of = rules_of};
    g_autoptr(SpateScenario) scenario = spate_scenario_try(file, &trial, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    return (int)(scenario->traffics[0].mean_interval_ns / 1000000);
}

START_TEST(rules_of_the_base_are_under_what_variants_set)
{
    static const SpateSetting SET[] = {{"traffic.chatty.payload", "11 bytes"}};
    static const char TEXT[] = TOWN OPEN_GATE
        "variants: {slow: {set: {traffic.chatty.mean-interval: 9 s}}, same: {set: {seed: 3}}}\n";
    static const char TWO[] = "traffic.chatty.mean-interval: 2 s";
    static const char THREE[] = "traffic.chatty.mean-interval: 3 s";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan.yaml", TEXT, strlen(TEXT), SET, 1, NULL);
    ck_assert_int_eq(mean_interval_ms(file, NULL, "base", TWO), 2000);
    ck_assert_int_eq(mean_interval_ms(file, "same", NULL, TWO), 2000);
    ck_assert_int_eq(mean_interval_ms(file, "slow", "base", TWO), 9000);
    ck_assert_int_eq(mean_interval_ms(file, NULL, "slow", THREE), 250);
    ck_assert_int_eq(mean_interval_ms(file, "same", "slow", THREE), 250);
    ck_assert_int_eq(mean_interval_ms(file, "slow", "slow", THREE), 3000);
    ck_assert_int_eq(mean_interval_ms(file, "slow", NULL, NULL), 9000);
}
END_TEST

START_TEST(rules_that_are_wrong_are_told_with_their_place)
{
    g_autoptr(SpateScenarioFile) file = file_of(TOWN OPEN_GATE);
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(spate_scenario_try(file, &(SpateTrial){.rules = "[1, 2]"}, &error));
    ck_assert_msg(strstr(error->message, "this must be a map with paths as keys") != NULL, "%s",
                  error->message);
    g_clear_error(&error);
    const SpateTrial trial = {.rules = "bridges.gate.up.rules:\n - {du: pass}"};
    ck_assert_ptr_null(spate_scenario_try(file, &trial, &error));
    ck_assert_msg(g_str_has_prefix(error->message, "the rules tried:2:4: "), "%s", error->message);
}
END_TEST

/* A tree, written on a line and read again, is written the same. */
START_TEST(yaml_on_one_line_is_read_back_as_it_was)
{
    static const char TEXT[] =
        "{when: {from: [soil-1, \"a b\"], size: {above: 30 bytes}, note: 'it''s: #1', empty: '',\n"
        " level: -95 dBm, tail: \"\\x01\\\"\\\\ \"}, \"10\": \"10\", do: {thin: {keep: 1, of: "
        "4}}}\n";
    g_autoptr(SpateFaults) faults = spate_faults_new();
    spate_faults_add_text(faults, "a", TEXT);
    g_autoptr(SpateYaml) tree = spate_yaml_parse(TEXT, strlen(TEXT), 0, faults);
    g_autoptr(GString) once = g_string_new(NULL);
    g_autoptr(GString) twice = g_string_new(NULL);
    spate_yaml_append_flow(once, tree);
    g_autoptr(SpateYaml) again = spate_yaml_parse(once->str, once->len, 0, faults);
    ck_assert_uint_eq(spate_faults_noted(faults), 0);
    spate_yaml_append_flow(twice, again);
    ck_assert_str_eq(once->str, twice->str);
    ck_assert_str_eq(
        once->str, "{when: {from: [soil-1, \"a b\"], size: {above: 30 bytes}, note: \"it's: "
                   "#1\", empty: \"\", level: -95 dBm, tail: \"\\x01\\\"\\\\ \"}, 10: \"10\", do: "
                   "{thin: {keep: 1, of: 4}}}");
}
END_TEST

CHECK_MAIN("advise", the_one_stream_that_must_be_held_back_is_found,
           what_a_stream_costs_and_wins_is_what_theory_says,
           collisions_are_put_down_to_the_stream_that_the_frame_carried,
           a_stream_costs_what_its_answers_cost, the_gentlest_treatment_that_is_enough_is_chosen,
           a_limit_is_a_part_of_what_passes_now,
           a_new_rule_stands_before_the_first_that_lets_its_stream_across,
           what_is_met_already_needs_no_rule, what_no_set_can_meet_is_said_so,
           without_expectations_all_of_other_classes_is_peoples,
           a_variant_is_advised_by_its_own_expectations,
           rules_of_the_base_hold_in_what_it_is_compared_with,
           of_many_streams_none_is_held_back_that_can_pass,
           what_an_expectation_names_is_held_back_where_its_recipients_are_on_the_near_side,
           what_people_lose_by_is_in_no_set_where_others_are_enough,
           a_stream_that_wins_nothing_is_given_up_early, given_replications_are_run_to_the_end,
           any_number_of_threads_gives_up_the_same, an_interrupted_first_look_gives_nothing_up,
           advice_is_confirmed_on_replications_that_the_search_did_not_see,
           what_fresh_replications_do_not_confirm_is_not_called_found,
           a_harder_treatment_follows_one_that_is_not_confirmed, every_traffic_has_its_price,
           any_number_of_threads_gives_the_same_advice,

           a_bridge_that_is_silent_lets_nothing_across,
           the_desk_below_the_repeater_is_named_as_a_neighbour,
           harm_to_recipients_goes_before_losses_that_nobody_minds, what_comes_again_is_not_missed,
           nobody_misses_what_it_sent_itself, what_a_radio_slept_through_is_no_ones_fault,
           the_other_radio_of_the_same_node_is_named, rules_of_the_base_are_under_what_variants_set,
           rules_that_are_wrong_are_told_with_their_place, yaml_on_one_line_is_read_back_as_it_was)
