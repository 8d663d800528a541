/* test-lint-moves.c - moves that no result shows, and steps too coarse for them */
#include "lint-cases.h"
#include "support/check-main.h"

/* Of 'gate', which relays nothing; its way is 400 m long. */
#define GATE         "    at: {x: 500 m, y: 0 m}\n"
#define MOVES(moves) GATE "    moves: {" moves "}\n"
#define HERE         "22:5"

#define FAR      "along: [{x: 500 m, y: 300 m}, {x: 400 m, y: 300 m}]"
#define RUN      "run: {duration: 1 h}"
#define SHADOWED "    propagation: {model: log-distance, exponent: 3, shadowing: 3 dB}\n  yard"
#define PLAIN    "    propagation: {model: log-distance, exponent: 3}\n  yard"

/* As assert_warns(), of a run with other keys. */
static void
assert_warns_of_run(const char *run, const char *moves, const char *words)
{
    g_autofree char *text = replaced(CLEAN, RUN, run);
    g_autofree char *moving = replaced(text, GATE, moves);
    g_autofree char *shadowed = replaced(moving, PLAIN, SHADOWED);
    g_autofree char *warnings = lint(shadowed);
    if (words == NULL)
        ck_assert_str_eq(warnings, "");
    else
        ck_assert_msg(strstr(warnings, words) != NULL && strstr(warnings, HERE) != NULL,
                      "'%s' not in:\n%s", words, warnings);
}

START_TEST(a_walk_within_the_run_is_not_told)
{
    assert_silent(GATE, MOVES(FAR ", speed: 1.4 m/s"));
    assert_silent(GATE, MOVES(FAR ", speed: 1.4 m/s, from: 59 min, back: yes"));
}
END_TEST

START_TEST(a_move_that_begins_after_the_end_is_told)
{
    assert_warns(GATE, MOVES(FAR ", speed: 1.4 m/s, from: 2 h"), HERE,
                 "'gate' begins to move after 2 h, but the run ends after 1 h");
    assert_warns(GATE, MOVES(FAR ", speed: 1.4 m/s, from: 1 h"), HERE, "begins to move after 1 h");
}
END_TEST

/* 400 m at 2 m/s from 100 s on: 300 s. */
START_TEST(a_walk_that_is_over_before_anything_counts_is_told)
{
    assert_warns_of_run("run: {duration: 1 h, warm-up: 300 s}",
                        MOVES(FAR ", speed: 2 m/s, from: 100 s"),
                        "'gate' is at its last point after 5 min, within the warm-up of 5 min");
    assert_warns_of_run("run: {duration: 1 h, warm-up: 299 s}",
                        MOVES(FAR ", speed: 2 m/s, from: 100 s"), NULL);
    assert_warns_of_run("run: {duration: 1 h, warm-up: 300 s}",
                        MOVES(FAR ", speed: 2 m/s, from: 100 s, back: yes"), NULL);
}
END_TEST

START_TEST(given_losses_of_a_node_that_moves_are_told)
{
    g_autofree char *moving = replaced(CLEAN, GATE, MOVES(FAR ", speed: 1.4 m/s"));
    g_autofree char *text =
        replaced(moving, "traffic:", "links: [{between: [gate, ridge], loss: 100 dB}]\ntraffic:");
    g_autofree char *warnings = lint(text);
    ck_assert_msg(strstr(warnings, HERE) != NULL &&
                      strstr(warnings, "'gate' moves, but 'links' gives 2 of its losses") != NULL,
                  "%s", warnings);
}
END_TEST

START_TEST(a_way_of_one_step_is_told)
{
    assert_warns(GATE, MOVES("along: [{x: 510 m, y: 0 m}], speed: 1.4 m/s"), HERE,
                 "the way of 'gate' is 10 m long, no more than one step of 10 m");
    assert_silent(GATE, MOVES("along: [{x: 511 m, y: 0 m}], speed: 1.4 m/s"));
    assert_warns(GATE, MOVES("along: [{x: 500 m, y: 0 m}], speed: 1.4 m/s"), HERE,
                 "'gate' never moves: its way ends where it begins");
}
END_TEST

/* 50 m unless given. */
START_TEST(a_step_beyond_the_decorrelation_is_told)
{
    assert_warns_of_run("run: {duration: 1 h, move-step: 51 m}", MOVES(FAR ", speed: 1.4 m/s"),
                        "'gate' moves by 51 m at a time, but the shadowing of 'valley' changes "
                        "within 50 m");
    assert_warns_of_run("run: {duration: 1 h, move-step: 50 m}", MOVES(FAR ", speed: 1.4 m/s"),
                        NULL);
}
END_TEST

/* 14 dBm to -102 dBm: 116 dB, of which free space takes 40.2 over the first metre; 30 for each
 * decade beyond it leave 337 m. */
START_TEST(a_step_beyond_the_range_is_told)
{
    assert_warns_of_run("run: {duration: 1 h, move-step: 338 m}", MOVES(FAR ", speed: 1.4 m/s"),
                        "'gate' moves by 338 m at a time, but radios like its own on 'yard' reach "
                        "33");
}
END_TEST

/* Whoever moves may come near. */
START_TEST(nobody_is_out_of_reach_of_a_node_that_moves)
{
    assert_silent(GATE, "    at: {x: 90 km, y: 0 m}\n"
                        "    moves: {along: [{x: 500 m, y: 0 m}], speed: 90 m/s}\n");
}
END_TEST

int
main(void)
{
    const TTest *const tests[] = {
        a_walk_within_the_run_is_not_told,
        a_move_that_begins_after_the_end_is_told,
        a_walk_that_is_over_before_anything_counts_is_told,
        given_losses_of_a_node_that_moves_are_told,
        a_way_of_one_step_is_told,
        a_step_beyond_the_decorrelation_is_told,
        a_step_beyond_the_range_is_told,
        nobody_is_out_of_reach_of_a_node_that_moves,
    };
    return run_sentences("lint moves", tests, G_N_ELEMENTS(tests));
}
