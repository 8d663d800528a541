/* advise-relays.h - which relay is worth its mast, and which outage costs most
 *
 * Each node that relays falls silent, one at a time, on the same random numbers: it relays on no
 * bearer and nothing crosses it any more; it still sends its own messages.  What people's
 * delivery loses by that is its worth.
 *
 * What `outages` lists of one name, a node's or a group's, is left out, one name at a time, while
 * all other outages come as they are written.  What people's delivery wins by that is what these
 * outages cost.
 */
#pragma once

#include "study/advise/advise-trials.h"

typedef struct {
    uint32_t node;
    bool is_bridge;
    SpateJudgedEffect loss; /* of people's delivery, judged with all relays */
    SpateAdviseLoser loser;
} SpateRelayWorth;

typedef struct {
    const char *name; /* in `outages`: of a node or a group; borrowed from the scenario */
    uint32_t n_nodes, n_entries;
    SpateJudgedEffect loss;   /* of people's delivery, judged with the outages of all names */
    SpateJudgedEffect behind; /* what the one before it costs more; all 0 of the first */
    SpateAdviseLoser loser;
} SpateOutageCost;

typedef struct {
    const char *variant; /* borrowed */
    SpateScenario *scenario;
    SpatePeople people;
    uint32_t n_replications;
    SpateEstimate delivery;  /* with all of them */
    SpateRelayWorth *relays; /* what loses most goes first */
    size_t n_relays;
    SpateOutageCost *outages; /* what costs most goes first */
    size_t n_outages;
    bool interrupted; /* then there may be none */
} SpateRelayRanking;

SpateRelayRanking *spate_advise_relays(const SpateAdviseWanted *wanted,
                                       const SpateStudyOptions *options, GError **error);
void spate_relay_ranking_free(SpateRelayRanking *ranking);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateRelayRanking, spate_relay_ranking_free)
