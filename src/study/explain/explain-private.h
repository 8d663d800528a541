/* explain-private.h - what the files of an explanation share
 *
 *     explain.c        which steps answer the question
 *     explain-reach.c  who hears nobody that sent it
 *     explain-words.c  a step as a sentence
 */
#pragma once

#include "study/explain/explain.h"

typedef struct {
    const SpateWorld *world;
    const SpatePlan *plan;
    const SpateMedium *medium;
    uint32_t replication;
    const SpateExplainWanted *wanted;
    const SpateMessageTrace *trace;
    GString *text;
} SpateExplanation;

/* It is the message's own, or a copy came there, in a digest or not. */
bool spate_explain_has_it(const SpateExplanation *explanation, uint32_t node);

/* By how much the strongest sender is too weak at the node in question, and at relays and bridges
 * that never got it but nearly would have, nearest first. */
void spate_explain_tell_out_of_reach(const SpateExplanation *explanation);

const char *spate_explain_node(const SpateExplanation *explanation, uint32_t node);
const char *spate_explain_bearer(const SpateExplanation *explanation, uint32_t radio);
/* "+1.204 s": since the message was offered. */
void spate_explain_add_time(const SpateExplanation *explanation, int64_t at_ns);
/* Sentences, each a line. */
void spate_explain_add_offer(const SpateExplanation *explanation);
void spate_explain_add_arrival(const SpateExplanation *explanation, const SpateEvent *arrival);
void spate_explain_add_decision(const SpateExplanation *explanation, const SpateEvent *decision);
void spate_explain_add_drop(const SpateExplanation *explanation, const SpateEvent *drop);
/* A frame in a queue, or what a rule lets wait, that is still there when the run ends. */
void spate_explain_add_pending(const SpateExplanation *explanation, const SpateEvent *step);
void spate_explain_add_digest(const SpateExplanation *explanation, const SpateEvent *digest);
/* How long the frame waited before it was sent, and for what; nothing if it did not. */
void spate_explain_add_waits(const SpateExplanation *explanation, const SpateEvent *started);
void spate_explain_add_loss(const SpateExplanation *explanation, const SpateEvent *ended,
                            const SpateReception *reception);
