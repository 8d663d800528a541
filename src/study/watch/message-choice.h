/* message-choice.h - which messages of a run a report follows
 *
 * Of each traffic the first message after the warm-up that came to all its recipients, and the
 * first that did not: people want to see both.  Traffics take turns, so that where room is short
 * each has one before any has two.
 */
#pragma once

#include "measure/message-trace.h"

/* Traffics of which messages are chosen, and messages in all. */
#define SPATE_CHOSEN_TRAFFICS 8
#define SPATE_CHOSEN_MESSAGES 24

typedef enum {
    SPATE_CHOSEN_REACHED_ALL, /* the first that came to all its recipients */
    SPATE_CHOSEN_MISSED_SOME, /* the first that did not */
    SPATE_CHOSEN_FIRST        /* neither: it has no recipients */
} SpateMessageWhy;

typedef struct {
    SpateMessageWanted wanted;
    int64_t offered_ns;
    SpateMessageWhy why;
} SpateChosenMessage;

typedef struct SpateMessageChooser SpateMessageChooser;

/* Borrows the plan. */
SpateMessageChooser *spate_message_chooser_new(const SpatePlan *plan, int64_t warm_up_ns);
void spate_message_chooser_free(SpateMessageChooser *chooser);
SpateObserver spate_message_chooser_observer(SpateMessageChooser *chooser);
/* After the run: SpateChosenMessage, by numbers of the plan.  Free with g_array_unref(). */
GArray *spate_message_chooser_choose(const SpateMessageChooser *chooser);
