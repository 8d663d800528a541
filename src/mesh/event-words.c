/* event-words.c - what happens to frames and messages, in words */
#include "mesh/event-words.h"

#include <glib.h>

const char *
spate_event_word(SpateEventKind kind)
{
    switch (kind) {
    case SPATE_EVENT_OFFERED:
        return "offered";
    case SPATE_EVENT_DIGESTED:
        return "digested";
    case SPATE_EVENT_QUEUED:
        return "queued";
    case SPATE_EVENT_DROPPED:
        return "dropped";
    case SPATE_EVENT_STARTED:
        return "started";
    case SPATE_EVENT_ENDED:
        return "ended";
    case SPATE_EVENT_ARRIVED:
        return "arrived";
    case SPATE_EVENT_DECIDED:
        return "decided";
    case SPATE_EVENT_REDUNDANT:
        return "redundant";
    case SPATE_EVENT_DELIVERED:
        return "delivered";
    case SPATE_EVENT_TRIED:
        return "tried";
    case SPATE_EVENT_ANSWERED:
        return "answered";
    case SPATE_EVENT_ACKNOWLEDGED:
        return "acknowledged";
    case SPATE_EVENT_ROUTE_LEARNED:
        return "route-learned";
    case SPATE_EVENT_ROUTE_DROPPED:
        return "route-dropped";
    case SPATE_EVENT_WENT_DOWN:
        return "went-down";
    case SPATE_EVENT_CAME_BACK:
        return "came-back";
    case SPATE_EVENT_MOVED:
        return "moved";
    }
    g_assert_not_reached();
}

const char *
spate_decision_word(SpateDecision decision)
{
    static const char *const WORDS[SPATE_N_DECISIONS] = {
        [SPATE_DECISION_SEND] = "send",           [SPATE_DECISION_DELAY] = "delay",
        [SPATE_DECISION_COLLECT] = "collect",     [SPATE_DECISION_NO_RELAY] = "no-relay",
        [SPATE_DECISION_HOP_LIMIT] = "hop-limit", [SPATE_DECISION_IS_WAITING] = "is-waiting",
        [SPATE_DECISION_HELD_BACK] = "held-back", [SPATE_DECISION_POLICY] = "policy",
    };
    return WORDS[decision];
}

static const struct {
    const char *word, *reason;
} DROPS[SPATE_N_DROPS] = {
    [SPATE_DROP_QUEUE] = {"queue", "its queue was full"},
    [SPATE_DROP_EXPIRED] = {"expired", "it had waited in the queue for longer than 'expire'"},
    [SPATE_DROP_SIZE] = {"size", "it is longer than 'largest-frame'"},
    [SPATE_DROP_CANCELLED] = {"cancelled", "enough copies of it were heard meanwhile (counter)"},
    [SPATE_DROP_OUTAGE] = {"outage", "its node went down"},
};

const char *
spate_drop_word(SpateDropCause cause)
{
    return DROPS[cause].word;
}

const char *
spate_drop_reason(SpateDropCause cause)
{
    return DROPS[cause].reason;
}

const char *
spate_outcome_word(SpateOutcome outcome)
{
    static const char *const WORDS[SPATE_N_OUTCOMES] = {
        [SPATE_OUTCOME_RECEIVED] = "received",
        [SPATE_OUTCOME_LOST_COLLISION] = "lost-collision",
        [SPATE_OUTCOME_LOST_BUSY] = "lost-busy",
        [SPATE_OUTCOME_LOST_SENDING] = "lost-sending",
        [SPATE_OUTCOME_LOST_BLOCKED] = "lost-blocked",
        [SPATE_OUTCOME_LOST_ASLEEP] = "lost-asleep",
    };
    return WORDS[outcome];
}
