/* detail-replay.h - which messages a report follows, and their way in every variant */
#pragma once

#include "study/detail/detail.h"

/* Chooses messages of the first replication of the first variant, and runs that replication of
 * every variant once more.  False if it was stopped (no error), or a run failed. */
bool spate_detail_replay(SpateDetail *detail, const SpateStudy *study, const volatile int *stop,
                         GError **error);
