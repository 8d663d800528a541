/* walk-table.h - levels that were measured, and where nothing was heard: the table of a walk test
 *
 * A row is one sample: who sent, who listened, and the level, empty where nothing was heard.  Both
 * ends are nodes of a scenario, or places that the row gives, or the row gives the distance alone.
 */
#pragma once

#include "scenario/scenario.h"

/* A fit takes some seconds for as many. */
#define SPATE_WALK_MOST_SAMPLES 100000

typedef struct {
    SpatePlace place;                       /* of the row */
    SpatePlace level_place;                 /* of the level; of the row where nothing was heard */
    const char *sender, *receiver, *bearer; /* as written; NULL: not given */
    uint32_t from_node, to_node;            /* of the scenario; UINT32_MAX: none of that name */
    SpatePosition from, to;                 /* unless only nodes were wanted */
    bool is_apart;                          /* of the places only the distance is known */
    double received_dbm;                    /* NAN: nothing was heard */
} SpateWalkSample;

typedef struct {
    GArray *samples;     /* SpateWalkSample, in the order of the file */
    SpateFaults *faults; /* without any: for what later checks find, which know the text */
    SpatePlace head;     /* of the line that names the columns */
    SpateYaml *rows;     /* private: owns the texts */
} SpateWalk;

typedef enum {
    SPATE_WALK_OF_PLACES, /* it says where both ends were, or how far apart */
    SPATE_WALK_OF_NODES   /* `sender` and `receiver` are nodes of the scenario */
} SpateWalkKind;

/* path "-" is standard input; scenario NULL: names say nothing.  NULL with all faults of the table.
 * Free with spate_walk_free(). */
SpateWalk *spate_walk_read(const char *path, SpateWalkKind kind, const SpateScenario *scenario,
                           GError **error);
void spate_walk_free(SpateWalk *walk);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateWalk, spate_walk_free)
