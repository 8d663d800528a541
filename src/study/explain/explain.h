/* explain.h - why a message did not arrive, or how it got where it should not
 *
 * Runs one replication again and follows one message.  The text is for people: when the message
 * was offered, where it got to, hop by hop, and what stopped it at each frontier: the outcome
 * and the disturber of a reception, the rule with its line, the policy, the hop limit, a
 * full queue.  The last line of each case is something that can be changed.
 */
#pragma once

#include "measure/message-trace.h"
#include "scenario/world/world.h"

typedef enum {
    SPATE_EXPLAIN_NOT_REACHED, /* it should have been at `node` within `within_ns` */
    SPATE_EXPLAIN_REACHED,     /* it should not have come to `node` */
    SPATE_EXPLAIN_SENT_ON      /* no frame of it should have been sent on `bearer` */
} SpateExplainQuestion;

typedef struct {
    SpateExplainQuestion question;
    SpateMessageWanted message;
    uint32_t node, bearer; /* the one that the question is about */
    int64_t within_ns;     /* NOT_REACHED: 0 if ever */
} SpateExplainWanted;

/* The numbers in what is wanted are those of the replication's own world.  Several lines, each
 * ended with '\n', without indentation; free with g_free().  Fails as a run of the replication
 * would. */
char *spate_explain(const SpateWorld *world, uint32_t replication, const SpateExplainWanted *wanted,
                    GError **error);
