/* advise-streams.h - what bridges let across, what it costs, and what holding it back wins */
#pragma once

#include "study/advise/advise.h"

/* Fills in the streams and what they cost; runs the scenario as it is.  False with an error. */
bool spate_advise_find_streams(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                               const SpateStudyOptions *options, GError **error);
/* What holding back each one wins, and the order that follows. */
bool spate_advise_find_gains(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                             const SpateStudyOptions *options, GError **error);
