/* channel-private.h - the internals that the channel's files share
 *
 * The idea.  Each radio keeps one running sum: the weighted power of every frame on the
 * air, in whole units, where a frame of power I counts as I * theta (its protection
 * ratio).  The survival test of docs/model.md
 *
 *     sum_k (I_k / S) theta_k + (N / S) theta_0 <= 1
 *
 * is then  sum - own weight + budget <= S,  and for a locked frame all but `sum` is
 * constant: sum <= lock_limit.  What is kept is neither but their difference, the slack.  So a
 * frame that starts costs each of its receivers one subtraction and a look at the sign; only where
 * there is no slack left it looks further.
 *
 * A radio's part in a frame that it is not locked on is a single byte of the frame, its fate,
 * settled at the start of the critical part.  No event is needed for the end of a preamble: it only
 * matters when a later frame starts, which compares times.
 */
#pragma once

#include "channel/channel.h"
#include "core/number-list.h"
#include "core/units.h"

#define NO_FLIGHT UINT32_MAX
#define NO_LINK   UINT32_MAX

/* Sums of power stay far below it. */
#define NO_LIMIT ((uint64_t)INT64_MAX)

/* OFF: neither sends nor hears; what it began to send goes on, and only then is it OFF. */
typedef enum {
    LISTENING,
    ASLEEP, /* unless the clock says otherwise: state_of() */
    LOCKED,
    SENDING,
    OFF
} RadioState;

/* One radio.  A cache line: a frame that may be decoded there touches, beside the slack, nothing
 * else in the common case; one that only disturbs does not even touch that. */
typedef struct {
    /* The locked frame fails when the sum exceeds this; NO_LIMIT without a lock, or lost for good.
     */
    _Alignas(64) uint64_t lock_limit;
    uint64_t sum_own;      /* of the sum, by the node's other radios */
    uint64_t budget;       /* N theta0 */
    int64_t idle_ns;       /* of the time until `busy_until_ns` */
    int64_t busy_until_ns; /* the end of the last of all frames that it heard or sent so far */
    int64_t lock_ended_ns; /* of its last lock */
    uint32_t lock;         /* flight */
    uint8_t state;
    uint8_t lock_fate; /* of the locked frame; at first, and without a lock, FATE_LOCKED */
    uint8_t at_rest;   /* state when it is neither locked nor sending: ASLEEP if it sleeps */
    bool watched;
    bool reported; /* waits in `changed` */
    bool is_off;   /* OFF, or will be at the end of its frame */
} Receiver;

G_STATIC_ASSERT(sizeof(Receiver) == 64);

typedef enum {
    FATE_LOCKED, /* the radio is locked on it, and it has failed no test */
    FATE_SENDING,
    FATE_BUSY,
    FATE_COLLISION,
    FATE_BLOCKED,
    FATE_ASLEEP,
    FATE_CAPTURED, /* another frame took the lock */
    /* From here on they are no audible pairs. */
    FATE_OFF,      /* the radio is off; until the critical part begins it may still come back */
    FATE_CUT_OFF,  /* the radio was locked on it when it was switched off */
    FATE_INAUDIBLE /* faded below the sensitivity */
} Fate;

/* Whether the pair counts as audible when the frame ends. */
static inline bool
is_outcome(uint8_t fate)
{
    return fate < FATE_OFF;
}

/* A frame on the air. */
typedef struct {
    SpateAirFrame frame;
    int64_t critical_ns, header_ns; /* instants */
    uint64_t
        edges; /* of its bearer just after the start: if no more, nothing has changed; 0: look */
    /* Of the sender's row: parts by receiver's bearer, receivers and powers (as they fade) by
     * link. */
    const SpateRowPart *parts;
    const uint32_t *receiver;
    const uint64_t *power;
    uint32_t row_begin;
    uint32_t audible_begin, audible_end; /* links that may decode */
    const uint64_t *weight;              /* by link: of its power, while it is on the air */
    uint64_t *weight_q32; /* by receiver's bearer: protection, and share of a symbol */
    uint8_t *fates;       /* by audible link */
    uint32_t *disturbers; /* by audible link; NULL unless they are wanted */
    bool fades;
    uint64_t *own_weight; /* by link of the row */
    uint64_t *own_power;  /* likewise, where it fades or is kept; else perhaps NULL */
    /* Where nodes move: the row as it was when the frame began, once it may have changed. */
    SpateRowPart *own_parts;
    uint32_t *own_receiver;
    uint32_t index; /* in the pool */
    uint32_t next_free;
    uint32_t on_air; /* position in the list of flights on the air */
    /* When it ends: its part of the channel's list, and how many had which outcome. */
    uint32_t received_begin, received_end;
    uint32_t n_by_outcome[SPATE_N_OUTCOMES];
} Flight;

typedef struct {
    int64_t awake_ns, busy_ns; /* busy: awake, and some frame on the air to be heard or its own */
} SleeperTimes;

/* What a radio that sleeps has beside its Receiver. */
typedef struct {
    SpateListening listening;
    int64_t phase_ns;       /* when its first window begins */
    int64_t stays_until_ns; /* after its last sending */
    int64_t counted_ns;     /* until when its times are counted */
    int64_t pending_until;  /* ... it may lock on some frame that it is not locked on */
    SleeperTimes times;
    bool will_wake; /* an event waits for the beginning of a window */
} Sleeper;

/* Of a radio that may be switched off: when that was last, and its busy_ns then; of all times
 * before, how long they were, and what was added to busy_ns in them. */
typedef struct {
    int64_t since_ns, busy_since_ns;
    int64_t all_ns, busy_all_ns;
} OffTimes;

/* See blame.c. */
typedef struct {
    uint64_t weight;
    uint32_t sender;
} Share;

struct SpateChannel {
    SpateEventQueue *queue;
    const SpateMedium *medium;
    SpateChannelHooks hooks;
    gpointer user;
    uint64_t fading_key, phase_key;
    bool name_disturbers;

    Receiver *receivers;
    uint32_t *n_watched; /* of them, by bearer */
    int64_t *slack;      /* by radio: lock_limit - sum, see sum_at() */
    Share *shares;       /* by radio; NULL unless disturbers are wanted */
    uint32_t *link_of;   /* see spate_blame_index_links() */
    OffTimes *off_times; /* by radio */
    Sleeper *sleepers;   /* by radio; NULL where none sleeps */
    bool *has_sleepers;  /* by bearer; likewise */

    GPtrArray *flights; /* Flight*, the pool */
    uint32_t first_free;
    SpateNumberList on_air; /* flights */
    uint32_t lone; /* the flight that began on a quiet air and has it for itself since; NO_FLIGHT */
    uint32_t n_off; /* radios that are, or will be at the end of their frame */
    uint32_t largest_row, largest_audible;

    /* timing by bearer */
    int64_t *critical_offset_ns, *header_offset_ns, *symbol_ns;
    bool *senses_power;
    double *fading_ceiling; /* highest gain that the medium reckons with */

    /* By bearer: starts and ends so far of what its radios may hear, and radios switched. */
    uint64_t *n_edges;
    int64_t pending_until; /* when the last of all preambles so far ends */

    /* collected until the group of events closes */
    SpateNumberList starting, ending; /* flights */
    SpateNumberList looking;          /* radios that may find a frame to lock on */
    uint32_t *contested;        /* of a flight's audible links, those that a walk puts aside */
    SpateNumberList changed;    /* watched radios */
    SpateNumberList received;   /* of each ending flight, the audible links that are */
    SpateReception *receptions; /* of one flight, where they are wanted */
};

static inline Flight *
flight_at(const SpateChannel *channel, uint32_t flight)
{
    return g_ptr_array_index(channel->flights, flight);
}

static inline bool
sleeps(const Receiver *rx)
{
    return rx->at_rest == ASLEEP;
}

/* Whether one of the radios that may decode the flight sleeps. */
static inline bool
may_be_asleep(const SpateChannel *channel, const Flight *flight)
{
    return channel->has_sleepers != NULL &&
           channel->has_sleepers[channel->medium->bearer[flight->frame.sender]];
}

/* sleep.c */
/* Whether a radio whose state is ASLEEP is awake all the same, in a window or after sending. */
bool spate_sleeper_is_awake(const SpateChannel *channel, uint32_t radio);
/* From the start of the run until now. */
SleeperTimes spate_sleeper_times(const SpateChannel *channel, uint32_t radio);
/* Counts its times until now: before its state changes, or how many frames it hears. */
void spate_sleeper_count(SpateChannel *channel, uint32_t radio);
/* Its own frame has ended. */
void spate_sleeper_stay_awake(SpateChannel *channel, uint32_t radio);
/* Where radios sleep: before flights that start, or that end, change anything; and after those that
 * start have. */
void spate_sleepers_before_change(SpateChannel *channel, const SpateNumberList *flights);
void spate_sleepers_after_starts(SpateChannel *channel, const SpateNumberList *flights);

static inline RadioState
state_of(const SpateChannel *channel, const Receiver *rx, uint32_t radio)
{
    RadioState state = (RadioState)rx->state;
    return state == ASLEEP && spate_sleeper_is_awake(channel, radio) ? LISTENING : state;
}

/* The same for adding and for taking away. */
static inline uint64_t
weighted(uint64_t power, uint64_t weight_q32)
{
    return spate_mul_q32_round(power, weight_q32);
}

/* Weighted power of all frames on the air, in units of the radio. */
static inline uint64_t
sum_at(const SpateChannel *channel, uint32_t radio)
{
    return channel->receivers[radio].lock_limit - (uint64_t)channel->slack[radio];
}

/* The slack of a radio that has `slack`, were it locked with that limit: less than none if the
 * frame does not survive there.  Unsigned, for the limit of a frame that is too weak lies below
 * nothing. */
static inline int64_t
slack_with(const Receiver *rx, int64_t slack, uint64_t limit)
{
    return (int64_t)((uint64_t)slack + limit - rx->lock_limit);
}

/* Of a radio with that slack; the sum stays as it is. */
static inline void
set_lock_limit(Receiver *rx, int64_t *slack, uint64_t limit)
{
    *slack = slack_with(rx, *slack, limit);
    rx->lock_limit = limit;
}

/* One of two numbers.  A compiler may make a branch of a ?:, and a processor loses more by a wrong
 * guess than by all the arithmetic of a link. */
static inline uint64_t
choose(bool so, uint64_t then, uint64_t otherwise)
{
    return otherwise ^ ((otherwise ^ then) & (0 - (uint64_t)so));
}

/* Rule 3 of docs/model.md for a frame that is on the air, of power `power` and weight `own`. */
static inline bool
survives(const Receiver *rx, uint64_t sum, uint64_t power, uint64_t own)
{
    return sum - own + rx->budget <= power;
}

static inline void
note_change(SpateChannel *channel, Receiver *rx, uint32_t radio)
{
    if (rx->watched && !rx->reported) {
        rx->reported = true;
        spate_number_list_append(&channel->changed, radio);
    }
}

static inline uint64_t
limit_of_lock(const Receiver *rx, uint64_t power, uint64_t own)
{
    return power - rx->budget + own;
}

/* A radio, which holds no failed lock, locks on a flight that survives there.  Its slack, the
 * flight's fate there, and whoever watches the radio, are the caller's to see to. */
static inline void
take_lock_with(Receiver *rx, uint32_t flight, uint64_t limit)
{
    rx->lock_limit = limit;
    rx->lock = flight;
    rx->state = LOCKED;
}

/* The same, but for its slack. */
static inline void
take_lock(Receiver *rx, int64_t *slack, uint32_t flight, uint64_t limit)
{
    *slack = slack_with(rx, *slack, limit);
    take_lock_with(rx, flight, limit);
}

/* Time from the start of the run in which frames were on the air at the radio, heard or not. */
static inline int64_t
busy_on_air_ns(const Receiver *rx, int64_t now_ns)
{
    return now_ns - rx->idle_ns - MAX(now_ns - rx->busy_until_ns, 0);
}

/* The radio does not send any more, or was switched off. */
static inline void
rest(SpateChannel *channel, Receiver *rx, uint32_t radio, int64_t now_ns)
{
    rx->state = rx->is_off ? OFF : rx->at_rest;
    if (rx->is_off) {
        channel->off_times[radio].since_ns = now_ns;
        channel->off_times[radio].busy_since_ns = busy_on_air_ns(rx, now_ns);
    }
}

/* What it was locked on is over or lost; its slack is the caller's to see to. */
static inline void
free_receiver(SpateChannel *channel, Receiver *rx, uint32_t radio, int64_t now_ns)
{
    rx->lock_limit = NO_LIMIT;
    rx->lock = NO_FLIGHT;
    rx->lock_fate = FATE_LOCKED;
    rx->state = rx->at_rest;
    rx->lock_ended_ns = now_ns;
    note_change(channel, rx, radio);
}

static inline void
release_lock(SpateChannel *channel, Receiver *rx, uint32_t radio, int64_t now_ns)
{
    channel->slack[radio] = slack_with(rx, channel->slack[radio], NO_LIMIT);
    free_receiver(channel, rx, radio, now_ns);
}

/* The radio begins to hear or send one more frame, if it does.  When that ends is known, so that
 * nothing need be done then. */
static inline void
note_busy_if(bool is_heard, Receiver *rx, const SpateAirFrame *frame)
{
    int64_t idle_ns = MAX(frame->start_ns - rx->busy_until_ns, 0);
    int64_t until_ns = (int64_t)choose(is_heard, (uint64_t)frame->end_ns, 0);
    rx->idle_ns += (int64_t)choose(is_heard, (uint64_t)idle_ns, 0);
    rx->busy_until_ns = MAX(rx->busy_until_ns, until_ns);
}

/* flight.c */
uint32_t spate_flight_take(SpateChannel *channel);
void spate_flight_give_back(SpateChannel *channel, uint32_t flight);
void spate_flight_launch(SpateChannel *channel, Flight *flight);
/* The row is about to change: from now on the flight has one of its own. */
void spate_flight_keep_row(const SpateChannel *channel, Flight *flight);
/* The link of the flight at a radio that may decode it; UINT32_MAX if it is none. */
uint32_t spate_flight_audible_link(const SpateChannel *channel, const Flight *flight,
                                   uint32_t radio);
/* Power of the flight at any radio, and that weighted. */
uint64_t spate_flight_power_at(const SpateChannel *channel, const Flight *flight, uint32_t radio);
uint64_t spate_flight_weight_at(const SpateChannel *channel, const Flight *flight, uint32_t radio);

/* air.c: the closing functions of the END, SWITCH and START groups */
void spate_air_close_ends(gpointer subject);
void spate_air_close_switches(gpointer subject);
void spate_air_close_starts(gpointer subject);
/* What else there is now may change what becomes of the lone flight, if there is one: its critical
 * part needs an event, unless it began before that instant. */
void spate_air_end_quiet(SpateChannel *channel, int64_t from_ns);

/* walks.c: over the row of a flight */
/* It begins, among others of the instant: its power is on the air, and who cannot bear that loses
 * what he is locked on, but those that may decode the flight: see to them with spate_walk_judge().
 */
void spate_walk_add_power(SpateChannel *channel, Flight *flight);
/* The same of one that begins by itself while nothing else is on the air, no radio is off and none
 * of those that may decode it sleeps: all these lock on it, if it does not fade. */
void spate_walk_add_lone(SpateChannel *channel, Flight *flight);
/* After spate_walk_add_power(), with all flights of the instant on the air: who locks on it. */
void spate_walk_judge(SpateChannel *channel, Flight *flight);
/* Its critical part begins: what the radios do now decides. */
void spate_walk_settle(SpateChannel *channel, Flight *flight);
/* It ends, among others of the instant that are still in `ending`: its power is gone, the radios
 * that were locked on it are free, and the fates of all are final. */
void spate_walk_end(SpateChannel *channel, Flight *flight);
/* The same of a flight that had the air for itself all the time. */
void spate_walk_end_lone(SpateChannel *channel, Flight *flight);
/* After that: of all audible pairs; returns how many. */
size_t spate_walk_list_outcomes(const SpateChannel *channel, const Flight *flight,
                                SpateReception *receptions);

/* blame.c: where disturbers are wanted */
/* By sender and radio, the link or NO_LINK; to be freed.  NULL where nodes move, or pairs are many:
 * then whole rows are walked. */
uint32_t *spate_blame_index_links(const SpateMedium *medium);
/* The sender that adds most to what a radio hears beside a flight; SPATE_NO_DISTURBER: none. */
uint32_t spate_blame_largest(const SpateChannel *channel, const Flight *wanted, uint32_t radio);
/* Names who is to blame for the fates of a flight, as things are now. */
void spate_blame_all(const SpateChannel *channel, Flight *flight);

/* receiver.c */
/* Whether the frame that the radio is locked on loses it to one that begins now and survives. */
bool spate_receiver_gives_up_lock(SpateChannel *channel, const Flight *flight, uint32_t radio,
                                  uint64_t power);
/* There is no slack left. */
void spate_receiver_note_failure(SpateChannel *channel, uint32_t radio);
/* A listening radio takes the strongest frame that it can still lock on. */
void spate_receiver_look(SpateChannel *channel, uint32_t radio);
