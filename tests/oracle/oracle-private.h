/* oracle-private.h - the state of one run of the oracle, and what its parts ask of each other
 *
 * The parts follow the sections of docs/model.md: oracle-frames.c (Frames), oracle-bearers.c
 * (noise, protection), oracle-places.c and oracle-links.c (Links), oracle-air.c and oracle-tests.c
 * (A frame at a receiver), oracle-access.c and oracle-queues.c (Access to the channel),
 * oracle-mesh.c, oracle-ways.c and oracle-rules.c (Flooding and bridges), oracle-answers.c
 * (Messages that want an answer), oracle-routes.c (ways that frames list), oracle-sleep.c (Radios
 * that sleep), oracle-outages.c (Outages), oracle-moves.c (Nodes that move), oracle-offers.c
 * (traffic and other people's transmitters).
 *
 * Nothing is scheduled.  oracle.c asks every part for the next instant at which something of
 * theirs happens, goes there, and lets all of them look.
 */
#pragma once

#include "core/random.h"
#include "core/time.h"
#include "oracle/history.h"
#include "scenario/scenario.h"

typedef struct OracleMessage OracleMessage;
typedef struct OracleSending OracleSending;
typedef struct OracleFrame OracleFrame;

/* ---- messages -------------------------------------------------------------------------------- */

typedef struct {
    OracleMessage *message;
    uint32_t hops; /* done before it was collected */
} OracleCarried;

/* A message that wants an answer, with all its tries. */
typedef struct {
    OracleMessage *asked, *last_try;
    int64_t last_try_ns;
    uint32_t n_tries;
    uint32_t version; /* of the route that the last try took; 0: it flooded */
    bool must_flood;  /* the next try */
    bool is_open;     /* the source waits */
    bool is_delivered, is_acknowledged;
} OracleExchange;

struct OracleMessage {
    HistoryMessage name;
    uint64_t identity; /* draws are keyed by it */
    uint32_t number;   /* in the order of offers */
    uint32_t payload_bytes;
    GArray *carried;          /* of a digest: OracleCarried; else NULL */
    bool *is_delivered;       /* by node */
    OracleExchange *exchange; /* NULL: no answer is wanted */
    bool is_answered;         /* a try, as far as its recipient remembers */
    uint32_t n_answers;
    GArray *route;     /* OracleHop, from the source on; NULL: it floods */
    uint32_t n_listed; /* nodes in each of its frames */
};

/* One transmission of a way: two radios. */
typedef struct {
    uint32_t from, to;
} OracleHop;

/* An offer that a delivery has brought about. */
typedef struct {
    int64_t at_ns;
    uint32_t node, traffic;
    uint64_t identity;
} OracleFollowing;

/* What a source knows. */
typedef struct {
    uint32_t source, recipient, version;
    GArray *route; /* OracleHop */
} OracleLearned;

/* A node remembers a message. */
typedef struct {
    OracleMessage *message;
    int64_t since_ns;
    uint32_t copies; /* further ones since */
    bool *is_sent;   /* by bearer: sent there, or bound to be */
} OracleKnown;

typedef enum {
    ORACLE_DELAYED, /* until the bearer is quieter */
    ORACLE_JITTER,
    ORACLE_QUEUED,
    ORACLE_ON_AIR,
    ORACLE_OVER /* sent, dropped or cancelled */
} OracleStage;

/* A message that a radio sends, or means to. */
struct OracleSending {
    OracleMessage *message;
    uint32_t radio;
    uint32_t hops; /* this transmission included */
    uint32_t frame_bytes;
    int64_t airtime_ns;
    uint64_t identity;
    bool is_relay; /* not a crossing, not an own message */
    double wait;   /* weakest-first: share of the longest jitter; NAN: drawn */
    OracleStage stage;
    int64_t at_ns;   /* DELAYED: next look; JITTER: its end; QUEUED: since when */
    int64_t over_ns; /* OVER: since when */
    int64_t came_ns; /* DELAYED: since when */
    const SpateRule *delay;
    GArray *path; /* OracleHop: how it came to the sender, where frames record it */
};

/* ---- radios ---------------------------------------------------------------------------------- */

/* How far the head of a queue is on its way to the air. */
typedef enum {
    ORACLE_HEAD_NEW,      /* nothing was asked yet */
    ORACLE_HEAD_DUTY,     /* the hour has no room for it */
    ORACLE_HEAD_CHANNEL,  /* may turn to the channel when the radio is free */
    ORACLE_HEAD_LOOKING,  /* cad */
    ORACLE_HEAD_WAITING,  /* cad: until the next look */
    ORACLE_HEAD_COUNTING, /* csma */
    ORACLE_HEAD_READY
} OracleHeadStage;

typedef struct {
    OracleSending *sending; /* NULL: none */
    OracleHeadStage stage;
    int64_t at_ns; /* end of the stage; csma: when slots are counted from */
    SpateRandom draws;
    int64_t slots_left;
    int busy_looks;
    uint64_t looks;
    bool sends_anyway;
} OracleHead;

typedef struct {
    int64_t from_ns, to_ns; /* to_ns SPATE_NEVER_NS: still */
} OracleSpan;

typedef struct {
    uint32_t node, bearer;
    const SpateScenarioRadio *settings;
    uint64_t node_hash, bearer_hash;
    /* Linear, in mW. */
    double noise_mw, sensitivity_mw, required_snr;

    int64_t phase_ns; /* when the first listening window begins, if it sleeps */
    OracleFrame *sending, *locked;
    int64_t locked_ns;    /* since when */
    int64_t unlocked_ns;  /* end of the last lock; SPATE_NEVER_NS: none yet */
    GArray *sent, *locks; /* OracleSpan of each frame, of each lock */

    GPtrArray *queue; /* OracleSending, head first */
    OracleHead head;
    bool channel_is_busy; /* csma */
} OracleRadio;

/* ---- frames on the air ----------------------------------------------------------------------- */

/* A frame at one radio of its bearer. */
typedef struct {
    bool is_audible;
    bool was_locked, was_captured, has_failed;
    bool is_gone;      /* an outage: the pair counts nowhere */
    bool passes_alone; /* every test that it failed it had passed without the node's own radios */
    HistoryOutcome at_critical; /* what the radio did then, as the outcome that follows */
    const OracleFrame *disturber;
} OracleHearing;

struct OracleFrame {
    OracleSending *sending; /* NULL: ambient */
    uint32_t radio;         /* HISTORY_NOBODY: ambient */
    uint32_t node, bearer;  /* as told in a history */
    uint64_t identity;
    int64_t start_ns, critical_ns, header_ns, end_ns;
    double *median_mw, *fading; /* by radio */
    OracleHearing *hearings;    /* by radio */
};

/* ---- the whole ------------------------------------------------------------------------------- */

typedef struct OracleAmbient OracleAmbient;

/* A node that moves. */
typedef struct {
    uint32_t node;
    SpatePosition start;
    double way_m;     /* from its own place to the last point */
    uint64_t n_steps; /* done */
} OracleMover;

typedef struct {
    const SpateScenario *scenario;
    uint32_t replication;
    History *history;
    int64_t now_ns;

    OracleRadio *radios; /* by node, then bearer */
    uint32_t n_radios;
    SpatePosition *places; /* by node */
    GArray *movers;        /* OracleMover, by node */
    double *shadow;        /* (bearer * n_nodes + a) * n_nodes + b, in units of sigma */
    double *link_dbm;      /* from radio * n_radios + to radio, without fading */
    double *ambient_dbm;   /* source * n_radios + radio */
    GPtrArray *frames;     /* OracleFrame on the air, in the order of their beginnings */
    GPtrArray *gone;       /* and those that were */

    GPtrArray *messages, *sendings; /* all that ever were */
    GPtrArray *under_way;           /* OracleSending, DELAYED or JITTER */
    GPtrArray **known;              /* by node: OracleKnown, oldest first */
    GPtrArray *digests;             /* open ones */
    GPtrArray *exchanges;           /* OracleExchange, all that ever were */
    GPtrArray *learned;             /* OracleLearned, that hold */
    uint32_t n_versions;
    GPtrArray *memories;  /* of rules */
    GPtrArray *following; /* OracleFollowing, to be offered */
    GArray **outages;     /* by node: OracleSpan in which it is down */
    bool *is_down;        /* by node */
    GArray *offers;       /* all of the run, in their order */
    guint next_offer;
    OracleAmbient *ambient;
} Oracle;

/* NULL: the node has no radio there. */
OracleRadio *oracle_radio(const Oracle *oracle, uint32_t node, uint32_t bearer);
static inline const SpateBearer *
oracle_bearer(const Oracle *oracle, uint32_t bearer)
{
    return &oracle->scenario->bearers[bearer].radio;
}
static inline const SpateScenarioNode *
oracle_node(const Oracle *oracle, uint32_t node)
{
    return &oracle->scenario->nodes[node];
}
uint64_t oracle_key(const Oracle *oracle, SpatePurpose purpose, bool anew);

/* What is equal to the last digits is meant to be: both were reckoned from the same figures. */
bool oracle_are_equal(double a, double b);
/* Notes how near a comparison came to a tie, of two that may be equal. */
void oracle_note_closeness(Oracle *oracle, double a, double b);
/* The same where equal figures are chance. */
void oracle_note_threshold(Oracle *oracle, double value, double threshold);

/* ---- oracle-frames.c ------------------------------------------------------------------------- */

bool oracle_is_lora(const SpateBearer *bearer);
int64_t oracle_airtime_ns(const SpateBearer *bearer, uint32_t frame_bytes);
/* From the start of a frame. */
int64_t oracle_critical_ns(const SpateBearer *bearer);
int64_t oracle_header_ns(const SpateBearer *bearer);
double oracle_symbol_ns(const SpateBearer *bearer);
/* What `cad` listens for. */
int64_t oracle_look_ns(const SpateBearer *bearer);
double oracle_bandwidth_hz(const SpateBearer *bearer);

/* ---- oracle-bearers.c ------------------------------------------------------------------------ */

double oracle_noise_dbm(const SpateBearer *bearer);
double oracle_sensitivity_dbm(const SpateBearer *bearer);
/* How much of the other's power a receiver takes in, and its protection ratio against that. */
typedef struct {
    double share, protection;
} OracleInterference;
OracleInterference oracle_interference(const SpateBearer *wanted, const SpateBearer *other);
/* Of ambient sources: noise on that channel. */
OracleInterference oracle_ambient_interference(const SpateBearer *wanted,
                                               const SpateBearer *channel);
double oracle_csma_threshold_dbm(const SpateBearer *bearer, double power_dbm);

/* ---- oracle-places.c, oracle-links.c --------------------------------------------------------- */

SpatePosition oracle_place(const Oracle *oracle, uint32_t node);
double oracle_distance_m(SpatePosition a, SpatePosition b);
/* oracle-earth.c: places in degrees.  Bearings in radians, from north to east. */
double oracle_way_m(SpatePosition a, SpatePosition b, double *bearing);
SpatePosition oracle_place_towards(SpatePosition a, double bearing, double distance_m);
double oracle_parallel_deg(double from_deg, double to_deg, double area_share);
double oracle_antenna_dbi(const SpateAntenna *antenna, SpatePosition from, SpatePosition to);
double oracle_path_loss_db(const SpatePathModel *model, double frequency_hz, SpatePosition a,
                           SpatePosition b);
/* What the start of the run draws. */
void oracle_draw_shadows(Oracle *oracle);
/* The node has gone so far, in the step of that number. */
void oracle_change_shadows(Oracle *oracle, uint32_t node, double gone_m, uint64_t step);
/* From the places and shadows as they are. */
void oracle_make_links(Oracle *oracle);
/* Where a node that moves is so near another that sums take in no more (docs/model.md, Nodes that
 * move), nothing can be compared. */
void oracle_note_close_encounters(Oracle *oracle);
/* A factor on the power of a frame that starts now. */
double oracle_fading(const Oracle *oracle, uint64_t frame_identity, uint64_t sender_hash,
                     uint32_t sender_bearer, const OracleRadio *receiver);
uint64_t oracle_ambient_hash(const Oracle *oracle, uint32_t source);

/* ---- oracle-air.c, oracle-tests.c ------------------------------------------------------------ */

void oracle_end_frames(Oracle *oracle);
void oracle_begin_critical_parts(Oracle *oracle);
/* Appends a frame to the air; oracle_heed_starts() follows when all of the instant have begun. */
void oracle_begin_frame(Oracle *oracle, OracleSending *sending);
void oracle_begin_burst(Oracle *oracle, uint32_t source, int64_t airtime_ns, uint64_t identity);
void oracle_heed_starts(Oracle *oracle);
int64_t oracle_next_on_air_ns(const Oracle *oracle);
void oracle_frame_free(gpointer frame);

/* Rule 3. */
bool oracle_survives(Oracle *oracle, const OracleFrame *frame, const OracleRadio *at,
                     bool without_own);
/* Of the largest share; NULL: no other frame is on the air. */
const OracleFrame *oracle_find_disturber(Oracle *oracle, const OracleFrame *frame,
                                         const OracleRadio *at);
/* Power of a frame of the receiver's bearer. */
double oracle_power_mw(const Oracle *oracle, const OracleFrame *frame, const OracleRadio *at);
/* Power of any frame within the receiver's bandwidth. */
double oracle_power_in_channel_mw(const Oracle *oracle, const OracleFrame *frame,
                                  const OracleRadio *at);
/* A listening radio takes the best that it still can. */
void oracle_look_for_frames(Oracle *oracle);

/* ---- oracle-sleep.c -------------------------------------------------------------------------- */

/* Of the windows of a radio that sleeps. */
int64_t oracle_phase_ns(const Oracle *oracle, const OracleRadio *radio);
bool oracle_is_asleep(const Oracle *oracle, const OracleRadio *radio);
/* How long it was awake between two instants of the past. */
int64_t oracle_awake_ns(const OracleRadio *radio, int64_t from_ns, int64_t to_ns);
/* Radios whose windows begin look for a frame. */
void oracle_begin_windows(Oracle *oracle);
int64_t oracle_next_window_ns(const Oracle *oracle);

/* ---- oracle-queues.c, oracle-access.c -------------------------------------------------------- */

void oracle_enqueue(Oracle *oracle, OracleSending *sending);
void oracle_cancel(Oracle *oracle, OracleSending *sending);
/* All that waits at a node that fails. */
void oracle_lose_frames(Oracle *oracle, uint32_t node);
void oracle_drop_expired(Oracle *oracle);
int64_t oracle_next_expiry_ns(const Oracle *oracle);

/* After ends and after timers. */
void oracle_watch_channels(Oracle *oracle);
void oracle_advance_heads(Oracle *oracle);
/* Radios that may begin to send now, do. */
void oracle_send_heads(Oracle *oracle);
int64_t oracle_next_access_ns(const Oracle *oracle);

/* ---- oracle-mesh.c, oracle-ways.c ------------------------------------------------------------ */

OracleMessage *oracle_new_message(Oracle *oracle, HistoryMessage name, uint64_t identity,
                                  uint32_t payload_bytes);
void oracle_offer(Oracle *oracle, HistoryMessage name, uint64_t identity);
/* A radio has received a frame to its end. */
void oracle_arrive(Oracle *oracle, OracleRadio *at, const OracleFrame *frame);
/* Delays, digests and jitters of that node that are over. */
void oracle_node_timers(Oracle *oracle, uint32_t node);
int64_t oracle_next_mesh_ns(const Oracle *oracle);

/* How a first copy came. */
typedef struct {
    OracleMessage *message;
    OracleKnown *known;
    const OracleRadio *at;
    uint32_t at_number; /* of that radio */
    const OracleSending *by;
    uint32_t hops;
    double power_dbm;
} OracleArrival;

void oracle_decide_ways(Oracle *oracle, const OracleArrival *arrival);
OracleSending *oracle_new_sending(Oracle *oracle, OracleMessage *message, const OracleRadio *radio,
                                  uint32_t hops);
void oracle_start_jitter(Oracle *oracle, OracleSending *sending);
/* Until the bearer is quieter, then for its jitter. */
void oracle_start_delay(Oracle *oracle, OracleSending *sending);
void oracle_note_refusal(Oracle *oracle, const OracleMessage *message, uint32_t crossing);
/* `weakest-first`: the share of the longest wait. */
double oracle_weakest_first_wait(const Oracle *oracle, const OracleArrival *arrival);
/* What a node sends or means to send on a radio of that message already. */
bool oracle_is_waiting(const Oracle *oracle, const OracleMessage *message, uint32_t radio);
uint32_t oracle_frame_bytes(const Oracle *oracle, const OracleRadio *radio, uint32_t payload_bytes,
                            uint32_t hops);

/* On all radios of its source, or on those that its traffic names. */
void oracle_send_out(Oracle *oracle, OracleMessage *message);
bool oracle_is_recipient(const Oracle *oracle, const OracleMessage *message, uint32_t node);
/* A node that fails knows none but its own. */
void oracle_forget_messages(const Oracle *oracle, uint32_t node);

/* ---- oracle-answers.c ------------------------------------------------------------------------ */

/* Of a message that was just offered. */
void oracle_open_exchange(Oracle *oracle, OracleMessage *message);
/* What came to a node, by itself or in a digest, and was sent on: tries are answered. */
void oracle_answer(Oracle *oracle, const OracleArrival *arrival, OracleMessage *message);
/* A message of an exchange has come to that node. */
void oracle_deliver_in_exchange(Oracle *oracle, OracleMessage *message, uint32_t node,
                                uint32_t hops);
/* After all else that enters queues at an instant. */
void oracle_try_again(Oracle *oracle);
int64_t oracle_next_try_ns(const Oracle *oracle);

/* ---- oracle-routes.c ------------------------------------------------------------------------- */

void oracle_free_learned(gpointer learned);
/* As the traffic of a new message says. */
void oracle_take_given_route(Oracle *oracle, OracleMessage *message);
/* As its source knows; 0: it knows none.  Else the version. */
uint32_t oracle_take_learned_route(Oracle *oracle, OracleMessage *message, uint32_t recipient);
/* An acknowledgement goes back the way of the try. */
void oracle_take_way_back(Oracle *oracle, const OracleArrival *arrival,
                          const OracleMessage *its_try, OracleMessage *answer);
/* Frames of a try that looks for its recipient say how they came. */
void oracle_record_path(const OracleArrival *arrival, OracleSending *sending);
void oracle_learn(Oracle *oracle, const OracleMessage *answer);
/* All that a node that fails has learned. */
void oracle_forget_routes(Oracle *oracle, uint32_t source);
void oracle_unlearn(Oracle *oracle, uint32_t source, uint32_t recipient, uint32_t version);
/* A routed message was received by a radio, whether it is meant or not. */
void oracle_arrive_along_route(Oracle *oracle, const OracleArrival *arrival);

/* ---- oracle-digests.c ------------------------------------------------------------------------ */

GPtrArray *oracle_new_digests(void);
void oracle_collect(Oracle *oracle, const OracleArrival *arrival, const OracleRadio *out,
                    const void *owner, const SpateRule *rule);
/* Whether an open digest of that radio holds it. */
bool oracle_is_collected(const Oracle *oracle, const OracleMessage *message, uint32_t radio);
void oracle_close_due_digests(Oracle *oracle, uint32_t node);
int64_t oracle_next_digest_ns(const Oracle *oracle);
void oracle_lose_digests(const Oracle *oracle, uint32_t node);

/* ---- oracle-rules.c -------------------------------------------------------------------------- */

/* The first rule that matches; NULL: none does.  `owner` names the list: each has a memory of its
 * own.  *passes is false if the rule holds back. */
const SpateRule *oracle_ask_rules(Oracle *oracle, const void *owner, const GArray *rules,
                                  const OracleArrival *arrival, bool *passes);
/* What the rules of a node that fails remember. */
void oracle_forget_rules(const Oracle *oracle, uint32_t node);
/* Share of the last five minutes in which the radio heard or sent, as of the last whole second. */
double oracle_occupancy(const Oracle *oracle, const OracleRadio *radio);

/* ---- oracle-outages.c ------------------------------------------------------------------------ */

void oracle_plan_outages(Oracle *oracle);
bool oracle_is_down(const Oracle *oracle, uint32_t node);
/* Those that begin and end at this instant. */
void oracle_heed_outages(Oracle *oracle);
int64_t oracle_next_outage_ns(const Oracle *oracle);

/* ---- oracle-moves.c -------------------------------------------------------------------------- */

void oracle_plan_moves(Oracle *oracle);
/* All steps of this instant. */
void oracle_make_steps(Oracle *oracle);
int64_t oracle_next_step_ns(const Oracle *oracle);

/* ---- oracle-offers.c ------------------------------------------------------------------------- */

void oracle_plan_offers(Oracle *oracle);
void oracle_make_offers(Oracle *oracle, uint32_t node);
/* Notes that a message came to a recipient for the first time, and what follows from it. */
void oracle_note_delivery(Oracle *oracle, const OracleMessage *message, uint32_t node,
                          uint32_t hops);
/* After all other timers of an instant. */
void oracle_offer_following(Oracle *oracle);
int64_t oracle_next_following_ns(const Oracle *oracle);
int64_t oracle_next_offer_ns(const Oracle *oracle);
void oracle_plan_ambient(Oracle *oracle);
void oracle_begin_bursts(Oracle *oracle);
int64_t oracle_next_burst_ns(const Oracle *oracle);
