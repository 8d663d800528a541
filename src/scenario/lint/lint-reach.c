/* lint-reach.c - messages that can never get where they should
 *
 * Floods each traffic from each of its sources over all links that could ever be heard
 * (lint-hearing.h), by all who relay and across all crossings: rules and chance are taken to let
 * everything pass, and later copies to be carried on as first ones are.  So what is not reached
 * cannot be reached.  Sources beyond a bound on the work are left out.
 */

#include "scenario/lint/lint-flood.h"
#include "scenario/text/quantity.h"

#include <math.h>
#include <string.h>

/* Words of rows that are looked through, in all: about a second. */
#define MOST_WORDS 200000000

typedef struct {
    SpateLintFlood flood;
    const SpateScenario *scenario;
    const SpatePlan *plan;

    /* of the last message */
    uint32_t *senders; /* radios, in the order in which they come to send */
    uint32_t n_senders;
    bool *is_sender;       /* by radio */
    uint32_t *hops_before; /* by radio that sends */
    uint32_t *hops;        /* by node: transmissions until it is reached; 0: it is not */
} Reach;

/* The recipients of one message that are looked for. */
typedef struct {
    bool *is_wanted; /* by node */
    uint32_t n_missing;
} Wanted;

typedef struct {
    uint32_t source, recipient, hops;
} Example;

typedef struct {
    uint64_t n_pairs, n_cut,
        n_far;                /* pairs that were searched; without a path; beyond hop limits */
    Example cut, far;         /* the first of them */
    SpateMissingLink missing; /* that would reach cut.recipient; sender UINT32_MAX: none */
} Findings;

/* ---- a flood --------------------------------------------------------------------------------- */

static void
add_sender(Reach *reach, uint32_t radio, uint32_t hops_before)
{
    if (reach->is_sender[radio])
        return;
    reach->is_sender[radio] = true;
    reach->hops_before[radio] = hops_before;
    reach->senders[reach->n_senders++] = radio;
}

typedef struct {
    Reach *reach;
    const SpateScenarioTraffic *traffic;
    Wanted *wanted;
    bool limited;
    uint32_t hops; /* this transmission included */
} Transmission;

/* The radio hears the message; goes on while any that are wanted are missing. */
static bool
hear(gpointer user, uint32_t radio)
{
    const Transmission *sent = user;
    Reach *reach = sent->reach;
    const SpatePlan *plan = reach->plan;
    uint32_t node = plan->radios[radio].node, hops = sent->hops;
    const uint32_t *first_crossing = reach->flood.first_crossing;
    if (reach->hops[node] == 0) {
        sent->wanted->n_missing -= sent->wanted->is_wanted[node];
        reach->hops[node] = hops;
    }
    if (!sent->limited || hops < spate_lint_hop_limit(sent->traffic, &plan->nodes[node].flooding)) {
        if (plan->radios[radio].relays && plan->nodes[node].flooding.policy != SPATE_FLOOD_NONE)
            add_sender(reach, radio, hops);
        for (uint32_t i = first_crossing[node]; i < first_crossing[node + 1]; i++)
            if (plan->crossings[i].from_bearer == plan->radios[radio].bearer)
                add_sender(reach, plan->crossings[i].to_radio, hops);
    }
    return sent->wanted->n_missing > 0;
}

/* From the source until all that are wanted are reached, or nobody more is. */
static void
flood(Reach *reach, const SpateScenarioTraffic *traffic, uint32_t source, bool limited,
      Wanted *wanted)
{
    const SpateNode *node = &reach->plan->nodes[source];
    memset(reach->hops, 0, reach->plan->n_nodes * sizeof *reach->hops);
    memset(reach->is_sender, 0, reach->plan->n_radios * sizeof *reach->is_sender);
    reach->n_senders = 0;
    spate_lint_flood_begin(&reach->flood, source);
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
        if (spate_lint_sends_on(reach->scenario, traffic, source, reach->plan->radios[r].bearer))
            add_sender(reach, r, 0);
    for (uint32_t i = 0; i < reach->n_senders && wanted->n_missing > 0; i++) {
        uint32_t radio = reach->senders[i];
        Transmission sent = {reach, traffic, wanted, limited, reach->hops_before[radio] + 1};
        spate_lint_flood_transmit(&reach->flood, radio, hear, &sent);
    }
}

/* ---- what it leaves out ---------------------------------------------------------------------- */

/* Of all links from those who send the message to the node, the one that lacks least. */
static SpateMissingLink
nearest_sender(const Reach *reach, uint32_t recipient)
{
    SpateMissingLink best = {UINT32_MAX, 0, 0, INFINITY};
    const SpateNode *node = &reach->plan->nodes[recipient];
    for (uint32_t i = 0; i < reach->n_senders; i++) {
        for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++) {
            if (reach->plan->radios[r].bearer != reach->plan->radios[reach->senders[i]].bearer)
                continue;
            SpateMissingLink link = spate_hearing_link(reach->flood.hearing, reach->senders[i], r);
            if (link.short_db < best.short_db)
                best = link;
        }
    }
    return best;
}

/* The flood went without hop limits; those that a limited one missed before are wanted. */
static void
note_missing(const Reach *reach, const SpateScenarioTraffic *traffic, uint32_t source,
             const Wanted *wanted, Findings *findings)
{
    for (uint32_t i = 0; i < traffic->n_recipients; i++) {
        uint32_t node = traffic->recipients[i];
        if (!wanted->is_wanted[node])
            continue;
        Example example = {source, node, reach->hops[node]};
        if (example.hops > 0 && findings->n_far++ == 0)
            findings->far = example;
        if (example.hops == 0 && findings->n_cut++ == 0) {
            findings->cut = example;
            findings->missing = nearest_sender(reach, node);
        }
    }
}

/* Whoever the file expects never to be reached is not missed. */
static void
leave_out_expected(const SpateScenario *scenario, const SpateScenarioTraffic *traffic,
                   Wanted *wanted)
{
    for (uint32_t i = 0; i < scenario->n_expectations; i++) {
        const SpateExpectation *expectation = &scenario->expectations[i];
        if (expectation->kind != SPATE_EXPECT_NEVER_REACHES ||
            strcmp(expectation->traffic, traffic->name) != 0)
            continue;
        uint32_t node = spate_scenario_find_node(scenario, expectation->node);
        if (node == UINT32_MAX || !wanted->is_wanted[node])
            continue;
        wanted->is_wanted[node] = false;
        wanted->n_missing--;
    }
}

static void
search_source(Reach *reach, const SpateScenarioTraffic *traffic, uint32_t source, Wanted *wanted,
              Findings *findings)
{
    bool was_wanted = wanted->is_wanted[source];
    uint32_t n_wanted = wanted->n_missing - was_wanted;
    wanted->is_wanted[source] = false;
    wanted->n_missing = n_wanted;
    findings->n_pairs += n_wanted;
    /* An author who limits a traffic to its neighbours means it. */
    bool limited = !reach->flood.has_digests && traffic->hop_limit != 1;
    flood(reach, traffic, source, limited, wanted);
    if (wanted->n_missing > 0) {
        g_autofree bool *is_missing = g_new0(bool, reach->plan->n_nodes);
        Wanted missing = {is_missing, wanted->n_missing};
        for (uint32_t i = 0; i < traffic->n_recipients; i++) {
            uint32_t node = traffic->recipients[i];
            is_missing[node] = wanted->is_wanted[node] && reach->hops[node] == 0;
        }
        flood(reach, traffic, source, false, &missing);
        note_missing(reach, traffic, source, &missing, findings);
    }
    wanted->is_wanted[source] = was_wanted;
    wanted->n_missing = n_wanted + was_wanted;
}

static Findings
search(Reach *reach, const SpateScenarioTraffic *traffic, uint64_t n_words)
{
    Findings findings = {0};
    uint64_t keep = reach->flood.n_words_left - MIN(n_words, reach->flood.n_words_left);
    g_autofree bool *reached = spate_lint_bearers_reached(reach->scenario, traffic);
    g_autofree bool *is_wanted = g_new0(bool, MAX(reach->plan->n_nodes, 1));
    Wanted wanted = {is_wanted, 0};
    /* Recipients with a radio that could hear; of the others lint-traffic.c warns. */
    for (uint32_t i = 0; i < traffic->n_recipients; i++) {
        uint32_t node = traffic->recipients[i];
        is_wanted[node] = spate_lint_can_hear(&reach->scenario->nodes[node], reached);
        wanted.n_missing += is_wanted[node];
    }
    leave_out_expected(reach->scenario, traffic, &wanted);
    uint32_t n = traffic->n_sources, stride = spate_lint_stride(n);
    for (uint32_t i = 0; i < n && reach->flood.n_words_left > keep; i++) {
        uint32_t source = traffic->sources[(uint64_t)i * stride % n];
        if (spate_lint_can_send(reach->scenario, traffic, source))
            search_source(reach, traffic, source, &wanted, &findings);
    }
    return findings;
}

/* ---- what is said ---------------------------------------------------------------------------- */

/* " (3 of 12 pairs of source and recipient, in the layout of the first replication)" */
static char *
share_of_pairs(const Reach *reach, uint64_t n, const Findings *findings)
{
    /* Whoever is on the way may be elsewhere too, not the two ends alone. */

    return g_strdup_printf(
        " (%" G_GUINT64_FORMAT " of %" G_GUINT64_FORMAT " %s%s)", n, findings->n_pairs,
        findings->n_pairs == 1 ? "pair of source and recipient" : "pairs of source and recipient",
        spate_lint_layout_note(reach->scenario));
}

static char *
missing_link_hint(const Reach *reach, const Findings *findings)
{
    const SpatePlan *plan = reach->plan;
    SpateMissingLink link = findings->missing;
    if (link.sender == UINT32_MAX)
        return g_strdup_printf("none of the nodes that get it sends on a bearer that '%s' hears: "
                               "check places and crossings",
                               plan->nodes[findings->cut.recipient].name);
    g_autofree char *distance = spate_quantity_text(
        link.distance_m < 1000 ? rint(link.distance_m) : rint(link.distance_m / 100) * 100,
        SPATE_DIM_LENGTH);
    return g_strdup_printf("check places and losses: the best missing link, from '%s' on "
                           "'%s' over %s, is %.1f dB too weak even if shadowing (3 sigma) and "
                           "fading (10 dB) help",
                           plan->nodes[plan->radios[link.sender].node].name,
                           plan->bearer_names[plan->radios[link.sender].bearer], distance,
                           link.short_db);
}

static void
warn_of(SpateLint *lint, const Reach *reach, const SpateScenarioTraffic *traffic,
        const Findings *findings)
{
    const SpateScenarioNode *nodes = reach->scenario->nodes;
    if (findings->n_cut > 0) {
        g_autofree char *share = share_of_pairs(reach, findings->n_cut, findings);
        g_autofree char *hint = missing_link_hint(reach, findings);
        spate_faults_warn(lint->faults, traffic->place, hint,
                          "'%s' cannot get from '%s' to '%s': no path of links and crossings leads "
                          "there%s",
                          traffic->name, nodes[findings->cut.source].name,
                          nodes[findings->cut.recipient].name, share);
    }
    if (findings->n_far > 0) {
        g_autofree char *share = share_of_pairs(reach, findings->n_far, findings);
        spate_faults_warn(lint->faults, traffic->place,
                          "raise 'hop-limit', or place a repeater that shortens the path",
                          "'%s' cannot get from '%s' to '%s' within the hop limit: the path takes "
                          "at least %u transmissions%s",
                          traffic->name, nodes[findings->far.source].name,
                          nodes[findings->far.recipient].name, findings->far.hops, share);
    }
}

void
spate_lint_reach(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    const SpatePlan *plan = spate_world_plan(lint->world);
    Reach reach = {
        .scenario = scenario,
        .plan = plan,
        .senders = g_new(uint32_t, MAX(plan->n_radios, 1)),
        .is_sender = g_new(bool, MAX(plan->n_radios, 1)),
        .hops_before = g_new(uint32_t, MAX(plan->n_radios, 1)),
        .hops = g_new(uint32_t, MAX(plan->n_nodes, 1)),
    };
    spate_lint_flood_init(&reach.flood, lint, MOST_WORDS);
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        /* Of given routes, lint-route.c warns. */
        if (traffic->route == SPATE_ROUTE_ALONG)
            continue;
        Findings findings =
            search(&reach, traffic, reach.flood.n_words_left / (scenario->n_traffics - i));
        warn_of(lint, &reach, traffic, &findings);
    }
    spate_lint_flood_clear(&reach.flood);
    g_free(reach.senders);
    g_free(reach.is_sender);
    g_free(reach.hops_before);
    g_free(reach.hops);
}
