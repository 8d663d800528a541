/* observers.c - tells everyone who listens */
#include "mesh/observers.h"

static const SpateObserver *
table_at(const SpateObservers *observers, guint index)
{
    return &g_array_index(observers->tables, SpateObserver, index);
}

void
spate_observers_init(SpateObservers *observers)
{
    observers->tables = g_array_new(FALSE, FALSE, sizeof(SpateObserver));
}

void
spate_observers_clear(SpateObservers *observers)
{
    g_array_free(observers->tables, TRUE);
}

void
spate_observers_add(SpateObservers *observers, const SpateObserver *observer)
{
    g_array_append_val(observers->tables, *observer);
}

void
spate_observers_offered(const SpateObservers *observers, int64_t now_ns,
                        const SpateMessageFacts *message)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->offered != NULL)
            table->offered(table->self, now_ns, message);
    }
}

void
spate_observers_digested(const SpateObservers *observers, int64_t now_ns,
                         const SpateMessageFacts *digest, const SpateMessageFacts *const *carried,
                         size_t n_carried)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->digested != NULL)
            table->digested(table->self, now_ns, digest, carried, n_carried);
    }
}

void
spate_observers_queued(const SpateObservers *observers, int64_t now_ns,
                       const SpateFrameFacts *frame)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->queued != NULL)
            table->queued(table->self, now_ns, frame);
    }
}

void
spate_observers_dropped(const SpateObservers *observers, int64_t now_ns,
                        const SpateFrameFacts *frame, SpateDropCause cause)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->dropped != NULL)
            table->dropped(table->self, now_ns, frame, cause);
    }
}

void
spate_observers_cancelled(const SpateObservers *observers, int64_t now_ns,
                          const SpateFrameFacts *frame)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->cancelled != NULL)
            table->cancelled(table->self, now_ns, frame);
    }
}

void
spate_observers_started(const SpateObservers *observers, int64_t now_ns,
                        const SpateFrameFacts *frame, SpateAccessWaits waits)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->started != NULL)
            table->started(table->self, now_ns, frame, waits);
    }
}

void
spate_observers_ended(const SpateObservers *observers, const SpateAirFrame *air,
                      const SpateFrameFacts *frame, const SpateReception *receptions,
                      size_t n_receptions)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->ended != NULL)
            table->ended(table->self, air->end_ns, frame, air->start_ns, receptions, n_receptions);
    }
}

void
spate_observers_redundant(const SpateObservers *observers, const SpateAirFrame *air,
                          const SpateFrameFacts *frame, uint32_t receiver)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->redundant != NULL)
            table->redundant(table->self, air->end_ns, frame, air->start_ns, receiver);
    }
}

void
spate_observers_arrived(const SpateObservers *observers, const SpateAirFrame *air,
                        const SpateFrameFacts *frame, uint32_t receiver)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->arrived != NULL)
            table->arrived(table->self, air->end_ns, frame, air->start_ns, receiver);
    }
}

void
spate_observers_decided(const SpateObservers *observers, int64_t now_ns,
                        const SpateDecided *decision)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->decided != NULL)
            table->decided(table->self, now_ns, decision);
    }
}

void
spate_observers_delivered(const SpateObservers *observers, int64_t now_ns,
                          const SpateMessageFacts *message, uint32_t node, uint32_t hops)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->delivered != NULL)
            table->delivered(table->self, now_ns, message, node, hops);
    }
}

void
spate_observers_held_back(const SpateObservers *observers, int64_t now_ns,
                          const SpateMessageFacts *message, const SpateCrossing *crossing,
                          uint32_t rule)
{
    for (guint i = 0; i < observers->tables->len; i++) {
        const SpateObserver *table = table_at(observers, i);
        if (table->held_back != NULL)
            table->held_back(table->self, now_ns, message, crossing, rule);
    }
}
