/* lint-sizes.c - frames and digests that are too long beyond their source
 *
 * What is too long at its source is for lint-traffic.c.  A crossing leads to a bearer with another
 * overhead and another longest frame, and each hop adds the route record.  What rules hold back for
 * certain does not cross.
 */
#include "scenario/lint/lint.h"

typedef struct {
    uint32_t bearer;
    bool is_crossed_to;
    uint32_t n_senders;    /* radios that relay there, and crossings that lead there */
    uint32_t record_bytes; /* most that one of them adds for a hop */
    uint32_t most_hops;    /* that a frame there may have done before */
} Hops;

static void
count_sender(Hops *hops, const SpateScenarioTraffic *traffic, const SpateScenarioNode *node)
{
    uint32_t limit = spate_lint_hop_limit(traffic, &node->flooding);
    hops->n_senders++;
    hops->record_bytes = MAX(hops->record_bytes, node->flooding.route_record_bytes);
    hops->most_hops = MAX(hops->most_hops, limit - 1);
}

/* Each node sends a message on: so many hops there can be, and no more than the limit allows. */
static Hops
count_hops(const SpateScenario *scenario, uint32_t traffic, uint32_t bearer, const bool *reached)
{
    const SpateScenarioTraffic *of = &scenario->traffics[traffic];
    Hops hops = {.bearer = bearer};
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        if (spate_lint_relays_on(&scenario->nodes[i], bearer))
            count_sender(&hops, of, &scenario->nodes[i]);
    for (uint32_t i = 0; i < scenario->n_crossings; i++) {
        const SpateScenarioCrossing *crossing = &scenario->crossings[i];
        if (crossing->to_bearer == bearer && reached[crossing->from_bearer] &&
            spate_lint_may_cross(scenario, crossing, traffic)) {
            hops.is_crossed_to = true;
            count_sender(&hops, of, &scenario->nodes[crossing->node]);
        }
    }
    hops.most_hops = MIN(hops.most_hops, hops.n_senders);
    return hops;
}

static void
warn_of_crossing(SpateLint *lint, const SpateScenarioTraffic *traffic, const Hops *hops,
                 int64_t room_bytes)
{
    const SpateScenarioBearer *on = &lint->scenario->bearers[hops->bearer];
    int64_t most_bytes = (int64_t)traffic->payload_bytes + room_bytes - hops->record_bytes;
    g_autofree char *hint =
        most_bytes > 0 ? g_strdup_printf("at most %" G_GINT64_FORMAT " bytes of payload, or hold "
                                         "them back at the crossing",
                                         most_bytes)
                       : g_strdup("hold them back at the crossing");
    spate_faults_warn(lint->faults, traffic->place, hint,
                      "frames of '%s' are dropped where they cross to '%s': %u bytes of payload, "
                      "%d of overhead and %u of route record are more than its largest frame of "
                      "%d bytes",
                      traffic->name, on->name, traffic->payload_bytes, on->radio.overhead_bytes,
                      hops->record_bytes, on->radio.largest_frame_bytes);
}

static void
warn_of_growth(SpateLint *lint, const SpateScenarioTraffic *traffic, const Hops *hops,
               int64_t room_bytes)
{
    const SpateScenarioBearer *on = &lint->scenario->bearers[hops->bearer];
    int64_t most_bytes = (int64_t)traffic->payload_bytes + room_bytes -
                         (int64_t)hops->record_bytes * hops->most_hops;
    g_autofree char *hint =
        most_bytes > 0
            ? g_strdup_printf("at most %" G_GINT64_FORMAT " bytes of payload for all hops",
                              most_bytes)
            : g_strdup("a lower 'hop-limit', or less of a 'route-record'");
    spate_faults_warn(lint->faults, traffic->place, hint,
                      "frames of '%s' outgrow '%s' after %" G_GINT64_FORMAT " hops: each adds %u "
                      "bytes of route record, and %u hops are possible",
                      traffic->name, on->name, room_bytes / hops->record_bytes + 1,
                      hops->record_bytes, hops->most_hops);
}

static void
check_traffic(SpateLint *lint, uint32_t number, uint32_t bearer, const bool *reached)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateScenarioTraffic *traffic = &scenario->traffics[number];
    const SpateBearer *radio = &scenario->bearers[bearer].radio;
    int64_t room_bytes = (int64_t)radio->largest_frame_bytes - radio->overhead_bytes -
                         (int64_t)traffic->payload_bytes;
    bool is_sent = spate_lint_is_sent_on(scenario, traffic, bearer);
    if (is_sent && room_bytes < 0)
        return;
    Hops hops = count_hops(scenario, number, bearer, reached);
    if (hops.most_hops == 0 || (!is_sent && !hops.is_crossed_to))
        return;
    if (!is_sent && room_bytes < hops.record_bytes)
        warn_of_crossing(lint, traffic, &hops, room_bytes);
    else if (room_bytes < (int64_t)hops.record_bytes * hops.most_hops)
        warn_of_growth(lint, traffic, &hops, room_bytes);
}

/* ---- digests --------------------------------------------------------------------------------- */

static void
check_digest(SpateLint *lint, const SpateRule *rule, SpatePlace place, uint32_t traffic,
             uint32_t bearer)
{
    const SpateScenarioTraffic *of = &lint->scenario->traffics[traffic];
    const SpateScenarioBearer *on = &lint->scenario->bearers[bearer];
    int64_t room_bytes = (int64_t)on->radio.largest_frame_bytes - on->radio.overhead_bytes;
    if (of->payload_bytes == 0 || of->payload_bytes > room_bytes)
        return;
    int64_t n_fit = room_bytes / of->payload_bytes;
    if (n_fit < 2)
        spate_faults_warn(lint->faults, place, "do: pass, or shorter messages",
                          "a digest of '%s' can never hold two: %u bytes each, and a frame on '%s' "
                          "carries %" G_GINT64_FORMAT,
                          of->name, of->payload_bytes, on->name, room_bytes);
    else if (rule->digest_most > n_fit)
        spate_faults_warn(lint->faults, place, "a full digest is sent, so 'most' has no effect",
                          "a digest of '%s' never reaches 'most: %u': %" G_GINT64_FORMAT
                          " fill a frame of '%s'",
                          of->name, rule->digest_most, n_fit, on->name);
}

/* A full digest that is relayed grows by the route record like any other frame. */
static void
check_digest_growth(SpateLint *lint, const SpateRule *rule, SpatePlace place, uint32_t traffic,
                    uint32_t bearer)
{
    const SpateScenarioTraffic *of = &lint->scenario->traffics[traffic];
    const SpateScenarioBearer *on = &lint->scenario->bearers[bearer];
    int64_t room_bytes = (int64_t)on->radio.largest_frame_bytes - on->radio.overhead_bytes;
    if (of->payload_bytes == 0 || 2 * (int64_t)of->payload_bytes > room_bytes)
        return;
    int64_t n = room_bytes / of->payload_bytes;
    if (rule->digest_most > 0)
        n = MIN(n, rule->digest_most);
    for (uint32_t i = 0; i < lint->scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &lint->scenario->nodes[i];
        uint32_t record_bytes = node->flooding.route_record_bytes;
        if (!spate_lint_relays_on(node, bearer) || node->flooding.hop_limit < 2 ||
            n * of->payload_bytes + record_bytes <= room_bytes)
            continue;
        g_autofree char *hint = g_strdup_printf("most: %" G_GINT64_FORMAT,
                                                (room_bytes - record_bytes) / of->payload_bytes);
        spate_faults_warn(lint->faults, place, hint,
                          "'%s' cannot relay a full digest of '%s' on '%s': %u bytes of route "
                          "record do not fit in any more",
                          node->name, of->name, on->name, record_bytes);
        return;
    }
}

static void
check_digests(SpateLint *lint, const GArray *rules, SpatePlace owner, uint32_t to_bearer)
{
    for (guint i = 0; i < rules->len; i++) {
        const SpateRule *rule = &g_array_index(rules, SpateRule, i);
        SpatePlace place = spate_lint_rule_place(rule, owner);
        bool is_digest = spate_rule_action_info(rule->action)->sending == SPATE_SENT_IN_DIGEST;
        for (uint32_t t = 0; is_digest && t < lint->scenario->n_traffics; t++) {
            if (!spate_lint_rule_may_match(rule, lint->scenario, t))
                continue;
            check_digest(lint, rule, place, t, to_bearer);
            check_digest_growth(lint, rule, place, t, to_bearer);
        }
    }
}

void
spate_lint_sizes(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t t = 0; t < scenario->n_traffics; t++) {
        /* Of given routes, lint-route.c warns. */
        if (scenario->traffics[t].route == SPATE_ROUTE_ALONG)
            continue;
        g_autofree bool *reached = spate_lint_bearers_reached(scenario, &scenario->traffics[t]);
        for (uint32_t b = 0; b < scenario->n_bearers; b++)
            if (reached[b])
                check_traffic(lint, t, b, reached);
    }
    spate_lint_each_rules(lint, check_digests);
}
