/* witness.h - whether what is claimed of messages held in one run
 *
 * An observer.  A claim is about the messages of one traffic that are offered after the warm-up:
 * each of them comes to a node in time, none of them ever does, none of them is ever sent on a
 * bearer, each is acknowledged.  A message is where one of its tries is, or a digest that carries
 * one; an acknowledgement does not bring it to a node, but is sent on a bearer for it.
 */
#pragma once

#include "measure/message-trace.h"
#include "mesh/plan.h"
#include "scenario/scenario.h"
#include "spate/event.h"

/* By numbers of the plan. */
typedef struct {
    SpateExpectKind kind; /* REACHES, NEVER_REACHES, NEVER_ON; VALUE: it is acknowledged */
    uint32_t traffic;
    const uint32_t *from; /* sources, ascending, borrowed; NULL: all */
    uint32_t n_from;
    uint32_t node, bearer; /* the one that it is about */
    int64_t within_ns;     /* REACHES */
} SpateClaim;

/* Of an expectation of messages, in one of the variants that were read with it.  Borrows from the
 * scenario. */
SpateClaim spate_claim_of(const SpateExpectation *expectation, const SpateScenario *scenario);

typedef struct {
    /* Messages that are judged: not those that the node itself offered, for REACHES and
     * NEVER_REACHES, nor those offered too late. */
    uint64_t n_messages;
    uint64_t n_broken;   /* of them: those that broke it */
    uint64_t n_too_late; /* REACHES: their time was not over when the run ended */
    /* The first of these, in the order of offers. */
    SpateMessageWanted first;
    uint32_t first_number; /* of the message in the run */
    int64_t offered_ns;
    int64_t at_ns; /* when it came to the node, was sent on the bearer or acknowledged; -1: never */
} SpateClaimResult;

typedef struct SpateWitness SpateWitness;

/* Borrows the plan and the claims. */
SpateWitness *spate_witness_new(const SpatePlan *plan, const SpateClaim *claims, size_t n_claims,
                                int64_t warm_up_ns, int64_t end_ns);
void spate_witness_free(SpateWitness *witness);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateWitness, spate_witness_free)

SpateObserver spate_witness_observer(SpateWitness *witness);

/* After the run: one for each claim, to be freed with g_free(). */
SpateClaimResult *spate_witness_results(const SpateWitness *witness);
