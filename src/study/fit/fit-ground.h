/* fit-ground.h - what the ground takes from the samples of a walk */
#pragma once

#include "propagation/loss-fit.h"
#include "scenario/read/walk-table.h"

bool spate_fit_has_only_distances(const SpateWalk *walk);

/* Whether the height model knows places as the table gives them; false with a fault. */
bool spate_fit_takes_places(const SpateTerrain *terrain, const SpateWalk *walk,
                            SpateFaults *faults);

/* Puts both ends on the ground and finds what stands between them; false with a fault at the row
 * where there is no ground. */
bool spate_fit_settle(const SpateTerrain *terrain, double frequency_hz, SpatePlace row,
                      SpateLossSample *sample, SpateFaults *faults);
