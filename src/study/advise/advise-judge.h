/* advise-judge.h - whether the file with rules put into it meets its expectations */
#pragma once

#include "study/advise/advise.h"

typedef enum { SPATE_ADVISE_MEETS, SPATE_ADVISE_LEANS, SPATE_ADVISE_MISSES } SpateAdviseMeets;

/* All expectations of a check that was run. */
SpateAdviseMeets spate_advise_meets(const SpateCheck *check);

/* Of the file with these rules (NULL: as it is), from that replication on; not yet run. */
SpateCheck *spate_advise_check(const SpateAdvice *advice, const SpateAdviseWanted *wanted,
                               const char *rules, uint32_t first, GError **error);
