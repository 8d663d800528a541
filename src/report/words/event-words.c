/* event-words.c - what happens to frames and messages, in words */
#include "report/words/event-words.h"

#include <glib.h>

const char *
spate_decision_word(SpateDecision kind)
{
    switch (kind) {
    case SPATE_DECISION_SEND:
        return "send";
    case SPATE_DECISION_DELAY:
        return "delay";
    case SPATE_DECISION_COLLECT:
        return "collect";
    case SPATE_DECISION_NO_RELAY:
        return "no-relay";
    case SPATE_DECISION_HOP_LIMIT:
        return "hop-limit";
    case SPATE_DECISION_IS_WAITING:
        return "is-waiting";
    case SPATE_DECISION_HELD_BACK:
        return "held-back";
    case SPATE_DECISION_POLICY:
        return "policy";
    }
    g_assert_not_reached();
}

const char *
spate_drop_word(SpateDropCause cause)
{
    static const char *const WORDS[SPATE_N_DROPS] = {
        [SPATE_DROP_QUEUE] = "queue",
        [SPATE_DROP_EXPIRED] = "expired",
        [SPATE_DROP_SIZE] = "size",
        [SPATE_DROP_CANCELLED] = "cancelled",
    };
    return WORDS[cause];
}

const char *
spate_blame_word(SpateBlame blame)
{
    switch (blame) {
    case SPATE_BLAME_OWN_RADIO:
        return "own-radio";
    case SPATE_BLAME_NEIGHBOUR:
        return "neighbour";
    case SPATE_BLAME_MESH:
        return "mesh";
    case SPATE_BLAME_AMBIENT:
        return "ambient";
    }
    g_assert_not_reached();
}
