/* check-report.c - counts verdicts, and writes them in the format that is wanted */
#include "report/check-report.h"

#include "report/check-words.h"

SpateCheckCounts
spate_check_count(const SpateCheckReport *report)
{
    SpateCheckCounts counts = {0};
    for (size_t i = 0; i < report->n_checks; i++) {
        const SpateCheck *check = report->checks[i];
        counts.n_without += check->n_points == 0;
        if (!spate_check_is_judged(check))
            continue;
        for (size_t k = 0; k < check->n_points; k++) {
            bool passes = spate_check_passes(&check->points[k], report->is_strict);
            counts.n_passed += passes;
            counts.n_failed += !passes;
            counts.n_undecided += check->points[k].judgement.kind == SPATE_VERDICT_UNDECIDED;
        }
    }
    return counts;
}

void
spate_check_report_append(GString *text, const SpateCheckReport *report, SpateCheckFormat format)
{
    switch (format) {
    case SPATE_CHECK_TAP:
        spate_check_report_tap(text, report);
        return;
    case SPATE_CHECK_JUNIT:
        spate_check_report_junit(text, report);
        return;
    case SPATE_CHECK_JSON:
        spate_check_report_json(text, report);
        return;
    }
    g_assert_not_reached();
}
