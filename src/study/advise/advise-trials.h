/* advise-trials.h - one thing changed at a time, and what people's delivery makes of it
 *
 * Each trial is the scenario with one change, on the same random numbers.  Its effect is the
 * paired difference of people's delivery, replication by replication.  Of many trials some would
 * seem to matter by chance.  So their effects are judged together: the p-values of all are adjusted
 * (Holm), and the interval of each is at the risk at which Holm tests it, so that it leaves out 0
 * just where the adjusted p is below the risk.
 */
#pragma once

#include "study/advise/advise-wanted.h"
#include "study/run/people.h"

/* The risk of calling any effect that is none different from 0. */
#define SPATE_ADVISE_RISK 0.05

/* What counts as the effect of a trial. */
typedef enum {
    SPATE_EFFECT_LOSS,  /* what the change takes away: with the scenario as it is - with it */
    SPATE_EFFECT_GAIN,  /* what the change wins: with it - with the scenario as it is */
    SPATE_EFFECT_UNDONE /* what is lost now, and the change gives back: likewise */
} SpateEffect;

/* A mean that is judged with others against 0. */
typedef struct {
    SpateEstimate own;    /* its own interval, 95 % */
    double p;             /* adjusted for all */
    SpateInterval tested; /* at the risk at which Holm tests it */
    uint32_t more; /* further replications that would likely tell it from 0; SPATE_MORE_NEVER: they
                      need not, or the mean is 0 */
} SpateJudgedEffect;

static inline bool
spate_effect_is_told(const SpateJudgedEffect *effect)
{
    return effect->p < SPATE_ADVISE_RISK;
}

/* How a change in single traffics looks: of all traffics, people's or not. */
typedef struct {
    uint32_t traffic;   /* that loses most, by its own interval */
    SpateEstimate loss; /* n is 0: none does */
} SpateAdviseLoser;

typedef struct {
    SpateTrial trial; /* borrows all that it points to */
    SpateEffect counts;
    /* Found, unless interrupted. */
    double *effects; /* by replication; NAN where nothing was offered */
    SpateAdviseLoser loser;
} SpateAdviseTrial;

typedef struct {
    const SpateAdviseWanted *wanted;
    const SpateStudyOptions *options;
    const SpatePeople *people;
    uint32_t n_replications; /* of each */
    uint32_t n_before;       /* runs that were made before, for the progress */
    /* Called for each trial that was run, with the scenario as it is and with the change; optional.
     */
    void (*note)(gpointer user, guint trial, const SpateResultVariant *as_it_is,
                 const SpateResultVariant *changed, uint32_t n_replications);
    gpointer user;
    /* Found. */
    uint32_t n_finished;    /* replications; 0: interrupted before any trial was run */
    SpateEstimate delivery; /* people's, as it is */
} SpateAdviseTrials;

/* Empty; an element is cleared when it goes. */
GArray *spate_advise_trials_new(void); /* SpateAdviseTrial */

static inline SpateAdviseTrial *
spate_advise_trial(const GArray *trials, guint number)
{
    return &g_array_index(trials, SpateAdviseTrial, number);
}

/* Runs the scenario and each trial of it.  False with an error; after an interruption nothing is
 * known of the trials that were not run. */
bool spate_advise_try(SpateAdviseTrials *all, const SpateScenario *as_it_is, GArray *trials,
                      GError **error);

/* Effects of a family, each by replication. */
void spate_judge_effects(const double *const *effects, size_t n, uint32_t n_replications,
                         SpateJudgedEffect *into);
/* Whom an effect is compared with, of those that rank before it. */
typedef enum { SPATE_BEHIND_FIRST, SPATE_BEHIND_NEXT } SpateBehind;

/* Of each effect what ranks first, or just before it, less its own, as a family: judged against 0,
 * it says whether the two can be told apart.  `order` lists the effects, the first first, whose own
 * entry of `into` is left as it is. */
void spate_judge_behind(const double *const *effects, const guint *order, size_t n,
                        uint32_t n_replications, SpateBehind whom, SpateJudgedEffect *into);
/* The greatest mean first; `n` numbers to be freed with g_free(). */
guint *spate_order_effects(const SpateJudgedEffect *effects, size_t n);
