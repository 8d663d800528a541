/* judged.c - expectations and sizes, as programs see them */
#include "private.h"

#include "report/check/check-report.h"
#include "report/check/check-words.h"
#include "report/check/explanation-words.h"
#include "report/check/size-report.h"
#include "study/judge/size.h"

struct SpateVerdicts {
    SpateCheck *check;
    SpateExpected *expected; /* by point; owns its texts */
};

struct SpateSizing {
    SpateSize *size;
};

static SpateExpected
expected_of(const SpateCheck *check, const SpateCheckPoint *point)
{
    static const SpateExpectedVerdict VERDICTS[] = {
        [SPATE_VERDICT_PASS] = SPATE_EXPECTED_PASS,
        [SPATE_VERDICT_FAIL] = SPATE_EXPECTED_FAIL,
        [SPATE_VERDICT_UNDECIDED] = SPATE_EXPECTED_UNDECIDED,
    };
    const SpateJudgement *judgement = &point->judgement;
    GString *title = g_string_new(NULL), *finding = g_string_new(NULL);
    spate_check_append_title(title, point);
    spate_check_append_finding(finding, check, point);
    return (SpateExpected){
        .expectation = g_string_free(title, FALSE),
        .line = MAX(spate_check_line(point), 0),
        .verdict = VERDICTS[judgement->kind],
        .leans_to_pass = judgement->leans_to_pass,
        .mean = judgement->mean,
        .low = judgement->ci95.low,
        .high = judgement->ci95.high,
        .n = judgement->n,
        .finding = g_string_free(finding, FALSE),
        .explanation = spate_explanation_text(point->explanation),
    };
}

SpateVerdicts *
spate_verdicts_new(const SpateFile *file, const SpateSummaryOptions *options, GError **error)
{
    GError *problem = NULL;
    const SpateStudyOptions study = spate_study_options_of(options);
    const SpateCheckOptions judging = {.replications = study.replications};
    g_autoptr(SpateVerdicts) verdicts = g_new0(SpateVerdicts, 1);
    verdicts->check = spate_check_new(file->inside, &judging, &problem);
    if (verdicts->check == NULL || !spate_checks_run(&verdicts->check, 1, &study, &problem)) {
        spate_error_propagate(error, problem);
        return NULL;
    }
    verdicts->expected = g_new0(SpateExpected, verdicts->check->n_points + 1);
    for (size_t i = 0; verdicts->check->n_replications > 0 && i < verdicts->check->n_points; i++)
        verdicts->expected[i] = expected_of(verdicts->check, &verdicts->check->points[i]);
    return g_steal_pointer(&verdicts);
}

void
spate_verdicts_free(SpateVerdicts *verdicts)
{
    if (verdicts == NULL)
        return;
    for (size_t i = 0; verdicts->expected != NULL && i < verdicts->check->n_points; i++) {
        g_free((gpointer)(uintptr_t)verdicts->expected[i].expectation);
        g_free((gpointer)(uintptr_t)verdicts->expected[i].finding);
        g_free((gpointer)(uintptr_t)verdicts->expected[i].explanation);
    }
    spate_check_free(verdicts->check);
    g_free(verdicts->expected);
    g_free(verdicts);
}

uint32_t
spate_verdicts_n_replications(const SpateVerdicts *verdicts)
{
    return verdicts->check->n_replications;
}

size_t
spate_verdicts_count(const SpateVerdicts *verdicts)
{
    return verdicts->check->n_replications > 0 ? verdicts->check->n_points : 0;
}

SpateExpected
spate_verdicts_get(const SpateVerdicts *verdicts, size_t number)
{
    g_assert(number < spate_verdicts_count(verdicts));
    return verdicts->expected[number];
}

char *
spate_verdicts_json(const SpateVerdicts *verdicts, bool strict)
{
    const char *const name = verdicts->check->base->name;
    const SpateCheckReport report = {.names = &name,
                                     .checks = (SpateCheck *const *)&verdicts->check,
                                     .n_checks = 1,
                                     .is_strict = strict,
                                     .is_interrupted = verdicts->check->n_replications <
                                                       verdicts->check->n_wanted};
    GString *text = g_string_new(NULL);
    spate_check_report_append(text, &report, SPATE_CHECK_JSON);
    return g_string_free(text, FALSE);
}

/* ---- sizes ----------------------------------------------------------------------------------- */

SpateSizing *
spate_sizing_new(const SpateFile *file, const SpateSummaryOptions *options, GError **error)
{
    GError *problem = NULL;
    const SpateStudyOptions study = spate_study_options_of(options);
    const SpateSizeWanted wanted = {.file = file->inside,
                                    .check = {.replications = study.replications}};
    SpateSizing *sizing = g_new0(SpateSizing, 1);
    sizing->size = spate_size_run(&wanted, &study, &problem);
    if (sizing->size == NULL) {
        spate_error_propagate(error, problem);
        g_clear_pointer(&sizing, g_free);
    }
    return sizing;
}

void
spate_sizing_free(SpateSizing *sizing)
{
    if (sizing == NULL)
        return;
    spate_size_free(sizing->size);
    g_free(sizing);
}

size_t
spate_sizing_n_bands(const SpateSizing *sizing)
{
    return sizing->size->n_bands;
}

SpateSizingBand
spate_sizing_band(const SpateSizing *sizing, size_t number)
{
    static const SpateBandAnswer ANSWERS[] = {
        [SPATE_SIZE_MEETS] = SPATE_BAND_MEETS,
        [SPATE_SIZE_UNSURE] = SPATE_BAND_UNSURE,
        [SPATE_SIZE_FAILS] = SPATE_BAND_FAILS,
        [SPATE_SIZE_OPEN] = SPATE_BAND_OPEN,
    };
    const SpateSize *size = sizing->size;
    g_assert(number < size->n_bands);
    const SpateSizeBand *band = &size->bands[number];
    return (SpateSizingBand){size->points[band->first].text, size->points[band->last].text,
                             ANSWERS[band->answer]};
}

char *
spate_sizing_json(const SpateSizing *sizing)
{
    GString *text = g_string_new(NULL);
    spate_size_report_append(text, sizing->size, SPATE_FORMAT_JSON);
    return g_string_free(text, FALSE);
}
