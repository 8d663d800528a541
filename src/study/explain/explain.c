/* explain.c - which steps of a message answer the question */
#include "study/explain/explain-private.h"

#include "study/run/runner.h"

static const SpateEvent *
step_at(const SpateInquiry *inquiry, guint i)
{
    return spate_message_trace_step(inquiry->trace, i);
}

static guint
n_steps(const SpateInquiry *inquiry)
{
    return inquiry->trace->steps->len;
}

/* The first copy at a node, of the message itself or of a digest that carries it; NULL if none. */
static const SpateEvent *
arrival_at(const SpateInquiry *inquiry, uint32_t node)
{
    for (guint i = 0; i < n_steps(inquiry); i++)
        if (step_at(inquiry, i)->kind == SPATE_EVENT_ARRIVED && step_at(inquiry, i)->node == node)
            return step_at(inquiry, i);
    return NULL;
}

bool
spate_inquiry_has_it(const SpateInquiry *inquiry, uint32_t node)
{
    return node == inquiry->wanted->message.origin || arrival_at(inquiry, node) != NULL;
}

/* ---- the way to a node ----------------------------------------------------------------------- */

/* What the sender did with it before the frame that ended at `until_ns`. */
static void
add_sending(const SpateInquiry *inquiry, uint32_t radio, uint32_t message, int64_t until_ns)
{
    for (guint i = 0; i < n_steps(inquiry); i++) {
        const SpateEvent *step = step_at(inquiry, i);
        if (step->at_ns > until_ns)
            return;
        bool is_crossing = step->crossing != SPATE_NO_CROSSING || step->rule != SPATE_NO_RULE;
        if (step->kind == SPATE_EVENT_DECIDED && step->radio == radio && is_crossing)
            spate_inquiry_add_decision(inquiry, step);
        if (step->kind == SPATE_EVENT_DIGESTED && step->message->number == message)
            spate_inquiry_add_step(inquiry, step);
        if (step->kind == SPATE_EVENT_STARTED && step->radio == radio &&
            step->message->number == message && step->at_ns < until_ns)
            spate_inquiry_add_wait(inquiry, step);
    }
}

/* From the source, hop by hop; `most` bounds the hops. */
static void
add_way_to(const SpateInquiry *inquiry, const SpateEvent *arrival, uint32_t most)
{
    uint32_t sender = inquiry->plan->radios[arrival->frame->radio].node;
    const SpateEvent *before = arrival_at(inquiry, sender);
    if (sender != inquiry->wanted->message.origin && before != NULL &&
        before->at_ns < arrival->at_ns && most > 0)
        add_way_to(inquiry, before, most - 1);
    add_sending(inquiry, arrival->frame->radio, arrival->message->number, arrival->at_ns);
    spate_inquiry_add_arrival(inquiry, arrival);
}

/* ---- what stopped it ------------------------------------------------------------------------- */

typedef bool (*StepFilter)(const SpateInquiry *inquiry, const SpateEvent *step);
typedef void (*StepAdder)(const SpateInquiry *inquiry, const SpateEvent *step);

static void
add_steps(const SpateInquiry *inquiry, StepFilter is_wanted, StepAdder add)
{
    guint n = 0;
    for (guint i = 0; i < n_steps(inquiry); i++) {
        const SpateEvent *step = step_at(inquiry, i);
        if (is_wanted(inquiry, step) && n++ < SPATE_INQUIRY_MOST_LINES)
            add(inquiry, step);
    }
    spate_inquiry_add_more(inquiry, n);
}

/* Whether the node is one that sends messages on: others only listen. */
static bool
sends_on(const SpateInquiry *inquiry, uint32_t node)
{
    for (guint i = 0; i < n_steps(inquiry); i++) {
        const SpateEvent *step = step_at(inquiry, i);
        if (step->kind == SPATE_EVENT_DECIDED && step->node == node &&
            step->decision != SPATE_DECISION_NO_RELAY)
            return true;
    }
    return false;
}

static bool
is_arrival_at_sender(const SpateInquiry *inquiry, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_ARRIVED && sends_on(inquiry, step->node);
}

static bool
is_refusal(const SpateInquiry *inquiry, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_DECIDED && step->decision == SPATE_DECISION_HELD_BACK;
}

static bool
is_cancelled(const SpateInquiry *inquiry, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_DROPPED && step->cause == SPATE_DROP_CANCELLED;
}

static bool
is_limit_or_policy(const SpateInquiry *inquiry, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_DECIDED &&
           (step->decision == SPATE_DECISION_HOP_LIMIT || step->decision == SPATE_DECISION_POLICY);
}

static bool
is_drop(const SpateInquiry *inquiry, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_DROPPED && step->cause != SPATE_DROP_CANCELLED;
}

static bool
ends_wait(const SpateEvent *step, const SpateEvent *later)
{
    if (later->kind == SPATE_EVENT_DIGESTED)
        return step->kind == SPATE_EVENT_DECIDED && step->decision == SPATE_DECISION_COLLECT;
    if (later->radio != step->radio)
        return false;
    return later->kind == SPATE_EVENT_DROPPED ||
           later->kind ==
               (step->kind == SPATE_EVENT_QUEUED ? SPATE_EVENT_STARTED : SPATE_EVENT_QUEUED);
}

static bool
waits_by_rule(const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_DECIDED &&
           (step->decision == SPATE_DECISION_DELAY || step->decision == SPATE_DECISION_COLLECT);
}

/* Something was to follow at the node, and never did. */
static bool
never_went_on(const SpateInquiry *inquiry, const SpateEvent *step)
{
    if (step->kind != SPATE_EVENT_QUEUED && !waits_by_rule(step))
        return false;
    bool is_later = false;
    for (guint i = 0; i < n_steps(inquiry); i++) {
        const SpateEvent *other = step_at(inquiry, i);
        if (is_later && other->node == step->node && ends_wait(step, other))
            return false;
        is_later = is_later || other == step;
    }
    return true;
}

static bool
is_lost_waiting(const SpateInquiry *inquiry, const SpateEvent *step)
{
    return never_went_on(inquiry, step) && spate_inquiry_was_lost_waiting(inquiry, step);
}

/* Before the run ended. */
static bool
is_pending(const SpateInquiry *inquiry, const SpateEvent *step)
{
    return never_went_on(inquiry, step) && !spate_inquiry_was_lost_waiting(inquiry, step);
}

static void
add_pending(const SpateInquiry *inquiry, const SpateEvent *step)
{
    if (step->kind == SPATE_EVENT_DECIDED)
        spate_inquiry_add_decision(inquiry, step);
    spate_inquiry_add_pending(inquiry, step);
}

/* Losses at one node, or (UINT32_MAX) at all nodes but the one in question that never got it. */
static guint
add_losses(const SpateInquiry *inquiry, uint32_t at)
{
    guint n = 0;
    for (guint i = 0; i < n_steps(inquiry); i++) {
        const SpateEvent *step = step_at(inquiry, i);
        for (size_t k = 0; step->kind == SPATE_EVENT_ENDED && k < step->n_receptions; k++) {
            const SpateReception *reception = &step->receptions[k];
            uint32_t node = inquiry->plan->radios[reception->receiver].node;
            bool is_wanted = at != UINT32_MAX ? node == at
                                              : node != inquiry->wanted->node &&
                                                    !spate_inquiry_has_it(inquiry, node);
            if (is_wanted && reception->outcome != SPATE_OUTCOME_RECEIVED &&
                n++ < SPATE_INQUIRY_MOST_LINES)
                spate_inquiry_add_loss(inquiry, step, reception);
        }
    }
    spate_inquiry_add_more(inquiry, n);
    return n;
}

static void
add_silent_nodes(const SpateInquiry *inquiry)
{
    SpateExplanation *found = inquiry->found;
    for (guint i = 0; i < n_steps(inquiry); i++) {
        const SpateEvent *step = step_at(inquiry, i);
        if (step->kind != SPATE_EVENT_ARRIVED || sends_on(inquiry, step->node) ||
            step->node == inquiry->wanted->node)
            continue;
        if (found->silent->len < SPATE_INQUIRY_MOST_LINES)
            g_ptr_array_add(found->silent,
                            (gpointer)(uintptr_t)spate_inquiry_node(inquiry, step->node));
        else
            found->n_more_silent++;
    }
}

/* ---- answers --------------------------------------------------------------------------------- */

/* An answer about the node in question. */
static void
add_answer(const SpateInquiry *inquiry, SpateFactKind kind)
{
    spate_inquiry_add(
        inquiry,
        (SpateFact){.kind = kind, .node = spate_inquiry_node(inquiry, inquiry->wanted->node)});
}

static void
add_what_stopped_it(const SpateInquiry *inquiry)
{
    add_answer(inquiry, SPATE_FACT_WHERE_IT_ARRIVED);
    add_steps(inquiry, is_arrival_at_sender, spate_inquiry_add_arrival);
    add_answer(inquiry, SPATE_FACT_WHERE_IT_STOPPED);
    guint n_losses_there = add_losses(inquiry, inquiry->wanted->node);
    add_steps(inquiry, is_refusal, spate_inquiry_add_decision);
    add_steps(inquiry, is_drop, spate_inquiry_add_step);
    add_steps(inquiry, is_lost_waiting, spate_inquiry_add_lost_waiting);
    add_steps(inquiry, is_pending, add_pending);
    spate_inquiry_note_outages(inquiry);
    if (n_losses_there == 0)
        spate_inquiry_note_out_of_reach(inquiry);
    add_steps(inquiry, is_limit_or_policy, spate_inquiry_add_decision);
    add_steps(inquiry, is_cancelled, spate_inquiry_add_step);
    add_losses(inquiry, UINT32_MAX);
    add_silent_nodes(inquiry);
}

static void
answer_reached(const SpateInquiry *inquiry)
{
    const SpateExplainWanted *wanted = inquiry->wanted;
    const SpateEvent *arrival = arrival_at(inquiry, wanted->node);
    bool should_have_come = wanted->question == SPATE_EXPLAIN_NOT_REACHED;
    if (arrival == NULL) {
        add_answer(inquiry, SPATE_FACT_NEVER_REACHED);
        if (should_have_come)
            add_what_stopped_it(inquiry);
        return;
    }
    const SpateFact fact = {
        .kind = should_have_come ? SPATE_FACT_REACHED_LATE : SPATE_FACT_REACHED,
        .node = spate_inquiry_node(inquiry, wanted->node),
        .after_ns = arrival->at_ns - inquiry->trace->offered_ns,
        .within_ns = wanted->within_ns,
    };
    spate_inquiry_add(inquiry, fact);
    add_way_to(inquiry, arrival, inquiry->plan->n_nodes);
}

/* Either it never got there, or no acknowledgement got back: those of all tries are followed. */
static void
answer_not_acknowledged(const SpateInquiry *inquiry, const SpateMessageTrace *answers)
{
    const SpateMessageWanted message = inquiry->wanted->message;
    const uint32_t *recipients = inquiry->plan->traffics[message.traffic].recipients;
    uint32_t origin = message.origin, recipient = spate_only_recipient(recipients, origin);
    const SpateExplainWanted there = {.message = message, .node = recipient};
    const SpateExplainWanted back = {.message = {message.traffic, recipient, message.offer},
                                     .node = origin};
    SpateInquiry way = *inquiry;
    way.wanted = &there;
    const SpateEvent *arrival = arrival_at(&way, recipient);
    if (arrival == NULL) {
        add_answer(&way, SPATE_FACT_NEVER_REACHED);
        add_what_stopped_it(&way);
        return;
    }
    const SpateFact lost = {
        .kind = SPATE_FACT_ANSWER_LOST,
        .node = spate_inquiry_node(&way, recipient),
        .sender = spate_inquiry_node(&way, origin),
        .after_ns = arrival->at_ns - way.trace->offered_ns,
    };
    spate_inquiry_add(&way, lost);
    way.wanted = &back;
    way.trace = answers;
    add_what_stopped_it(&way);
}

static void
answer_sent_on(const SpateInquiry *inquiry)
{
    uint32_t bearer = inquiry->wanted->bearer;
    for (guint i = 0; i < n_steps(inquiry); i++) {
        const SpateEvent *step = step_at(inquiry, i);
        if (step->kind != SPATE_EVENT_STARTED ||
            inquiry->plan->radios[step->radio].bearer != bearer)
            continue;
        const SpateFact fact = {
            .kind = SPATE_FACT_WAS_SENT_ON,
            .node = spate_inquiry_node(inquiry, step->node),
            .bearer = spate_inquiry_bearer(inquiry, step->radio),
        };
        spate_inquiry_add(inquiry, fact);
        const SpateEvent *arrival = arrival_at(inquiry, step->node);
        if (arrival != NULL && step->node != inquiry->wanted->message.origin)
            add_way_to(inquiry, arrival, inquiry->plan->n_nodes);
        add_sending(inquiry, step->radio, step->message->number, step->at_ns + 1);
        spate_inquiry_add_step(inquiry, step);
        return;
    }
    const SpateFact never = {
        .kind = SPATE_FACT_NEVER_SENT_ON,
        .bearer =
            g_string_chunk_insert_const(inquiry->found->names, inquiry->plan->bearer_names[bearer]),
    };
    spate_inquiry_add(inquiry, never);
}

/* ---- the run --------------------------------------------------------------------------------- */

typedef struct {
    const SpateExplainWanted *wanted;
    SpateExplanation *found;
} Asked;

typedef struct {
    SpateMessageTrace *message, *answers; /* answers: NULL unless they are asked for */
    SpateOutageWatch *outages;
} Traces;

static SpateMessageTrace *
trace_of(const Asked *asked, SpateRun *run, SpateTraceOf of)
{
    SpateMessageTrace *trace =
        spate_message_trace_new(spate_world_plan(spate_run_world(run)), asked->wanted->message, of);
    const SpateObserver observer = spate_message_trace_observer(trace);
    spate_run_add_observer(run, &observer);
    return trace;
}

/* An acknowledgement that is sent on a bearer is a frame of its traffic there; one that reaches a
 * node does not bring the message. */
static gpointer
follow(gpointer user, SpateRun *run, GError **error)
{
    const Asked *asked = user;
    SpateExplainQuestion question = asked->wanted->question;
    Traces *traces = g_new0(Traces, 1);
    traces->message = trace_of(
        asked, run, question == SPATE_EXPLAIN_SENT_ON ? SPATE_TRACE_BOTH : SPATE_TRACE_MESSAGE);
    if (question == SPATE_EXPLAIN_NOT_ACKNOWLEDGED)
        traces->answers = trace_of(asked, run, SPATE_TRACE_ANSWERS);
    traces->outages = spate_outage_watch_new(traces->message);
    const SpateObserver observer = spate_outage_watch_observer(traces->outages);
    spate_run_add_observer(run, &observer);
    return traces;
}

static void
free_traces(gpointer user)
{
    Traces *traces = user;
    spate_message_trace_free(traces->message);
    spate_message_trace_free(traces->answers);
    spate_outage_watch_free(traces->outages);
    g_free(traces);
}

static void
answer(gpointer user, uint32_t replication, SpateRun *run, gpointer watch)
{
    Asked *asked = user;
    const Traces *traces = watch;
    const SpateExplainWanted *wanted = asked->wanted;
    SpateExplanation *found = g_new0(SpateExplanation, 1);
    const SpateInquiry inquiry = {
        .world = spate_run_world(run),
        .plan = spate_world_plan(spate_run_world(run)),
        .medium = spate_run_medium(run),
        .wanted = wanted,
        .trace = traces->message,
        .outages = traces->outages,
        .found = found,
    };
    found->names = g_string_chunk_new(512);
    found->facts = g_array_new(FALSE, FALSE, sizeof(SpateFact));
    found->silent = g_ptr_array_new();
    found->replication = replication;
    found->file = g_string_chunk_insert(found->names, spate_world_scenario(inquiry.world)->name);
    found->traffic =
        g_string_chunk_insert(found->names, inquiry.plan->traffics[wanted->message.traffic].name);
    found->origin = spate_inquiry_node(&inquiry, wanted->message.origin);
    found->offered_ns = inquiry.trace->offered_ns;
    if (found->offered_ns >= 0 && wanted->question == SPATE_EXPLAIN_SENT_ON)
        answer_sent_on(&inquiry);
    else if (found->offered_ns >= 0 && wanted->question == SPATE_EXPLAIN_NOT_ACKNOWLEDGED)
        answer_not_acknowledged(&inquiry, traces->answers);
    else if (found->offered_ns >= 0)
        answer_reached(&inquiry);
    asked->found = found;
}

SpateExplanation *
spate_explain(const SpateWorld *world, uint32_t replication, const SpateExplainWanted *wanted,
              GError **error)
{
    static const SpateRunWatcher FOLLOWER = {follow, answer, free_traces};
    Asked asked = {.wanted = wanted};
    const SpateRunTask task = {.world = world,
                               .replication = replication,
                               .names_disturbers = true,
                               .watcher = &FOLLOWER,
                               .user = &asked};
    spate_run_task(&task, NULL, error);
    return asked.found;
}

void
spate_explanation_free(SpateExplanation *explanation)
{
    if (explanation == NULL)
        return;
    g_array_unref(explanation->facts);
    g_ptr_array_unref(explanation->silent);
    g_string_chunk_free(explanation->names);
    g_free(explanation);
}
