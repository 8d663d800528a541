/* advise-disturbers.h - for each receiver, whose frames break its reception
 *
 * Of the frames that a radio could have received, the share that was lost to each sender, and where
 * that sender is: another radio of the same node, a neighbour within a few steps, farther
 * away in the mesh, or other people's traffic.  Harm goes first: messages that a relay, a bridge or
 * a recipient never got (study/watch/missed-watch.h), not frames that are lost where nobody needs
 * them.
 */
#pragma once

#include "study/advise/advise-wanted.h"
#include "study/run/people.h"

/* A garden, a house, a mast: what may be moved or agreed on over the fence.  Common practice, no
 * source. */
#define SPATE_NEIGHBOUR_M 30.0

typedef enum {
    SPATE_BLAME_OWN_RADIO, /* of the same node */
    SPATE_BLAME_NEIGHBOUR, /* within SPATE_NEIGHBOUR_M */
    SPATE_BLAME_MESH,      /* farther away */
    SPATE_BLAME_AMBIENT    /* no sender in this mesh */
} SpateBlame;

typedef struct {
    uint32_t sender; /* radio; n_radios for all ambient traffic */
    SpateBlame blame;
    double distance_m;               /* in the first replication; NAN of ambient traffic */
    SpateEstimate share;             /* of the audible frames: lost to this sender, in any way */
    double collision, busy, blocked; /* its parts: means */
    double missed_per_hour;          /* messages that the radio needs, and its node never got */
} SpateDisturber;

typedef struct {
    uint32_t radio;
    double audible_per_hour;
    SpateEstimate received, sending; /* shares of the audible frames; sending: its own */
    SpateEstimate lost;              /* to all disturbers */
    SpateEstimate asleep;            /* if it sleeps: likewise, of what it slept through */
    bool sleeps;
    double needed_per_hour; /* messages within its reach that it needs */
    SpateEstimate missed;   /* share of these: never got, because of any disturber */
    GArray *disturbers;     /* SpateDisturber: who makes it miss most, then the share */
} SpateDisturbedRadio;

typedef struct {
    const char *variant; /* borrowed */
    SpateScenario *scenario;
    SpateWorld *world;
    uint32_t n_replications;
    GArray *radios; /* SpateDisturbedRadio: what misses most because of one sender first, then what
                       loses the greatest share to one; those that hear nothing are left out */
    bool interrupted;
} SpateDisturberRanking;

/* Of a node's frames at another one; both may be the same. */
SpateBlame spate_blame_of(const SpateWorld *world, uint32_t from_node, uint32_t to_node);

SpateDisturberRanking *spate_advise_disturbers(const SpateAdviseWanted *wanted,
                                               const SpateStudyOptions *options, GError **error);
void spate_disturber_ranking_free(SpateDisturberRanking *ranking);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateDisturberRanking, spate_disturber_ranking_free)
