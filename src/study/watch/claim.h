/* claim.h - from the names of an expectation to the numbers of a plan */
#pragma once

#include "study/watch/witness.h"

/* Of an expectation of messages, in one of the variants that were read with it. Borrows from the
 * scenario. */
SpateClaim spate_claim_of(const SpateExpectation *expectation, const SpateScenario *scenario);
