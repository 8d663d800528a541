/* check-private.h - what the files of a check share
 *
 *     check.c        what is run, until when, and why what failed did
 *     check-judge.c  what the replications say of each expectation
 */
#pragma once

#include "study/judge/check.h"

/* Judges all by the replications that are finished; nothing without one. */
void spate_check_judge(SpateCheck *check);

/* The replications that are wanted are those of its early look. */
static inline bool
spate_check_is_early(const SpateCheck *check)
{
    return check->n_wanted == check->n_early;
}

/* The world of the replication in which the point did not hold, which was made once before. */
SpateWorld *spate_check_world_of_broken(const SpateCheck *check, const SpateCheckPoint *point);

/* It speaks of messages, each of which keeps to it or breaks it. */
static inline bool
spate_expectation_is_claim(const SpateExpectation *expectation)
{
    return expectation->kind != SPATE_EXPECT_VALUE && expectation->kind != SPATE_EXPECT_CHANGE;
}

/* A measure of which a message shows what is behind it. */
static inline bool
spate_expectation_is_about_answers(const SpateExpectation *expectation)
{
    return expectation->kind == SPATE_EXPECT_VALUE && expectation->at_least.is_given &&
           expectation->measure == spate_measure_info(SPATE_MEASURE_ACKNOWLEDGED);
}
