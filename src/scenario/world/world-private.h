/* world-private.h - what a world is made of
 *
 * Only the world's own files include this header.
 */
#pragma once

#include "scenario/world/world.h"

struct SpateWorld {
    gint n_references;
    const SpateScenario *scenario;
    SpateScenario *drawn; /* the same, if it belongs to this world */
    SpatePlan plan;
    SpateNode *nodes;
    SpateRadio *radios;
    SpateBearer *bearers;
    const char **bearer_names;
    uint64_t *bearer_hash;
    SpatePropagation *propagation; /* internals, borrowed from the scenario */
    SpateFading *fading;
    SpateRadioSite *sites; /* by radio */
    double *noise_rise_db; /* by radio */
    double *isolation_db;  /* by node */
    bool *moves;           /* by node; NULL: all stay */
    SpateTrafficKind *traffics;
    GPtrArray *measured_recipients; /* GArray of uint32_t, by traffic */
    SpateOffers *offers;
    SpateCrossing *crossings;
    SpateOutage *outages;
    SpateAmbientSite *ambient_sites;
    SpateAmbientSource *ambient;

    SpateTerrainPaths *paths; /* NULL: worked out when they are asked for */

    GMutex explaining;   /* scenario->later is one for all threads */
    SpateMedium *shared; /* for all replications, where nothing is drawn anew */
};

/* world-plan.c: the numbers of the scenario's parts.  Nothing of them may fail. */
void spate_world_fill_plan(SpateWorld *world);
