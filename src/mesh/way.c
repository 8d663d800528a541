/* way.c - whether a node sends a message on, and how
 *
 * A way leads out of a node: its relay on the bearer on which the message came, or a crossing. What
 * may still be sent there is judged by the rules of the way, then (a relay only) by the
 * flooding policy; what passes goes after its jitter, later (delay.c), or in a digest (digest.c).
 */
#include "mesh/mesh-private.h"

#include <math.h>

/* The wait of `weakest-first` grows with the level above the sensitivity up to here (the
 * distance-based scheme of Tseng, Ni, Chen, Sheu, "The broadcast storm problem in a mobile
 * ad hoc network", Wireless Networks 8, 2002; the figure is our choice, docs/model.md). */
#define LONGEST_WAIT_AT_DB 40.0

/* ---- deciding -------------------------------------------------------------------------------- */

static uint32_t
hop_limit(const SpateMesh *mesh, const SpateMessageFacts *facts, uint32_t node)
{
    uint32_t limit = mesh->plan->traffics[facts->traffic].hop_limit;
    return limit > 0 ? limit : mesh->plan->nodes[node].flooding.hop_limit;
}

/* TO_SEND, HOP_LIMIT or IS_WAITING. */
static SpateDecision
may_send(const SpateMesh *mesh, const SpateArrival *arrival, uint32_t radio)
{
    g_assert(mesh->plan->radios[radio].node == arrival->node);
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    if (!spate_message_is_routed(message) &&
        arrival->hops >= hop_limit(mesh, arrival->facts, arrival->node))
        return SPATE_DECISION_HOP_LIMIT;
    return message->on_radio[radio] == SPATE_NO_FRAME ? SPATE_DECISION_SEND
                                                      : SPATE_DECISION_IS_WAITING;
}

static SpateRuleSubject
subject_of(const SpateMesh *mesh, const SpateArrival *arrival)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    return (SpateRuleSubject){
        .traffic = arrival->facts->traffic,
        .origin = arrival->facts->origin,
        .size_bytes = arrival->facts->payload_bytes,
        .hops = arrival->hops,
        .received_dbm = spate_medium_level_dbm(mesh->medium, arrival->radio, arrival->power),
        .recipients = message->recipients,
        .n_recipients = message->n_recipients,
        .now_ns = spate_event_queue_now_ns(mesh->queue),
    };
}

typedef struct {
    const SpateMesh *mesh;
    uint32_t node;
} Listener;

static double
heard_occupancy(gpointer user, uint32_t bearer)
{
    const Listener *listener = user;
    return spate_occupancy_share(listener->mesh->occupancy, listener->node, bearer);
}

static SpateVerdict
judge(const SpateMesh *mesh, const SpateArrival *arrival, const SpateWay *way)
{
    if (way->n_rules == 0)
        return (SpateVerdict){way->otherwise_passes, SPATE_NO_RULE};
    Listener listener = {mesh, arrival->node};
    SpateRuleSubject subject = subject_of(mesh, arrival);
    subject.occupancy = heard_occupancy;
    subject.user = &listener;
    return spate_rules_judge(way->rules, way->n_rules, way->otherwise_passes, way->memory,
                             &subject);
}

static bool
policy_allows_relay(const SpateMesh *mesh, const SpateArrival *arrival)
{
    const SpateNode *node = &mesh->plan->nodes[arrival->node];
    switch (node->flooding.policy) {
    case SPATE_FLOOD_CLASSIC:
    case SPATE_FLOOD_COUNTER: /* until further copies are heard */
        return true;
    case SPATE_FLOOD_PROBABILITY: {
        SpateRandom random = spate_random_stream(
            mesh->choice_key, spate_hash_combine(arrival->facts->identity, node->name_hash));
        return spate_random_unit(&random) < node->flooding.p;
    }
    case SPATE_FLOOD_NONE:
        return false;
    }
    g_assert_not_reached();
}

static SpateDecision
as_rule_says(const SpateMesh *mesh, const SpateArrival *arrival, const SpateWay *way,
             const SpateRule *rule)
{
    switch (spate_rule_action_info(rule->action)->sending) {
    case SPATE_SENT_NOW:
        return SPATE_DECISION_SEND;
    case SPATE_SENT_IN_DIGEST:
        /* A frame along a route is not taken into one: it passes. */
        return arrival->facts->route_length > 0 ? SPATE_DECISION_SEND : SPATE_DECISION_COLLECT;
    case SPATE_SENT_WHEN_QUIET:
        return spate_occupancy_share(mesh->occupancy, arrival->node,
                                     mesh->plan->radios[way->radio].bearer) <
                       rule->delay_until_below
                   ? SPATE_DECISION_SEND
                   : SPATE_DECISION_DELAY;
    }
    g_assert_not_reached();
}

/* The rules are asked before the policy: what they count is what could be sent on.  A frame along a
 * route knows neither relays nor a policy. */
static SpateDecision
decide(const SpateMesh *mesh, const SpateArrival *arrival, const SpateWay *way, uint32_t *rule)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    bool is_relay = way->crossing == NULL && !spate_message_is_routed(message);
    if (is_relay && !mesh->plan->radios[way->radio].relays)
        return SPATE_DECISION_NO_RELAY;
    SpateDecision decision = may_send(mesh, arrival, way->radio);
    if (decision != SPATE_DECISION_SEND)
        return decision;
    SpateVerdict verdict = spate_route_turns(message, arrival->hops)
                               ? (SpateVerdict){true, SPATE_NO_RULE}
                               : judge(mesh, arrival, way);
    *rule = verdict.rule;
    if (!verdict.passes)
        return SPATE_DECISION_HELD_BACK;
    if (is_relay && !policy_allows_relay(mesh, arrival))
        return SPATE_DECISION_POLICY;
    return verdict.rule == SPATE_NO_RULE
               ? SPATE_DECISION_SEND
               : as_rule_says(mesh, arrival, way, &way->rules[verdict.rule]);
}

/* ---- jitter ---------------------------------------------------------------------------------- */

static double
longest_jitter_ns(const SpateMesh *mesh, const SpateFrame *frame)
{
    const SpateNode *node = spate_node_of(mesh, frame->facts.radio);
    return round(node->flooding.jitter_airtimes * (double)frame->facts.airtime_ns);
}

/* From a draw that both variants of a comparison share. */
int64_t
spate_mesh_random_jitter_ns(const SpateMesh *mesh, uint32_t slot)
{
    const SpateFrame *frame = spate_frame_at(mesh, slot);
    SpateRandom random = spate_random_stream(mesh->jitter_key, frame->identity);
    return spate_random_wait_ns(&random, (int64_t)longest_jitter_ns(mesh, frame));
}

int64_t
spate_mesh_jitter_ns(const SpateMesh *mesh, const SpateArrival *arrival, uint32_t slot)
{
    if (!mesh->plan->nodes[arrival->node].flooding.weakest_first)
        return spate_mesh_random_jitter_ns(mesh, slot);
    double margin_db = spate_medium_margin_db(mesh->medium, arrival->radio, arrival->power);
    double share = fmin(fmax(margin_db, 0.0), LONGEST_WAIT_AT_DB) / LONGEST_WAIT_AT_DB;
    return llround(longest_jitter_ns(mesh, spate_frame_at(mesh, slot)) * share);
}

/* ---- sending --------------------------------------------------------------------------------- */

static void
send(SpateMesh *mesh, const SpateArrival *arrival, const SpateWay *way, const SpateRule *until)
{
    uint32_t slot = spate_frame_new(mesh, arrival->message, way->radio, arrival->hops + 1);
    SpateFrame *frame = spate_frame_at(mesh, slot);
    bool is_routed = arrival->facts->route_length > 0;
    frame->is_governed = way->crossing == NULL && !is_routed;
    spate_route_record(mesh, arrival, slot);
    int64_t wait_ns = is_routed ? 0 : spate_mesh_jitter_ns(mesh, arrival, slot);
    if (until != NULL)
        spate_frame_delay(mesh, slot, until, wait_ns);
    else
        spate_frame_enqueue_later(mesh, slot, wait_ns);
}

static void
report(const SpateMesh *mesh, const SpateArrival *arrival, const SpateWay *way,
       SpateDecision decision, uint32_t rule)
{
    if (!spate_observers_want_decision(&mesh->observers, way->crossing != NULL))
        return;
    const SpateEvent event = {
        .kind = SPATE_EVENT_DECIDED,
        .node = arrival->node,
        .radio = way->radio,
        .hops = arrival->hops,
        .at_ns = spate_event_queue_now_ns(mesh->queue),
        .message = arrival->facts,
        .decision = decision,
        .crossing = way->crossing != NULL ? (uint32_t)(way->crossing - mesh->plan->crossings)
                                          : SPATE_NO_CROSSING,
        .rule = rule,
        .rule_line = rule != SPATE_NO_RULE ? way->rules[rule].line : 0,
    };
    spate_observers_tell(&mesh->observers, &event);
}

void
spate_mesh_consider(SpateMesh *mesh, const SpateArrival *arrival, const SpateWay *way)
{
    g_assert(mesh->plan->radios[way->radio].node == arrival->node);
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    if (spate_message_is_routed(message) &&
        !spate_route_leads_on(message, arrival->hops, way->radio))
        return;
    uint32_t rule = SPATE_NO_RULE;
    SpateDecision decision = decide(mesh, arrival, way, &rule);
    report(mesh, arrival, way, decision, rule);
    switch (decision) {
    case SPATE_DECISION_SEND:
        send(mesh, arrival, way, NULL);
        break;
    case SPATE_DECISION_DELAY:
        send(mesh, arrival, way, &way->rules[rule]);
        break;
    case SPATE_DECISION_COLLECT:
        spate_mesh_collect(mesh, arrival, way->radio, &way->rules[rule]);
        break;
    case SPATE_DECISION_NO_RELAY:
    case SPATE_DECISION_HOP_LIMIT:
    case SPATE_DECISION_IS_WAITING:
    case SPATE_DECISION_HELD_BACK:
    case SPATE_DECISION_POLICY:
        break;
    }
}
