/* expect-check.c - expectations that no run of the scenario could judge
 *
 * What is noted here is no fault for whoever only runs the scenario: a variant, an option or a
 * shorter run may leave an expectation without anything to judge, and still be worth running.
 * Whoever judges refuses it before the run, since nothing to judge must not look like a verdict.
 */
#include "scenario/read/expect-check.h"

#include "core/ascending.h"
#include <math.h>
#include <string.h>

typedef struct {
    const SpateScenario *scenario;
    const SpateExpectation *expectation;
    const SpateScenarioTraffic *traffic; /* NULL: it names none */
    SpateFaults *faults;
} Question;

/* ---- what it names --------------------------------------------------------------------------- */

static bool
has_radio_on(const SpateScenario *scenario, const char *bearer)
{
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        for (uint32_t r = 0; r < scenario->nodes[i].n_radios; r++)
            if (strcmp(scenario->bearers[scenario->nodes[i].radios[r].bearer].name, bearer) == 0)
                return true;
    return false;
}

/* Sources of the traffic that are in the group (NULL: any), `but` one. */
static uint32_t
count_sources(const SpateScenarioTraffic *traffic, const SpateScenarioGroup *from, uint32_t but)
{
    uint32_t n = 0;
    g_assert(traffic != NULL);
    for (uint32_t i = 0; i < traffic->n_sources; i++) {
        uint32_t source = traffic->sources[i];
        n += source != but && (from == NULL || spate_ascending_find(from->members, from->n_members,
                                                                    source) < from->n_members);
    }
    return n;
}

/* ---- times ----------------------------------------------------------------------------------- */

static char *
seconds(int64_t time_ns)
{
    return g_strdup_printf("%.15g s", (double)time_ns / 1e9);
}

/* The traffic offers at stated times, and none of them lies from `from_ns` to `to_ns`. */
static bool
offers_none(const SpateScenarioTraffic *traffic, int64_t from_ns, int64_t to_ns)
{
    if (traffic->times != SPATE_OFFERS_AT)
        return false;
    for (uint32_t i = 0; i < traffic->n_at; i++)
        if (traffic->at_ns[i] >= from_ns && traffic->at_ns[i] <= to_ns)
            return false;
    return true;
}

/* Offers come before the cool-down; what is judged also has its time before the end. */
static void
check_times(const Question *question)
{
    const SpateScenario *scenario = question->scenario;
    const SpateExpectation *expectation = question->expectation;
    int64_t from_ns = scenario->warm_up_ns;
    int64_t to_ns = MIN(scenario->duration_ns - expectation->within_ns,
                        scenario->duration_ns - scenario->cool_down_ns - 1);
    if (to_ns < from_ns) {
        g_autofree char *most = seconds(scenario->duration_ns - from_ns);
        g_autofree char *hint = g_strdup_printf("at most %s, or a longer 'duration'", most);
        spate_faults_note(question->faults, expectation->places.within, hint,
                          "'within' is longer than the run after its warm-up: no message could be "
                          "judged");
    } else if (offers_none(question->traffic, from_ns, to_ns)) {
        g_autofree char *first = seconds(from_ns), *last = seconds(to_ns);
        g_autofree char *hint =
            g_strdup_printf("only offers from %s (end of the warm-up) to %s count%s", first, last,
                            expectation->within_ns > 0 ? " here" : "");
        spate_faults_note(question->faults, expectation->places.traffic, hint,
                          "'%s' offers no message that can be judged", question->traffic->name);
    }
}

/* ---- messages -------------------------------------------------------------------------------- */

static void
check_claim(const Question *question)
{
    const SpateExpectation *expectation = question->expectation;
    const SpateScenarioTraffic *traffic = question->traffic;
    const SpateScenario *scenario = question->scenario;
    uint32_t group = spate_scenario_find_group(scenario, expectation->from);
    const SpateScenarioGroup *from = group != UINT32_MAX ? &scenario->groups[group] : NULL;
    uint32_t node = spate_scenario_find_node(scenario, expectation->node);
    g_assert(traffic != NULL); /* which every claim names */
    if (from != NULL && count_sources(traffic, from, UINT32_MAX) == 0) {
        g_autofree char *hint =
            traffic->n_sources == 0
                ? NULL
                : g_strdup_printf("%s does%s", scenario->nodes[traffic->sources[0]].name,
                                  traffic->n_sources > 1 ? ", for one" : "");
        spate_faults_note(question->faults, expectation->places.from, hint, "'%s' sends no '%s'",
                          expectation->from, traffic->name);
    } else if (count_sources(traffic, from, node) == 0) {
        spate_faults_note(question->faults, expectation->places.node,
                          "name a node that is not the only source",
                          "only '%s' itself sends this '%s': its own messages do not count",
                          expectation->node, traffic->name);
    } else {
        check_times(question);
    }
}

/* ---- measures -------------------------------------------------------------------------------- */

static void
check_recipient(const Question *question)
{
    const SpateExpectation *expectation = question->expectation;
    const SpateScenarioTraffic *traffic = question->traffic;
    const SpateScenario *scenario = question->scenario;
    uint32_t to = spate_scenario_find_node(scenario, expectation->to);
    if (spate_ascending_find(traffic->recipients, traffic->n_recipients, to) ==
        traffic->n_recipients) {
        g_autofree char *hint =
            g_strdup_printf("name a recipient, such as %s, or use 'reaches', which takes any node",
                            scenario->nodes[traffic->recipients[0]].name);
        spate_faults_note(question->faults, expectation->places.to, hint,
                          "'%s' is not a recipient of '%s'", expectation->to, traffic->name);
    } else if (count_sources(traffic, NULL, to) == 0) {
        spate_faults_note(question->faults, expectation->places.to,
                          "name a node that is not the only source", "only '%s' itself sends '%s'",
                          expectation->to, traffic->name);
    }
}

static void
check_pairs(const Question *question)
{
    const SpateExpectation *expectation = question->expectation;
    const SpateScenarioTraffic *traffic = question->traffic;
    SpatePlace place = expectation->places.measure;
    g_assert(traffic != NULL);
    uint32_t only = traffic->n_recipients == 1 ? traffic->recipients[0] : UINT32_MAX;
    if (traffic->n_recipients == 0 || traffic->n_sources == 0)
        spate_faults_note(question->faults, place, "give the traffic recipients ('to')",
                          "traffic '%s' is sent to nobody", traffic->name);
    else if (count_sources(traffic, NULL, only) == 0)
        spate_faults_note(question->faults, place, "a node does not receive its own messages",
                          "the source of '%s' is its only recipient", traffic->name);
    else if (expectation->measure->needs == SPATE_NEEDS_DEADLINE && traffic->deadline_ns == 0)
        spate_faults_note(question->faults, place, "give the traffic a 'deadline'",
                          "traffic '%s' has no deadline", traffic->name);
    else if (expectation->to != NULL)
        check_recipient(question);
    check_times(question);
}

static bool
has_supply(const SpateScenarioNode *node)
{
    for (uint32_t i = 0; i < node->n_radios; i++)
        if (!isnan(node->radios[i].supply_sending_w) && !isnan(node->radios[i].supply_receiving_w))
            return true;
    return false;
}

static bool
has_sleepers(const SpateScenario *scenario, const char *bearer)
{
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        for (uint32_t r = 0; r < node->n_radios; r++)
            if (spate_listening_sleeps(&node->radios[r].listening) &&
                strcmp(scenario->bearers[node->radios[r].bearer].name, bearer) == 0)
                return true;
    }
    return false;
}

static void
check_measure(const Question *question)
{
    const SpateScenario *scenario = question->scenario;
    const SpateExpectation *expectation = question->expectation;
    switch (expectation->measure->needs) {
    case SPATE_NEEDS_NOTHING:
        break;
    case SPATE_NEEDS_PAIRS:
    case SPATE_NEEDS_DEADLINE:
        check_pairs(question);
        break;
    case SPATE_NEEDS_ANSWERS:
        g_assert(question->traffic != NULL);
        if (question->traffic->acknowledgement.tries == 0)
            spate_faults_note(
                question->faults, expectation->places.measure, "give the traffic 'acknowledge'",
                "messages of traffic '%s' are not acknowledged", question->traffic->name);
        check_times(question);
        break;
    case SPATE_NEEDS_BRIDGES:
        if (scenario->n_crossings == 0)
            spate_faults_note(question->faults, expectation->places.measure, "give it 'bridges'",
                              "there is no bridge to hold anything back");
        break;
    case SPATE_NEEDS_OUTAGES:
        if (scenario->n_outages == 0)
            spate_faults_note(question->faults, expectation->places.measure, "give it 'outages'",
                              "no node ever fails");
        break;
    case SPATE_NEEDS_SUPPLY:
        if (!has_supply(&scenario->nodes[spate_scenario_find_node(scenario, expectation->node)]))
            spate_faults_note(question->faults, expectation->places.measure,
                              "give one of its radios 'supply: {sending, receiving}'",
                              "no radio of '%s' has a 'supply'", expectation->node);
        break;
    case SPATE_NEEDS_SLEEPERS:
        if (!has_sleepers(scenario, expectation->bearer))
            spate_faults_note(question->faults, expectation->places.measure,
                              "give a radio there 'listens: {every, for}'",
                              "no radio on '%s' sleeps", expectation->bearer);
        break;
    }
}

/* ---- candidates ------------------------------------------------------------------------------ */

/* Notes that the name is of no node; it is known, so it is that of a site. */
static bool
is_site(const Question *question, const char *name, SpatePlace place)
{
    if (name == NULL || spate_scenario_find_node(question->scenario, name) != UINT32_MAX)
        return false;
    spate_faults_note(question->faults, place, "expect it of a variant that builds it",
                      "'%s' is a candidate that is not built", name);
    return true;
}

/* ---- all of it ------------------------------------------------------------------------------- */

void
spate_expectation_check(const SpateExpectation *expectation, const SpateScenario *scenario,
                        SpateFaults *faults)
{
    uint32_t traffic = spate_scenario_find_traffic(scenario, expectation->traffic);
    const Question question = {scenario, expectation,
                               traffic != UINT32_MAX ? &scenario->traffics[traffic] : NULL, faults};
    if (is_site(&question, expectation->node, expectation->places.node) ||
        is_site(&question, expectation->to, expectation->places.to))
        return;
    if (expectation->bearer != NULL && !has_radio_on(scenario, expectation->bearer))
        spate_faults_note(faults, expectation->places.bearer, "give a node a radio on it",
                          "no node has a radio on '%s'", expectation->bearer);
    else if (expectation->measure != NULL)
        check_measure(&question);
    else
        check_claim(&question);
}

static bool
is_about(const char *named, const char *variant)
{
    return strcmp(named != NULL ? named : "base", variant) == 0;
}

bool
spate_scenario_check_expectations(const SpateScenario *scenario, const char *variant,
                                  GError **error)
{
    g_autoptr(SpateFaults) faults = spate_faults_new_like(scenario->later);
    for (uint32_t i = 0; i < scenario->n_expectations; i++) {
        const SpateExpectation *one = &scenario->expectations[i];
        bool is_change = one->kind == SPATE_EXPECT_CHANGE;
        if (is_about(one->variant, variant) || (is_change && is_about(one->versus, variant)))
            spate_expectation_check(one, scenario, faults);
    }
    return !spate_faults_raise(faults, error);
}
