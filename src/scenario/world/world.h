/* world.h - a scenario as numbers, ready to run
 *
 * Immutable; one world serves all replications and threads.  What is drawn anew in each
 * replication (places, shadowing) or moves makes a medium of its own; otherwise all share one.
 * Where inputs are uncertain, each replication has a world of its own; that of the scenario as it
 * is written then says what there is to measure.
 */
#pragma once

#include "channel/ambient.h"
#include "channel/medium.h"
#include "mesh/plan.h"
#include "scenario/scenario.h"
#include "traffic/traffic.h"

typedef struct SpateWorld SpateWorld;

/* Borrows the scenario.  Where a path loss model does not hold, here or in the medium of a later
 * replication, the error shows the place of the model and names the nodes. */
SpateWorld *spate_world_new(const SpateScenario *scenario, GError **error);
/* The same.  Where links depend on nothing in which the scenario differs from that of `like` (NULL:
 * none), both worlds share their media, which takes less time and changes no result: the scenario
 * of `like` has to live as long. */
SpateWorld *spate_world_new_like(const SpateScenario *scenario, SpateWorld *like, GError **error);
/* Whether a world of the scenario would share its links with that one. */
bool spate_world_has_links_of(const SpateWorld *world, const SpateScenario *scenario);
/* The world of one replication, a new reference: this one, or where inputs are uncertain one
 * that is drawn for it (with a scenario of its own, which need not have the same nodes).  May be
 * called from several threads. */
SpateWorld *spate_world_of_replication(const SpateWorld *world, uint32_t replication,
                                       GError **error);
/* Drops a reference. */
void spate_world_free(SpateWorld *world);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateWorld, spate_world_free)

const SpateScenario *spate_world_scenario(const SpateWorld *world);
const SpatePlan *spate_world_plan(const SpateWorld *world);
const SpateOffers *spate_world_offers(const SpateWorld *world, uint32_t *n_offers);
const SpateAmbientSource *spate_world_ambient(const SpateWorld *world, uint32_t *n_sources);
/* The number of a radio is that of the plan; places and shadowing draws are those of the
 * replication. */
SpateLinks *spate_world_links(const SpateWorld *world, uint32_t replication);
/* Where a node is, with the ground under it (0 where it is not known: no medium is built then). */
SpatePosition spate_world_position(const SpateWorld *world, uint32_t node, uint32_t replication);
/* The same; false with an error where the height model has no ground there. */
bool spate_world_settle(const SpateWorld *world, uint32_t node, uint32_t replication,
                        SpatePosition *position, GError **error);
/* How far a level is above the sensitivity of a radio, its noise rise included. */
double spate_world_margin_db(const SpateWorld *world, uint32_t radio, double received_dbm);
/* Where a path loss model does not hold for these links, since that instant of a run: sets the
 * error, with places and names, and returns true.  May be called from several threads. */
bool spate_world_raise_ranges(const SpateWorld *world, const SpateLinks *links, int64_t at_ns,
                              GError **error);
/* A new reference; where nodes move it is for a single run.  May be called from several threads. */
SpateMedium *spate_world_medium(const SpateWorld *world, uint32_t replication, unsigned n_threads,
                                GError **error);

/* What lint says of the scenario, which was made from that file, in the layout of the first
 * replication: as text (file:line:column: ...), "" if nothing; free with g_free(). */
char *spate_world_lint(const SpateWorld *world, const SpateScenarioFile *file);
