/* advise-search.h - the smallest set of streams whose holding back meets the expectations */
#pragma once

#include "study/advise/advise.h"

/* Needs the gains.  Fills in the answer; false with an error. */
bool spate_advise_search(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                         const SpateStudyOptions *options, GError **error);
