/* shared-forms.h - what several documents are made of: docs/result-format.md */
#pragma once

#include "document/form.h"
#include "study/doubt-verdict.h"
#include "study/people.h"

extern const SpateForm SPATE_DOUBT_FORM;    /* SpateDoubtVerdict */
extern const SpateForm SPATE_ESTIMATE_FORM; /* SpateEstimate */

/* Of what a document is. */
typedef struct {
    const char *title; /* may be NULL */
    const char *sha256;
} SpateScenarioForm;
extern const SpateForm SPATE_SCENARIO_FORM;
