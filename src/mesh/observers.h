/* observers.h - passes events to every observer
 *
 * In the order in which they were added.  Those who have something to tell ask first whether
 * anybody wants to know: an event that nobody sees is not put together.
 */
#pragma once

#include "spate/event.h"
#include <glib.h>
#include <stdbool.h>

/* What an observer may wish for instead of a kind, of which it is a part.  DECIDED at crossings:
 * relays decide far more often.  ENDED with `n_by_outcome` and without receptions: to list them
 * takes longer than to count them.  ARRIVED once for all nodes to which a frame brought the first
 * copy of what floods: `n_receptions` is how many, node and radio are the sender's. */
#define SPATE_DECIDED_AT_CROSSINGS (SPATE_ALL_EVENTS + 1)
#define SPATE_ENDED_IN_NUMBERS     (SPATE_DECIDED_AT_CROSSINGS << 1)
#define SPATE_ARRIVED_IN_NUMBERS   (SPATE_DECIDED_AT_CROSSINGS << 2)

typedef struct {
    GArray *all;    /* SpateObserver */
    uint32_t kinds; /* that anyone wants */
} SpateObservers;

void spate_observers_init(SpateObservers *observers);
void spate_observers_clear(SpateObservers *observers);
void spate_observers_add(SpateObservers *observers, const SpateObserver *observer);

static inline bool
spate_observers_want(const SpateObservers *observers, SpateEventKind kind)
{
    return (observers->kinds & (uint32_t)kind) != 0;
}

/* The same of what stands for a part of a kind. */
static inline bool
spate_observers_wish(const SpateObservers *observers, uint32_t wish)
{
    return (observers->kinds & wish) != 0;
}

/* The same of DECIDED, at a crossing or a relay. */
static inline bool
spate_observers_want_decision(const SpateObservers *observers, bool at_crossing)
{
    uint32_t wishes = SPATE_EVENT_DECIDED | (at_crossing ? SPATE_DECIDED_AT_CROSSINGS : 0);
    return (observers->kinds & wishes) != 0;
}

void spate_observers_tell(const SpateObservers *observers, const SpateEvent *event);
