/* detail-replay.h - the way of some messages in every variant */
#pragma once

#include "study/detail/detail.h"

/* Of the messages that the first replication of the first variant chose; runs that replication of
 * every variant once more.  False if it was stopped (no error), or a run failed. */
bool spate_detail_replay(SpateDetail *detail, const SpateStudy *study,
                         const SpateStudyOptions *options, GError **error);
