/* access.c - when a radio may send
 *
 * A request goes through stages; each waits for one event, and any change of the channel
 * at a watched radio is answered by looking again at the whole of its situation.
 */
#include "channel/access.h"

#include "channel/duty.h"
#include "core/random.h"

/* IEEE 802.11 DCF with the long slot (IEEE Std 802.11-2020, clauses 10 and 15): SIFS 10 us, slot
 * 20 us, DIFS = SIFS + 2 slots; CWmin 31: a backoff of 0 to 31 slots.  Group-addressed frames never
 * widen the window. */
#define SLOT_NS        (20 * SPATE_NS_PER_US)
#define DIFS_NS        (50 * SPATE_NS_PER_US)
#define BACKOFF_VALUES 32

/* Channel activity detection looks at two symbols (common to the LoRa data sheets). */
#define CAD_SYMBOLS 2

static int64_t
no_wait_ns(const SpateBearer *bearer)
{
    return 0;
}

static int64_t
difs_ns(const SpateBearer *bearer)
{
    return DIFS_NS;
}

static int64_t
look_ns(const SpateBearer *bearer)
{
    return CAD_SYMBOLS * bearer->modulation.kind->symbol_ns(&bearer->modulation);
}

typedef enum {
    STAGE_IDLE,
    STAGE_DUTY,    /* waits for the hour to have room */
    STAGE_LOCKED,  /* waits for the end of a lock (and the turnaround) */
    STAGE_LOOKING, /* cad: looks at the channel */
    STAGE_WAITING, /* cad: found it busy */
    STAGE_BACKOFF, /* csma: counts down, or is frozen */
    STAGE_STARTING /* will begin, unless a lock comes first */
} Stage;

typedef struct {
    Stage stage;
    int64_t airtime_ns;
    uint64_t identity;
    int64_t requested_ns, duty_over_ns;
    SpateEventId event;
    SpateRandom random;
    int looks;             /* cad: those that counted as a try */
    uint64_t n_looks;      /* cad: all, also those after a lock */
    bool sends_anyway;     /* cad: looked often enough */
    int64_t slots_left;    /* csma */
    int64_t count_from_ns; /* csma: SPATE_NEVER_NS while frozen */
    SpateDutyLog log;
} Request;

struct SpateAccessControl {
    SpateEventQueue *queue;
    SpateChannel *channel;
    const SpateMedium *medium;
    uint64_t backoff_key, detection_key;
    SpateMaySendFunc may_send;
    gpointer user;
    Request *requests; /* by radio */
    int64_t *look_ns;  /* cad: by bearer */
};

static void turn_to_channel(SpateAccessControl *access, uint32_t radio);

static const SpateBearer *
bearer_of(const SpateAccessControl *access, uint32_t radio)
{
    return &access->medium->bearers[access->medium->bearer[radio]];
}

static void
schedule(SpateAccessControl *access, uint32_t radio, int64_t at_ns, SpateRank rank,
         SpateEventFunc happen)
{
    Request *request = &access->requests[radio];
    spate_event_queue_cancel(access->queue, request->event);
    request->event = spate_event_queue_schedule(access->queue, at_ns, rank, happen, access, radio);
}

/* From when on the turnaround after the last lock allows a sending. */
static int64_t
turned_round_ns(const SpateAccessControl *access, uint32_t radio)
{
    int64_t ended_ns = spate_channel_lock_ended_ns(access->channel, radio);
    return ended_ns == INT64_MIN ? INT64_MIN : ended_ns + bearer_of(access, radio)->turnaround_ns;
}

static void
wait_for_lock(SpateAccessControl *access, uint32_t radio)
{
    access->requests[radio].stage = STAGE_LOCKED;
    spate_channel_watch(access->channel, radio, true);
}

static void
grant(SpateAccessControl *access, uint32_t radio)
{
    Request *request = &access->requests[radio];
    int64_t now_ns = spate_event_queue_now_ns(access->queue);
    SpateAccessWaits waits = {
        .duty_ns = request->duty_over_ns - request->requested_ns,
        .access_ns = now_ns - request->duty_over_ns,
    };
    request->stage = STAGE_IDLE;
    spate_channel_watch(access->channel, radio, false);
    if (bearer_of(access, radio)->duty_limit_ns > 0)
        spate_duty_log_note(&request->log, now_ns, now_ns + request->airtime_ns);
    access->may_send(access->user, radio, waits);
}

/* The instant to begin has come: every radio that may begin now begins, whatever others do. */
static void
begin_or_wait(gpointer subject, uint32_t radio)
{
    SpateAccessControl *access = subject;
    Request *request = &access->requests[radio];
    request->event = 0;
    if (!spate_channel_is_locked(access->channel, radio) &&
        turned_round_ns(access, radio) <= spate_event_queue_now_ns(access->queue))
        grant(access, radio);
    else
        turn_to_channel(access, radio);
}

/* Begins now, or as soon as the turnaround is over. */
static void
start(SpateAccessControl *access, uint32_t radio)
{
    int64_t now_ns = spate_event_queue_now_ns(access->queue);
    access->requests[radio].stage = STAGE_STARTING;
    schedule(access, radio, MAX(now_ns, turned_round_ns(access, radio)), SPATE_RANK_START,
             begin_or_wait);
}

/* cad */

typedef struct {
    const SpateAccessControl *access;
    uint32_t radio;
    bool busy;
} Detection;

static void
detect(gpointer user, const SpateAirFrame *frame, bool in_preamble)
{
    Detection *detection = user;
    const SpateAccess *settings = &bearer_of(detection->access, detection->radio)->access;
    if (detection->busy || !(in_preamble || settings->cad_payload))
        return;
    const Request *request = &detection->access->requests[detection->radio];
    uint64_t look = spate_hash_combine(request->identity, request->n_looks);
    SpateRandom random = spate_random_stream(detection->access->detection_key,
                                             spate_hash_combine(look, frame->identity));
    if (settings->cad_detection >= 1.0 || spate_random_unit(&random) < settings->cad_detection)
        detection->busy = true;
}

static void
wait_is_over(gpointer subject, uint32_t radio)
{
    SpateAccessControl *access = subject;
    access->requests[radio].event = 0;
    turn_to_channel(access, radio);
}

static void
look_is_over(gpointer subject, uint32_t radio)
{
    SpateAccessControl *access = subject;
    Request *request = &access->requests[radio];
    const SpateAccess *settings = &bearer_of(access, radio)->access;
    request->event = 0;

    request->n_looks++;
    Detection detection = {.access = access, .radio = radio};
    spate_channel_audible_now(access->channel, radio, detect, &detection);
    if (!detection.busy) {
        if (spate_channel_is_locked(access->channel, radio))
            wait_for_lock(access, radio);
        else
            start(access, radio);
        return;
    }
    request->looks++;
    if (request->looks >= settings->cad_tries) {
        request->sends_anyway = true;
        turn_to_channel(access, radio);
        return;
    }
    int64_t airtimes =
        1 + (int64_t)spate_random_below(&request->random, (uint64_t)settings->cad_slots);
    request->stage = STAGE_WAITING;
    schedule(access, radio,
             spate_event_queue_now_ns(access->queue) + airtimes * request->airtime_ns,
             SPATE_RANK_TIMER, wait_is_over);
}

static void
look(SpateAccessControl *access, uint32_t radio)
{
    access->requests[radio].stage = STAGE_LOOKING;
    schedule(access, radio,
             spate_event_queue_now_ns(access->queue) +
                 access->look_ns[access->medium->bearer[radio]],
             SPATE_RANK_TIMER, look_is_over);
}

/* csma */

static bool
is_busy(const SpateAccessControl *access, uint32_t radio)
{
    return spate_channel_is_locked(access->channel, radio) ||
           spate_channel_is_sending(access->channel, radio) ||
           spate_channel_energy_is_high(access->channel, radio);
}

/* The channel became busy: the slots that have passed are used up. */
static void
freeze(SpateAccessControl *access, uint32_t radio)
{
    Request *request = &access->requests[radio];
    if (request->count_from_ns == SPATE_NEVER_NS)
        return;
    int64_t counted_ns = spate_event_queue_now_ns(access->queue) - request->count_from_ns;
    if (counted_ns > 0)
        request->slots_left -= MIN(request->slots_left, counted_ns / SLOT_NS);
    request->count_from_ns = SPATE_NEVER_NS;
    spate_event_queue_cancel(access->queue, request->event);
    request->event = 0;
}

/* DIFS from now: the channel has become idle, or the frame has reached the head of the queue. */
static void
count_down(SpateAccessControl *access, uint32_t radio)
{
    Request *request = &access->requests[radio];
    if (request->count_from_ns != SPATE_NEVER_NS)
        return;
    request->count_from_ns = spate_event_queue_now_ns(access->queue) + DIFS_NS;
    int64_t at_ns = request->count_from_ns + request->slots_left * SLOT_NS;
    schedule(access, radio, MAX(at_ns, turned_round_ns(access, radio)), SPATE_RANK_START,
             begin_or_wait);
}

static void
contend(SpateAccessControl *access, uint32_t radio)
{
    access->requests[radio].stage = STAGE_BACKOFF;
    if (is_busy(access, radio))
        freeze(access, radio);
    else
        count_down(access, radio);
}

/* ---- methods --------------------------------------------------------------------------------- */

static void
start_unless_locked(SpateAccessControl *access, uint32_t radio)
{
    if (spate_channel_is_locked(access->channel, radio))
        wait_for_lock(access, radio);
    else
        start(access, radio);
}

static void
look_unless_locked(SpateAccessControl *access, uint32_t radio)
{
    if (access->requests[radio].sends_anyway || spate_channel_is_locked(access->channel, radio))
        start_unless_locked(access, radio);
    else
        look(access, radio);
}

static void
watch_and_contend(SpateAccessControl *access, uint32_t radio)
{
    spate_channel_watch(access->channel, radio, true);
    contend(access, radio);
}

typedef struct {
    SpateAccessInfo info;
    void (*turn_to_channel)(SpateAccessControl *access, uint32_t radio);
} Method;

static const Method METHODS[SPATE_N_ACCESS_METHODS] = {
    [SPATE_ACCESS_NONE] = {{.least_ns = no_wait_ns}, start_unless_locked},
    [SPATE_ACCESS_CAD] = {{.least_ns = look_ns}, look_unless_locked},
    [SPATE_ACCESS_CSMA] = {{.senses_power = true, .draws_each_wait = true, .least_ns = difs_ns},
                           watch_and_contend},
};

const SpateAccessInfo *
spate_access_info(SpateAccessMethod method)
{
    return &METHODS[method].info;
}

/* The duty cycle allows the frame: only the channel may still delay it. */
static void
turn_to_channel(SpateAccessControl *access, uint32_t radio)
{
    METHODS[bearer_of(access, radio)->access.method].turn_to_channel(access, radio);
}

static void
enter_channel(SpateAccessControl *access, uint32_t radio)
{
    Request *request = &access->requests[radio];
    request->duty_over_ns = spate_event_queue_now_ns(access->queue);
    request->random = spate_random_stream(access->backoff_key, request->identity);
    request->looks = 0;
    request->n_looks = 0;
    request->sends_anyway = false;
    /* The first draw is that of the backoff, also where the method needs none. */
    if (METHODS[bearer_of(access, radio)->access.method].info.draws_each_wait)
        request->slots_left = (int64_t)spate_random_below(&request->random, BACKOFF_VALUES);
    else
        spate_random_skip(&request->random);
    request->count_from_ns = SPATE_NEVER_NS;
    turn_to_channel(access, radio);
}

static void
hour_has_room(gpointer subject, uint32_t radio)
{
    SpateAccessControl *access = subject;
    access->requests[radio].event = 0;
    enter_channel(access, radio);
}

void
spate_access_request(SpateAccessControl *access, uint32_t radio, int64_t airtime_ns,
                     uint64_t identity)
{
    Request *request = &access->requests[radio];
    g_assert(request->stage == STAGE_IDLE && request->event == 0);
    g_assert(!spate_channel_is_sending(access->channel, radio));
    int64_t now_ns = spate_event_queue_now_ns(access->queue);
    int64_t limit_ns = bearer_of(access, radio)->duty_limit_ns;
    request->airtime_ns = airtime_ns;
    request->identity = identity;
    request->requested_ns = now_ns;
    int64_t earliest_ns =
        limit_ns > 0 ? spate_duty_log_earliest_ns(&request->log, now_ns, airtime_ns, limit_ns)
                     : now_ns;
    if (earliest_ns <= now_ns) {
        enter_channel(access, radio);
        return;
    }
    request->stage = STAGE_DUTY;
    /* A frame longer than the hour allows waits for ever. */
    if (earliest_ns < SPATE_NEVER_NS)
        schedule(access, radio, earliest_ns, SPATE_RANK_TIMER, hour_has_room);
}

void
spate_access_withdraw(SpateAccessControl *access, uint32_t radio)
{
    Request *request = &access->requests[radio];
    spate_event_queue_cancel(access->queue, request->event);
    request->event = 0;
    request->stage = STAGE_IDLE;
    spate_channel_watch(access->channel, radio, false);
}

void
spate_access_channel_changed(SpateAccessControl *access, uint32_t radio)
{
    switch (access->requests[radio].stage) {
    case STAGE_LOCKED:
        if (!spate_channel_is_locked(access->channel, radio)) {
            spate_channel_watch(access->channel, radio, false);
            turn_to_channel(access, radio);
        }
        break;
    case STAGE_BACKOFF:
        contend(access, radio);
        break;
    case STAGE_IDLE:
    case STAGE_DUTY:
    case STAGE_LOOKING:
    case STAGE_WAITING:
    case STAGE_STARTING:
        break;
    }
}

SpateAccessControl *
spate_access_new(SpateEventQueue *queue, SpateChannel *channel, const SpateMedium *medium,
                 uint64_t seed, uint32_t replication, SpateMaySendFunc may_send, gpointer user)
{
    SpateAccessControl *access = g_new0(SpateAccessControl, 1);
    access->queue = queue;
    access->channel = channel;
    access->medium = medium;
    access->backoff_key = spate_random_key(seed, replication, SPATE_FOR_BACKOFF);
    access->detection_key = spate_random_key(seed, replication, SPATE_FOR_DETECTION);
    access->may_send = may_send;
    access->user = user;
    access->requests = g_new0(Request, MAX(medium->n_radios, 1));
    access->look_ns = g_new0(int64_t, MAX(medium->n_bearers, 1));
    for (uint32_t b = 0; b < medium->n_bearers; b++)
        access->look_ns[b] = look_ns(&medium->bearers[b]);
    return access;
}

void
spate_access_free(SpateAccessControl *access)
{
    if (access == NULL)
        return;
    for (uint32_t r = 0; r < access->medium->n_radios; r++)
        spate_duty_log_clear(&access->requests[r].log);
    g_free(access->look_ns);
    g_free(access->requests);
    g_free(access);
}
