/* history.h - what happened in one run, so that two implementations can be compared
 *
 * The oracle (oracle.h) and the program (played.h) each tell a run in this form: every frame with
 * what became of it at every other radio, every delivery, every refusal at a crossing, every
 * frame that was dropped, every step of a node.  Things are named by what both know: numbers of
 * nodes, bearers, traffics in the order of their names, of crossings as in SpateScenario (by node,
 * then in the order of the file), messages by their traffic, their source and when they were
 * offered.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

typedef struct {
    uint32_t traffic, source;
    int64_t offered_ns; /* of a further try, of an acknowledgement: when the message was offered */
    uint32_t attempt;   /* 1; of further tries 2 and more; 0: an acknowledgement */
} HistoryMessage;

typedef enum {
    HISTORY_INAUDIBLE,
    HISTORY_RECEIVED,
    HISTORY_LOST_COLLISION,
    HISTORY_LOST_BUSY,
    HISTORY_LOST_SENDING,
    HISTORY_LOST_BLOCKED,
    HISTORY_LOST_ASLEEP
} HistoryOutcome;

#define HISTORY_NOBODY UINT32_MAX

typedef struct {
    HistoryOutcome outcome;
    /* Who is to blame, or HISTORY_NOBODY; ambient sources are n_nodes + their number. */
    uint32_t disturber_node, disturber_bearer;
} HistoryFate;

typedef struct {
    HistoryMessage message;
    uint32_t node, bearer; /* the sender's radio */
    uint32_t hops;         /* transmissions on its way, this one included */
    int64_t start_ns, end_ns;
    HistoryFate *fates; /* by node, n_nodes of them: its radio on the frame's bearer */
} HistoryFrame;

typedef struct {
    HistoryMessage message;
    uint32_t node; /* a recipient; of an acknowledgement the source; for the first time */
    uint32_t hops;
    int64_t at_ns;
} HistoryDelivery;

typedef struct {
    HistoryMessage message;
    uint32_t crossing;
    int64_t at_ns;
} HistoryRefusal;

typedef enum {
    HISTORY_DROPPED_QUEUE,
    HISTORY_DROPPED_EXPIRED,
    HISTORY_DROPPED_SIZE,
    HISTORY_DROPPED_OUTAGE
} HistoryDropCause;

typedef struct {
    HistoryMessage message;
    uint32_t node, bearer;
    HistoryDropCause cause;
    int64_t at_ns;
} HistoryDrop;

typedef struct {
    uint32_t node;
    int64_t at_ns;
    double east, north; /* from then on, in metres or in degrees */
    bool in_degrees;
} HistoryMove;

typedef struct {
    uint32_t n_nodes, n_bearers;
    GArray *frames;     /* HistoryFrame that ended within the run, by start, node, bearer */
    GArray *deliveries; /* HistoryDelivery, by time, node, message */
    GArray *refusals;   /* HistoryRefusal, by time, crossing, message */
    GArray *drops;      /* HistoryDrop, by time, node, bearer, message */
    GArray *moves;      /* HistoryMove, by time, node */
    /* How near the nearest comparison of levels came to a tie, as a ratio: 0.001 is a part in a
     * thousand.  Two right implementations may differ below what their arithmetic resolves. */
    double closest;
    /* Of all frames that waited a jitter, whether they were sent then or not.  The oracle alone
     * knows. */
    int64_t longest_airtime_ns;
} History;

History *history_new(uint32_t n_nodes, uint32_t n_bearers);
void history_free(History *history);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(History, history_free)

/* Appends a frame with all fates inaudible; the caller fills it before the next is added. */
HistoryFrame *history_add_frame(History *history);
/* Puts all lists in the order above. */
void history_sort(History *history);

/* As results spell it: "lost-busy". */
const char *history_outcome_word(HistoryOutcome outcome);

/* The first difference in time as a sentence, NULL if there is none; free with g_free().  Times no
 * further apart than slack_ns are the same: where a wait follows from a level (`weakest-first`),
 * its last digits hang on the arithmetic. */
char *history_difference(const History *expected, const History *got, int64_t slack_ns);
