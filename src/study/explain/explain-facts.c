/* explain-facts.c - a step of a message as a fact */
#include "study/explain/explain-private.h"

#include "core/time.h"
#include <math.h>

static const char *
kept(const SpateInquiry *inquiry, const char *name)
{
    return g_string_chunk_insert_const(inquiry->found->names, name);
}

const char *
spate_inquiry_node(const SpateInquiry *inquiry, uint32_t node)
{
    return kept(inquiry, inquiry->plan->nodes[node].name);
}

const char *
spate_inquiry_bearer(const SpateInquiry *inquiry, uint32_t radio)
{
    return kept(inquiry, inquiry->plan->bearer_names[inquiry->plan->radios[radio].bearer]);
}

static const char *
node_of(const SpateInquiry *inquiry, uint32_t radio)
{
    return spate_inquiry_node(inquiry, inquiry->plan->radios[radio].node);
}

void
spate_inquiry_add(const SpateInquiry *inquiry, SpateFact fact)
{
    g_array_append_val(inquiry->found->facts, fact);
}

void
spate_inquiry_add_more(const SpateInquiry *inquiry, uint32_t n)
{
    if (n > SPATE_INQUIRY_MOST_LINES)
        spate_inquiry_add(
            inquiry, (SpateFact){.kind = SPATE_FACT_MORE, .n_more = n - SPATE_INQUIRY_MOST_LINES});
}

static SpateFact
fact_of(const SpateInquiry *inquiry, SpateFactKind kind, const SpateEvent *step)
{
    return (SpateFact){
        .kind = kind,
        .after_ns = step->at_ns - inquiry->trace->offered_ns,
        .node = spate_inquiry_node(inquiry, step->node),
        .bearer = spate_inquiry_bearer(inquiry, step->radio),
        .margin_db = NAN,
    };
}

/* ---- receptions ------------------------------------------------------------------------------ */

static const SpateReception *
find_reception(const SpateMessageTrace *trace, const SpateEvent *arrival)
{
    for (guint i = 0; i < trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(trace, i);
        if (step->kind != SPATE_EVENT_ENDED || step->radio != arrival->frame->radio ||
            step->at_ns != arrival->at_ns)
            continue;
        for (size_t k = 0; k < step->n_receptions; k++)
            if (step->receptions[k].receiver == arrival->radio)
                return &step->receptions[k];
    }
    return NULL;
}

static double
margin_db(const SpateInquiry *inquiry, const SpateReception *reception)
{
    return spate_medium_margin_db(inquiry->medium, reception->receiver, reception->power);
}

void
spate_inquiry_add_arrival(const SpateInquiry *inquiry, const SpateEvent *arrival)
{
    const SpateReception *reception = find_reception(inquiry->trace, arrival);
    SpateFact fact = fact_of(inquiry, SPATE_FACT_ARRIVED, arrival);
    fact.sender = node_of(inquiry, arrival->frame->radio);
    fact.hops = arrival->frame->hops;
    fact.is_in_digest = arrival->message->about != inquiry->trace->number;
    if (reception != NULL)
        fact.margin_db = margin_db(inquiry, reception);
    spate_inquiry_add(inquiry, fact);
}

void
spate_inquiry_add_loss(const SpateInquiry *inquiry, const SpateEvent *ended,
                       const SpateReception *reception)
{
    uint32_t disturber = reception->disturber;
    SpateFact fact = fact_of(inquiry, SPATE_FACT_LOST, ended);
    fact.node = node_of(inquiry, reception->receiver);
    fact.sender = spate_inquiry_node(inquiry, ended->node);
    fact.margin_db = margin_db(inquiry, reception);
    fact.outcome = reception->outcome;
    fact.disturber.is_known = disturber != SPATE_NO_DISTURBER;
    if (disturber < inquiry->plan->n_radios) {
        fact.disturber.node = node_of(inquiry, disturber);
        fact.disturber.bearer = spate_inquiry_bearer(inquiry, disturber);
    }
    spate_inquiry_add(inquiry, fact);
}

/* ---- decisions and frames -------------------------------------------------------------------- */

void
spate_inquiry_add_decision(const SpateInquiry *inquiry, const SpateEvent *decision)
{
    const SpateNode *node = &inquiry->plan->nodes[decision->node];
    bool is_crossing = decision->crossing != SPATE_NO_CROSSING;
    const SpateCrossing *crossing =
        is_crossing ? &inquiry->plan->crossings[decision->crossing] : NULL;
    SpateFact fact = fact_of(inquiry, SPATE_FACT_DECIDED, decision);
    fact.decision = (SpateFactDecision){
        .kind = decision->decision,
        .hops = decision->hops,
        .crossing = is_crossing ? kept(inquiry, crossing->name) : NULL,
        .is_by_rule = decision->rule != SPATE_NO_RULE,
        .rule = decision->rule,
        .policy = node->flooding.policy,
    };
    if (fact.decision.is_by_rule) {
        const SpateRule *rules = is_crossing ? crossing->rules : node->relay_rules;
        fact.decision.action = rules[decision->rule].action;
        fact.decision.rule_line = rules[decision->rule].line;
    }
    spate_inquiry_add(inquiry, fact);
}

void
spate_inquiry_add_step(const SpateInquiry *inquiry, const SpateEvent *step)
{
    SpateFactKind kind = step->kind == SPATE_EVENT_DROPPED    ? SPATE_FACT_DROPPED
                         : step->kind == SPATE_EVENT_DIGESTED ? SPATE_FACT_DIGESTED
                                                              : SPATE_FACT_SENT;
    SpateFact fact = fact_of(inquiry, kind, step);
    fact.cause = step->cause;
    spate_inquiry_add(inquiry, fact);
}

void
spate_inquiry_add_pending(const SpateInquiry *inquiry, const SpateEvent *step)
{
    const SpatePlan *plan = inquiry->plan;
    SpateFact fact = fact_of(inquiry, SPATE_FACT_PENDING, step);
    if (step->kind == SPATE_EVENT_QUEUED)
        fact.duty_limit_ns = plan->bearers[plan->radios[step->radio].bearer].duty_limit_ns;
    spate_inquiry_add(inquiry, fact);
}

void
spate_inquiry_add_wait(const SpateInquiry *inquiry, const SpateEvent *started)
{
    const SpateFrameFacts *frame = started->frame;
    int64_t all_ns = started->at_ns - frame->queued_ns;
    if (all_ns < SPATE_NS_PER_MS)
        return;
    SpateFact fact = fact_of(inquiry, SPATE_FACT_WAITED, started);
    fact.wait = (SpateFactWait){
        .all_ns = all_ns,
        .behind_ns = MAX(all_ns - frame->waited_duty_ns - frame->waited_access_ns, 0),
        .duty_ns = frame->waited_duty_ns,
        .access_ns = frame->waited_access_ns,
    };
    spate_inquiry_add(inquiry, fact);
}
