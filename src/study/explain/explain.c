/* explain.c - which steps of a message answer the question */
#include "study/explain/explain-private.h"

#include "core/time.h"
#include "study/run/run.h"

/* Lines of each section that a person still reads. */
#define MOST_LINES 12

static void
say(const SpateExplanation *explanation, const char *sentence)
{
    g_string_append(explanation->text, sentence);
    g_string_append_c(explanation->text, '\n');
}

static const SpateEvent *
step_at(const SpateExplanation *explanation, guint i)
{
    return spate_message_trace_step(explanation->trace, i);
}

static guint
n_steps(const SpateExplanation *explanation)
{
    return explanation->trace->steps->len;
}

/* The first copy at a node, of the message itself or of a digest that carries it; NULL if none. */
static const SpateEvent *
arrival_at(const SpateExplanation *explanation, uint32_t node)
{
    for (guint i = 0; i < n_steps(explanation); i++)
        if (step_at(explanation, i)->kind == SPATE_EVENT_ARRIVED &&
            step_at(explanation, i)->node == node)
            return step_at(explanation, i);
    return NULL;
}

bool
spate_explain_has_it(const SpateExplanation *explanation, uint32_t node)
{
    return node == explanation->wanted->message.origin || arrival_at(explanation, node) != NULL;
}

/* ---- the way to a node ----------------------------------------------------------------------- */

/* What the sender did with it before the frame that ended at `until_ns`. */
static void
tell_sending(const SpateExplanation *explanation, uint32_t radio, uint32_t message,
             int64_t until_ns)
{
    for (guint i = 0; i < n_steps(explanation); i++) {
        const SpateEvent *step = step_at(explanation, i);
        if (step->at_ns > until_ns)
            return;
        bool is_crossing = step->crossing != SPATE_NO_CROSSING || step->rule != SPATE_NO_RULE;
        if (step->kind == SPATE_EVENT_DECIDED && step->radio == radio && is_crossing)
            spate_explain_add_decision(explanation, step);
        if (step->kind == SPATE_EVENT_DIGESTED && step->message->number == message)
            spate_explain_add_digest(explanation, step);
        if (step->kind == SPATE_EVENT_STARTED && step->radio == radio &&
            step->message->number == message && step->at_ns < until_ns)
            spate_explain_add_waits(explanation, step);
    }
}

/* From the source, hop by hop; `most` bounds the hops. */
static void
tell_way_to(const SpateExplanation *explanation, const SpateEvent *arrival, uint32_t most)
{
    uint32_t sender = explanation->plan->radios[arrival->frame->radio].node;
    const SpateEvent *before = arrival_at(explanation, sender);
    if (sender != explanation->wanted->message.origin && before != NULL &&
        before->at_ns < arrival->at_ns && most > 0)
        tell_way_to(explanation, before, most - 1);
    tell_sending(explanation, arrival->frame->radio, arrival->message->number, arrival->at_ns);
    spate_explain_add_arrival(explanation, arrival);
}

/* ---- what stopped it ------------------------------------------------------------------------- */

typedef bool (*StepFilter)(const SpateExplanation *explanation, const SpateEvent *step);
typedef void (*StepTeller)(const SpateExplanation *explanation, const SpateEvent *step);

/* Up to MOST_LINES of the steps, and how many more there are. */
static void
tell_steps(const SpateExplanation *explanation, StepFilter is_wanted, StepTeller tell)
{
    guint n = 0;
    for (guint i = 0; i < n_steps(explanation); i++) {
        const SpateEvent *step = step_at(explanation, i);
        if (is_wanted(explanation, step) && n++ < MOST_LINES)
            tell(explanation, step);
    }
    if (n > MOST_LINES)
        g_string_append_printf(explanation->text, "... and %u more like these\n", n - MOST_LINES);
}

static bool
is_arrival(const SpateExplanation *explanation, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_ARRIVED;
}

/* Whether the node is one that sends messages on: others only listen. */
static bool
sends_on(const SpateExplanation *explanation, uint32_t node)
{
    for (guint i = 0; i < n_steps(explanation); i++) {
        const SpateEvent *step = step_at(explanation, i);
        if (step->kind == SPATE_EVENT_DECIDED && step->node == node &&
            step->decision != SPATE_DECISION_NO_RELAY)
            return true;
    }
    return false;
}

static bool
is_arrival_at_sender(const SpateExplanation *explanation, const SpateEvent *step)
{
    return is_arrival(explanation, step) && sends_on(explanation, step->node);
}

static bool
is_refusal(const SpateExplanation *explanation, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_DECIDED && step->decision == SPATE_DECISION_HELD_BACK;
}

static bool
is_cancelled(const SpateExplanation *explanation, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_DROPPED && step->cause == SPATE_DROP_CANCELLED;
}

static bool
is_limit_or_policy(const SpateExplanation *explanation, const SpateEvent *step)
{
    return step->kind == SPATE_EVENT_DECIDED &&
           (step->decision == SPATE_DECISION_HOP_LIMIT || step->decision == SPATE_DECISION_POLICY);
}

static bool
is_drop(const SpateExplanation *explanation, const SpateEvent *step)
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

/* Something was to follow at the node, and never did before the run ended. */
static bool
is_pending(const SpateExplanation *explanation, const SpateEvent *step)
{
    bool in_queue = step->kind == SPATE_EVENT_QUEUED;
    bool waits_by_rule =
        step->kind == SPATE_EVENT_DECIDED &&
        (step->decision == SPATE_DECISION_DELAY || step->decision == SPATE_DECISION_COLLECT);
    if (!in_queue && !waits_by_rule)
        return false;
    bool is_later = false;
    for (guint i = 0; i < n_steps(explanation); i++) {
        const SpateEvent *other = step_at(explanation, i);
        if (is_later && other->node == step->node && ends_wait(step, other))
            return false;
        is_later = is_later || other == step;
    }
    return true;
}

static void
tell_pending(const SpateExplanation *explanation, const SpateEvent *step)
{
    if (step->kind == SPATE_EVENT_DECIDED)
        spate_explain_add_decision(explanation, step);
    spate_explain_add_pending(explanation, step);
}

/* Losses at one node, or (UINT32_MAX) at all nodes but the one in question that never got it. */
static guint
tell_losses(const SpateExplanation *explanation, uint32_t at)
{
    guint n = 0;
    for (guint i = 0; i < n_steps(explanation); i++) {
        const SpateEvent *step = step_at(explanation, i);
        for (size_t k = 0; step->kind == SPATE_EVENT_ENDED && k < step->n_receptions; k++) {
            const SpateReception *reception = &step->receptions[k];
            uint32_t node = explanation->plan->radios[reception->receiver].node;
            bool is_wanted = at != UINT32_MAX ? node == at
                                              : node != explanation->wanted->node &&
                                                    !spate_explain_has_it(explanation, node);
            if (is_wanted && reception->outcome != SPATE_OUTCOME_RECEIVED && n++ < MOST_LINES)
                spate_explain_add_loss(explanation, step, reception);
        }
    }
    if (n > MOST_LINES)
        g_string_append_printf(explanation->text, "... and %u more like these\n", n - MOST_LINES);
    return n;
}

/* Those that got it and send nothing on, in one line: they are seldom the reason. */
static void
tell_silent_nodes(const SpateExplanation *explanation)
{
    guint n = 0;
    for (guint i = 0; i < n_steps(explanation); i++) {
        const SpateEvent *step = step_at(explanation, i);
        if (!is_arrival(explanation, step) || sends_on(explanation, step->node) ||
            step->node == explanation->wanted->node)
            continue;
        if (n < MOST_LINES)
            g_string_append_printf(explanation->text, "%s%s",
                                   n == 0 ? "these nodes have it and do not relay it: " : ", ",
                                   spate_explain_node(explanation, step->node));
        n++;
    }
    if (n > MOST_LINES)
        g_string_append_printf(explanation->text, " and %u more", n - MOST_LINES);
    if (n > 0)
        g_string_append_c(explanation->text, '\n');
}

/* ---- answers --------------------------------------------------------------------------------- */

static void
tell_what_stopped_it(const SpateExplanation *explanation)
{
    say(explanation, "where it arrived:");
    tell_steps(explanation, is_arrival_at_sender, spate_explain_add_arrival);
    say(explanation, "where it stopped:");
    guint n_losses_there = tell_losses(explanation, explanation->wanted->node);
    tell_steps(explanation, is_refusal, spate_explain_add_decision);
    tell_steps(explanation, is_drop, spate_explain_add_drop);
    tell_steps(explanation, is_pending, tell_pending);
    if (n_losses_there == 0)
        spate_explain_tell_out_of_reach(explanation);
    tell_steps(explanation, is_limit_or_policy, spate_explain_add_decision);
    tell_steps(explanation, is_cancelled, spate_explain_add_drop);
    tell_losses(explanation, UINT32_MAX);
    tell_silent_nodes(explanation);
}

static void
answer_not_reached(const SpateExplanation *explanation)
{
    const SpateExplainWanted *wanted = explanation->wanted;
    const char *name = spate_explain_node(explanation, wanted->node);
    const SpateEvent *arrival = arrival_at(explanation, wanted->node);
    if (arrival == NULL) {
        g_string_append_printf(explanation->text, "it never reached %s\n", name);
        tell_what_stopped_it(explanation);
        return;
    }
    double took_s =
        (double)(arrival->at_ns - explanation->trace->offered_ns) / (double)SPATE_NS_PER_S;
    g_string_append_printf(explanation->text, "it reached %s after %.3f s", name, took_s);
    if (wanted->within_ns > 0)
        g_string_append_printf(explanation->text, ", not within %.3f s",
                               (double)wanted->within_ns / (double)SPATE_NS_PER_S);
    say(explanation, "; its path:");
    tell_way_to(explanation, arrival, explanation->plan->n_nodes);
}

static void
answer_reached(const SpateExplanation *explanation)
{
    const SpateEvent *arrival = arrival_at(explanation, explanation->wanted->node);
    const char *name = spate_explain_node(explanation, explanation->wanted->node);
    g_string_append_printf(explanation->text,
                           arrival != NULL ? "it reached %s; its path:\n" : "it never reached %s\n",
                           name);
    if (arrival != NULL)
        tell_way_to(explanation, arrival, explanation->plan->n_nodes);
}

static void
answer_sent_on(const SpateExplanation *explanation)
{
    const char *bearer = explanation->plan->bearer_names[explanation->wanted->bearer];
    for (guint i = 0; i < n_steps(explanation); i++) {
        const SpateEvent *step = step_at(explanation, i);
        if (step->kind != SPATE_EVENT_STARTED ||
            explanation->plan->radios[step->radio].bearer != explanation->wanted->bearer)
            continue;
        g_string_append_printf(explanation->text, "%s sent it on %s; its path there:\n",
                               spate_explain_node(explanation, step->node), bearer);
        const SpateEvent *arrival = arrival_at(explanation, step->node);
        if (arrival != NULL && step->node != explanation->wanted->message.origin)
            tell_way_to(explanation, arrival, explanation->plan->n_nodes);
        tell_sending(explanation, step->radio, step->message->number, step->at_ns + 1);
        spate_explain_add_time(explanation, step->at_ns);
        g_string_append_printf(explanation->text, "%s sends it on %s\n",
                               spate_explain_node(explanation, step->node), bearer);
        return;
    }
    g_string_append_printf(explanation->text, "it was never sent on %s\n", bearer);
}

static void
answer(const SpateExplanation *explanation)
{
    if (explanation->trace->offered_ns < 0) {
        say(explanation, "the message was not offered");
        return;
    }
    spate_explain_add_offer(explanation);
    switch (explanation->wanted->question) {
    case SPATE_EXPLAIN_NOT_REACHED:
        answer_not_reached(explanation);
        break;
    case SPATE_EXPLAIN_REACHED:
        answer_reached(explanation);
        break;
    case SPATE_EXPLAIN_SENT_ON:
        answer_sent_on(explanation);
        break;
    }
}

char *
spate_explain(const SpateWorld *world, uint32_t replication, const SpateExplainWanted *wanted,
              GError **error)
{
    g_autoptr(SpateRun) run = spate_run_new_with_disturbers(world, replication, error);
    if (run == NULL)
        return NULL;
    g_autoptr(SpateMessageTrace) trace =
        spate_message_trace_new(spate_world_plan(spate_run_world(run)), wanted->message);
    SpateObserver observer = spate_message_trace_observer(trace);
    spate_run_add_observer(run, &observer);
    bool is_over = spate_run_go(run, NULL, NULL);
    g_assert(is_over);

    SpateExplanation explanation = {
        .world = spate_run_world(run),
        .plan = spate_world_plan(spate_run_world(run)),
        .medium = spate_run_medium(run),
        .replication = replication,
        .wanted = wanted,
        .trace = trace,
        .text = g_string_new(NULL),
    };
    answer(&explanation);
    return g_string_free(explanation.text, FALSE);
}
