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

void
spate_observers_tell(const SpateObservers *observers, const SpateEvent *event)
{
    const SpateObserver *observer = &g_array_index(observers->all, SpateObserver, 0);
    const SpateObserver *end = observer + observers->all->len;
    for (; observer < end; observer++)
        if ((observer->kinds & (uint32_t)event->kind) != 0)
            observer->see(observer->self, event);
}
