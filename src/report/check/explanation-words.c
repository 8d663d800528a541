/* explanation-words.c - an explanation as sentences */
#include "report/check/explanation-words.h"

#include "core/instant.h"
#include "core/time.h"
#include "mesh/event-words.h"
#include <math.h>

static double
seconds(int64_t time_ns)
{
    return (double)time_ns / (double)SPATE_NS_PER_S;
}

/* ---- receptions ------------------------------------------------------------------------------ */

static void
append_arrival(GString *text, const SpateFact *fact)
{
    g_string_append_printf(text, "%s gets it on %s from %s (hop %u%s", fact->node, fact->bearer,
                           fact->sender, fact->hops, fact->is_in_digest ? " of the digest" : "");
    if (!isnan(fact->margin_db))
        g_string_append_printf(text, "; %.1f dB above its sensitivity", fact->margin_db);
    g_string_append_c(text, ')');
}

static void
append_loss(GString *text, const SpateFact *fact)
{
    static const char *const BY_SOMEBODY[SPATE_N_OUTCOMES] = {
        [SPATE_OUTCOME_LOST_COLLISION] = "lost it to a collision with ",
        [SPATE_OUTCOME_LOST_BUSY] = "was busy with ",
        [SPATE_OUTCOME_LOST_BLOCKED] = "was blocked on its own mast by ",
    };
    static const char *const BY_NOBODY[] = {
        [SPATE_OUTCOME_LOST_COLLISION] = "lost it to interference",
        [SPATE_OUTCOME_LOST_BUSY] = "was busy with another frame",
        [SPATE_OUTCOME_LOST_SENDING] = "was sending itself (half-duplex)",
        [SPATE_OUTCOME_LOST_BLOCKED] = "was blocked by its own other radio",
        [SPATE_OUTCOME_LOST_ASLEEP] = "was asleep between two listening windows",
    };
    g_string_append_printf(text, "%s could hear %s on %s (%.1f dB above its sensitivity) but ",
                           fact->node, fact->sender, fact->bearer, fact->margin_db);
    if (!fact->disturber.is_known || BY_SOMEBODY[fact->outcome] == NULL) {
        g_string_append(text, BY_NOBODY[fact->outcome]);
        return;
    }
    g_string_append(text, BY_SOMEBODY[fact->outcome]);
    if (fact->disturber.node != NULL)
        g_string_append_printf(text, "%s's frame on %s", fact->disturber.node,
                               fact->disturber.bearer);
    else
        g_string_append(text, "other people's traffic");
}

/* "hut hears none of the nodes that sent it: the strongest, mast on valley, is 3.1 dB too weak
 * there" */
static void
append_strongest(GString *text, const SpateFact *fact, const char *what)
{
    g_string_append_printf(text, "%s %s: the strongest, %s on %s, is ", fact->node, what,
                           fact->sender, fact->bearer);
    if (fact->margin_db < 0.0)
        g_string_append_printf(text, "%.1f dB too weak there", -fact->margin_db);
    else
        g_string_append_printf(
            text, "%.1f dB above its sensitivity there without fading, but faded", fact->margin_db);
}

/* ---- decisions ------------------------------------------------------------------------------- */

/* "the rule at valley.yaml:41 (hold-back)", "its 'otherwise'". */
static void
append_rule(GString *text, const SpateFactDecision *decision, const char *file)
{
    const SpateRuleActionInfo *action = spate_rule_action_info(decision->action);
    if (!decision->is_by_rule) {
        g_string_append(text, "its 'otherwise'");
        return;
    }
    if (decision->rule_line > 0)
        g_string_append_printf(text, "the rule at %s:%u", file, decision->rule_line);
    else
        g_string_append_printf(text, "rule %u", decision->rule);
    g_string_append_printf(text, " (%s%s%s)", action->name, action->refusal != NULL ? ": " : "",
                           action->refusal != NULL ? action->refusal : "");
}

static void
append_reason(GString *text, const SpateFactDecision *decision, const char *file)
{
    static const struct {
        const char *words, *after_rule; /* after_rule NULL: it is no rule's doing */
    } REASONS[] = {
        [SPATE_DECISION_SEND] = {", by ", ""},
        [SPATE_DECISION_DELAY] = {" yet: ", " lets it wait for a quieter channel"},
        [SPATE_DECISION_COLLECT] = {" by itself: ", " collects it"},
        [SPATE_DECISION_NO_RELAY] = {": it does not relay there", NULL},
        [SPATE_DECISION_HOP_LIMIT] = {": it has done ", NULL},
        [SPATE_DECISION_IS_WAITING] = {": it waits there already", NULL},
        [SPATE_DECISION_HELD_BACK] = {": ", ""},
        [SPATE_DECISION_POLICY] = {": ", NULL},
    };
    if (decision->kind == SPATE_DECISION_SEND && decision->crossing == NULL &&
        !decision->is_by_rule)
        return;
    g_string_append(text, REASONS[decision->kind].words);
    if (REASONS[decision->kind].after_rule != NULL) {
        append_rule(text, decision, file);
        g_string_append(text, REASONS[decision->kind].after_rule);
    }
    if (decision->kind == SPATE_DECISION_HOP_LIMIT)
        g_string_append_printf(text, "%u hops, and its hop limit is reached", decision->hops);
    if (decision->kind == SPATE_DECISION_POLICY)
        g_string_append(text, decision->policy == SPATE_FLOOD_NONE
                                  ? "its flooding policy (none)"
                                  : "the draw of its flooding policy (probability)");
}

static void
append_decision(GString *text, const SpateFact *fact, const char *file)
{
    const SpateFactDecision *decision = &fact->decision;
    g_string_append_printf(text, "%s %s ", fact->node,
                           decision->kind == SPATE_DECISION_SEND ? "decides to" : "does not");
    if (decision->crossing == NULL)
        g_string_append_printf(text, "relay it on %s", fact->bearer);
    else
        g_string_append_printf(text, "let it across to %s (crossing '%s')", fact->bearer,
                               decision->crossing);
    append_reason(text, decision, file);
}

/* ---- frames ---------------------------------------------------------------------------------- */

static void
append_wait(GString *text, const SpateFact *fact)
{
    const SpateFactWait *wait = &fact->wait;
    g_string_append_printf(text,
                           "%s sends it on %s, %.3f s after it reached the queue (%.3f s after "
                           "other frames, %.3f s for the duty cycle, %.3f s for a free channel)",
                           fact->node, fact->bearer, seconds(wait->all_ns),
                           seconds(wait->behind_ns), seconds(wait->duty_ns),
                           seconds(wait->access_ns));
}

static void
append_pending(GString *text, const SpateFact *fact)
{
    g_string_append_printf(text, "%s still waits to send it on %s when the run ends", fact->node,
                           fact->bearer);
    if (fact->duty_limit_ns > 0)
        g_string_append_printf(text, " (its duty cycle allows %.3f s on the air in any hour)",
                               seconds(fact->duty_limit_ns));
}

/* Instants of the run, as that of the offer. */
static void
append_outage(GString *text, const SpateFact *fact)
{
    g_string_append_printf(text, "%s was down from ", fact->node);
    spate_append_instant(text, fact->from_ns);
    g_string_append(text, fact->to_ns == SPATE_NEVER_NS ? " on" : " to ");
    if (fact->to_ns != SPATE_NEVER_NS)
        spate_append_instant(text, fact->to_ns);
}

/* ---- sentences ------------------------------------------------------------------------------- */

/* In time, late, or with no answer. */
static void
append_reached(GString *text, const SpateFact *fact)
{
    bool is_late = fact->kind == SPATE_FACT_REACHED_LATE;
    g_string_append_printf(text, "it reached %s", fact->node);
    if (fact->kind != SPATE_FACT_REACHED)
        g_string_append_printf(text, " after %.3f s", seconds(fact->after_ns));
    if (is_late && fact->within_ns > 0)
        g_string_append_printf(text, ", not within %.3f s", seconds(fact->within_ns));
    if (fact->kind == SPATE_FACT_ANSWER_LOST)
        g_string_append_printf(
            text, ", but no acknowledgement came back to %s; the acknowledgements:", fact->sender);
    else
        g_string_append(text, "; its path:");
}

static void
append_fact(GString *text, const SpateFact *fact, const char *file)
{
    const char *node = fact->node, *bearer = fact->bearer;
    if (fact->kind >= SPATE_FACT_ARRIVED && fact->kind <= SPATE_FACT_PENDING)
        g_string_append_printf(text, "+%.3f s ", seconds(fact->after_ns));
    switch (fact->kind) {
    case SPATE_FACT_NEVER_REACHED:
        g_string_append_printf(text, "it never reached %s", node);
        break;
    case SPATE_FACT_REACHED:
    case SPATE_FACT_REACHED_LATE:
    case SPATE_FACT_ANSWER_LOST:
        append_reached(text, fact);
        break;
    case SPATE_FACT_NEVER_SENT_ON:
        g_string_append_printf(text, "it was never sent on %s", bearer);
        break;
    case SPATE_FACT_WAS_SENT_ON:
        g_string_append_printf(text, "%s sent it on %s; its path there:", node, bearer);
        break;
    case SPATE_FACT_WHERE_IT_ARRIVED:
        g_string_append(text, "where it arrived:");
        break;
    case SPATE_FACT_WHERE_IT_STOPPED:
        g_string_append(text, "where it stopped:");
        break;
    case SPATE_FACT_ARRIVED:
        append_arrival(text, fact);
        break;
    case SPATE_FACT_LOST:
        append_loss(text, fact);
        break;
    case SPATE_FACT_DECIDED:
        append_decision(text, fact, file);
        break;
    case SPATE_FACT_DIGESTED:
        g_string_append_printf(text, "%s puts it in a digest", node);
        break;
    case SPATE_FACT_WAITED:
        append_wait(text, fact);
        break;
    case SPATE_FACT_SENT:
        g_string_append_printf(text, "%s sends it on %s", node, bearer);
        break;
    case SPATE_FACT_DROPPED:
        g_string_append_printf(text, "%s drops its frame on %s: %s", node, bearer,
                               spate_drop_reason(fact->cause));
        break;
    case SPATE_FACT_PENDING:
        append_pending(text, fact);
        break;
    case SPATE_FACT_MORE:
        g_string_append_printf(text, "... and %u more like these", fact->n_more);
        break;
    case SPATE_FACT_WAS_DOWN:
        append_outage(text, fact);
        break;
    case SPATE_FACT_NO_SENDER:
        g_string_append_printf(text, "no node sent it on a bearer on which %s has a radio", node);
        break;
    case SPATE_FACT_HEARS_NONE:
        append_strongest(text, fact, "hears none of the nodes that sent it");
        break;
    case SPATE_FACT_RELAY_MISSED:
        append_strongest(text, fact, "would relay it, but hears no node that has it");
        break;
    }
}

char *
spate_explanation_text(const SpateExplanation *explanation)
{
    if (explanation == NULL)
        return NULL;
    if (explanation->offered_ns < 0)
        return g_strdup("the message was not offered\n");
    GString *text = g_string_new(NULL);
    g_string_append_printf(text, "replication %u: %s of %s, offered at ",
                           explanation->replication + 1, explanation->traffic, explanation->origin);
    spate_append_instant(text, explanation->offered_ns);
    g_string_append_c(text, '\n');
    for (guint i = 0; i < explanation->facts->len; i++) {
        append_fact(text, &g_array_index(explanation->facts, SpateFact, i), explanation->file);
        g_string_append_c(text, '\n');
    }
    for (guint i = 0; i < explanation->silent->len; i++)
        g_string_append_printf(text, "%s%s",
                               i == 0 ? "these nodes have it and do not relay it: " : ", ",
                               (const char *)g_ptr_array_index(explanation->silent, i));
    if (explanation->n_more_silent > 0)
        g_string_append_printf(text, " and %u more", explanation->n_more_silent);
    if (explanation->silent->len > 0)
        g_string_append_c(text, '\n');
    return g_string_free(text, FALSE);
}
