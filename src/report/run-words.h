/* run-words.h - what was run, for people */
#pragma once

#include "study/result.h"

/* "5 replications of 6 h, counted after 10 min, seed 7" */
void spate_append_run_words(GString *text, const SpateResult *result);
