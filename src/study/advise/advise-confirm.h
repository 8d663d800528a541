/* advise-confirm.h - whether fresh replications say what the search found
 *
 * The set that the search kept is judged anew on replications that the search did not see, the
 * gentlest of its treatments first.  One that these do not confirm gives way to the next harder
 * one, on replications that are new again.  On the last ones of these every traffic's price is
 * worked out, against the scenario as it is.
 */
#pragma once

#include "study/advise/advise.h"

/* Needs a set and its treatments.  Fills in the rest; false with an error. */
bool spate_advise_confirm(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                          const SpateStudyOptions *options, GError **error);
