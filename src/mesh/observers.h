/* observers.h - tells everyone who listens
 *
 * The functions of SpateObserver, once for all observers, in the order in which they were added.
 */
#pragma once

#include "mesh/observer.h"
#include <glib.h>

typedef struct {
    GArray *tables; /* SpateObserver */
} SpateObservers;

void spate_observers_init(SpateObservers *observers);
void spate_observers_clear(SpateObservers *observers);
void spate_observers_add(SpateObservers *observers, const SpateObserver *observer);

void spate_observers_offered(const SpateObservers *observers, int64_t now_ns,
                             const SpateMessageFacts *message);
void spate_observers_digested(const SpateObservers *observers, int64_t now_ns,
                              const SpateMessageFacts *digest,
                              const SpateMessageFacts *const *carried, size_t n_carried);
void spate_observers_queued(const SpateObservers *observers, int64_t now_ns,
                            const SpateFrameFacts *frame);
void spate_observers_dropped(const SpateObservers *observers, int64_t now_ns,
                             const SpateFrameFacts *frame, SpateDropCause cause);
void spate_observers_cancelled(const SpateObservers *observers, int64_t now_ns,
                               const SpateFrameFacts *frame);
void spate_observers_started(const SpateObservers *observers, int64_t now_ns,
                             const SpateFrameFacts *frame, SpateAccessWaits waits);
/* These happen at the end of the frame on the air. */
void spate_observers_ended(const SpateObservers *observers, const SpateAirFrame *air,
                           const SpateFrameFacts *frame, const SpateReception *receptions,
                           size_t n_receptions);
void spate_observers_redundant(const SpateObservers *observers, const SpateAirFrame *air,
                               const SpateFrameFacts *frame, uint32_t receiver);
void spate_observers_arrived(const SpateObservers *observers, const SpateAirFrame *air,
                             const SpateFrameFacts *frame, uint32_t receiver);
void spate_observers_decided(const SpateObservers *observers, int64_t now_ns,
                             const SpateDecided *decision);
void spate_observers_delivered(const SpateObservers *observers, int64_t now_ns,
                               const SpateMessageFacts *message, uint32_t node, uint32_t hops);
void spate_observers_held_back(const SpateObservers *observers, int64_t now_ns,
                               const SpateMessageFacts *message, const SpateCrossing *crossing,
                               uint32_t rule);
