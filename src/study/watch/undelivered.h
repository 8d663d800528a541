/* undelivered.h - replications of which a latency or a number of hops says nothing, as nothing
 * arrived
 *
 * Such a measure is of what was delivered: without this, the worse replications would leave only
 * the lucky ones to be judged.
 */
#pragma once

#include "study/run/result.h"

/* Whether the row is of what was delivered, and in this replication messages were offered and none
 * was.  False where none was offered. */
bool spate_undelivered(const SpateResultVariant *variant, const SpateResultRow *row,
                       uint32_t replication);
