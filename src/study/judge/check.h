/* check.h - a scenario file against its own expectations
 *
 * Runs what they are about (the base, or a variant, or two on the same random numbers), in as many
 * replications as the file says or, where it gives bounds, as the verdicts need.  How
 * many these are depends on values alone: any number of threads gives the same verdicts.
 */
#pragma once

#include "study/explain/explain.h"
#include "study/judge/doubt-verdict.h"
#include "study/judge/expect.h"
#include "study/study.h"

/* An expectation and what became of it. */
typedef struct {
    const SpateExpectation *expectation;
    SpateJudgement judgement;
    SpateDoubtVerdict *doubt; /* in how many draws it holds; NULL: nothing is uncertain */
    /* What is claimed of messages: over all replications, and the first that broke it. */
    uint64_t n_messages, n_broken, n_too_late;
    bool is_broken;
    uint32_t replication;          /* the first one in which it did not hold */
    SpateClaimResult broken;       /* of that replication */
    char *origin;                  /* name of the source of the message */
    SpateExplanation *explanation; /* NULL if there is none */
    /* Since the earlier result: whether the measure got worse. */
    bool has_since;
    SpateJudgement since;

    uint32_t arm, versus; /* private: numbers of scenarios of the study, the same of a value */
    size_t claim;
} SpateCheckPoint;

/* A name that has rows either before or now, so that they were compared with nothing. */
typedef struct {
    const char *what, *name; /* "traffic", "soil"; the name is borrowed */
    bool is_gone;            /* else it is new */
} SpateUncompared;

typedef struct {
    SpateScenario *base;
    SpateCheckPoint *points; /* in the order of the file */
    size_t n_points;
    uint32_t n_replications; /* finished */
    uint32_t n_wanted;       /* more than these after an interruption */
    /* With an earlier result: what differs from it by an interval that leaves out 0. */
    GArray *differences; /* SpateDifference; NULL without */
    GArray *uncompared;  /* SpateUncompared; NULL without */

    uint32_t first; /* replication: all are counted from 0 on */
    /* At most so many times a verdict is judged: after n_first replications, then after twice as
     * many, up to n_at_most; and before these after n_early, if that is not 0.  The risk of an
     * interval is shared between them. */
    uint32_t n_looks;                     /* the early one apart */
    uint32_t n_early, n_first, n_at_most; /* private */
    bool stops_at_failure;                /* private */
    SpateResult *result;
    const SpateResult *before;
    GPtrArray *scenarios, *names;
    GPtrArray **claims; /* expectations of messages, borrowed, by scenario */
    SpateStudy *study;
} SpateCheck;

typedef struct {
    const char *const *variants; /* only expectations of these; NULL: all */
    bool has_seed;
    uint64_t seed;
    uint32_t replications; /* 0: as the file says */
    uint32_t first;        /* the first replication that is run; those before it are left out */
    /* Where verdicts are uncertain, unless the replications are given or the file has bounds of its
     * own; 0: the file's. */
    uint32_t most_replications;
    /* Of a candidate among others: it is given up as soon as one expectation has failed, and there
     * is an early look for that, after a quarter of the replications where that is under half of
     * them (spate_early_replications()).  Unless the replications are given: these are run. */
    bool stops_at_failure;
    /* What is tried with each variant (its own `variant` is not used); NULL: nothing.  Borrowed. */
    const SpateTrial *trial;
    /* A study with whose worlds those of the check may share links; borrowed, may be NULL. */
    const SpateStudy *beside;
    /* An earlier result of the same scenario, to judge against too; borrowed, may be NULL. */
    const SpateResult *before;
} SpateCheckOptions;

/* Borrows the file; builds the world of each scenario that some expectation is about, or that the
 * earlier result has too. */
SpateCheck *spate_check_new(const SpateScenarioFile *file, const SpateCheckOptions *options,
                            GError **error);
/* A study of one variant alone, as the file has it, may serve the check, which then need not run it
 * again.  Before the study is run, it must watch what the check wants to know; before the check is
 * run, it takes over what the study has finished, from the same first replication on. */
void spate_check_watch(const SpateCheck *check, const char *variant, SpateStudy *study);
void spate_check_adopt(SpateCheck *check, const char *variant, const SpateStudy *study);
/* Before it is run: it takes over what another check of the same expectations has run of all other
 * variants, where nothing but this one differs. */
void spate_check_adopt_others(SpateCheck *check, const char *variant, const SpateCheck *from);
void spate_check_free(SpateCheck *check);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateCheck, spate_check_free)

/* Runs and judges them all, side by side, and explains what messages broke.  After the options'
 * `stop`, each is judged by the replications that it has finished; one that has none is not
 * judged.  False if a run failed. */
bool spate_checks_run(SpateCheck *const *checks, size_t n_checks, const SpateStudyOptions *options,
                      GError **error);

/* Whether some scenario that is judged holds random places over all replications. */
bool spate_check_is_of_one_layout(const SpateCheck *check);

/* The row that the expectation is about; NULL if there is none. */
const SpateResultRow *spate_check_find_row(const SpateResultVariant *variant,
                                           const SpateExpectation *expectation);

static inline bool
spate_check_is_judged(const SpateCheck *check)
{
    return check->study == NULL || check->n_replications > 0;
}

/* Undecided counts as the mean does, or, if one is strict, as a failure. */
static inline bool
spate_judgement_passes(const SpateJudgement *judgement, bool is_strict)
{
    return judgement->kind == SPATE_VERDICT_PASS ||
           (judgement->kind == SPATE_VERDICT_UNDECIDED && judgement->leans_to_pass && !is_strict);
}
