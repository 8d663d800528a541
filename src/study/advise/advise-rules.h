/* advise-rules.h - streams that are held back, as rules
 *
 * For each crossing that has one, the whole list that shall stand there: the rules that it has,
 * in their order, and before the first of them that lets a stream across, the new one.  So what
 * earlier rules hold back stays as it is.
 */
#pragma once

#include "study/advise/advise.h"

/* A map of paths (bridges.NAME.CROSSING.rules) and lists; "" for none.  `one_of` 0: nothing passes.
 * Free with g_free(). */
char *spate_advise_rules(const SpateAdvice *advice, const SpateAdviseWanted *wanted,
                         const guint *streams, size_t n_streams, uint32_t one_of);
