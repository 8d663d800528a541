/* sliding-hour.h - the largest time that a radio spent sending within any hour
 *
 * A frame that lies partly within the hour counts by that part.
 *
 * Of all windows of one hour it is enough to look at those that end with a frame.  Let f(t) be
 * the time spent sending in (t - 1 h, t].  f only grows while a frame is on the air at t and
 * none was at t - 1 h.  If it stops growing because a frame was on the air at t - 1 h, then as
 * long as the present frame lasts f cannot fall (each instant that leaves is made up for by one
 * that comes).  So f has its largest value at the end of some frame; a frame that the end
 * of the run cuts off ends there.
 *
 * Frames of the last hour are kept in one pool for all radios.  Where the whole run lasts no longer
 * than an hour, nothing ever leaves the window and nothing is kept.
 */
#pragma once

#include <glib.h>
#include <stdint.h>

typedef struct SpateSlidingHour SpateSlidingHour;

/* span_ns: from the first frame that can come to the end of the run.  Room for `reserve` frames is
 * made at once. */
SpateSlidingHour *spate_sliding_hour_new(uint32_t n_radios, int64_t span_ns, size_t reserve);
void spate_sliding_hour_free(SpateSlidingHour *hour);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateSlidingHour, spate_sliding_hour_free)

/* A frame of the radio has begun: what its end will need is fetched, which was last used up to an
 * hour ago. */
void spate_sliding_hour_expect(const SpateSlidingHour *hour, uint32_t radio);

/* A frame of the radio has ended; those of one radio come in the order of time and never overlap.
 */
void spate_sliding_hour_add(SpateSlidingHour *hour, uint32_t radio, int64_t start_ns,
                            int64_t end_ns);

/* The largest time within one hour so far. */
int64_t spate_sliding_hour_most_ns(const SpateSlidingHour *hour, uint32_t radio);
