/* test-turns.c - of the runs that go side by side, one at a time may take much memory */
#include "study/run/turns.h"
#include "support/check-main.h"

#define MOST      1200
#define N_THREADS 4

/* Runs that each grow to the most, a byte at a time. */
typedef struct {
    SpateTurns turns;
    gint n_bytes, n_most, n_finished; /* atomic: of all at the moment; of that the most; runs */
} Yard;

static void
grow(Yard *yard)
{
    gint now = g_atomic_int_add(&yard->n_bytes, 1) + 1, most;
    do {
        most = g_atomic_int_get(&yard->n_most);
    } while (now > most && !g_atomic_int_compare_and_exchange(&yard->n_most, most, now));
}

static gpointer
run(gpointer user)
{
    Yard *yard = user;
    bool has_turn = false;
    spate_turns_begin(&yard->turns);
    /* All are there before one grows. */
    while (g_atomic_int_get(&yard->turns.n_going) + g_atomic_int_get(&yard->n_finished) < N_THREADS)
        g_thread_yield();
    for (gsize bytes = 1; bytes <= MOST; bytes++) {
        if (!has_turn && spate_turns_are_needed(&yard->turns, bytes))
            has_turn = spate_turns_take(&yard->turns, NULL);
        grow(yard);
        if (bytes % 50 == 0)
            g_usleep(100);
    }
    g_atomic_int_add(&yard->n_bytes, -MOST);
    g_atomic_int_inc(&yard->n_finished);
    spate_turns_end(&yard->turns, has_turn);
    return NULL;
}

START_TEST(all_together_take_less_than_twice_the_most)
{
    Yard yard = {.turns = SPATE_TURNS(MOST, 2)};
    GThread *threads[N_THREADS];
    for (int i = 0; i < N_THREADS; i++)
        threads[i] = g_thread_new("run", run, &yard);
    for (int i = 0; i < N_THREADS; i++)
        g_thread_join(threads[i]);
    ck_assert_int_eq(yard.n_finished, N_THREADS);
    ck_assert_int_eq(yard.turns.n_going, 0);
    ck_assert_int_ge(yard.n_most, MOST);
    ck_assert_int_lt(yard.n_most, 2 * MOST);
}
END_TEST

START_TEST(shares_are_those_of_all_that_go)
{
    SpateTurns turns = SPATE_TURNS(MOST, 2);
    spate_turns_begin(&turns);
    ck_assert(!spate_turns_are_needed(&turns, MOST / 2));
    ck_assert(spate_turns_are_needed(&turns, MOST / 2 + 1));
    spate_turns_begin(&turns);
    spate_turns_begin(&turns);
    ck_assert(!spate_turns_are_needed(&turns, MOST / 3));
    ck_assert(spate_turns_are_needed(&turns, MOST / 3 + 1));
    for (int i = 0; i < 3; i++)
        spate_turns_end(&turns, false);
}
END_TEST

static gpointer
try_to_take(gpointer user)
{
    static const volatile int stop = 1;
    return GINT_TO_POINTER(spate_turns_take(user, &stop));
}

START_TEST(a_run_within_a_run_shares_its_turn_and_a_stop_ends_the_waiting)
{
    SpateTurns turns = SPATE_TURNS(MOST, 2);
    spate_turns_begin(&turns);
    spate_turns_begin(&turns);
    ck_assert(spate_turns_take(&turns, NULL));
    ck_assert(spate_turns_take(&turns, NULL));
    spate_turns_end(&turns, true);
    ck_assert(!GPOINTER_TO_INT(g_thread_join(g_thread_new("other", try_to_take, &turns))));
    spate_turns_end(&turns, true);
    ck_assert_ptr_null(turns.taker);
}
END_TEST

CHECK_MAIN("turns", all_together_take_less_than_twice_the_most, shares_are_those_of_all_that_go,
           a_run_within_a_run_shares_its_turn_and_a_stop_ends_the_waiting)
