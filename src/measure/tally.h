/* tally.h - turns what happens in a run into one value for each row of measures
 *
 * A tally is an observer: it listens and never answers.  What it counts:
 *
 * - by traffic: messages that were offered at or after the end of the warm-up;
 * - by bearer: frames that started at or after it (those dropped: at the instant
 *   at which they were dropped), each once it has ended where its outcomes are meant: a frame
 *   that is on the air at the end of the run is among the transmissions, but nobody
 *   has received it yet;
 * - `transmissions` and `load`, also by traffic: frames that started at or after it,
 *   whenever their message was offered, so that load by traffic adds up to load by bearer.
 *   A frame counts with its whole airtime: what the warm-up's end cuts off at the one end,
 *   the run's end adds at the other;
 * - `held-back`: refusals at or after it;
 * - `occupancy` and `radio-energy`: the time between it and the end of the run, to the nanosecond.
 *
 * Nothing is allocated while the run goes on, as long as the offers are no more than expected (and
 * the room for them stays within bounds, see tally-traffic.c and tally.c).
 */
#pragma once

#include "measure/measures.h"
#include "mesh/plan.h"
#include "spate/event.h"

typedef struct SpateTally SpateTally;

/* Borrows the plan.  expected_offers: by traffic, how many messages to make room for. */
SpateTally *spate_tally_new(const SpatePlan *plan, int64_t warm_up_ns, int64_t end_ns,
                            const double *expected_offers);
void spate_tally_free(SpateTally *tally);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateTally, spate_tally_free)

/* To hand to the mesh; the tally has to outlive the run. */
SpateObserver spate_tally_observer(SpateTally *tally);

/* Since the start of the run. */
typedef struct {
    int64_t busy_ns;  /* in which the radio heard or sent */
    int64_t awake_ns; /* in which it was not asleep */
    int64_t off_ns;   /* in which its node was down; of one that sleeps, not awake either */
} SpateRadioTimes;

/* Those at the end of the warm-up, and at the end of the run. */
void spate_tally_note_at_warm_up(SpateTally *tally, uint32_t radio, SpateRadioTimes times);
void spate_tally_note_at_end(SpateTally *tally, uint32_t radio, SpateRadioTimes times);

/* After the run: one value for each row of spate_measure_rows(); borrowed. */
const SpateMeasureValue *spate_tally_finish(SpateTally *tally);

/* Asserts that outcomes add up to audible pairs, and load by traffic to load by bearer; after the
 * run. */
void spate_tally_check(const SpateTally *tally);
