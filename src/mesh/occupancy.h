/* occupancy.h - how busy a node has heard a bearer to be
 *
 * The share of the last five minutes in which a radio heard or sent at least one frame, brought up
 * to date at each whole second; time before the start of the run counts as quiet.
 * Only radios that a rule asks about are sampled, and nothing is scheduled without one.
 */
#pragma once

#include "channel/channel.h"
#include "mesh/plan.h"
#include "rules/rules.h"

#define SPATE_OCCUPANCY_SECONDS 300 /* our choice: five minutes, docs/model.md, Bridges */

typedef struct SpateOccupancy SpateOccupancy;

/* Everything is borrowed.  At the start of the run. */
SpateOccupancy *spate_occupancy_new(SpateEventQueue *queue, const SpateChannel *channel,
                                    const SpatePlan *plan);
void spate_occupancy_free(SpateOccupancy *occupancy);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateOccupancy, spate_occupancy_free)

/* Rules of that list will be asked at that node, about sending on that bearer. */
void spate_occupancy_want(SpateOccupancy *occupancy, uint32_t node, uint32_t bearer,
                          const SpateRule *rules, size_t n_rules);
/* Called after each sample. */
void spate_occupancy_on_sample(SpateOccupancy *occupancy, void (*sampled)(gpointer user),
                               gpointer user);
/* 0 where the node has no radio on the bearer. */
double spate_occupancy_share(const SpateOccupancy *occupancy, uint32_t node, uint32_t bearer);
