/* explain-words.c - a step of a message as a sentence */
#include "study/explain/explain-private.h"

#include "core/instant.h"
#include "core/time.h"
#include "mesh/event-words.h"

const char *
spate_explain_node(const SpateExplanation *explanation, uint32_t node)
{
    return explanation->plan->nodes[node].name;
}

const char *
spate_explain_bearer(const SpateExplanation *explanation, uint32_t radio)
{
    return explanation->plan->bearer_names[explanation->plan->radios[radio].bearer];
}

static double
seconds(int64_t time_ns)
{
    return (double)time_ns / (double)SPATE_NS_PER_S;
}

void
spate_explain_add_time(const SpateExplanation *explanation, int64_t at_ns)
{
    g_string_append_printf(explanation->text, "+%.3f s ",
                           seconds(at_ns - explanation->trace->offered_ns));
}

void
spate_explain_add_offer(const SpateExplanation *explanation)
{
    const SpateMessageTrace *trace = explanation->trace;
    g_string_append_printf(explanation->text, "replication %u: %s of %s, offered at ",
                           explanation->replication + 1,
                           explanation->plan->traffics[trace->wanted.traffic].name,
                           spate_explain_node(explanation, trace->wanted.origin));
    spate_append_instant(explanation->text, trace->offered_ns);
    g_string_append_c(explanation->text, '\n');
}

/* ---- receptions ------------------------------------------------------------------------------ */

static const SpateReception *
find_reception(const SpateExplanation *explanation, const SpateEvent *arrival)
{
    const SpateMessageTrace *trace = explanation->trace;
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

static void
add_margin(const SpateExplanation *explanation, const SpateReception *reception)
{
    g_string_append_printf(
        explanation->text, "%.1f dB above its sensitivity",
        spate_medium_margin_db(explanation->medium, reception->receiver, reception->power));
}

void
spate_explain_add_arrival(const SpateExplanation *explanation, const SpateEvent *arrival)
{
    const SpateReception *reception = find_reception(explanation, arrival);
    bool is_in_digest =
        arrival->message->number != g_array_index(explanation->trace->messages, uint32_t, 0);
    spate_explain_add_time(explanation, arrival->at_ns);
    g_string_append_printf(
        explanation->text, "%s gets it on %s from %s (hop %u%s",
        spate_explain_node(explanation, arrival->node),
        spate_explain_bearer(explanation, arrival->radio),
        spate_explain_node(explanation, explanation->plan->radios[arrival->frame->radio].node),
        arrival->frame->hops, is_in_digest ? " of the digest" : "");
    if (reception != NULL) {
        g_string_append(explanation->text, "; ");
        add_margin(explanation, reception);
    }
    g_string_append(explanation->text, ")\n");
}

/* "mast-9's frame on valley"; a sender beyond the radios is ambient traffic. */
static void
add_disturber(const SpateExplanation *explanation, uint32_t sender)
{
    if (sender >= explanation->plan->n_radios) {
        g_string_append(explanation->text, "other people's traffic");
        return;
    }
    g_string_append_printf(explanation->text, "%s's frame on %s",
                           spate_explain_node(explanation, explanation->plan->radios[sender].node),
                           spate_explain_bearer(explanation, sender));
}

static void
add_outcome(const SpateExplanation *explanation, const SpateReception *reception)
{
    GString *text = explanation->text;
    bool is_known = reception->disturber != SPATE_NO_DISTURBER;
    switch (reception->outcome) {
    case SPATE_OUTCOME_RECEIVED:
        g_string_append(text, "received it");
        return;
    case SPATE_OUTCOME_LOST_COLLISION:
        g_string_append(text,
                        is_known ? "lost it to a collision with " : "lost it to interference");
        break;
    case SPATE_OUTCOME_LOST_BUSY:
        g_string_append(text, is_known ? "was busy with " : "was busy with another frame");
        break;
    case SPATE_OUTCOME_LOST_SENDING:
        g_string_append(text, "was sending itself (half-duplex)");
        return;
    case SPATE_OUTCOME_LOST_BLOCKED:
        g_string_append(text, is_known ? "was blocked on its own mast by "
                                       : "was blocked by its own other radio");
        break;
    }
    if (is_known)
        add_disturber(explanation, reception->disturber);
}

void
spate_explain_add_loss(const SpateExplanation *explanation, const SpateEvent *ended,
                       const SpateReception *reception)
{
    spate_explain_add_time(explanation, ended->at_ns);
    g_string_append_printf(
        explanation->text, "%s could hear %s on %s (",
        spate_explain_node(explanation, explanation->plan->radios[reception->receiver].node),
        spate_explain_node(explanation, ended->node),
        spate_explain_bearer(explanation, ended->radio));
    add_margin(explanation, reception);
    g_string_append(explanation->text, ") but ");
    add_outcome(explanation, reception);
    g_string_append_c(explanation->text, '\n');
}

/* ---- decisions ------------------------------------------------------------------------------- */

static const SpateRule *
rule_of(const SpateExplanation *explanation, const SpateEvent *decision)
{
    if (decision->rule == SPATE_NO_RULE)
        return NULL;
    return decision->crossing != SPATE_NO_CROSSING
               ? &explanation->plan->crossings[decision->crossing].rules[decision->rule]
               : &explanation->plan->nodes[decision->node].relay_rules[decision->rule];
}

/* "the rule at valley.yaml:41 (hold-back)", "its 'otherwise'". */
static void
add_rule(const SpateExplanation *explanation, const SpateEvent *decision)
{
    const SpateRule *rule = rule_of(explanation, decision);
    if (rule == NULL) {
        g_string_append(explanation->text, "its 'otherwise'");
        return;
    }
    if (rule->line > 0)
        g_string_append_printf(explanation->text, "the rule at %s:%u",
                               spate_world_scenario(explanation->world)->name, rule->line);
    else
        g_string_append_printf(explanation->text, "rule %u", decision->rule);
    const SpateRuleActionInfo *action = spate_rule_action_info(rule->action);
    g_string_append_printf(explanation->text, " (%s%s%s)", action->name,
                           action->refusal != NULL ? ": " : "",
                           action->refusal != NULL ? action->refusal : "");
}

static void
add_way(const SpateExplanation *explanation, const SpateEvent *decision)
{
    const char *bearer = spate_explain_bearer(explanation, decision->radio);
    if (decision->crossing == SPATE_NO_CROSSING)
        g_string_append_printf(explanation->text, "relay it on %s", bearer);
    else
        g_string_append_printf(explanation->text, "let it across to %s (crossing '%s')", bearer,
                               explanation->plan->crossings[decision->crossing].name);
}

static const char *
policy_words(const SpateExplanation *explanation, uint32_t node)
{
    switch (explanation->plan->nodes[node].flooding.policy) {
    case SPATE_FLOOD_PROBABILITY:
        return "the draw of its flooding policy (probability)";
    case SPATE_FLOOD_NONE:
        return "its flooding policy (none)";
    case SPATE_FLOOD_CLASSIC:
    case SPATE_FLOOD_COUNTER:
        break;
    }
    g_assert_not_reached();
}

static void
add_reason(const SpateExplanation *explanation, const SpateEvent *decision)
{
    GString *text = explanation->text;
    switch (decision->decision) {
    case SPATE_DECISION_SEND:
        break;
    case SPATE_DECISION_DELAY:
        g_string_append(text, " yet: ");
        add_rule(explanation, decision);
        g_string_append(text, " lets it wait for a quieter channel");
        break;
    case SPATE_DECISION_COLLECT:
        g_string_append(text, " by itself: ");
        add_rule(explanation, decision);
        g_string_append(text, " collects it");
        break;
    case SPATE_DECISION_NO_RELAY:
        g_string_append(text, ": it does not relay there");
        break;
    case SPATE_DECISION_HOP_LIMIT:
        g_string_append_printf(text, ": it has done %u hops, and its hop limit is reached",
                               decision->hops);
        break;
    case SPATE_DECISION_IS_WAITING:
        g_string_append(text, ": it waits there already");
        break;
    case SPATE_DECISION_HELD_BACK:
        g_string_append(text, ": ");
        add_rule(explanation, decision);
        break;
    case SPATE_DECISION_POLICY:
        g_string_append_printf(text, ": %s", policy_words(explanation, decision->node));
        break;
    }
}

void
spate_explain_add_decision(const SpateExplanation *explanation, const SpateEvent *decision)
{
    bool passes = decision->decision == SPATE_DECISION_SEND;
    spate_explain_add_time(explanation, decision->at_ns);
    g_string_append_printf(explanation->text, "%s %s ",
                           spate_explain_node(explanation, decision->node),
                           passes ? "decides to" : "does not");
    add_way(explanation, decision);
    if (passes && (decision->crossing != SPATE_NO_CROSSING || decision->rule != SPATE_NO_RULE)) {
        g_string_append(explanation->text, ", by ");
        add_rule(explanation, decision);
    }
    add_reason(explanation, decision);
    g_string_append_c(explanation->text, '\n');
}

/* ---- frames ---------------------------------------------------------------------------------- */

void
spate_explain_add_drop(const SpateExplanation *explanation, const SpateEvent *drop)
{
    spate_explain_add_time(explanation, drop->at_ns);
    g_string_append_printf(explanation->text, "%s drops its frame on %s: %s\n",
                           spate_explain_node(explanation, drop->node),
                           spate_explain_bearer(explanation, drop->radio),
                           spate_drop_reason(drop->cause));
}

void
spate_explain_add_pending(const SpateExplanation *explanation, const SpateEvent *step)
{
    const SpatePlan *plan = explanation->plan;
    const SpateBearer *bearer = &plan->bearers[plan->radios[step->radio].bearer];
    spate_explain_add_time(explanation, step->at_ns);
    g_string_append_printf(explanation->text, "%s still waits to send it on %s when the run ends",
                           spate_explain_node(explanation, step->node),
                           spate_explain_bearer(explanation, step->radio));
    if (step->kind == SPATE_EVENT_QUEUED && bearer->duty_limit_ns > 0)
        g_string_append_printf(explanation->text,
                               " (its duty cycle allows %.3f s on the air in any hour)",
                               seconds(bearer->duty_limit_ns));
    g_string_append_c(explanation->text, '\n');
}

void
spate_explain_add_digest(const SpateExplanation *explanation, const SpateEvent *digest)
{
    spate_explain_add_time(explanation, digest->at_ns);
    g_string_append_printf(explanation->text, "%s puts it in a digest\n",
                           spate_explain_node(explanation, digest->node));
}

void
spate_explain_add_waits(const SpateExplanation *explanation, const SpateEvent *started)
{
    int64_t queued_ns = started->at_ns - started->frame->queued_ns;
    if (queued_ns < SPATE_NS_PER_MS)
        return;
    int64_t behind_ns =
        queued_ns - started->frame->waited_duty_ns - started->frame->waited_access_ns;
    spate_explain_add_time(explanation, started->at_ns);
    g_string_append_printf(explanation->text,
                           "%s sends it on %s, %.3f s after it reached the queue (%.3f s after "
                           "other frames, %.3f s for the duty cycle, %.3f s for a free channel)\n",
                           spate_explain_node(explanation, started->node),
                           spate_explain_bearer(explanation, started->radio), seconds(queued_ns),
                           seconds(MAX(behind_ns, 0)), seconds(started->frame->waited_duty_ns),
                           seconds(started->frame->waited_access_ns));
}
