/* event.h - what happens in a run, as everybody sees it who watches
 *
 * One struct for the whole project: the event log, the tally that measures, explanations and
 * programs that use the library all see the same.  An observer says which kinds of events it wants;
 * what no observer wants is never put together.  It must not change anything of the run.
 *
 * Nodes, radios, bearers, traffics and crossings are numbers, counted from 0 in the order that
 * spate.h describes.  Times are whole nanoseconds from the start of the run.
 */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* ---- words ----------------------------------------------------------------------------------- */

/* Why a frame will not be sent. */
typedef enum {
    SPATE_DROP_QUEUE,     /* the queue was full */
    SPATE_DROP_EXPIRED,   /* it had waited too long */
    SPATE_DROP_SIZE,      /* too long for the bearer */
    SPATE_DROP_CANCELLED, /* counter-based flooding: enough copies were heard meanwhile */
    SPATE_DROP_OUTAGE     /* its node went down while it waited, for its jitter or in a queue */
} SpateDropCause;
enum { SPATE_N_DROPS = SPATE_DROP_OUTAGE + 1 };

/* What became of one audible frame at one radio.  Exactly one applies, so they add up to the frames
 * that were audible. */
typedef enum {
    SPATE_OUTCOME_RECEIVED,       /* locked on to its end, and it survived */
    SPATE_OUTCOME_LOST_COLLISION, /* other frames and noise were too strong */
    SPATE_OUTCOME_LOST_BUSY,      /* locked on another frame */
    SPATE_OUTCOME_LOST_SENDING,   /* half duplex: its own frame was on the air */
    SPATE_OUTCOME_LOST_BLOCKED,   /* drowned by the node's own other radios */
    SPATE_OUTCOME_LOST_ASLEEP     /* between two listening windows */
} SpateOutcome;
enum { SPATE_N_OUTCOMES = SPATE_OUTCOME_LOST_ASLEEP + 1 };

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
    /* Its own number; of a further try, or of an acknowledgement: the number of the message that it
     * is about, from which it also has traffic and offered_ns. */
    uint32_t about;
    uint32_t attempt; /* 1: as it was offered; 2 and more: further tries; 0: an acknowledgement */
    uint32_t route_length; /* nodes that each frame lists; 0: it floods */
} SpateMessageFacts;

typedef struct {
    SpateMessageFacts message;
    uint32_t radio; /* of the sender */
    uint32_t hops;  /* transmissions on its way, this one included */
    uint32_t frame_bytes;
    int64_t airtime_ns;
    int64_t queued_ns;                        /* when it reached a queue, or its door; -1: never */
    int64_t started_ns;                       /* from its start on */
    int64_t waited_duty_ns, waited_access_ns; /* likewise: at the head of the queue */
} SpateFrameFacts;

typedef struct {
    uint32_t receiver; /* a radio */
    SpateOutcome outcome;
    /* Who is to blame for a loss: a radio, a number beyond them (other people's traffic), or
     * SPATE_NO_DISTURBER (no single sender). */
    uint32_t disturber;
    uint64_t power; /* in the receiver's units */
} SpateReception;

/* ---- events ---------------------------------------------------------------------------------- */

/* Bits of a mask.  In brackets: the members that tell more, beside those of all. */
typedef enum {
    SPATE_EVENT_OFFERED = 1 << 0,  /* a message, at its source [is_lost] */
    SPATE_EVENT_DIGESTED = 1 << 1, /* a node made it from other messages [carried] */
    SPATE_EVENT_QUEUED = 1 << 2,   /* a frame is in a sending queue [radio, frame] */
    SPATE_EVENT_DROPPED = 1 << 3,  /* a frame will not be sent [radio, frame, cause] */
    SPATE_EVENT_STARTED = 1 << 4,  /* a frame goes on the air [radio, frame] */
    SPATE_EVENT_ENDED = 1 << 5,    /* a frame left the air [radio, frame, receptions] */
    SPATE_EVENT_ARRIVED = 1 << 6,  /* a node decoded the first copy of a message, as far as it
                                      remembers [radio, frame] */
    SPATE_EVENT_DECIDED = 1 << 7, /* ... and decided about sending it on: its relay, and each of its
                                     crossings [radio, hops, decision, crossing, rule] */
    SPATE_EVENT_REDUNDANT = 1 << 8, /* a node decoded a frame but knew its message [radio, frame] */
    SPATE_EVENT_DELIVERED = 1 << 9, /* a message reached a recipient for the first time, by itself
                                       or in a digest, with whichever try [hops] */
    SPATE_EVENT_TRIED = 1 << 10,    /* a source, not answered in time, sends a message again */
    SPATE_EVENT_ANSWERED = 1 << 11, /* a recipient offers an acknowledgement of a try */
    SPATE_EVENT_ACKNOWLEDGED = 1 << 12,  /* the first acknowledgement of a message, whichever the
                                            try, came to its source; told is the message */
    SPATE_EVENT_ROUTE_LEARNED = 1 << 13, /* a source, by an acknowledgement; told is the message
                                            that it is about [hops: of the route] */
    SPATE_EVENT_ROUTE_DROPPED = 1 << 14, /* a source, since a try along it was not answered in time;
                                            told is the message [hops: of the route] */
    SPATE_EVENT_WENT_DOWN = 1 << 15,     /* an outage of a node begins; about no message */
    SPATE_EVENT_CAME_BACK = 1 << 16,     /* it is over; about no message */
    SPATE_EVENT_MOVED = 1 << 17          /* a node that moves is at another place; about no message
                                            [place] */
} SpateEventKind;
#define SPATE_ALL_EVENTS ((1u << 18) - 1)

/* As the scenario gives places: in a plane, or in degrees of WGS 84; the others are 0. */
typedef struct {
    double x_m, y_m; /* east, north */
    double latitude_deg, longitude_deg;
    bool is_geographic;
} SpateEventPlace;

/* Pointers live until the observer's function returns; what a kind does not tell is 0. */
typedef struct {
    SpateEventKind kind;
    uint32_t node;  /* where it happened: source, sender, receiver, recipient */
    uint32_t radio; /* ... its radio; DECIDED: the one on which the message would be sent */
    uint32_t hops;  /* transmissions so far; those of a frame are among its facts */
    int64_t at_ns;
    const SpateMessageFacts *message; /* WENT_DOWN, CAME_BACK, MOVED: NULL */
    const SpateFrameFacts *frame;

    bool is_lost; /* its source is down: it goes nowhere, no try is made */
    SpateDropCause cause;
    SpateDecision decision;
    uint32_t crossing;  /* or SPATE_NO_CROSSING */
    uint32_t rule;      /* that matched, from 0, of the crossing's or the node's; SPATE_NO_RULE */
    uint32_t rule_line; /* in the scenario file; 0 if it is not from there */

    const SpateReception *receptions; /* at each radio to which the frame was audible */
    size_t n_receptions;
    const uint32_t *n_by_outcome;     /* NULL; within spate, where numbers do and none are listed */
    const struct SpateMedium *medium; /* ENDED: what the powers of receptions are measured by */
    const uint32_t *carried;          /* numbers of the messages in the digest */
    size_t n_carried;
    SpateEventPlace place;
} SpateEvent;

typedef struct {
    uint32_t kinds; /* those that it wants */
    void (*see)(void *self, const SpateEvent *event);
    void *self;
} SpateObserver;
