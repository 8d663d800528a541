/* shared-forms.h - what several documents are made of: docs/result-format.md */
#pragma once

#include "document/form.h"
#include "study/advise/advise-disturbers.h"
#include "study/judge/doubt-verdict.h"
#include "study/judge/expect.h"
#include "study/run/people.h"

extern const SpateForm SPATE_SCENARIO_FORM; /* SpateScenario: title, sha256 */
extern const SpateForm SPATE_SEED_FORM;     /* the same: seed */
extern const SpateForm SPATE_JUDGED_FORM;   /* SpateJudgement: what was measured of it */
extern const SpateForm SPATE_DOUBT_FORM;    /* SpateDoubtVerdict */
extern const SpateForm SPATE_ESTIMATE_FORM; /* SpateEstimate */
/* By number of the verdict: pass, fail, undecided. */
extern const char *const SPATE_VERDICT_WORDS[3];
#define SPATE_IS_VERDICT .words = SPATE_VERDICT_WORDS, .n_words = 3
/* By number: who is to blame for what is lost, in the words of docs/advise.md. */
extern const char *const SPATE_BLAME_WORDS[SPATE_BLAME_AMBIENT + 1];
#define SPATE_IS_BLAME .words = SPATE_BLAME_WORDS, .n_words = SPATE_BLAME_AMBIENT + 1
