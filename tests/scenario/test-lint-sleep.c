/* test-lint-sleep.c - radios that sleep through what is meant for them
 *
 * SF10 at 125 kHz: a symbol of 8.192 ms, 3 of a preamble of 8 before the critical part: 24.576 ms.
 */
#include "lint-cases.h"
#include "support/check-main.h"

#define RIDGE                  "valley: {power: 14 dBm}}\n    relay: [valley]"
#define SLEEPY(listens, relay) "valley: {power: 14 dBm, listens: " listens "}}\n    relay: " relay
#define SOIL                   "    radios: {yard: {power: 14 dBm}}\nbridges"

START_TEST(a_preamble_shorter_than_the_sleep_of_a_relay_is_told)
{
    /* (100 ms + 24.576 ms) / 1 s are heard. */
    assert_warns(RIDGE, SLEEPY("{every: 1 s, for: 100 ms}", "[valley]"), "18:14",
                 "'ridge' sleeps through about 88 % of the frames on 'valley': it is asleep for "
                 "900 ms between windows, and a preamble can wake it for 25 ms");
}
END_TEST

START_TEST(the_hint_has_the_preamble_that_would_do)
{
    /* 900 ms / 8.192 ms = 109.9, and 5 to lock. */
    assert_warns(RIDGE, SLEEPY("{every: 1 s, for: 100 ms}", "[valley]"), "18:14",
                 "preamble: 115 symbols or more");
    g_autofree char *sleepy =
        replaced(CLEAN, RIDGE, SLEEPY("{every: 1 s, for: 100 ms}", "[valley]"));
    g_autofree char *mended = replaced(sleepy, "    duty-cycle: 10 %\n",
                                       "    duty-cycle: 10 %\n    preamble: 115 symbols\n");
    g_autofree char *warnings = lint(mended);
    ck_assert_str_eq(warnings, "");
}
END_TEST

START_TEST(a_preamble_that_lasts_as_long_as_the_sleep_is_not_told)
{
    assert_silent(RIDGE, SLEEPY("{every: 100 ms, for: 75424 us}", "[valley]"));
    assert_warns(RIDGE, SLEEPY("{every: 100 ms, for: 75423 us}", "[valley]"), "18:14",
                 "'ridge' sleeps through");
}
END_TEST

START_TEST(a_recipient_is_told_of_too)
{
    assert_warns(RIDGE, SLEEPY("{every: 1 s, for: 100 ms}", "none"), "18:14",
                 "'ridge' sleeps through");
}
END_TEST

START_TEST(a_near_end_of_a_crossing_is_told_of)
{
    assert_warns("yard: {power: 14 dBm}}\n  soil",
                 "yard: {power: 14 dBm, listens: {every: 1 s, for: 900 ms}}}\n  soil", "22:39",
                 "'gate' sleeps through about 10 % of the frames on 'yard'");
}
END_TEST

START_TEST(who_only_sends_may_sleep)
{
    assert_silent(SOIL, "    radios: {yard: {power: 14 dBm, listens: {every: 1 h, for: 1 ms}}}\n"
                        "bridges");
}
END_TEST

START_TEST(power_asleep_of_a_radio_that_never_sleeps_is_told_once)
{
    assert_warns(SOIL,
                 "    radios: {yard: {power: 14 dBm, supply: {sending: 1 W, receiving: 1 W, "
                 "asleep: 1 mW}}}\nbridges",
                 "26:14", "the radio of 'soil-1' on 'yard' never sleeps");
}
END_TEST

CHECK_MAIN("lint of sleep", a_preamble_shorter_than_the_sleep_of_a_relay_is_told,
           the_hint_has_the_preamble_that_would_do,
           a_preamble_that_lasts_as_long_as_the_sleep_is_not_told, a_recipient_is_told_of_too,
           a_near_end_of_a_crossing_is_told_of, who_only_sends_may_sleep,
           power_asleep_of_a_radio_that_never_sleeps_is_told_once)
