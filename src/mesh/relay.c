/* relay.c - what a node does with a copy that it has received
 *
 * On the first copy: deliver, relay on the bearer on which it came, then hand it on to
 * those who look after crossings.  On a further copy: count it, which may cancel a relay.
 */
#include "mesh/mesh-private.h"

#include <math.h>

/* The wait of `weakest-first` grows with the level above the sensitivity up to here (the
 * distance-based scheme of Tseng, Ni, Chen, Sheu, "The broadcast storm problem in a mobile
 * ad hoc network", Wireless Networks 8, 2002; the figure is our choice, docs/model.md). */
#define LONGEST_WAIT_AT_DB 40.0

static uint32_t
hop_limit(const SpateMesh *mesh, const SpateMessageFacts *facts, uint32_t node)
{
    uint32_t limit = mesh->plan->traffics[facts->traffic].hop_limit;
    return limit > 0 ? limit : mesh->plan->nodes[node].flooding.hop_limit;
}

SpateDecisionKind
spate_mesh_may_send(const SpateMesh *mesh, const SpateArrival *arrival, uint32_t radio)
{
    g_assert(mesh->plan->radios[radio].node == arrival->node);
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    if (arrival->hops >= hop_limit(mesh, arrival->facts, arrival->node))
        return SPATE_DECIDED_HOP_LIMIT;
    return message->on_radio[radio] == SPATE_NO_FRAME ? SPATE_DECIDED_TO_SEND
                                                      : SPATE_DECIDED_IS_WAITING;
}

/* ---- jitter ---------------------------------------------------------------------------------- */

/* From a random draw that both variants of a comparison share, or from how well the node heard the
 * sender. */
static int64_t
jitter_ns(const SpateMesh *mesh, const SpateArrival *arrival, uint32_t radio, int64_t airtime_ns)
{
    const SpateNode *node = &mesh->plan->nodes[arrival->node];
    double at_most_ns = round(node->flooding.jitter_airtimes * (double)airtime_ns);
    if (node->flooding.weakest_first) {
        double margin_db = spate_medium_margin_db(mesh->medium, arrival->radio, arrival->power);
        double share = fmin(fmax(margin_db, 0.0), LONGEST_WAIT_AT_DB) / LONGEST_WAIT_AT_DB;
        return llround(at_most_ns * share);
    }
    uint64_t sender =
        spate_hash_combine(node->name_hash, mesh->bearer_hash[mesh->plan->radios[radio].bearer]);
    SpateRandom random =
        spate_random_stream(mesh->jitter_key, spate_hash_combine(arrival->facts->identity, sender));
    return spate_random_wait_ns(&random, (int64_t)at_most_ns);
}

static void
send_after_jitter(SpateMesh *mesh, const SpateArrival *arrival, uint32_t radio, bool is_governed)
{
    uint32_t slot = spate_frame_new(mesh, arrival->message, radio, arrival->hops + 1);
    SpateFrame *frame = spate_frame_at(mesh, slot);
    frame->is_governed = is_governed;
    spate_frame_enqueue_later(mesh, slot, jitter_ns(mesh, arrival, radio, frame->facts.airtime_ns));
}

void
spate_mesh_send_on(SpateMesh *mesh, const SpateArrival *arrival, uint32_t radio)
{
    g_assert(spate_mesh_may_send(mesh, arrival, radio) == SPATE_DECIDED_TO_SEND);
    send_after_jitter(mesh, arrival, radio, false);
}

/* ---- the first copy -------------------------------------------------------------------------- */

static bool
is_recipient(const SpateTrafficKind *kind, uint32_t node)
{
    uint32_t low = 0, high = kind->n_recipients;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (kind->recipients[middle] < node)
            low = middle + 1;
        else
            high = middle;
    }
    return low < kind->n_recipients && kind->recipients[low] == node;
}

/* Once, however often the node forgets the message. */
static void
deliver(SpateMesh *mesh, const SpateArrival *arrival)
{
    SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    if (message->at_node[arrival->node].is_delivered || !is_recipient(message->kind, arrival->node))
        return;
    message->at_node[arrival->node].is_delivered = true;
    spate_observers_delivered(&mesh->observers, spate_event_queue_now_ns(mesh->queue),
                              &message->facts, arrival->node, arrival->hops);
}

SpateRuleSubject
spate_arrival_rule_subject(const SpateArrival *arrival, const SpatePlan *plan,
                           const SpateMedium *medium, int64_t now_ns)
{
    const SpateTrafficKind *kind = &plan->traffics[arrival->facts->traffic];
    return (SpateRuleSubject){
        .traffic = arrival->facts->traffic,
        .origin = arrival->facts->origin,
        .size_bytes = kind->payload_bytes,
        .hops = arrival->hops,
        .received_dbm = spate_medium_level_dbm(medium, arrival->radio, arrival->power),
        .recipients = kind->recipients,
        .n_recipients = kind->n_recipients,
        .now_ns = now_ns,
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

/* What the rules of the node say about a relay; without any, all may be relayed. */
static SpateVerdict
judge_relay(const SpateMesh *mesh, const SpateArrival *arrival)
{
    const SpateNode *node = &mesh->plan->nodes[arrival->node];
    if (node->n_relay_rules == 0)
        return (SpateVerdict){true, SPATE_NO_RULE};
    Listener listener = {mesh, arrival->node};
    SpateRuleSubject subject = spate_arrival_rule_subject(arrival, mesh->plan, mesh->medium,
                                                          spate_event_queue_now_ns(mesh->queue));
    subject.occupancy = heard_occupancy;
    subject.user = &listener;
    return spate_rules_judge(node->relay_rules, node->n_relay_rules, true,
                             mesh->relay_memory[arrival->node], &subject);
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

/* The rules are asked last but one: what they count is what could be relayed. */
static SpateDecision
decide_relay(const SpateMesh *mesh, const SpateArrival *arrival)
{
    SpateDecision decision = {
        .kind = SPATE_DECIDED_NO_RELAY,
        .message = arrival->facts,
        .hops = arrival->hops,
        .radio = arrival->radio,
        .rule = SPATE_NO_RULE,
    };
    if (!mesh->plan->radios[arrival->radio].relays)
        return decision;
    decision.kind = spate_mesh_may_send(mesh, arrival, arrival->radio);
    if (decision.kind != SPATE_DECIDED_TO_SEND)
        return decision;
    SpateVerdict verdict = judge_relay(mesh, arrival);
    decision.rule = verdict.rule;
    if (!verdict.passes)
        decision.kind = SPATE_DECIDED_BY_RULE;
    else if (!policy_allows_relay(mesh, arrival))
        decision.kind = SPATE_DECIDED_BY_POLICY;
    return decision;
}

static void
relay(SpateMesh *mesh, const SpateArrival *arrival)
{
    SpateDecision decision = decide_relay(mesh, arrival);
    if (decision.kind == SPATE_DECIDED_TO_SEND)
        send_after_jitter(mesh, arrival, arrival->radio, true);
    spate_mesh_report_decision(mesh, &decision);
}

static void
receive_first(SpateMesh *mesh, const SpateArrival *arrival)
{
    SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    message->at_node[arrival->node].is_known = true;
    message->at_node[arrival->node].copies = 0;
    spate_duplicates_note(mesh->duplicates, arrival->node, arrival->message,
                          spate_event_queue_now_ns(mesh->queue));
    deliver(mesh, arrival);
    relay(mesh, arrival);
    if (mesh->arrived != NULL)
        mesh->arrived(mesh->arrived_user, arrival);
}

/* ---- further copies -------------------------------------------------------------------------- */

/* Relays that do not fly yet; a node has at most one of a message on each of its radios. */
static void
cancel_relays(SpateMesh *mesh, const SpateMessage *message, const SpateNode *node)
{
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++) {
        uint32_t slot = message->on_radio[r];
        if (slot != SPATE_NO_FRAME && spate_frame_at(mesh, slot)->is_governed)
            spate_frame_cancel(mesh, slot);
    }
}

static void
receive_again(SpateMesh *mesh, const SpateMessage *message, uint32_t number)
{
    const SpateNode *node = &mesh->plan->nodes[number];
    SpateKnowledge *knowledge = &message->at_node[number];
    knowledge->copies++;
    if (node->flooding.policy == SPATE_FLOOD_COUNTER && knowledge->copies >= node->flooding.copies)
        cancel_relays(mesh, message, node);
}

void
spate_mesh_receive(SpateMesh *mesh, const SpateAirFrame *air, uint32_t radio, uint64_t power)
{
    const SpateFrame *frame = spate_frame_at(mesh, air->cargo);
    const SpateMessage *message = spate_message_at(&mesh->pool, frame->message);
    uint32_t node = mesh->plan->radios[radio].node;
    spate_duplicates_expire(mesh->duplicates, node, air->end_ns);
    if (spate_mesh_knows(message, node)) {
        spate_observers_redundant(&mesh->observers, air, &frame->facts, radio);
        receive_again(mesh, message, node);
        return;
    }
    SpateArrival arrival = {
        .message = frame->message,
        .facts = &message->facts,
        .node = node,
        .radio = radio,
        .hops = frame->facts.hops,
        .power = power,
    };
    spate_observers_arrived(&mesh->observers, air, &frame->facts, radio);
    receive_first(mesh, &arrival);
}
