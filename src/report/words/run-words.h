/* run-words.h - what was run, for people */
#pragma once

#include "study/run/result.h"

/* "5 replications of 6 h, counted after 10 min, seed 7" */
void spate_append_run_words(GString *text, const SpateResult *result);

/* ", for this one layout (redraw: once)"; nothing where no random place is held
 * (scenario/layout.h). */
void spate_append_layout_words(GString *text, bool one_layout);
