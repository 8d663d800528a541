/* size.h - how many: which values of one number meet all expectations
 *
 * Too few repeaters leave places out of reach, too many jam each other: what meets the
 * expectations need not be all on one side of anything.  So the whole range is tried in
 * a coarse row of values first, then between neighbours whose answers differ, until no value is
 * left between them.  Each value is judged as spate_check_new() judges a file; replications are
 * spent where a verdict is uncertain, and a value is given up as soon as it fails.  What lies
 * between two neighbours that agree was not tried, and is not claimed.
 */
#pragma once

#include "study/judge/check.h"

typedef enum {
    SPATE_SIZE_MEETS,  /* every expectation passes */
    SPATE_SIZE_FAILS,  /* one fails */
    SPATE_SIZE_UNSURE, /* none fails, but one is undecided */
    SPATE_SIZE_OPEN    /* not judged: interrupted */
} SpateSizeAnswer;

/* Of one expectation at one value. */
typedef struct {
    SpateJudgement judgement;
    SpateDoubtVerdict *doubt; /* NULL where nothing is uncertain */
} SpateSizeVerdict;

typedef struct {
    double value;
    char *text; /* as it is set: "12", "5 %" */
    SpateSizeAnswer answer;
    uint32_t n_replications;
    SpateSizeVerdict *verdicts; /* by expectation */
    size_t n_verdicts;
} SpateSizePoint;

/* A row of neighbouring points with one answer. */
typedef struct {
    size_t first, last;
    SpateSizeAnswer answer;
} SpateSizeBand;

typedef struct {
    SpateCheck *words; /* of the scenario as written: the expectations, for their words; not run */
    char *vary, *unit;
    SpateSizePoint *points; /* by value */
    size_t n_points;
    SpateSizeBand *bands; /* by value; they cover all points */
    size_t n_bands;
    bool interrupted;
} SpateSize;

typedef struct {
    const SpateScenarioFile *file; /* borrowed */
    SpateCheckOptions check;
    uint32_t most_replications; /* 0: as the scenario says, or eight times its replications */
} SpateSizeWanted;

/* Fails where the file says nothing of `size` or `expect`, or a value is wrong. */
SpateSize *spate_size_run(const SpateSizeWanted *wanted, const SpateStudyOptions *options,
                          GError **error);
void spate_size_free(SpateSize *size);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateSize, spate_size_free)

/* The first expectation that is not met there; n of the check if all are. */
size_t spate_size_binding(const SpateSize *size, const SpateSizePoint *point);
