/* lint-traffic.c - what is offered, and whether it can be sent and received */
#include "core/time.h"
#include "scenario/lint/lint.h"

#include <math.h>
#include <string.h>

int64_t
spate_lint_airtime_ns(const SpateScenario *scenario, uint32_t bearer,
                      const SpateScenarioTraffic *traffic)
{
    const SpateBearer *radio = &scenario->bearers[bearer].radio;
    size_t bytes = traffic->payload_bytes + (size_t)radio->overhead_bytes;
    return radio->modulation.kind->airtime_ns(&radio->modulation, bytes);
}

static bool
both_are_on(const SpateScenario *scenario, uint32_t a, uint32_t b, uint32_t bearer)
{
    return spate_scenario_radio(&scenario->nodes[a], bearer) != NULL &&
           spate_scenario_radio(&scenario->nodes[b], bearer) != NULL;
}

/* Of several bearers in common, a hop takes the first. */
static bool
is_hop_on(const SpateScenario *scenario, uint32_t from, const SpateRouteEntry *to, uint32_t bearer)
{
    for (uint32_t b = 0; to->bearer < 0 && b < bearer; b++)
        if (both_are_on(scenario, from, to->node, b))
            return false;
    return (to->bearer < 0 || (uint32_t)to->bearer == bearer) &&
           both_are_on(scenario, from, to->node, bearer);
}

bool
spate_lint_sends_on(const SpateScenario *scenario, const SpateScenarioTraffic *traffic,
                    uint32_t source, uint32_t bearer)
{
    if (traffic->route == SPATE_ROUTE_ALONG)
        return is_hop_on(scenario, source, &traffic->along[0], bearer);
    return (traffic->on_bearers == NULL || traffic->on_bearers[bearer]) &&
           spate_scenario_radio(&scenario->nodes[source], bearer) != NULL;
}

bool
spate_lint_is_sent_on(const SpateScenario *scenario, const SpateScenarioTraffic *traffic,
                      uint32_t bearer)
{
    for (uint32_t i = 0; i < traffic->n_sources; i++)
        if (spate_lint_sends_on(scenario, traffic, traffic->sources[i], bearer))
            return true;
    return false;
}

bool
spate_lint_can_send(const SpateScenario *scenario, const SpateScenarioTraffic *traffic,
                    uint32_t source)
{
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        if (spate_lint_sends_on(scenario, traffic, source, b))
            return true;
    return false;
}

/* Messages a second of one source. */
static double
rate_hz(const SpateScenario *scenario, const SpateScenarioTraffic *traffic)
{
    switch (traffic->times) {
    case SPATE_OFFERS_EVERY:
        return (double)SPATE_NS_PER_S / (double)traffic->every_ns;
    case SPATE_OFFERS_POISSON:
        return (double)SPATE_NS_PER_S / (double)traffic->mean_interval_ns;
    case SPATE_OFFERS_AT:
        return (double)traffic->n_at * (double)SPATE_NS_PER_S / (double)scenario->duration_ns;
    case SPATE_OFFERS_FOLLOWING:
        return spate_scenario_offers(scenario, (uint32_t)(traffic - scenario->traffics)) /
               MAX(traffic->n_sources, 1) * (double)SPATE_NS_PER_S / (double)scenario->duration_ns;
    }
    g_assert_not_reached();
}

static uint32_t
frame_bytes(const SpateScenarioBearer *on, const SpateScenarioTraffic *traffic)
{
    return traffic->payload_bytes + (uint32_t)on->radio.overhead_bytes;
}

/* Frames that their own bearer never sends. */
static void
check_frame(SpateLint *lint, const SpateScenarioTraffic *traffic, const char *frames,
            uint32_t bearer)
{
    const SpateScenarioBearer *on = &lint->scenario->bearers[bearer];
    uint32_t bytes = frame_bytes(on, traffic);
    if (bytes > (uint32_t)on->radio.largest_frame_bytes) {
        g_autofree char *hint =
            g_strdup_printf("at most %d bytes of payload",
                            on->radio.largest_frame_bytes - on->radio.overhead_bytes);
        spate_faults_warn(lint->faults, traffic->place, hint,
                          "%s of '%s' are never sent on '%s': %u bytes, its largest frame has "
                          "%d",
                          frames, traffic->name, on->name, bytes, on->radio.largest_frame_bytes);
        return;
    }
    int64_t airtime_ns = spate_lint_airtime_ns(lint->scenario, bearer, traffic);
    if (on->radio.duty_limit_ns == 0 || airtime_ns <= on->radio.duty_limit_ns)
        return;
    spate_faults_warn(lint->faults, traffic->place, NULL,
                      "%s of '%s' are never sent on '%s': one takes %.4g s of the %.4g s on the "
                      "air that its duty cycle leaves in an hour",
                      frames, traffic->name, on->name, (double)airtime_ns / 1e9,
                      (double)on->radio.duty_limit_ns / 1e9);
}

static bool
is_recipient_on(const SpateScenario *scenario, const SpateScenarioTraffic *traffic, uint32_t bearer)
{
    for (uint32_t i = 0; i < traffic->n_recipients; i++)
        if (spate_scenario_radio(&scenario->nodes[traffic->recipients[i]], bearer) != NULL)
            return true;
    return false;
}

SpateScenarioTraffic
spate_lint_answers_of(const SpateScenarioTraffic *traffic)
{
    SpateScenarioTraffic answers = *traffic;
    answers.payload_bytes = traffic->acknowledgement.payload_bytes;
    answers.on_bearers = NULL;
    return answers;
}

/* As they leave their sender, tries or the acknowledgements of them. */
static void
check_frames(SpateLint *lint, const SpateScenarioTraffic *traffic)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateScenarioTraffic answers = spate_lint_answers_of(traffic);
    for (uint32_t b = 0; b < scenario->n_bearers; b++) {
        if (spate_lint_is_sent_on(scenario, traffic, b))
            check_frame(lint, traffic, "frames", b);
        if (traffic->acknowledgement.tries > 0 && is_recipient_on(scenario, traffic, b))
            check_frame(lint, &answers, "acknowledgements", b);
    }
}

bool *
spate_lint_bearers_reached(const SpateScenario *scenario, const SpateScenarioTraffic *traffic)
{
    bool *reached = g_new0(bool, scenario->n_bearers + 1u);
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        reached[b] = spate_lint_is_sent_on(scenario, traffic, b);
    for (bool grew = true; grew;) {
        grew = false;
        for (uint32_t i = 0; i < scenario->n_crossings; i++) {
            const SpateScenarioCrossing *crossing = &scenario->crossings[i];
            if (!reached[crossing->from_bearer] || reached[crossing->to_bearer])
                continue;
            reached[crossing->to_bearer] = true;
            grew = true;
        }
    }
    return reached;
}

bool
spate_lint_can_hear(const SpateScenarioNode *node, const bool *reached)
{
    for (uint32_t i = 0; i < node->n_radios; i++)
        if (reached[node->radios[i].bearer])
            return true;
    return false;
}

/* Those that no message can come to; a traffic to nobody is meant so. */
static void
check_recipients(SpateLint *lint, const SpateScenarioTraffic *traffic)
{
    const SpateScenario *scenario = lint->scenario;
    g_autofree bool *reached = spate_lint_bearers_reached(scenario, traffic);
    const SpateScenarioNode *deaf = NULL;
    uint32_t n_deaf = 0;
    for (uint32_t i = 0; i < traffic->n_recipients; i++) {
        const SpateScenarioNode *node = &scenario->nodes[traffic->recipients[i]];
        if (spate_lint_can_hear(node, reached))
            continue;
        deaf = deaf == NULL ? node : deaf;
        n_deaf++;
    }
    bool is_only_itself = traffic->n_recipients == 1 && traffic->n_sources == 1 &&
                          traffic->recipients[0] == traffic->sources[0];
    if (is_only_itself)
        spate_faults_warn(lint->faults, traffic->place, "a node does not receive its own messages",
                          "no one can receive '%s': its source is its only recipient",
                          traffic->name);
    else if (n_deaf > 0)
        spate_faults_warn(
            lint->faults, traffic->place,
            "give it a radio on a bearer that they send on, or a crossing to one it has",
            n_deaf == traffic->n_recipients
                ? "no one can receive '%s': '%s' has no radio on a bearer that carries it"
                : "not all can receive '%s': '%s' has no radio on a bearer that carries it",
            traffic->name, deaf->name);
}

static void
check_sources(SpateLint *lint, const SpateScenarioTraffic *traffic)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t i = 0; i < traffic->n_sources; i++) {
        if (spate_lint_can_send(scenario, traffic, traffic->sources[i]))
            continue;
        spate_faults_warn(lint->faults, traffic->place, NULL,
                          "'%s' cannot send '%s': it has no radio on a bearer for it",
                          scenario->nodes[traffic->sources[i]].name, traffic->name);
        return;
    }
}

/* What sources alone put on a bearer, before any relay. */
static void
check_load(SpateLint *lint, uint32_t bearer)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateScenarioBearer *on = &scenario->bearers[bearer];
    g_autofree double *load = g_new0(double, scenario->n_nodes + 1u);
    double total = 0;
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        if (frame_bytes(on, traffic) > (uint32_t)on->radio.largest_frame_bytes)
            continue;
        double share = rate_hz(scenario, traffic) *
                       (double)spate_lint_airtime_ns(scenario, bearer, traffic) / 1e9;
        for (uint32_t k = 0; k < traffic->n_sources; k++)
            if (spate_lint_sends_on(scenario, traffic, traffic->sources[k], bearer))
                load[traffic->sources[k]] += share;
    }
    double duty = spate_lint_duty(&on->radio);
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        total += load[i];
        if (load[i] > duty && lint->is_first[i])
            spate_faults_warn(lint->faults, scenario->nodes[i].place, NULL,
                              "the messages of '%s' alone take %.3g %% of the time on '%s', which "
                              "leaves it %.3g %%",
                              scenario->nodes[i].name, 100 * load[i], on->name, 100 * duty);
    }
    if (total > 1)
        spate_faults_warn(lint->faults, on->place, NULL,
                          "the sources alone offer %.3g erlang on '%s', before any relay", total,
                          on->name);
}

void
spate_lint_traffic(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        check_sources(lint, traffic);
        check_recipients(lint, traffic);
        check_frames(lint, traffic);
    }
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        check_load(lint, b);
}
