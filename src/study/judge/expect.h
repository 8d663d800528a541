/* expect.h - whether an expectation is met, from what its replications gave
 *
 * A verdict is pass or fail where the interval lies wholly on one side of the bound, and undecided
 * where it holds the bound; then the mean says which way it leans.  One replication has no
 * interval: its verdicts are undecided by nature.  Judged once, the interval's risk is SPATE_RISK;
 * one that may be judged again as replications are added has a share of it at each look, so that
 * all looks together do not exceed it (Bonferroni's inequality, whose shares need not be equal:
 * C. Jennison, B. W. Turnbull, Group Sequential Methods, 2000, from memory).
 *
 * Changes are judged replication by replication, on the same random numbers: the difference
 * v - u of variant and versus against a bound in the measure's unit.  A relative bound c is judged
 * on v - (1 + c) u against 0: exact where an interval of the ratio of two means would be
 * approximate, and it asks for no more than that these values have a mean.  The interval of
 * the ratio that is shown holds exactly the bounds that would be undecided (E. C. Fieller,
 * J. R. Stat. Soc. B 16, 1954).
 */
#pragma once

#include "scenario/scenario.h"
#include "study/run/result.h"

/* One of the looks at which a verdict is judged. */
typedef struct {
    uint32_t n_looks; /* at most so many, this one among them */
    double risk;      /* of this look's interval: its share of SPATE_RISK */
    /* Of few replications: values that are all the same and count nothing tell of no spread, and
     * decide nothing. */
    bool is_early;
} SpateLook;

/* The share of an early look, whose only use is to give up what fails clearly; the later ones,
 * where verdicts are decided, lose little by it.  Common practice, no source. */
#define SPATE_EARLY_SHARE 0.1

/* Of `n_later` looks that have equal shares, after an early one or without it. */
static inline SpateLook
spate_look_later(uint32_t n_later, bool after_early)
{
    double risk = after_early ? (1.0 - SPATE_EARLY_SHARE) * SPATE_RISK : SPATE_RISK;
    return (SpateLook){n_later + after_early, risk / n_later, false};
}

/* The early one before `n_later` others. */
static inline SpateLook
spate_look_early(uint32_t n_later)
{
    return (SpateLook){n_later + 1, SPATE_EARLY_SHARE * SPATE_RISK, true};
}

/* Replications of an early look at what gets `n` of them: a quarter, and as many as an interval of
 * Student's needs to be of use.  Common practice, no source. */
static inline uint32_t
spate_early_replications(uint32_t n)
{
    return MAX(5, n / 4 + (n % 4 > 0));
}

typedef enum { SPATE_VERDICT_PASS, SPATE_VERDICT_FAIL, SPATE_VERDICT_UNDECIDED } SpateExpectVerdict;

/* Why there was nothing to judge: then the verdict is fail. */
typedef enum {
    SPATE_NOTHING_MISSING,
    SPATE_MISSING_MEASURE,  /* it is not computed, or not of this */
    SPATE_MISSING_VALUE,    /* in no replication it has one */
    SPATE_MISSING_BASE,     /* a relative change of what is 0 */
    SPATE_MISSING_MESSAGES, /* none was offered that could be judged */
} SpateMissing;

/* Replications that would decide: none would, or more than is worth telling. */
#define SPATE_MORE_NEVER 0
#define SPATE_MORE_MANY  UINT32_MAX
#define SPATE_MORE_MOST  10000

typedef struct {
    SpateExpectVerdict kind;
    bool leans_to_pass; /* of undecided: as the mean does */
    SpateMissing missing;
    /* What was measured: the value, the difference, the relative change (when every bound is
     * relative), or the share of the replications in which a claim held, or of the messages that
     * kept to it. */
    double mean;        /* NAN where there is none */
    SpateInterval ci95; /* likewise; over all looks together */
    uint32_t n_looks;   /* at most so many times it is judged */
    uint32_t n;         /* replications (pairs of them) that have a value */
    /* Replications (pairs of them) in which messages were offered and none was delivered, so that a
     * latency has no value to keep to its bound: with any, the verdict is fail. */
    uint32_t n_undelivered;
    uint32_t more; /* of undecided: further replications that would likely decide */
} SpateJudgement;

SpateJudgement spate_judge_value(const SpateResultRow *row, uint32_t n_replications,
                                 SpateExpectBound at_least, SpateExpectBound at_most,
                                 SpateLook look);
SpateJudgement spate_judge_change(const SpateResultRow *variant, const SpateResultRow *versus,
                                  uint32_t n_replications, SpateExpectBound at_least,
                                  SpateExpectBound at_most, SpateLook look);
/* A claim that held in so many of n replications.  In all of them (in_at_least is 1) is a matter of
 * fact, and never undecided; the interval says how sure it is of others. */
SpateJudgement spate_judge_share(uint32_t n_held, uint32_t n, double in_at_least, SpateLook look);
/* Messages of one replication that kept to a claim, of so many. */
typedef struct {
    uint64_t count, of;
} SpateKept;
/* Their share, judged as a measure of counted things is. */
SpateJudgement spate_judge_messages(const SpateKept *kept, uint32_t n, double at_least,
                                    SpateLook look);
/* The same measure before and now, replication by replication: fail if it is worse (more or less,
 * as the case may be) by an interval that leaves out 0; pass otherwise.  A single pair cannot tell:
 * undecided, and not held against it. */
SpateJudgement spate_judge_since(const double *differences, uint32_t n, bool more_is_worse);
/* Whether one replication keeps to the bounds by itself: 1 or 0, or NAN if it has no value. */
double spate_value_holds(double value, SpateExpectBound at_least, SpateExpectBound at_most);
double spate_change_holds(double variant, double versus, SpateExpectBound at_least,
                          SpateExpectBound at_most);
/* Further replications after which an interval at that risk (Student) would likely leave out 0, if
 * they spread as these do: SPATE_MORE_NEVER if it does already, or the mean is 0. */
uint32_t spate_more_to_tell(const SpateRunning *running, double risk);
/* Whether the row is of what was delivered (a latency, a number of hops), and in this replication
 * messages were offered and none was: without these, the worse replications would leave only the
 * lucky ones to be judged.  False where none was offered. */
bool spate_undelivered(const SpateResultVariant *variant, const SpateResultRow *row,
                       uint32_t replication);
/* Of so many replications the judgement knows nothing, as nothing was delivered: fail if any. */
void spate_judge_undelivered(SpateJudgement *judgement, uint32_t n_undelivered);
/* Fail, for want of something. */
SpateJudgement spate_judge_missing(SpateMissing missing);
