/* check-report.h - verdicts as text
 *
 * TAP version 14 (https://testanything.org/tap-version-14-specification.html): one point for each
 * expectation, the file and line in its description, a YAML block of diagnostics after each that
 * is not a plain pass.  A table: a line for each, with the reason below it where it is no plain
 * pass. JUnit: a suite for each file, a case for each expectation.  JSON: spate-check/1,
 * docs/result-format.md.
 *
 * A view, like all reports: equal verdicts are equal bytes.
 */
#pragma once

#include "study/judge/check.h"

typedef enum {
    SPATE_CHECK_TAP,
    SPATE_CHECK_TABLE, /* for people */
    SPATE_CHECK_JUNIT,
    SPATE_CHECK_JSON
} SpateCheckFormat;

typedef struct {
    const char *const *names; /* of the files, as they are to be shown */
    SpateCheck *const *checks;
    size_t n_checks;
    bool is_strict; /* count undecided as a failure */
    bool is_interrupted;
    const char *before; /* name of the earlier result; NULL: none */
    bool colour;        /* of the table: for a terminal that shows it */
} SpateCheckReport;

typedef struct {
    /* Expectations, and what is judged against an earlier result; those undecided included, as they
     * count. */
    size_t n_passed, n_failed;
    size_t n_undecided;
    size_t n_without; /* files without expectations */
} SpateCheckCounts;

SpateCheckCounts spate_check_count(const SpateCheckReport *report);
SpateCheckCounts spate_check_count_of(const SpateCheck *check, bool is_strict);

/* The text ends with a newline. */
void spate_check_report_append(GString *text, const SpateCheckReport *report,
                               SpateCheckFormat format);
