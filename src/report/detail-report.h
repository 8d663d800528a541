/* detail-report.h - the details of a result as JSON: docs/result-format.md */
#pragma once

#include "scenario/scenario.h"
#include "study/detail/detail.h"

/* The text of a scenario up to which it is carried along. */
#define SPATE_DETAIL_TEXT_BYTES 200000

/* What the details are of, beside what was run; borrowed. */
typedef struct {
    const SpateDetail *detail;
    const SpateResult *result; /* of the same study */
    const char *text;          /* of the (first) scenario file */
    const SpateSetting *settings;
    size_t n_settings;
} SpateDetailReport;

/* An object. */
void spate_detail_append_json(GString *text, const SpateDetailReport *report);

/* private */

/* The way of one message in one variant: an object; null if it was not offered there. */
void spate_detail_append_replay(GString *text, const SpateMessageTrace *trace);
