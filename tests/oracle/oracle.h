/* oracle.h - a slow, plain second implementation of what is simulated
 *
 * It reads docs/model.md, not src/: all pairs of radios, floating point, no cut-off, no event queue
 * beyond a sorted list, everything worked out anew at each instant.  With the program it shares
 * the reader of scenarios and the generator of random draws (core/random.h), so that both
 * see the same weather; nothing else.
 */
#pragma once

#include "oracle/history.h"
#include "scenario/scenario.h"

/* One replication, from its start to its end.  Free with history_free(). */
History *oracle_run(const SpateScenario *scenario, uint32_t replication);
