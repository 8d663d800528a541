/* doubt-verdict.h - in how many draws a verdict holds, and which doubtful input it hangs on
 *
 * Each replication draws uncertain inputs (scenario/doubt.h) and is judged by itself: its value
 * against the bound, its messages against the claim.  Whether an input matters is told by the rank
 * correlation of what was drawn and what was measured, over all draws; from where the verdict flips
 * by the two neighbouring draws between which one cut leaves the fewest on the wrong side.
 * The p-values of all inputs hold together (Holm).  An input whose middle is good and whose ends
 * are bad, or that matters only together with another, is not found.
 */
#pragma once

#include "core/statistics.h"
#include "study/run/result.h"

/* Fewer draws tell of no input. */
#define SPATE_LEAST_DRAWS 10

typedef struct {
    char *path, *unit; /* of the input */
    /* Of what is drawn and what is measured; NAN: nothing to tell, all the same. */
    double correlation;
    double p; /* of all inputs together */
    bool is_detectable;
    /* Whether the verdict hangs on it: it holds below or above, and flips between two draws. */
    bool flips, holds_below;
    double from, to;
    uint32_t n_wrong; /* draws on the wrong side */
} SpateDoubtEffect;

typedef struct {
    uint32_t n;      /* draws that could be judged */
    uint32_t n_held; /* in these it holds */
    SpateInterval ci95;
    SpateDoubtEffect *effects; /* in the order of the file, of what is drawn */
    uint32_t n_effects;
} SpateDoubtVerdict;

/* By replication: what was measured, and whether it held (1, 0; NAN: not to be judged).  NULL if
 * nothing was drawn in either variant of the result (numbers; they may be the same). */
SpateDoubtVerdict *spate_doubt_judge(const SpateResult *result, size_t variant, size_t versus,
                                     const double *measured, const double *held);
void spate_doubt_verdict_free(SpateDoubtVerdict *verdict);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateDoubtVerdict, spate_doubt_verdict_free)
