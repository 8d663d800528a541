/* test-lint-times.c - times, sizes and actions that do not do what is meant */
#include "lint-cases.h"
#include "support/check-main.h"

#define TALK     "payload: 20 bytes, every: 5 min}\n  moisture"
#define MOISTURE "from: soil, to: [gate, ridge], payload: 20 bytes"
#define RULE     "        - {when: {from: soil-1}, do: hold-back}\n"
#define SOIL     "    radios: {yard: {power: 14 dBm}}\n"
#define RIDGE    "    radios: {valley: {power: 14 dBm}}\n    relay: [valley]\n"

/* ---- times ----------------------------------------------------------------------------------- */

/* 20 bytes at SF10 are 370.688 ms on the air (AN1200.13). */
START_TEST(a_deadline_below_one_frame_is_told)
{
    assert_warns(TALK, "payload: 20 bytes, every: 5 min, deadline: 1 us, on: valley}\n  moisture",
                 "36:3",
                 "no message of 'talk' is ever in time: its deadline is 1 us, and one frame takes "
                 "371 ms");
    assert_warns(TALK, "payload: 20 bytes, every: 5 min, deadline: 370 ms, on: valley}\n  moisture",
                 "36:3", "is ever in time");
    assert_silent(TALK,
                  "payload: 20 bytes, every: 5 min, deadline: 371 ms, on: valley}\n  moisture");
}
END_TEST

#define ASK                                                                                        \
    "from: gate, to: ridge, on: valley, payload: 20 bytes, every: 5 min, acknowledge: {within: "
#define ASKED "from: [ridge, gate], to: [ridge, gate], payload: 20 bytes, every: 5 min"

/* From the end of the try: an acknowledgement of 8 bytes, 247.808 ms on the air (AN1200.13). */
START_TEST(acknowledgements_that_cannot_come_are_told)
{
    assert_warns(ASKED, ASK "247 ms}", "36:3",
                 "'talk' of 'gate' is never acknowledged within 247 ms: even if nothing else is on "
                 "the air, the acknowledgement comes back after 248 ms (1 of 1 sources)");
    assert_silent(ASKED, ASK "248 ms}");

    g_autofree char *ask = replaced(CLEAN, ASKED, ASK "2 s}");
    g_autofree char *deaf =
        replaced(ask, "nodes:\n", "links: [{from: ridge, to: gate, loss: 200 dB}]\nnodes:\n");
    g_autofree char *warnings = lint(deaf);
    ck_assert_msg(strstr(warnings, "no acknowledgement of 'talk' can get back to 'gate' "
                                   "(1 of 1 sources)") != NULL,
                  "%s", warnings);
}
END_TEST

START_TEST(a_deadline_beyond_the_end_is_told)
{
    assert_warns(TALK, "payload: 20 bytes, every: 5 min, deadline: 2 h}\n  moisture", "36:3",
                 "the deadline of 'talk' is 2 h, longer than the run of 1 h");
    assert_warns(TALK, "payload: 20 bytes, every: 5 min, deadline: 61 s}\n  moisture", "36:3",
                 "the deadline of 'talk' is 61 s, but the run ends 1 min after the last offer");
    assert_silent(TALK, "payload: 20 bytes, every: 5 min, deadline: 60 s}\n  moisture");
}
END_TEST

START_TEST(an_interval_longer_than_the_run_is_told)
{
    assert_warns(TALK, "payload: 20 bytes, every: 2 h}\n  moisture", "36:3",
                 "'talk' is offered every 2 h, but the run offers messages for 59 min: about 0.98 "
                 "of them count");
    assert_silent(TALK, "payload: 20 bytes, every: 59 min}\n  moisture");
    /* Two sources: 118 min of talking. */
    assert_warns(TALK, "payload: 20 bytes, mean-interval: 119 min}\n  moisture", "36:3",
                 "'talk' is offered every 119 min on average");
    assert_silent(TALK, "payload: 20 bytes, mean-interval: 118 min}\n  moisture");
}
END_TEST

START_TEST(times_that_do_not_count_are_told)
{
    assert_warns("{duration: 1 h}", "{duration: 1 h, warm-up: 55 min}", "2:1",
                 "messages count in only 4 min of the 1 h");
    assert_silent("{duration: 1 h}", "{duration: 1 h, warm-up: 50 min}");
    g_autofree char *warm = replaced(CLEAN, "{duration: 1 h}", "{duration: 1 h, warm-up: 10 min}");
    g_autofree char *early =
        replaced(warm, TALK, "payload: 20 bytes, at: [1 min, 9 min]}\n  moisture");
    g_autofree char *warnings = lint(early);
    ck_assert_ptr_nonnull(
        strstr(warnings, "36:3: warning: 'talk' is offered only during the warm-up"));
    g_autofree char *late =
        replaced(warm, TALK, "payload: 20 bytes, at: [1 min, 11 min]}\n  moisture");
    g_autofree char *silent = lint(late);
    ck_assert_str_eq(silent, "");
}
END_TEST

START_TEST(waits_longer_than_the_run_are_told)
{
    assert_warns(RULE, "        - {when: {from: soil-1}, do: {digest: {every: 3660 day}}}\n",
                 "33:11", "this rule may keep messages for 3660 day, longer than the run of 1 h");
    assert_warns(
        RULE,
        "        - {when: {from: soil-1}, do: {delay: {until-below: 20 %, at-most: 61 min}}}\n",
        "33:11", "longer than the run of 1 h: 'at-most'");
    assert_warns(
        RULE,
        "        - {when: {from: soil-1}, do: {delay: {until-below: 20 %, at-most: 400 day}}}\n",
        "33:11", "this rule may keep messages for 400 day, longer than the run of 1 h: 'at-most'");
    assert_silent(
        RULE, "        - {when: {from: soil-1}, do: {delay: {until-below: 20 %, at-most: 1 h}}}\n");
}
END_TEST

/* 63 bytes at 250 kbit/s and 192 us: 2.208 ms. */
START_TEST(memories_below_one_frame_are_told)
{
    assert_warns(SOIL, SOIL "    queue: {expire: 2 ms}\n", "23:3",
                 "frames of 'soil-1' expire after 2 ms, before one other frame ends");
    assert_silent(SOIL, SOIL "    queue: {expire: 3 ms}\n");
    assert_warns(RIDGE, RIDGE "    flooding: {duplicates: {for: 370 ms}}\n", "16:3",
                 "'ridge' remembers a message for only 370 ms");
    assert_silent(RIDGE, RIDGE "    flooding: {duplicates: {for: 371 ms}}\n");
}
END_TEST

/* ---- sizes ----------------------------------------------------------------------------------- */

/* 249 and 43 bytes fit the yard's 293; lora carries 255, with 7 of overhead 248 of payload. */
START_TEST(frames_too_long_after_a_crossing_are_told)
{
    const char *kind = "    spreading-factor: 10\n";
    const char *small = "    spreading-factor: 10\n    largest-frame: 60 bytes\n";
    g_autofree char *valley = replaced(CLEAN, kind, small);
    g_autofree char *text =
        replaced(valley, MOISTURE, "from: soil, to: [gate, ridge], payload: 61 bytes");
    g_autofree char *warnings = lint(text);
    ck_assert_msg(strstr(warnings, "f.yaml:38:3: warning: frames of 'moisture' are dropped where "
                                   "they cross to 'valley': 61 bytes of payload, 0 of overhead and "
                                   "0 of route record are more than its largest frame of 60 bytes"),
                  "%s", warnings);
    ck_assert_ptr_nonnull(strstr(warnings, "at most 60 bytes of payload"));

    g_autofree char *fitting =
        replaced(valley, MOISTURE, "from: soil, to: [gate, ridge], payload: 60 bytes");
    g_autofree char *silent = lint(fitting);
    ck_assert_str_eq(silent, "");

    g_autofree char *held = replaced(text, "{when: {from: soil-1}, do: hold-back}",
                                     "{when: {from: soil}, do: hold-back}");
    g_autofree char *gone = replaced(held, "        - {do: pass}\n", "");
    g_autofree char *nothing = lint(gone);
    ck_assert_str_eq(nothing, "");
}
END_TEST

/* Two hops are possible on the valley: by the crossing at the gate, and by the ridge. */
START_TEST(route_records_that_outgrow_a_frame_are_told)
{
    const char *flooding = "flooding: {route-record: 2 bytes}\nnodes:\n";
    g_autofree char *recorded = replaced(CLEAN, "nodes:\n", flooding);
    g_autofree char *small = replaced(recorded, "    spreading-factor: 10\n",
                                      "    spreading-factor: 10\n    largest-frame: 23 bytes\n");
    g_autofree char *warnings = lint(small);
    ck_assert_msg(strstr(warnings, "frames of 'moisture' outgrow 'valley' after 2 hops: each adds "
                                   "2 bytes of route record, and 2 hops are possible"),
                  "%s", warnings);
    ck_assert_ptr_nonnull(strstr(warnings, "at most 19 bytes of payload for all hops"));

    g_autofree char *enough = replaced(recorded, "    spreading-factor: 10\n",
                                       "    spreading-factor: 10\n    largest-frame: 24 bytes\n");
    g_autofree char *silent = lint(enough);
    ck_assert_str_eq(silent, "");
}
END_TEST

/* A frame of the valley carries 255 bytes: 12 messages of 20. */
START_TEST(digests_that_cannot_fit_are_told)
{
    const char *digest =
        "        - {when: {from: soil-1}, do: {digest: {every: 5 min, most: 13}}}\n";
    assert_warns(RULE, digest, "33:11",
                 "a digest of 'moisture' never reaches 'most: 13': 12 fill a frame of 'valley'");
    assert_silent(RULE,
                  "        - {when: {from: soil-1}, do: {digest: {every: 5 min, most: 12}}}\n");
    g_autofree char *text = replaced(CLEAN, RULE, digest);
    g_autofree char *long_ones =
        replaced(text, MOISTURE, "from: soil, to: [gate, ridge], payload: 128 bytes");
    g_autofree char *warnings = lint(long_ones);
    ck_assert_ptr_nonnull(strstr(warnings, "a digest of 'moisture' can never hold two"));
}
END_TEST

START_TEST(a_full_digest_leaves_room_for_the_route_record)
{
    g_autofree char *recorded =
        replaced(CLEAN, "nodes:\n", "flooding: {route-record: 16 bytes}\nnodes:\n");
    g_autofree char *text = replaced(
        recorded, RULE, "        - {when: {from: soil-1}, do: {digest: {every: 5 min}}}\n");
    g_autofree char *warnings = lint(text);
    ck_assert_msg(strstr(warnings, "34:11: warning: 'ridge' cannot relay a full digest of "
                                   "'moisture' on 'valley'"),
                  "%s", warnings);
    ck_assert_ptr_nonnull(strstr(warnings, "most: 11"));
    g_autofree char *eleven =
        replaced(recorded, RULE,
                 "        - {when: {from: soil-1}, do: {digest: {every: 5 min, most: 11}}}\n");
    g_autofree char *silent = lint(eleven);
    ck_assert_str_eq(silent, "");
}
END_TEST

/* ---- actions --------------------------------------------------------------------------------- */

START_TEST(actions_that_do_nothing_are_told)
{
    static const char *const CASES[][2] = {
        {"{limit: {rate: 0 per min}}", "a 'limit' with a rate of 0"},
        {"{thin: {keep: 0, of: 4}}", "this 'thin' keeps nothing"},
        {"{thin: {keep: 4, of: 4}}", "this 'thin' keeps everything"},
        {"{digest: {every: 5 min, most: 1}}", "a digest of at most one message"},
        {"{delay: {until-below: 0 %, at-most: 1 min}}", "occupancy is never below 0 %"},
        {"{delay: {until-below: 100 %, at-most: 1 min}}", "always below 100 %"},
        {"{limit: {rate: 1 per day}}", NULL},
        {"{thin: {keep: 3, of: 4}}", NULL},
        {"{digest: {every: 5 min, most: 2}}", NULL},
        {"{delay: {until-below: 1 %, at-most: 1 min}}", NULL},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(CASES); i++) {
        g_autofree char *rule =
            g_strdup_printf("        - {when: {from: soil-1}, do: %s}\n", CASES[i][0]);
        if (CASES[i][1] != NULL)
            assert_warns(RULE, rule, "33:11", CASES[i][1]);
        else
            assert_silent(RULE, rule);
    }
}
END_TEST

START_TEST(settings_of_flooding_that_do_nothing_are_told)
{
    assert_warns(RIDGE, RIDGE "    flooding: {policy: probability, p: 0 %}\n", "16:3",
                 "'ridge' never relays: its probability is 0");
    assert_silent(RIDGE, RIDGE "    flooding: {policy: probability, p: 1 %}\n");
    assert_warns(RIDGE, RIDGE "    flooding: {policy: counter, copies: 6}\n", "16:3",
                 "'ridge' can never hear 6 further copies: there are 6 nodes");
    assert_silent(RIDGE, RIDGE "    flooding: {policy: counter, copies: 5}\n");
}
END_TEST

START_TEST(relays_without_jitter_are_told)
{
    const char *gate = "yard: {power: 14 dBm}}\n  soil:";
    g_autofree char *one =
        replaced(CLEAN, "nodes:\n", "flooding: {jitter: {at-most: 0 airtimes}}\nnodes:\n");
    g_autofree char *alone = lint(one);
    ck_assert_str_eq(alone, "");
    g_autofree char *two =
        replaced(one, gate, "yard: {power: 14 dBm}}\n    relay: [valley]\n  soil:");
    g_autofree char *warnings = lint(two);
    ck_assert_msg(strstr(warnings,
                         "21:3: warning: without jitter the relays that hear one frame "
                         "on 'valley' send at one instant and collide: 'gate' and 1 more"),
                  "%s", warnings);
}
END_TEST

/* The run of an hour has a warm-up of ten minutes then. */
START_TEST(outages_that_no_result_shows_are_told)
{
    assert_warns("traffic:\n", "outages:\n  - {node: ridge, at: 60 min, for: 5 min}\ntraffic:\n",
                 "36:5", "this outage begins after 1 h, but the run ends after 1 h");
    assert_silent("traffic:\n", "outages:\n  - {node: ridge, at: 59 min, for: 50 min}\ntraffic:\n");
    assert_warns(
        "run: {duration: 1 h}",
        "outages: [{node: ridge, at: 5 min, for: 5 min}]\nrun: {duration: 1 h, warm-up: 10 "
        "min}",
        "2:11", "this outage is over after 10 min, within the warm-up of 10 min");
    assert_warns("traffic:\n",
                 "outages:\n  - {node: soil, mean-between: 1 day, mean-time: 4 h}\ntraffic:\n",
                 "36:5",
                 "this outage comes once in 1 day, and the run lasts 1 h: about 0.14 of them are "
                 "expected");
    assert_silent("traffic:\n",
                  "outages:\n  - {node: soil, mean-between: 3 h, mean-time: 1 h}\ntraffic:\n");
}
END_TEST

CHECK_MAIN("lint-times", acknowledgements_that_cannot_come_are_told,
           a_deadline_below_one_frame_is_told, a_deadline_beyond_the_end_is_told,
           an_interval_longer_than_the_run_is_told, times_that_do_not_count_are_told,
           waits_longer_than_the_run_are_told, memories_below_one_frame_are_told,
           frames_too_long_after_a_crossing_are_told, route_records_that_outgrow_a_frame_are_told,
           digests_that_cannot_fit_are_told, a_full_digest_leaves_room_for_the_route_record,
           actions_that_do_nothing_are_told, settings_of_flooding_that_do_nothing_are_told,
           relays_without_jitter_are_told, outages_that_no_result_shows_are_told)
