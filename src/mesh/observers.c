/* observers.c - passes events to every observer */
#include "mesh/observers.h"

void
spate_observers_init(SpateObservers *observers)
{
    observers->all = g_array_new(FALSE, FALSE, sizeof(SpateObserver));
    observers->kinds = 0;
}

void
spate_observers_clear(SpateObservers *observers)
{
    g_array_free(observers->all, TRUE);
}

void
spate_observers_add(SpateObservers *observers, const SpateObserver *observer)
{
    g_array_append_val(observers->all, *observer);
    observers->kinds |= observer->kinds;
}

/* The wishes that the event fulfils. */
static uint32_t
wishes_for(const SpateEvent *event)
{
    if (event->n_by_outcome != NULL)
        return SPATE_ENDED_IN_NUMBERS;
    if (event->kind == SPATE_EVENT_ARRIVED && event->n_receptions > 0)
        return SPATE_ARRIVED_IN_NUMBERS;
    bool at_crossing = event->kind == SPATE_EVENT_DECIDED && event->crossing != SPATE_NO_CROSSING;
    return (uint32_t)event->kind | (at_crossing ? SPATE_DECIDED_AT_CROSSINGS : 0);
}

void
spate_observers_tell(const SpateObservers *observers, const SpateEvent *event)
{
    uint32_t wishes = wishes_for(event);
    const SpateObserver *observer = &g_array_index(observers->all, SpateObserver, 0);
    /* Mostly there is one, the tally: then nothing has to be kept over the call. */
    if (G_LIKELY(observers->all->len == 1)) {
        if ((observer->kinds & wishes) != 0)
            observer->see(observer->self, event);
        return;
    }
    const SpateObserver *end = observer + observers->all->len;
    for (; observer < end; observer++)
        if ((observer->kinds & wishes) != 0)
            observer->see(observer->self, event);
}
