/* observers.h - passes events to every observer
 *
 * In the order in which they were added.  Those who have something to tell ask first whether
 * anybody wants to know: an event that nobody sees is not put together.
 */
#pragma once

#include "spate/event.h"
#include <glib.h>
#include <stdbool.h>

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
void spate_observers_tell(const SpateObservers *observers, const SpateEvent *event);
