/* played.h - one replication as the program plays it, told as a history */
#pragma once

#include "mesh/plan.h"
#include "oracle/history.h"
#include "scenario/scenario.h"
#include "spate/event.h"

/* What a history does not tell, so that a test knows what it has seen. */
typedef struct {
    uint64_t frames, deliveries, refusals, redundant;
    uint64_t outcomes[SPATE_N_OUTCOMES];
    uint64_t drops[SPATE_N_DROPS]; /* the cancelled ones are those that had reached a queue */
    uint64_t decisions[SPATE_N_DECISIONS];
    uint64_t refused_relays; /* by rules */
    uint64_t digests;
    uint64_t outages;
    uint64_t moves; /* steps */
    uint64_t further_tries, answers, acknowledged;
    uint64_t learned, unlearned; /* routes */
    uint64_t along_routes;       /* frames */
    uint64_t duty_waits;
    uint64_t cad_waits;     /* one look was not enough */
    uint64_t csma_freezes;  /* longer than DIFS and the longest backoff */
    uint64_t named_ambient; /* receptions that an ambient source disturbed */
    uint64_t together;      /* frames that begin at the instant at which another one does */
} PlayedCounts;

/* Adds to the counts.  A world that cannot be made is an error. */
History *played_run(const SpateScenario *scenario, uint32_t replication, PlayedCounts *counts,
                    GError **error);
