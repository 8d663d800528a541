/* check-report.c - counts verdicts, and writes them in the format that is wanted */
#include "report/check/check-report.h"

#include "report/check/check-words.h"

static void
count(SpateCheckCounts *counts, const SpateJudgement *judgement, bool is_strict)
{
    bool passes = spate_judgement_passes(judgement, is_strict);
    counts->n_passed += passes;
    counts->n_failed += !passes;
    counts->n_undecided += judgement->kind == SPATE_VERDICT_UNDECIDED;
}

static void
count_all(SpateCheckCounts *counts, const SpateCheck *check, bool is_strict)
{
    counts->n_without += check->n_points == 0;
    for (size_t k = 0; spate_check_is_judged(check) && k < check->n_points; k++) {
        count(counts, &check->points[k].judgement, is_strict);
        if (check->points[k].has_since)
            count(counts, &check->points[k].since, is_strict);
    }
}

SpateCheckCounts
spate_check_count_of(const SpateCheck *check, bool is_strict)
{
    SpateCheckCounts counts = {0};
    count_all(&counts, check, is_strict);
    return counts;
}

SpateCheckCounts
spate_check_count(const SpateCheckReport *report)
{
    SpateCheckCounts counts = {0};
    for (size_t i = 0; i < report->n_checks; i++)
        count_all(&counts, report->checks[i], report->is_strict);
    return counts;
}

void
spate_check_append_counts(GString *text, const SpateCheckReport *report)
{
    SpateCheckCounts counts = spate_check_count(report);
    g_string_append_printf(text, "%zu passed, %zu failed; %zu of them undecided\n", counts.n_passed,
                           counts.n_failed, counts.n_undecided);
}

void
spate_check_report_append(GString *text, const SpateCheckReport *report, SpateCheckFormat format)
{
    static void (*const FORMATS[])(GString *, const SpateCheckReport *) = {
        [SPATE_CHECK_TAP] = spate_check_report_tap,
        [SPATE_CHECK_TABLE] = spate_check_report_table,
        [SPATE_CHECK_JUNIT] = spate_check_report_junit,
        [SPATE_CHECK_JSON] = spate_check_report_json,
    };
    FORMATS[format](text, report);
}
