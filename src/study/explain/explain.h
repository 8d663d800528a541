/* explain.h - why a message did not arrive, or how it got where it should not
 *
 * Runs one replication again and follows one message: when it was offered, where it got to, hop by
 * hop, and what stopped it at each frontier: the outcome and the disturber of a reception, the rule
 * with its line, the policy, the hop limit, a full queue.  What it found is a list of facts;
 * report/check/explanation-words.h makes sentences of them, one each.
 */
#pragma once

#include "measure/message-trace.h"
#include "mesh/plan.h"
#include "scenario/world/world.h"

typedef enum {
    SPATE_EXPLAIN_NOT_REACHED,      /* it should have been at `node` within `within_ns` */
    SPATE_EXPLAIN_REACHED,          /* it should not have come to `node` */
    SPATE_EXPLAIN_NOT_ACKNOWLEDGED, /* by its one recipient */
    SPATE_EXPLAIN_SENT_ON           /* no frame of it should have been sent on `bearer` */
} SpateExplainQuestion;

typedef struct {
    SpateExplainQuestion question;
    SpateMessageWanted message;
    uint32_t node, bearer; /* the one that the question is about */
    int64_t within_ns;     /* NOT_REACHED: 0 if ever */
} SpateExplainWanted;

/* In brackets: the members that are set, beside `kind`. */
typedef enum {
    /* Answers, before the steps that show them. */
    SPATE_FACT_NEVER_REACHED, /* [node] */
    SPATE_FACT_REACHED,       /* [node] */
    SPATE_FACT_REACHED_LATE,  /* [node, after_ns, within_ns] */
    SPATE_FACT_ANSWER_LOST,   /* the node answered, and the source never heard it [node, sender,
                                 after_ns] */
    SPATE_FACT_NEVER_SENT_ON, /* [bearer] */
    SPATE_FACT_WAS_SENT_ON,   /* [node, bearer] */
    SPATE_FACT_WHERE_IT_ARRIVED,
    SPATE_FACT_WHERE_IT_STOPPED,
    /* Steps [after_ns, node, bearer]. */
    SPATE_FACT_ARRIVED,  /* [sender, hops, is_in_digest, margin_db] */
    SPATE_FACT_LOST,     /* [sender, margin_db, outcome, disturber] */
    SPATE_FACT_DECIDED,  /* [decision] */
    SPATE_FACT_DIGESTED, /* the node put it in a digest, for any bearer */
    SPATE_FACT_WAITED,   /* in the queue, before it was sent [wait] */
    SPATE_FACT_SENT,
    SPATE_FACT_DROPPED,  /* [cause] */
    SPATE_FACT_PENDING,  /* in the queue, or by a rule, when the run ends [duty_limit_ns] */
    SPATE_FACT_MORE,     /* steps like those before [n_more] */
    SPATE_FACT_WAS_DOWN, /* [node, from_ns, to_ns] */
    /* Out of reach. */
    SPATE_FACT_NO_SENDER,   /* nobody sent it on a bearer of that node [node] */
    SPATE_FACT_HEARS_NONE,  /* of those that sent it [node, bearer, sender, margin_db] */
    SPATE_FACT_RELAY_MISSED /* likewise, of a node that would have relayed it */
} SpateFactKind;

typedef struct {
    bool is_known;
    const char *node, *bearer; /* NULL: other people's traffic */
} SpateFactDisturber;

typedef struct {
    SpateDecision kind;
    uint32_t hops;
    const char *crossing; /* NULL: its relay decided */
    bool is_by_rule;      /* else by `otherwise`, or by no rule at all */
    SpateRuleAction action;
    uint32_t rule, rule_line; /* the number, from 0; 0: it is not in the file */
    SpateFloodPolicy policy;
} SpateFactDecision;

typedef struct {
    int64_t all_ns;
    int64_t behind_ns, duty_ns, access_ns; /* its parts; behind other frames */
} SpateFactWait;

typedef struct {
    SpateFactKind kind;
    int64_t after_ns; /* since the offer */
    const char *node, *bearer, *sender;
    double margin_db; /* of the level over the receiver's sensitivity; NAN: not known */
    uint32_t hops, n_more;
    bool is_in_digest;
    SpateOutcome outcome;
    SpateFactDisturber disturber;
    SpateFactDecision decision;
    SpateFactWait wait;
    SpateDropCause cause;
    int64_t within_ns, duty_limit_ns; /* 0: none */
    int64_t from_ns, to_ns;           /* of the run; to_ns SPATE_NEVER_NS: to its end */
} SpateFact;

typedef struct {
    uint32_t replication;
    const char *file, *traffic, *origin;
    int64_t offered_ns; /* -1: it was not offered, and there are no facts */
    GArray *facts;      /* SpateFact, in the order in which they are told */
    GPtrArray *silent;  /* names of nodes that have it and do not relay it: seldom the reason */
    uint32_t n_more_silent;
    GStringChunk *names; /* all of them */
} SpateExplanation;

/* The numbers in what is wanted are those of the replication's own world.  Fails as a run of the
 * replication would. */
SpateExplanation *spate_explain(const SpateWorld *world, uint32_t replication,
                                const SpateExplainWanted *wanted, GError **error);
void spate_explanation_free(SpateExplanation *explanation);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateExplanation, spate_explanation_free)
