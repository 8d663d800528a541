/* access.h - when a radio may send
 *
 * One request at a time for each radio: "this frame is at the head of my queue".  The answer
 * comes as a call in the START rank, in which the caller must begin the frame at once.  In
 * between pass, in this order: the duty cycle (a frame that does not fit into the hour waits),
 * then the access method of the bearer, with turnaround after a lock and never while locked.
 */
#pragma once

#include "channel/channel.h"
#include "core/event-queue.h"
#include <stdint.h>

typedef struct {
    int64_t duty_ns;   /* waited at the head of the queue for the duty cycle */
    int64_t access_ns; /* ... then for a free channel */
} SpateAccessWaits;

/* In what the methods of access differ beside how they wait. */
typedef struct {
    bool senses_power;    /* busy is a sum of powers above a threshold, which receivers then keep */
    bool draws_each_wait; /* two senders that begin to wait together do not end together */
    /* The least time between the head of the queue and the sending, on an empty channel. */
    int64_t (*least_ns)(const SpateBearer *bearer);
} SpateAccessInfo;

const SpateAccessInfo *spate_access_info(SpateAccessMethod method);

typedef struct SpateAccessControl SpateAccessControl;
typedef void (*SpateMaySendFunc)(gpointer user, uint32_t radio, SpateAccessWaits waits);

/* Takes the `changed` reports through spate_access_channel_changed(), which the owner of the
 * channel's hooks has to pass on. */
SpateAccessControl *spate_access_new(SpateEventQueue *queue, SpateChannel *channel,
                                     const SpateMedium *medium, uint64_t seed, uint32_t replication,
                                     SpateMaySendFunc may_send, gpointer user);
void spate_access_free(SpateAccessControl *access);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateAccessControl, spate_access_free)

/* The radio must have no request and not be sending.  `identity` names the frame for random draws.
 */
void spate_access_request(SpateAccessControl *access, uint32_t radio, int64_t airtime_ns,
                          uint64_t identity);
/* Takes the request back; harmless without one. */
void spate_access_withdraw(SpateAccessControl *access, uint32_t radio);

void spate_access_channel_changed(SpateAccessControl *access, uint32_t radio);
