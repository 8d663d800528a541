/* world-private.h - what a world is made of
 *
 * Only the world's own files include this header.
 */
#pragma once

#include "scenario/world/world.h"
#include <pthread.h>

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

    SpateWorld *lender; /* a reference: whose links this one has too; NULL: its own */
    /* Of a lender: media that others may still ask for. */
    gint n_borrowers;         /* atomic */
    pthread_mutex_t shelving; /* one that the thread sanitizer sees, unlike GLib's */
    GQueue *shelf;            /* ShelvedMedium; the latest first */
};

/* world-shelf.c: media of worlds with the same links.  The shelf of a world that lends. */
void spate_world_shelf_init(SpateWorld *world);
void spate_world_shelf_clear(SpateWorld *world);
/* A new reference; NULL: there is none yet.  Whoever takes it needs no other of that replication.
 */
SpateMedium *spate_world_shelf_take(SpateWorld *lender, uint32_t replication);
/* Leaves a reference there for the others. */
void spate_world_shelf_put(SpateWorld *lender, uint32_t replication, SpateMedium *medium);

/* world-plan.c: the numbers of the scenario's parts.  Nothing of them may fail. */
void spate_world_fill_plan(SpateWorld *world);
