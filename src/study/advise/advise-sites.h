/* advise-sites.h - which candidates to build
 *
 * Each node that `candidate` leaves out is built alone, on the same random numbers; what people's
 * delivery wins by that is its worth.  Then the best is built for good, and the best of the others
 * beside it, and so on, until the next one cannot be told from winning nothing.
 *
 * A site is there for others: in these trials it is neither source nor recipient of anything, or
 * mere recipients that hear well would look like a gain, and messages would be others than without
 * it.  `joins` says where that differs from the scenario with the site.
 */
#pragma once

#include "study/advise/advise-trials.h"

/* Far more than anyone plans at once. */
#define SPATE_SITES_MOST_STEPS 8
/* Sites that are tried: each takes as many runs as there are replications. */
#define SPATE_SITES_MOST 1000

/* What a site that is built changes. */
typedef struct {
    SpateEstimate delivery; /* people's, with it */
    SpateEstimate *loads;   /* by bearer: by what the load grows (erlang) */
    SpateAdviseLoser loser;
} SpateSiteChange;

typedef struct {
    uint32_t site;            /* of the scenario */
    SpateJudgedEffect gain;   /* of people's delivery, judged with all sites */
    SpateJudgedEffect behind; /* what the one before it wins more; all 0 of the first */
    SpateSiteChange change;
} SpateSiteWorth;

typedef struct {
    uint32_t site;
    uint32_t more; /* replications that would likely tell it apart; SPATE_MORE_NEVER: they look the
                      same */
} SpateSiteTie;

/* Beside all steps before it. */
typedef struct {
    uint32_t site;
    SpateJudgedEffect gain; /* judged with all that could have been next */
    SpateSiteChange change; /* by this one alone */
    GArray *ties;           /* SpateSiteTie: what could not be told apart from it, the best first */
} SpateSiteStep;

typedef enum {
    SPATE_SITES_ALL_BUILT,
    SPATE_SITES_NOT_TOLD, /* the next one cannot be told from winning nothing, or harms */
    SPATE_SITES_ENOUGH,   /* as many steps as are made */
    SPATE_SITES_NONE,     /* there are no candidates */
    SPATE_SITES_OPEN      /* interrupted */
} SpateSitesEnd;

typedef struct {
    const char *variant; /* borrowed */
    SpateScenario *scenario;
    SpatePeople people;
    uint32_t n_replications;
    SpateEstimate delivery; /* with none of them */
    SpateSiteWorth *sites;  /* what wins most goes first; none: interrupted */
    size_t n_sites;
    SpateSiteStep steps[SPATE_SITES_MOST_STEPS];
    size_t n_steps;
    SpateSitesEnd end;
    SpateSiteStep next;         /* NOT_TOLD: the best of those that were left */
    SpateJudgedEffect together; /* what all that are left win at once beside the steps, where two or
                                   more are left; own.n is 0: not tried */
    bool *joins; /* by traffic: a site is a source or recipient of it where it is built */
    char *set;   /* paths and values of the steps, as under `set` of a variant; NULL: no steps */
    bool interrupted;
} SpateSiteRanking;

SpateSiteRanking *spate_advise_sites(const SpateAdviseWanted *wanted,
                                     const SpateStudyOptions *options, GError **error);
void spate_site_ranking_free(SpateSiteRanking *ranking);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateSiteRanking, spate_site_ranking_free)
