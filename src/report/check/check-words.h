/* check-words.h - expectations and verdicts as sentences */
#pragma once

#include "report/check/check-report.h"
#include "study/judge/against.h"

/* "open: load on valley changes by at least +40 % against base" */
void spate_check_append_title(GString *text, const SpateCheckPoint *point);
/* What was measured, and how sure it is; one line without its end. */
void spate_check_append_finding(GString *text, const SpateCheck *check,
                                const SpateCheckPoint *point);
/* Both, of the point's own judgement or of that since the earlier result: "delivery of talk is not
 * worse than before", and what became of it since then. */
void spate_check_append_both(GString *title, GString *finding, const SpateCheck *check,
                             const SpateCheckPoint *point, const SpateJudgement *judgement);
/* "base: load of talk on valley changed by +0.01 erlang (95 % interval ...): worse" */
void spate_check_append_difference(GString *text, const SpateCheck *check,
                                   const SpateDifference *difference);
/* "not compared, in the earlier result only: traffic soil"; nothing if there is none.  Of
 * what is gone, or of what is new. */
void spate_check_append_uncompared(GString *text, const SpateCheck *check, bool is_gone);
/* The same in cells of a table: what is judged, its bound, and what was measured of it (by the
 * judgement of the point, or since the earlier result); nothing where there is no value. */
void spate_check_append_subject(GString *text, const SpateCheckPoint *point);
void spate_check_append_bound(GString *text, const SpateCheckPoint *point);
void spate_check_append_measured(GString *mean, GString *ends, const SpateCheckPoint *point,
                                 const SpateJudgement *judgement);
/* "7 passed, 3 failed; 1 of them undecided", with a newline */
void spate_check_append_counts(GString *text, const SpateCheckReport *report);
/* Whether it is judged by a relative change: in percent, without the measure's unit. */
bool spate_check_is_relative(const SpateCheckPoint *point);
/* The line of the expectation in the file; 0: none, it comes from --set. */
int spate_check_line(const SpateCheckPoint *point);
/* "pass", "fail" or "undecided" */
const char *spate_check_verdict_word(const SpateJudgement *judgement);

/* The formats, one file each. */
void spate_check_report_tap(GString *text, const SpateCheckReport *report);
void spate_check_report_junit(GString *text, const SpateCheckReport *report);
void spate_check_report_json(GString *text, const SpateCheckReport *report);
void spate_check_report_table(GString *text, const SpateCheckReport *report);
