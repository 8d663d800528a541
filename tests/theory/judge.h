/* judge.h - a published value against what the program says, and a line for docs/validation.md
 *
 * A claim runs a scenario, as a user would, and compares the mean of a measure over its
 * replications with what theory expects.  It holds if the expected value lies within the
 * interval of the replications (Student's t at 99.9 %: the suite makes about a hundred claims, on
 * fixed seeds) and if that interval is narrow enough to mean something: its half width must not
 * exceed `tolerance`.
 *
 * With VALIDATION set in the environment to the name of a file, each claim appends a line to it;
 * tools/validate makes docs/validation.md of them.
 */
#pragma once

#include "study/run/result.h"
#include <glib.h>

/* Runs a scenario's text, with `replications` of them (0: as it says).  Fails the test with the
 * message if the text is wrong. */
SpateResult *judge_run(const char *text, uint32_t replications);

/* The row of the base; fails the test if there is none.  A dimension that does not apply is NULL.
 */
const SpateResultRow *judge_row(const SpateResult *result, const char *measure, const char *traffic,
                                const char *bearer);

typedef struct {
    const char *subject;  /* "unslotted ALOHA, tolerant preambles: G = 0.5" */
    const char *quantity; /* what is compared, in words: "share received" */
    const char *unit;
    double expected;
    double tolerance;   /* largest half width of the interval, in the unit; 0: got must be exact */
    const char *source; /* author, title, year, equation; where a value is from memory, that */
} JudgeClaim;

/* Values of a measure, one for each replication. */
void judge_values(const JudgeClaim *claim, const double *values, uint32_t n);
/* The row's values. */
void judge_mean(const JudgeClaim *claim, const SpateResultRow *row);
/* A value that is worked out, not drawn: within `tolerance`. */
void judge_value(const JudgeClaim *claim, double got);
