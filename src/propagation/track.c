/* track.c - the way of a node that moves, and the steps in which it is gone */
#include "propagation/track.h"

#include <math.h>

#define NS_PER_S 1e9
/* So that no sum of times overflows: longer than any run. */
#define LATEST_NS 4e18

struct SpateTrack {
    SpatePosition *corners; /* where it begins, then its points */
    double *until_m;        /* by corner: length of the way up to there */
    uint32_t n_corners;
    double speed_m_per_s, step_m;
    int64_t from_ns;
    bool back;
};

static double
length_m(const SpateTrack *track)
{
    return track->until_m[track->n_corners - 1];
}

SpateTrack *
spate_track_new(SpatePosition start, const SpateTrackPlan *plan, double step_m)
{
    if (plan->n_points == 0)
        return NULL;
    g_assert(plan->speed_m_per_s > 0.0 && step_m > 0.0);
    g_autoptr(SpateTrack) track = g_new0(SpateTrack, 1);
    track->n_corners = plan->n_points + 1;
    track->corners = g_new(SpatePosition, track->n_corners);
    track->until_m = g_new0(double, track->n_corners);
    track->speed_m_per_s = plan->speed_m_per_s;
    track->step_m = step_m;
    track->from_ns = plan->from_ns;
    track->back = plan->back;
    track->corners[0] = start;
    for (uint32_t i = 1; i < track->n_corners; i++) {
        track->corners[i] = plan->points[i - 1];
        track->corners[i].height_m = start.height_m;
        track->until_m[i] = track->until_m[i - 1] +
                            spate_ground_distance_m(track->corners[i - 1], track->corners[i]);
    }
    return length_m(track) > 0.0 ? g_steal_pointer(&track) : NULL;
}

void
spate_track_free(SpateTrack *track)
{
    if (track == NULL)
        return;
    g_free(track->corners);
    g_free(track->until_m);
    g_free(track);
}

/* All of the way gone after so many steps: there, and with `back` there and back again. */
static double
gone_after_m(const SpateTrack *track, uint64_t n_steps)
{
    double gone_m = (double)n_steps * track->step_m;
    return track->back ? gone_m : fmin(gone_m, length_m(track));
}

/* The way is folded at its ends. */
static SpatePosition
place_after(const SpateTrack *track, double gone_m)
{
    double along_m = fmod(gone_m, 2.0 * length_m(track));
    if (along_m > length_m(track))
        along_m = 2.0 * length_m(track) - along_m;
    uint32_t i = 1;
    while (i + 1 < track->n_corners && track->until_m[i] < along_m)
        i++;
    double leg_m = track->until_m[i] - track->until_m[i - 1];
    double share = leg_m > 0.0 ? (along_m - track->until_m[i - 1]) / leg_m : 1.0;
    return share < 1.0 ? spate_position_between(track->corners[i - 1], track->corners[i], share)
                       : track->corners[i];
}

bool
spate_track_step(const SpateTrack *track, uint64_t number, SpateTrackStep *step)
{
    g_assert(number > 0);
    double before_m = gone_after_m(track, number - 1), gone_m = gone_after_m(track, number);
    double moving_ns = NS_PER_S * gone_m / track->speed_m_per_s;
    if (gone_m <= before_m || moving_ns > LATEST_NS || (double)track->from_ns > LATEST_NS)
        return false;
    *step = (SpateTrackStep){
        .at_ns = track->from_ns + llround(moving_ns),
        .gone_m = gone_m - before_m,
        .position = place_after(track, gone_m),
    };
    return true;
}
