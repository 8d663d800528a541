/* lint-flood.h - who has heard a message that is sent on over all links that could ever be heard
 *
 * What the checks that follow floods share (lint-reach.c, lint-soonest.c): by whom and when a radio
 * sends is theirs.
 */
#pragma once

#include "scenario/lint/lint.h"

typedef struct {
    const SpatePlan *plan;
    SpateHearing *hearing;
    uint32_t *first_crossing; /* by node, and one more */
    bool has_digests;         /* which count their hops anew */
    uint64_t n_words_left;    /* of rows that may still be looked through: a bound on the work */
    uint64_t **unheard;       /* by bearer: a bit for each radio that has heard nothing */
} SpateLintFlood;

void spate_lint_flood_init(SpateLintFlood *flood, const SpateLint *lint, uint64_t most_words);
void spate_lint_flood_clear(SpateLintFlood *flood);
/* A new message of the source, which no other node has heard. */
void spate_lint_flood_begin(SpateLintFlood *flood, uint32_t source);
/* The radio sends: `hear` is called for each radio that hears the message for the first time, until
 * it returns false. */
void spate_lint_flood_transmit(SpateLintFlood *flood, uint32_t radio,
                               bool (*hear)(gpointer user, uint32_t receiver), gpointer user);
