/* explain-private.h - what the files of an explanation share
 *
 *     explain.c        which steps answer the question
 *     explain-reach.c  who hears nobody that sent it
 *     explain-facts.c  a step as a fact
 *     explain-outages.c  who was down meanwhile
 */
#pragma once

#include "study/explain/explain.h"

/* The outages of a run. */
typedef struct SpateOutageWatch SpateOutageWatch;
/* Borrows the trace, which has to see each event first. */
SpateOutageWatch *spate_outage_watch_new(const SpateMessageTrace *trace);
void spate_outage_watch_free(SpateOutageWatch *watch);
SpateObserver spate_outage_watch_observer(SpateOutageWatch *watch);

/* One message of one run that is over. */
typedef struct {
    const SpateWorld *world;
    const SpatePlan *plan;
    const SpateMedium *medium;
    const SpateExplainWanted *wanted;
    const SpateMessageTrace *trace;
    const SpateOutageWatch *outages;
    SpateExplanation *found;
} SpateInquiry;

/* It is the message's own, or a copy came there, in a digest or not. */
bool spate_inquiry_has_it(const SpateInquiry *inquiry, uint32_t node);

/* By how much the strongest sender is too weak at the node in question, and at relays and bridges
 * that never got it but nearly would have, nearest first. */
void spate_inquiry_note_out_of_reach(const SpateInquiry *inquiry);

/* Whether a message that comes there on that radio may be sent on. */
bool spate_inquiry_sends_on_from(const SpateInquiry *inquiry, uint32_t radio);

/* Whether the node was down at some time while the message was under way. */
bool spate_inquiry_was_down(const SpateInquiry *inquiry, uint32_t node);
/* Those who might have carried it on, its source, and the node in question. */
void spate_inquiry_note_outages(const SpateInquiry *inquiry);
/* What a rule lets wait, for a quieter channel or in a digest, and the node then failed. */
bool spate_inquiry_was_lost_waiting(const SpateInquiry *inquiry, const SpateEvent *decision);
void spate_inquiry_add_lost_waiting(const SpateInquiry *inquiry, const SpateEvent *decision);

const char *spate_inquiry_node(const SpateInquiry *inquiry, uint32_t node);
const char *spate_inquiry_bearer(const SpateInquiry *inquiry, uint32_t radio);

/* Lines of each section that a person still reads. */
#define SPATE_INQUIRY_MOST_LINES 12

void spate_inquiry_add(const SpateInquiry *inquiry, SpateFact fact);
/* Of n lines of a section: how many there are beyond those that were added. */
void spate_inquiry_add_more(const SpateInquiry *inquiry, uint32_t n);
void spate_inquiry_add_arrival(const SpateInquiry *inquiry, const SpateEvent *arrival);
void spate_inquiry_add_decision(const SpateInquiry *inquiry, const SpateEvent *decision);
/* What needs nothing beside its kind: a drop and its cause, a digest, a frame that is sent. */
void spate_inquiry_add_step(const SpateInquiry *inquiry, const SpateEvent *step);
/* A frame in a queue, or what a rule lets wait, that is still there when the run ends. */
void spate_inquiry_add_pending(const SpateInquiry *inquiry, const SpateEvent *step);
/* How long the frame waited before it was sent, and for what; nothing if it did not. */
void spate_inquiry_add_wait(const SpateInquiry *inquiry, const SpateEvent *started);
void spate_inquiry_add_loss(const SpateInquiry *inquiry, const SpateEvent *ended,
                            const SpateReception *reception);
