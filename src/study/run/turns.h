/* turns.h - of the runs that go side by side, one at a time may take much memory
 *
 * The bound on one run must not depend on how many threads there are, or a study would fail with
 * eight of them that is fine with one.  So what threads share is not the bound but time: a run that
 * would go beyond its even share of the bound waits until no other is beyond its own.  It holds
 * less than that share while it waits, so that all together hold less than twice the bound, plus
 * what a run can add between two looks.  Only when runs end depends on it, never what they find.
 *
 * A turn belongs to a thread: what one thread runs within another run needs none of its own.
 */
#pragma once

#include <glib.h>
#include <pthread.h>
#include <stdbool.h>

typedef struct {
    pthread_mutex_t mutex; /* one that the thread sanitizer sees, unlike GLib's */
    gsize most;            /* bytes of one run */
    guint n_least;         /* that share them; 0: cores */
    gint n_going;          /* atomic: runs at the moment */
    GThread *taker;        /* whose turn it is; NULL: nobody's */
    guint n_inside;        /* runs of the taker, one within the other */
} SpateTurns;

/* For static ones; there is nothing to clear.  Shares are those of n_at_least runs (0: as many as
 * there are cores) even if fewer go: others may begin.  A turn that nobody wants costs nothing. */
#define SPATE_TURNS(most_bytes, n_at_least)                                                        \
    {                                                                                              \
        .mutex = PTHREAD_MUTEX_INITIALIZER, .most = (most_bytes), .n_least = (n_at_least)          \
    }

/* From the start of a run until its memory is free. */
void spate_turns_begin(SpateTurns *turns);
void spate_turns_end(SpateTurns *turns, bool has_turn); /* which only its thread may give back */

/* Whether a run of that size has to have the turn to go on. */
bool spate_turns_are_needed(SpateTurns *turns, gsize bytes);
/* Waits for it; false if *stop (may be NULL) became non-zero first. */
bool spate_turns_take(SpateTurns *turns, const volatile int *stop);
