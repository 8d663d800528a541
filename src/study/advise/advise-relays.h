/* advise-relays.h - which relay is worth its mast
 *
 * Each node that relays falls silent, one at a time, on the same random numbers: it relays on no
 * bearer and nothing crosses it any more; it still sends its own messages.  What people's
 * delivery loses by that is its worth.  With many relays some losses look real by chance: the
 * p-values of all are judged together (Holm), at 5 % in all, and each loss has the interval of that
 * judgement: it leaves out 0 just where the loss is different from 0.
 */
#pragma once

#include "study/advise/advise-wanted.h"
#include "study/run/people.h"

typedef struct {
    uint32_t node;
    bool is_bridge;
    SpateEstimate loss;   /* of people's delivery; its own interval, 95 % */
    double p;             /* against no loss and no gain, adjusted for all relays */
    SpateInterval tested; /* at the risk at which Holm tests it */
    uint32_t more;  /* further replications that would likely tell it from 0; SPATE_MORE_NEVER: they
                       need not, or the mean is 0 */
    uint32_t loser; /* the traffic that loses most, by its own interval */
    SpateEstimate loser_loss; /* n is 0: none does */
} SpateRelayWorth;

/* The risk of calling any that loses nothing different from 0. */
#define SPATE_RELAY_RISK 0.05

typedef struct {
    const char *variant; /* borrowed */
    SpateScenario *scenario;
    SpatePeople people;
    uint32_t n_replications;
    SpateEstimate delivery;  /* with all of them */
    SpateRelayWorth *relays; /* what loses most goes first */
    size_t n_relays;
    bool interrupted; /* then there may be none */
} SpateRelayRanking;

SpateRelayRanking *spate_advise_relays(const SpateAdviseWanted *wanted,
                                       const SpateStudyOptions *options, GError **error);
void spate_relay_ranking_free(SpateRelayRanking *ranking);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateRelayRanking, spate_relay_ranking_free)
