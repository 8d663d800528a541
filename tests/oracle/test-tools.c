/* test-tools.c - what the comparison with the oracle is made of
 *
 * A comparison that overlooks a difference, or a shrinker that loses it, would make the best oracle
 * blind.
 */
#include "oracle/history.h"
#include "oracle/played.h"
#include "oracle/scenario-maker.h"
#include "oracle/shrink.h"
#include "support/check-main.h"

static void
add_frame(History *history, uint32_t node, int64_t start_ns, HistoryOutcome at_other)
{
    HistoryFrame *frame = history_add_frame(history);
    frame->message = (HistoryMessage){0, node, start_ns, 1};
    frame->node = node;
    frame->hops = 1;
    frame->start_ns = start_ns;
    frame->end_ns = start_ns + 100;
    frame->fates[1 - node].outcome = at_other;
}

static History *
two_frames(void)
{
    History *history = history_new(2, 1);
    add_frame(history, 1, 500, HISTORY_LOST_BUSY);
    add_frame(history, 0, 20, HISTORY_RECEIVED);
    HistoryDelivery delivery = {{0, 0, 20, 1}, 1, 1, 120};
    g_array_append_val(history->deliveries, delivery);
    history_sort(history);
    return history;
}

START_TEST(equal_histories_do_not_differ)
{
    g_autoptr(History) a = two_frames();
    g_autoptr(History) b = two_frames();

    ck_assert_ptr_null(history_difference(a, b, 0));
}
END_TEST

START_TEST(another_fate_is_a_difference)
{
    g_autoptr(History) a = two_frames();
    g_autoptr(History) b = two_frames();
    HistoryFate *fate = &g_array_index(b->frames, HistoryFrame, 1).fates[0];
    *fate = (HistoryFate){HISTORY_LOST_COLLISION, 1, 0};

    g_autofree char *words = history_difference(a, b, 0);

    ck_assert_str_eq(words, "node 1 sends message 0/1/500 on bearer 0 at 500 to 600 (hop 1); at "
                            "node 0 expected: lost-busy, got: lost-collision by 1 on bearer 0");
}
END_TEST

START_TEST(another_disturber_is_a_difference)
{
    g_autoptr(History) a = two_frames();
    g_autoptr(History) b = two_frames();
    g_array_index(b->frames, HistoryFrame, 1).fates[0].disturber_node = 0;

    g_autofree char *words = history_difference(a, b, 0);

    ck_assert_ptr_nonnull(words);
}
END_TEST

START_TEST(the_earliest_difference_is_told)
{
    g_autoptr(History) a = two_frames();
    g_autoptr(History) b = two_frames();
    g_array_index(b->frames, HistoryFrame, 1).hops = 2;
    g_array_set_size(b->deliveries, 0);

    g_autofree char *words = history_difference(a, b, 0);

    ck_assert_str_eq(words, "only expected: node 1 gets message 0/0/20 at 120 (hop 1)");
}
END_TEST

START_TEST(a_step_to_another_place_is_a_difference)
{
    g_autoptr(History) a = two_frames();
    g_autoptr(History) b = two_frames();
    HistoryMove move = {1, 300, 10.0, 20.0, false}, other = {1, 300, 10.0, 20.0001, false};
    HistoryMove within = {1, 300, 10.0, 20.000001, false};
    g_array_append_val(a->moves, move);
    g_array_append_val(b->moves, within);
    ck_assert_ptr_null(history_difference(a, b, 0));
    g_array_index(b->moves, HistoryMove, 0) = other;

    g_autofree char *words = history_difference(a, b, 0);

    ck_assert_str_eq(words, "expected: node 1 moves to 10, 20 at 300; got: node 1 moves to 10, "
                            "20.0001 at 300");
}
END_TEST

START_TEST(what_is_dropped_or_refused_is_compared)
{
    g_autoptr(History) a = two_frames();
    g_autoptr(History) b = two_frames();
    HistoryRefusal refusal = {{0, 1, 500, 1}, 3, 620};
    HistoryDrop drop = {{0, 1, 500, 1}, 0, 0, HISTORY_DROPPED_EXPIRED, 610};
    g_array_append_val(b->refusals, refusal);
    g_autofree char *refused = history_difference(a, b, 0);
    g_array_append_val(b->drops, drop);
    g_autofree char *dropped = history_difference(a, b, 0);

    ck_assert_str_eq(refused, "only got: crossing 3 refuses message 0/1/500 at 620");
    ck_assert_str_eq(dropped,
                     "only got: node 0 drops message 0/1/500 on bearer 0 as expired at 610");
}
END_TEST

START_TEST(times_within_the_slack_are_the_same)
{
    g_autoptr(History) a = two_frames();
    g_autoptr(History) b = two_frames();
    g_array_index(b->frames, HistoryFrame, 1).start_ns += 5;
    g_array_index(b->frames, HistoryFrame, 1).end_ns += 5;

    g_autofree char *words = history_difference(a, b, 4);

    ck_assert_ptr_null(history_difference(a, b, 5));
    ck_assert_str_eq(
        words, "only expected: node 1 sends message 0/1/500 on bearer 0 at 500 to 600 (hop 1)");
}
END_TEST

/* A broken twin: the program itself, that takes one outcome for another. */
static char *
find_lost_sending(const Outline *outline, gpointer user)
{
    uint32_t *n_judged = user;
    (*n_judged)++;
    g_autoptr(SpateScenario) scenario = scenario_read(outline, NULL);
    PlayedCounts counts = {0};
    g_autoptr(History) expected = scenario != NULL ? played_run(scenario, 0, &counts, NULL) : NULL;
    if (expected == NULL)
        return NULL;
    g_autoptr(History) got = played_run(scenario, 0, &counts, NULL);
    for (guint i = 0; i < got->frames->len; i++) {
        HistoryFrame *frame = &g_array_index(got->frames, HistoryFrame, i);
        for (uint32_t n = 0; n < got->n_nodes; n++)
            if (frame->fates[n].outcome == HISTORY_LOST_SENDING)
                frame->fates[n].outcome = HISTORY_LOST_BUSY;
    }
    return history_difference(expected, got, 0);
}

/* A large scenario with several frames lost so. */
static Outline *
make_large(ShrinkJudge judge_it, gpointer user)
{
    for (uint64_t number = 0;; number++) {
        g_autoptr(Outline) outline = scenario_make(number);
        g_autofree char *difference = judge_it(outline, user);
        if (difference != NULL && outline_size(outline) > 250)
            return g_steal_pointer(&outline);
    }
}

START_TEST(a_difference_is_shrunk_to_what_it_needs)
{
    uint32_t n_judged = 0;
    g_autoptr(Outline) large = make_large(find_lost_sending, &n_judged);

    g_autoptr(Outline) smallest = shrink(large, find_lost_sending, &n_judged);

    /* Two radios that send at the same time on one bearer. */
    g_autofree char *yaml = outline_to_yaml(smallest);
    g_autofree char *difference = find_lost_sending(smallest, &n_judged);
    ck_assert_ptr_nonnull(difference);
    ck_assert_msg(outline_get(smallest, "nodes")->parts->len <= 2, "%s", yaml); /* or one of 2 */
    ck_assert_msg(outline_get(smallest, "bearers")->parts->len == 1, "%s", yaml);
    ck_assert_msg(outline_get(smallest, "traffic")->parts->len <= 2, "%s", yaml);
    ck_assert_msg(outline_get(smallest, "bridges") == NULL, "%s", yaml);
    ck_assert_msg(outline_get(smallest, "ambient") == NULL, "%s", yaml);
    ck_assert_msg(outline_size(smallest) < 60, "%s", yaml);
}
END_TEST

START_TEST(a_name_is_forgotten_with_all_that_needs_it)
{
    Outline *links, *link, *pair;
    g_autoptr(Outline) outline = outline_new(OUTLINE_MAP);
    Outline *nodes = outline_put(outline, "nodes", outline_new(OUTLINE_MAP));
    outline_put(nodes, "ash", outline_new(OUTLINE_MAP));
    outline_put(nodes, "elm", outline_new(OUTLINE_MAP));
    links = outline_put(outline, "links", outline_new(OUTLINE_LIST));
    link = outline_append(links, outline_new(OUTLINE_MAP));
    pair = outline_put(link, "between", outline_new(OUTLINE_LIST));
    outline_append(pair, outline_new_word("ash"));
    outline_append(pair, outline_new_word("elm"));
    outline_say(link, "loss", "90 dB");
    Outline *traffic = outline_put(outline, "traffic", outline_new(OUTLINE_MAP));
    Outline *chat = outline_put(traffic, "chat", outline_new(OUTLINE_MAP));
    outline_say(chat, "from", "elm");
    Outline *to = outline_put(chat, "to", outline_new(OUTLINE_LIST));
    outline_append(to, outline_new_word("elm"));
    outline_append(to, outline_new_word("ash"));

    outline_forget(outline, "ash");

    g_autofree char *yaml = outline_to_yaml(outline);
    ck_assert_str_eq(yaml, "nodes:\n  elm: {}\ntraffic:\n  chat: {from: elm, to: [elm]}\n");
}
END_TEST

START_TEST(every_scenario_that_is_made_is_one)
{
    for (uint64_t number = 0; number < 300; number++) {
        g_autoptr(GError) error = NULL;
        g_autoptr(Outline) outline = scenario_make(number);
        g_autoptr(SpateScenario) scenario = scenario_read(outline, &error);
        ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    }
}
END_TEST

START_TEST(the_same_number_makes_the_same_scenario)
{
    g_autoptr(Outline) once = scenario_make(7);
    g_autoptr(Outline) again = scenario_make(7);
    g_autoptr(Outline) another = scenario_make(8);
    g_autofree char *first = outline_to_yaml(once);
    g_autofree char *second = outline_to_yaml(again);
    g_autofree char *third = outline_to_yaml(another);

    ck_assert_str_eq(first, second);
    ck_assert_str_ne(first, third);
}
END_TEST

CHECK_MAIN("oracle-tools", equal_histories_do_not_differ, another_fate_is_a_difference,
           another_disturber_is_a_difference, the_earliest_difference_is_told,
           a_step_to_another_place_is_a_difference, what_is_dropped_or_refused_is_compared,
           times_within_the_slack_are_the_same, a_name_is_forgotten_with_all_that_needs_it,
           a_difference_is_shrunk_to_what_it_needs, every_scenario_that_is_made_is_one,
           the_same_number_makes_the_same_scenario)
