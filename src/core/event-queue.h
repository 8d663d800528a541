/* event-queue.h - what happens next, and in which order
 *
 * The queue owns simulated time.  It knows nothing of radio: an event is a
 * function, the thing it happens to, and an instant in whole nanoseconds.
 *
 * Events at one instant run by rank, lowest first, then in the order they were
 * scheduled.  That is a promise: without it one seed would not give one result.
 *
 * "Events of one instant and rank happen together": after the last event of an
 * (instant, rank) group has run, the group's closing function is called, so that
 * a module can collect what the events ask for and carry it out at once.  A
 * closing function may schedule events at the same instant, of a higher rank.
 *
 * Nothing is allocated once the queue has reached its largest size.
 */
#pragma once

#include "core/time.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

typedef struct SpateEventQueue SpateEventQueue; /* opaque but for its clock, which it begins with */
typedef struct {
    int64_t now_ns;
} SpateEventClock;
typedef uint64_t SpateEventId; /* 0 is never issued */

/* `subject` and `item` are handed back as they were scheduled: typically a
 * module and an index into one of its pools. */
typedef void (*SpateEventFunc)(gpointer subject, uint32_t item);
typedef void (*SpateCloseFunc)(gpointer subject);

/* Starts empty, at time 0.  Free with spate_event_queue_free(), which takes
 * NULL; events still waiting are dropped without being run. */
SpateEventQueue *spate_event_queue_new(void);
void spate_event_queue_free(SpateEventQueue *queue);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateEventQueue, spate_event_queue_free)

/* Asked more often than anything else. */
static inline int64_t
spate_event_queue_now_ns(const SpateEventQueue *queue)
{
    return ((const SpateEventClock *)queue)->now_ns;
}

/* Events waiting, cancelled ones not counted. */
size_t spate_event_queue_length(const SpateEventQueue *queue);

/* at_ns must not lie in the past, nor, at the present instant, belong to a rank
 * that is already over; that is the caller's bug and aborts.  subject is
 * borrowed: it has to outlive the event, or the event be cancelled first. */
SpateEventId spate_event_queue_schedule(SpateEventQueue *queue, int64_t at_ns, SpateRank rank,
                                        SpateEventFunc happen, gpointer subject, uint32_t item);

/* Harmless for an event that has run or was cancelled, and for 0: returns false
 * then.  An event may be cancelled by another of its own group.  It keeps its
 * place in memory until its turn would have come. */
bool spate_event_queue_cancel(SpateEventQueue *queue, SpateEventId id);

/* Called whenever the last event of an (instant, rank) group has run.  One for
 * each rank; NULL (the default) for none. */
void spate_event_queue_on_close(SpateEventQueue *queue, SpateRank rank, SpateCloseFunc close,
                                gpointer subject);

/* Runs the next event and, if it was the last of its group, the group's closing
 * function.  False if nothing waits. */
bool spate_event_queue_run_next(SpateEventQueue *queue);

/* Runs all events up to and including until_ns, then sets the time to until_ns.
 * Stops early, with false, once `*stop` (may be NULL) is non-zero; it is looked
 * at between groups of events, now and then. */
bool spate_event_queue_run_until(SpateEventQueue *queue, int64_t until_ns,
                                 const volatile int *stop);

/* Why spate_event_queue_run_some() came back. */
typedef enum {
    SPATE_QUEUE_DONE,    /* all up to until_ns have run */
    SPATE_QUEUE_STOPPED, /* *stop was set */
    SPATE_QUEUE_PAUSED   /* that many events have run, and there are more: call it again */
} SpateQueuePause;

/* The same, but comes back between two groups once at least n_events of them have run, so that the
 * caller can see how the run is getting on. */
SpateQueuePause spate_event_queue_run_some(SpateEventQueue *queue, int64_t until_ns,
                                           uint64_t n_events, const volatile int *stop);

/* Events run since the queue was made. */
uint64_t spate_event_queue_n_run(const SpateEventQueue *queue);
