/* explanation-words.h - an explanation as sentences */
#pragma once

#include "study/explain/explain.h"

/* Several lines, each ended with '\n', without indentation; the last ones of each case are what can
 * be changed.  NULL of NULL; free with g_free(). */
char *spate_explanation_text(const SpateExplanation *explanation);
