/* event-log.h - all that happens in a run, as JSON Lines: docs/event-log.md
 *
 * One object a line, in the order of time: every offer, every frame from its queue to its end, what
 * became of it at each radio that could hear it, every first copy, every decision, every
 * delivery.  A log listens; it changes no result.
 */
#pragma once

#include "mesh/plan.h"
#include "spate/event.h"
#include <glib.h>

typedef struct SpateEventLog SpateEventLog;

/* Takes whole lines; called often with a few of them. */
typedef void (*SpateEventSink)(gpointer user, const char *lines, gsize length);

typedef struct {
    const SpatePlan *plan;
    const char *variant;
    uint32_t replication; /* from 0; told from 1, as people count */
    const bool *traffics; /* by traffic: those that are logged; NULL: all */
    SpateEventSink sink;
    gpointer user;
} SpateEventLogSettings;

/* All is borrowed.  Free it after the run, and only then all has reached the sink. */
SpateEventLog *spate_event_log_new(const SpateEventLogSettings *settings);
void spate_event_log_free(SpateEventLog *log);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateEventLog, spate_event_log_free)

SpateObserver spate_event_log_observer(SpateEventLog *log);
