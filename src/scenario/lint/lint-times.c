/* lint-times.c - times that do not fit the run, the frames or each other */
#include "core/time.h"
#include "scenario/lint/lint.h"

#include <math.h>

/* Of a run, that ought to be left for what counts; common practice, no source. */
#define LEAST_COUNTED 0.1

int64_t
spate_lint_shortest_airtime_ns(const SpateScenario *scenario, const SpateScenarioTraffic *traffic)
{
    int64_t shortest_ns = INT64_MAX;
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        if (spate_lint_is_sent_on(scenario, traffic, b))
            shortest_ns = MIN(shortest_ns, spate_lint_airtime_ns(scenario, b, traffic));
    return shortest_ns;
}

/* ---- the run --------------------------------------------------------------------------------- */

static void
check_run(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    int64_t counted_ns = scenario->duration_ns - scenario->warm_up_ns - scenario->cool_down_ns;
    if ((double)counted_ns >= LEAST_COUNTED * (double)scenario->duration_ns)
        return;
    g_autofree char *counted = spate_lint_time(counted_ns);
    g_autofree char *duration = spate_lint_time(scenario->duration_ns);
    g_autofree char *warm_up = spate_lint_time(scenario->warm_up_ns);
    g_autofree char *cool_down = spate_lint_time(scenario->cool_down_ns);
    spate_faults_warn(lint->faults, scenario->run_place,
                      "a longer 'duration', or less of 'warm-up' and 'cool-down'",
                      "messages count in only %s of the %s: the warm-up takes %s, the cool-down %s",
                      counted, duration, warm_up, cool_down);
}

/* ---- traffic --------------------------------------------------------------------------------- */

static void
check_deadline(SpateLint *lint, const SpateScenarioTraffic *traffic)
{
    const SpateScenario *scenario = lint->scenario;
    int64_t airtime_ns = spate_lint_shortest_airtime_ns(scenario, traffic);
    if (traffic->deadline_ns == 0 || airtime_ns == INT64_MAX)
        return;
    g_autofree char *deadline = spate_lint_time(traffic->deadline_ns);
    g_autofree char *airtime = spate_lint_time(airtime_ns);
    g_autofree char *duration = spate_lint_time(scenario->duration_ns);
    g_autofree char *cool_down = spate_lint_time(scenario->cool_down_ns);
    g_autofree char *wait_long =
        g_strdup_printf("run: {cool-down: %s}, or a shorter deadline", deadline);
    if (traffic->deadline_ns < airtime_ns)
        spate_faults_warn(lint->faults, traffic->place, "longer than one frame and its relays take",
                          "no message of '%s' is ever in time: its deadline is %s, and one frame "
                          "takes %s",
                          traffic->name, deadline, airtime);
    else if (traffic->deadline_ns > scenario->duration_ns)
        spate_faults_warn(lint->faults, traffic->place, "a deadline within the run, or none",
                          "the deadline of '%s' is %s, longer than the run of %s", traffic->name,
                          deadline, duration);
    else if (traffic->deadline_ns > scenario->cool_down_ns)
        spate_faults_warn(lint->faults, traffic->place, wait_long,
                          "the deadline of '%s' is %s, but the run ends %s after the last offer: "
                          "messages that would still be in time then count as lost",
                          traffic->name, deadline, cool_down);
}

static void
check_interval(SpateLint *lint, const SpateScenarioTraffic *traffic)
{
    const SpateScenario *scenario = lint->scenario;
    int64_t offering_ns = scenario->duration_ns - scenario->cool_down_ns;
    bool is_even = traffic->times == SPATE_OFFERS_EVERY;
    if (traffic->times == SPATE_OFFERS_AT || traffic->times == SPATE_OFFERS_FOLLOWING)
        return;
    int64_t interval_ns = is_even ? traffic->every_ns : traffic->mean_interval_ns;
    /* How many count in one replication, about. */
    double n = (double)traffic->n_sources * (double)(offering_ns - scenario->warm_up_ns) /
               (double)interval_ns;
    if (is_even ? interval_ns <= offering_ns : n >= 1)
        return;
    g_autofree char *interval = spate_lint_time(interval_ns);
    g_autofree char *offering = spate_lint_time(offering_ns);
    spate_faults_warn(lint->faults, traffic->place,
                      is_even ? "a longer run, or 'every' within it"
                              : "a longer run, or a shorter 'mean-interval'",
                      is_even ? "'%s' is offered every %s, but the run offers messages for %s: "
                                "about %.2g of them count in a replication"
                              : "'%s' is offered every %s on average, but the run offers messages "
                                "for %s: about %.2g of them count in a replication",
                      traffic->name, interval, offering, n);
}

static void
check_times(SpateLint *lint, const SpateScenarioTraffic *traffic)
{
    const SpateScenario *scenario = lint->scenario;
    int64_t end_ns = scenario->duration_ns - scenario->cool_down_ns;
    uint32_t n_late = 0, n_early = 0;
    if (traffic->times != SPATE_OFFERS_AT)
        return;
    for (uint32_t i = 0; i < traffic->n_at; i++) {
        n_late += traffic->at_ns[i] >= end_ns;
        n_early += traffic->at_ns[i] < scenario->warm_up_ns;
    }
    if (n_late > 0)
        spate_faults_warn(
            lint->faults, traffic->place, "offers stop one cool-down before the end of the run",
            "'%s' has times too late for an offer: %u of %u", traffic->name, n_late, traffic->n_at);
    if (n_early == traffic->n_at && n_early > 0)
        spate_faults_warn(lint->faults, traffic->place, "give it a time after the warm-up",
                          "'%s' is offered only during the warm-up, which does not count",
                          traffic->name);
}

/* ---- rules ----------------------------------------------------------------------------------- */

static void
check_rules(SpateLint *lint, const GArray *rules, SpatePlace owner, uint32_t to_bearer)
{
    g_autofree char *duration = spate_lint_time(lint->scenario->duration_ns);
    for (guint i = 0; i < rules->len; i++) {
        const SpateRule *rule = &g_array_index(rules, SpateRule, i);
        const SpateRuleActionInfo *action = spate_rule_action_info(rule->action);
        int64_t wait_ns = action->longest_wait_ns != NULL ? action->longest_wait_ns(rule) : 0;
        if (wait_ns <= lint->scenario->duration_ns)
            continue;
        g_autofree char *wait = spate_lint_time(wait_ns);
        spate_faults_warn(lint->faults, spate_lint_rule_place(rule, owner), "a time within the run",
                          "this rule may keep messages for %s, longer than the run of %s: '%s'",
                          wait, duration, action->wait_key);
    }
}

/* ---- nodes ----------------------------------------------------------------------------------- */

/* The shortest frame of all traffic that comes to the bearer; INT64_MAX if none does. */
static int64_t *
shortest_frames(const SpateScenario *scenario)
{
    int64_t *shortest_ns = g_new(int64_t, scenario->n_bearers + 1u);
    for (uint32_t b = 0; b <= scenario->n_bearers; b++)
        shortest_ns[b] = INT64_MAX;
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        g_autofree bool *reached = spate_lint_bearers_reached(scenario, traffic);
        for (uint32_t b = 0; b < scenario->n_bearers; b++)
            if (reached[b])
                shortest_ns[b] = MIN(shortest_ns[b], spate_lint_airtime_ns(scenario, b, traffic));
    }
    return shortest_ns;
}

static void
check_node(SpateLint *lint, const SpateScenarioNode *node, const int64_t *shortest_ns)
{
    uint32_t fastest = lint->scenario->n_bearers; /* of its bearers; the end: none carries any */
    for (uint32_t r = 0; r < node->n_radios; r++)
        if (shortest_ns[node->radios[r].bearer] < shortest_ns[fastest])
            fastest = node->radios[r].bearer;
    int64_t airtime_ns = shortest_ns[fastest];
    if (airtime_ns == INT64_MAX)
        return;
    int64_t expire_ns = node->queue.expire_ns, for_ns = node->flooding.duplicates_for_ns;
    const char *name = lint->scenario->bearers[fastest].name;
    g_autofree char *airtime = spate_lint_time(airtime_ns);
    g_autofree char *expire = spate_lint_time(expire_ns);
    g_autofree char *memory = spate_lint_time(for_ns);
    if (expire_ns > 0 && expire_ns < airtime_ns)
        spate_faults_warn(lint->faults, node->place, "some airtimes, or never",
                          "frames of '%s' expire after %s, before one other frame ends: "
                          "the shortest takes %s on '%s'",
                          node->name, expire, airtime, name);
    if (for_ns > 0 && for_ns < airtime_ns)
        spate_faults_warn(
            lint->faults, node->place, "longer than a flood takes, such as 10 min",
            "'%s' remembers a message for only %s and takes later copies for new ones: "
            "the shortest frame takes %s on '%s'",
            node->name, memory, airtime, name);
}

void
spate_lint_times(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    check_run(lint);
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        check_deadline(lint, &scenario->traffics[i]);
        check_interval(lint, &scenario->traffics[i]);
        check_times(lint, &scenario->traffics[i]);
    }
    spate_lint_each_rules(lint, check_rules);
    g_autofree int64_t *shortest_ns = shortest_frames(scenario);
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        if (lint->is_first[i])
            check_node(lint, &scenario->nodes[i], shortest_ns);
}
