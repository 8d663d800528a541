/* event.h - what happens in a run, as everybody sees it who watches
 *
 * One struct for the whole project: the event log, the tally that measures, explanations and
 * programs that use the library all see the same.  An observer says which kinds of events it wants;
 * what nobody wants is never put together.  It must not change anything of the run.
 *
 * Nodes, radios, bearers, traffics and crossings are numbers, counted from 0 in the order that
 * spate.h tells.  Times are whole nanoseconds from the start of the run.
 */
#pragma once

#include <stddef.h>
#include <stdint.h>

/* ---- words ----------------------------------------------------------------------------------- */

/* Why a frame will not be sent. */
typedef enum {
    SPATE_DROP_QUEUE,    /* the queue was full */
    SPATE_DROP_EXPIRED,  /* it had waited too long */
    SPATE_DROP_SIZE,     /* too long for the bearer */
    SPATE_DROP_CANCELLED /* counter-based flooding: enough copies were heard meanwhile */
} SpateDropCause;
enum { SPATE_N_DROPS = SPATE_DROP_CANCELLED + 1 };

/* What became of one audible frame at one radio.  Exactly one applies, so they add up to the frames
 * that were audible. */
typedef enum {
    SPATE_OUTCOME_RECEIVED,       /* locked on to its end, and it survived */
    SPATE_OUTCOME_LOST_COLLISION, /* other frames and noise were too strong */
    SPATE_OUTCOME_LOST_BUSY,      /* locked on another frame */
    SPATE_OUTCOME_LOST_SENDING,   /* half duplex: its own frame was on the air */
    SPATE_OUTCOME_LOST_BLOCKED    /* drowned by the node's own other radios */
} SpateOutcome;
enum { SPATE_N_OUTCOMES = SPATE_OUTCOME_LOST_BLOCKED + 1 };

/* What a node that got the first copy of a message decided about sending it on, by its relay or by
 * a crossing. */
typedef enum {
    SPATE_DECISION_SEND,       /* after its jitter */
    SPATE_DECISION_DELAY,      /* a rule: when the channel is quieter */
    SPATE_DECISION_COLLECT,    /* a rule: in a digest */
    SPATE_DECISION_NO_RELAY,   /* the node does not relay on that bearer */
    SPATE_DECISION_HOP_LIMIT,  /* it has come as far as it may */
    SPATE_DECISION_IS_WAITING, /* it waits to be sent there already */
    SPATE_DECISION_HELD_BACK,  /* by a rule, or by `otherwise` */
    SPATE_DECISION_POLICY      /* of flooding: none, or the draw of probability */
} SpateDecision;
enum { SPATE_N_DECISIONS = SPATE_DECISION_POLICY + 1 };

#define SPATE_NO_RULE      UINT32_MAX
#define SPATE_NO_CROSSING  UINT32_MAX /* the relay */
#define SPATE_NO_DISTURBER UINT32_MAX

/* ---- facts ----------------------------------------------------------------------------------- */

typedef struct {
    uint32_t number; /* unique in the run, in the order in which messages came to be */
    uint32_t traffic;
    uint32_t origin; /* a node; of a digest: the one that made it */
    uint32_t payload_bytes;
    int64_t offered_ns;
    uint64_t identity; /* the same in every variant */
} SpateMessageFacts;

typedef struct {
    SpateMessageFacts message;
    uint32_t radio; /* of the sender */
    uint32_t hops;  /* transmissions on its way, this one included */
    uint32_t frame_bytes;
    int64_t airtime_ns;
    int64_t queued_ns;
} SpateFrameFacts;

typedef struct {
    uint32_t receiver; /* a radio */
    SpateOutcome outcome;
    /* Who is to blame for a loss: a radio, a number beyond them (other people's traffic), or
     * SPATE_NO_DISTURBER (nobody in particular). */
    uint32_t disturber;
    uint64_t power; /* in the receiver's units */
} SpateReception;
