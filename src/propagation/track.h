/* track.h - the way of a node that moves, and the steps in which it is gone
 *
 * docs/model.md, "Nodes that move": a node goes from where it begins to the first of its points and
 * on, at one speed.  Its place is constant between the instants at which it has gone a further step
 * of the way.  Where it is after which step, and when, follows from the way alone: nothing is
 * drawn, and nothing is kept.
 */
#pragma once

#include "ground/position.h"
#include <glib.h>
#include <stdint.h>

/* Where a node means to go, and when; borrowed wherever it is asked for. */
typedef struct {
    const SpatePosition *points; /* their heights do not count: a node keeps its own */
    uint32_t n_points;           /* 0: it stays where it is */
    double speed_m_per_s;
    int64_t from_ns;
    bool back; /* at the end it turns, and goes there and back for ever */
} SpateTrackPlan;

typedef struct SpateTrack SpateTrack;

/* NULL if there is no way to go. */
SpateTrack *spate_track_new(SpatePosition start, const SpateTrackPlan *plan, double step_m);
void spate_track_free(SpateTrack *track);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateTrack, spate_track_free)

typedef struct {
    int64_t at_ns; /* when it is over: the node is there from then on */
    double gone_m; /* with this step, since the last place; all of a step but at the very end */
    SpatePosition position;
} SpateTrackStep;

/* The step of that number, from 1.  False if there is none: the way ends before, or the run of any
 * clock does. */
bool spate_track_step(const SpateTrack *track, uint64_t number, SpateTrackStep *step);
