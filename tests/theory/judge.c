/* judge.c - a published value against what the program says */
#include "judge.h"

#include "core/statistics.h"
#include "measure/measures.h"
#include "scenario/scenario.h"
#include "study/study.h"

#include <check.h>
#include <fcntl.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Two-sided, of Student's t. */
#define CONFIDENCE 0.999

/* What arithmetic on doubles leaves of an exact value. */
#define NEARLY 1e-9

SpateResult *
judge_run(const char *text, uint32_t replications)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("theory", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    const SpateScenario *scenarios[] = {scenario};
    const char *names[] = {"base"};
    SpateStudyOptions options = {.replications = replications};
    SpateResult *result = spate_study_run("run", scenarios, names, 1, &options, &error);
    ck_assert_msg(result != NULL, "%s", error != NULL ? error->message : "");
    return result;
}

const SpateResultRow *
judge_row(const SpateResult *result, const char *measure, const char *traffic, const char *bearer)
{
    for (size_t i = 0; i < result->variants[0].n_rows; i++) {
        const SpateResultRow *row = &result->variants[0].rows[i];
        if (strcmp(spate_measure_info(row->measure)->name, measure) == 0 &&
            g_strcmp0(row->traffic, traffic) == 0 && g_strcmp0(row->bearer, bearer) == 0 &&
            row->node == NULL && row->bridge == NULL)
            return row;
    }
    ck_abort_msg("there is no row '%s'", measure);
}

/* ---- the record ------------------------------------------------------------------------------ */

static void
append_field(GString *line, const char *text)
{
    if (line->len > 0)
        g_string_append_c(line, '\t');
    for (const char *c = text; *c != '\0'; c++)
        g_string_append_c(line, *c == '\t' || *c == '\n' ? ' ' : *c);
}

static void
append_value(GString *line, double value)
{
    char digits[G_ASCII_DTOSTR_BUF_SIZE];
    append_field(line, g_ascii_formatd(digits, sizeof digits, "%.9g", value));
}

/* One write for each line: test programs run side by side. */
static void
record(const JudgeClaim *claim, double got, double low, double high)
{
    const char *path = g_getenv("VALIDATION");
    if (path == NULL)
        return;
    g_autoptr(GString) line = g_string_new(NULL);
    append_field(line, claim->subject);
    append_field(line, claim->quantity);
    append_field(line, claim->unit);
    append_value(line, claim->expected);
    append_value(line, got);
    append_value(line, low);
    append_value(line, high);
    append_value(line, claim->tolerance);
    append_field(line, claim->source);
    g_string_append_c(line, '\n');
    int to = open(path, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0666);
    ck_assert_msg(to >= 0 && write(to, line->str, line->len) == (ssize_t)line->len,
                  "cannot write %s", path);
    close(to);
}

/* ---- judging --------------------------------------------------------------------------------- */

void
judge_values(const JudgeClaim *claim, const double *values, uint32_t n)
{
    SpateRunning running = {0};
    for (uint32_t i = 0; i < n; i++) {
        ck_assert_msg(!isnan(values[i]), "%s: replication %u has no %s", claim->subject, i,
                      claim->quantity);
        spate_running_add(&running, values[i]);
    }
    ck_assert_uint_ge(n, 2);
    double t = gsl_cdf_tdist_Pinv((1.0 + CONFIDENCE) / 2.0, n - 1.0);
    double half = t * sqrt(spate_running_variance(&running) / n);
    record(claim, running.mean, running.mean - half, running.mean + half);
    double slack = NEARLY * fmax(1.0, fabs(claim->expected));
    ck_assert_msg(half <= claim->tolerance + slack,
                  "%s: %s is only known within %g %s, more than %g: not enough replications",
                  claim->subject, claim->quantity, half, claim->unit, claim->tolerance);
    ck_assert_msg(fabs(running.mean - claim->expected) <= half + slack,
                  "%s: %s is %.9g -+ %.3g %s, expected %.9g (%s)", claim->subject, claim->quantity,
                  running.mean, half, claim->unit, claim->expected, claim->source);
}

void
judge_mean(const JudgeClaim *claim, const SpateResultRow *row)
{
    judge_values(claim, row->values, row->n);
}

void
judge_value(const JudgeClaim *claim, double got)
{
    record(claim, got, got, got);
    double slack = claim->tolerance + NEARLY * fmax(1.0, fabs(claim->expected));
    ck_assert_msg(fabs(got - claim->expected) <= slack, "%s: %s is %.9g %s, expected %.9g (%s)",
                  claim->subject, claim->quantity, got, claim->unit, claim->expected,
                  claim->source);
}
