/* channel.h - frames in flight, and what becomes of them at each receiver
 *
 * The channel owns the state of every radio: sending, locked on a frame, listening or asleep.  It
 * decides nothing about when to send (access.h) or what (mesh/); it learns that a
 * frame begins, and reports who received it, who lost it and why.
 *
 * All of docs/model.md, "A frame at a receiver", lives here.
 */
#pragma once

#include "channel/medium.h"
#include "core/event-queue.h"
#include "radio/listening.h"
#include "spate/event.h"
#include <stdbool.h>
#include <stdint.h>

/* A frame on the air.  `cargo` is the caller's; `identity` names the frame for
 * random draws, the same in every variant of a scenario. */
typedef struct {
    uint32_t sender;
    uint32_t cargo;
    uint64_t identity;
    int64_t start_ns, end_ns;
} SpateAirFrame;

/* The radios that received a frame, in order: `receiver` and `power` at the n places `at`. */
typedef struct {
    const uint32_t *receiver;
    const uint64_t *power; /* in the receiver's units */
    const uint32_t *at;
    uint32_t n;
} SpateReceivers;

typedef struct {
    /* Optional.  The turn of a frame, the lowest first. */
    uint32_t (*turn)(gpointer user, const SpateAirFrame *frame);
    /* At the end of a frame, if any radio received it.  Frames that end together come in the order
     * of their turns, then of bearers, senders. */
    void (*received)(gpointer user, const SpateAirFrame *frame, const SpateReceivers *receivers);
    /* After that: the frame is over at its sender, which is free. */
    void (*sent)(gpointer user, const SpateAirFrame *frame);
    /* Optional, before both.  How many radios, by SpateOutcome, a frame that has ended was audible
     * to.  Not called for ambient traffic. */
    void (*counted)(gpointer user, const SpateAirFrame *frame, const uint32_t *n_by_outcome);
    /* Optional, after that.  Every audible pair of the frame: to list them costs more than to count
     * them.  `receptions` lives until the function returns. */
    void (*outcomes)(gpointer user, const SpateAirFrame *frame, const SpateReception *receptions,
                     size_t n_receptions);
    /* Optional.  After the last event of rank SWITCH, before any radio looks for a frame: what is
     * to be switched at this instant, is switched now at the latest. */
    void (*switched)(gpointer user);
    /* Optional.  A radio that is watched ceased to be locked, or began or ceased to send; on a
     * bearer that senses power also: a frame that it hears, and may have locked on, began or ended.
     */
    void (*changed)(gpointer user, uint32_t radio);
} SpateChannelHooks;

typedef struct SpateChannel SpateChannel;

/* Borrows the queue and the medium; takes over the END, SWITCH and START closing
 * functions of the queue.  Disturbers are only worked out if `name_disturbers`. */
SpateChannel *spate_channel_new(SpateEventQueue *queue, const SpateMedium *medium, uint64_t seed,
                                uint32_t replication, bool name_disturbers);
void spate_channel_free(SpateChannel *channel);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateChannel, spate_channel_free)

void spate_channel_set_hooks(SpateChannel *channel, const SpateChannelHooks *hooks, gpointer user);

/* The radio sleeps, if its settings say so; before the run. */
void spate_channel_set_listening(SpateChannel *channel, uint32_t radio,
                                 const SpateListening *listening);

/* Puts a frame on the air now.  Only from an event of rank START; the radio must neither be
 * sending nor locked.  Ambient sources send too, with overlapping frames of their own allowed to
 * none. */
void spate_channel_begin(SpateChannel *channel, uint32_t sender, int64_t airtime_ns, uint32_t cargo,
                         uint64_t identity);

/* An outage: only from events of rank SWITCH and the hook `switched`, in turns.  The radio neither
 * sends nor hears; a frame of its own that is on the air goes on to its end, and hides others as it
 * would; one that it was locked on counts in no outcome.  The caller has withdrawn what it asked
 * access for. */
void spate_channel_switch_off(SpateChannel *channel, uint32_t radio);
/* It looks at once for a frame that it can still lock on. */
void spate_channel_switch_on(SpateChannel *channel, uint32_t radio);

/* Before nodes of the medium move: frames on the air keep the losses with which they began.  Only
 * from events of rank SWITCH and the hook `switched`. */
void spate_channel_keep_losses(SpateChannel *channel);

bool spate_channel_is_sending(const SpateChannel *channel, uint32_t radio);
bool spate_channel_is_locked(const SpateChannel *channel, uint32_t radio);
/* Power on the air in the receiver's bandwidth at or above its csma threshold. */
bool spate_channel_energy_is_high(const SpateChannel *channel, uint32_t radio);
/* When the last lock ended; INT64_MIN if there was none. */
int64_t spate_channel_lock_ended_ns(const SpateChannel *channel, uint32_t radio);

/* Frames of the radio's own bearer that it could hear, on the air now.  Calls `found` for each. */
void spate_channel_audible_now(const SpateChannel *channel, uint32_t radio,
                               void (*found)(gpointer user, const SpateAirFrame *frame,
                                             bool in_preamble),
                               gpointer user);

/* Whether `changed` is wanted for this radio. */
void spate_channel_watch(SpateChannel *channel, uint32_t radio, bool watched);

/* Time from the start of the run to now in which the radio heard or sent at least one frame; while
 * it is off or asleep it hears none. */
int64_t spate_channel_busy_ns(const SpateChannel *channel, uint32_t radio);
/* ... and in which it was off, and did not even send what it had begun. */
int64_t spate_channel_off_ns(const SpateChannel *channel, uint32_t radio);
/* Time from the start of the run to now in which it was not asleep; of one that sleeps, nor off. */
int64_t spate_channel_awake_ns(const SpateChannel *channel, uint32_t radio);

/* Asserts what must hold whenever no event is being run: sums, states and
 * lists agree with the frames on the air.  Slow. */
void spate_channel_check(const SpateChannel *channel);
