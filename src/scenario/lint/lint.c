/* lint.c - what a scenario says that its author may not mean */
#include "scenario/lint/lint.h"

#include "core/time.h"
#include "scenario/layout.h"
#include "scenario/text/quantity.h"

#include <math.h>
#include <string.h>

bool
spate_lint_relays_on(const SpateScenarioNode *node, uint32_t bearer)
{
    const SpateScenarioRadio *radio = spate_scenario_radio(node, bearer);
    return radio != NULL && radio->relays && node->flooding.policy != SPATE_FLOOD_NONE;
}

bool
spate_lint_is_relay(const SpateScenarioNode *node)
{
    for (uint32_t i = 0; i < node->n_radios; i++)
        if (spate_lint_relays_on(node, node->radios[i].bearer))
            return true;
    return false;
}

uint32_t
spate_lint_hop_limit(const SpateScenarioTraffic *traffic, const SpateFlooding *flooding)
{
    return traffic->hop_limit > 0 ? traffic->hop_limit : flooding->hop_limit;
}

double
spate_lint_duty(const SpateBearer *radio)
{
    return radio->duty_limit_ns == 0 ? 1.0
                                     : (double)radio->duty_limit_ns / (double)SPATE_NS_PER_HOUR;
}

const char *
spate_lint_layout_note(const SpateScenario *scenario)
{
    return spate_scenario_redraws_places(scenario) ? ", in the layout of the first replication"
                                                   : "";
}

SpatePlace
spate_lint_rule_place(const SpateRule *rule, SpatePlace owner)
{
    return rule->line > 0 ? (SpatePlace){0, (int)rule->line, (int)rule->column} : owner;
}

char *
spate_lint_time(int64_t time_ns)
{
    /* Three digits of what is finer than a millisecond would only be noise. */
    double rounded_ns = time_ns >= 10000000 ? rint((double)time_ns / 1e6) * 1e6 : (double)time_ns;
    return spate_quantity_text(rounded_ns, SPATE_DIM_TIME);
}

static uint32_t
common_divisor(uint32_t a, uint32_t b)
{
    return b == 0 ? a : common_divisor(b, a % b);
}

uint32_t
spate_lint_stride(uint32_t n)
{
    if (n == 0)
        return 1;
    uint32_t stride = (uint32_t)(0.618 * n) | 1u;
    while (common_divisor(stride, n) != 1)
        stride += 2;
    return stride;
}

static void
check_bearers(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t b = 0; b < scenario->n_bearers; b++) {
        const SpateScenarioBearer *bearer = &scenario->bearers[b];
        bool is_used = false;
        for (uint32_t i = 0; i < scenario->n_nodes && !is_used; i++)
            is_used = spate_scenario_radio(&scenario->nodes[i], b) != NULL;
        if (!is_used)
            spate_faults_warn(lint->faults, bearer->place, NULL, "no node has a radio on '%s'",
                              bearer->name);
        else if (!bearer->propagation_is_given && scenario->n_given_losses == 0)
            spate_faults_warn(lint->faults, bearer->place,
                              "such as propagation: {model: log-distance, exponent: 3}",
                              "'%s' has no 'propagation': free space reaches farthest",
                              bearer->name);
    }
}

static bool
is_one_place(const SpatePlacement *placement)
{
    if (placement->kind == SPATE_PLACE_CIRCLE)
        return placement->radius_m <= 0;
    for (uint32_t i = 1; i < placement->n_points; i++) {
        SpatePosition a = placement->points[0], b = placement->points[i];
        if (spate_ground_distance_m(a, b) > 0 || fabs(a.height_m - b.height_m) > 0)
            return false;
    }
    return true;
}

static void
check_relays(SpateLint *lint, const SpateScenarioNode *node)
{
    bool goes_farther = node->flooding.hop_limit != 1;
    for (uint32_t i = 0; i < lint->scenario->n_traffics; i++)
        goes_farther = goes_farther || lint->scenario->traffics[i].hop_limit > 1;
    if (spate_lint_is_relay(node) && !goes_farther)
        spate_faults_warn(
            lint->faults, node->place, "hop-limit: 2 or more",
            "'%s' never relays: its hop limit of 1 allows the first transmission only", node->name);
}

static void
check_nodes(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        if (!lint->is_first[i])
            continue;
        if (node->n_radios == 0)
            spate_faults_warn(lint->faults, node->place, NULL, "'%s' has no radio", node->name);
        bool is_many = node->placement->kind != SPATE_PLACE_POINTS || node->placement->n_points > 1;
        if (is_many && is_one_place(node->placement))
            spate_faults_warn(lint->faults, node->place,
                              "nodes at the same place count as 1 m apart",
                              "all nodes of this group are at the same place");
        check_relays(lint, node);
    }
}

/* The rank correlations behind the answer need ten draws. */
static void
check_doubts(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    if (scenario->n_doubts > 0 && MAX(scenario->replications, scenario->replications_at_most) < 10)
        spate_faults_warn(lint->faults, scenario->doubts[0].place, "replications: 20 or more",
                          "at least 10 replications are needed to tell which input matters");
}

char *
spate_world_lint(const SpateWorld *world, const SpateScenarioFile *file)
{
    const SpateScenario *scenario = spate_world_scenario(world);
    g_autoptr(SpateFaults) faults = spate_scenario_file_new_faults(file);
    g_autofree bool *is_first = g_new0(bool, MAX(scenario->n_nodes, 1));
    g_autoptr(GHashTable) entries = g_hash_table_new(NULL, NULL);
    g_autoptr(SpateHearing) hearing = spate_hearing_new(world);
    SpateLint lint = {scenario, world, hearing, faults, is_first};
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        is_first[i] = g_hash_table_add(entries, GUINT_TO_POINTER(scenario->nodes[i].entry + 1));
    spate_faults_add_warnings(faults, scenario->later);
    check_bearers(&lint);
    check_nodes(&lint);
    spate_lint_rules(&lint);
    spate_lint_links(&lint);
    spate_lint_traffic(&lint);
    spate_lint_follows(&lint);
    spate_lint_reach(&lint);
    spate_lint_relays(&lint);
    spate_lint_sites(&lint);
    spate_lint_sizes(&lint);
    spate_lint_sleep(&lint);
    spate_lint_times(&lint);
    spate_lint_soonest(&lint);
    spate_lint_routes(&lint);
    spate_lint_actions(&lint);
    spate_lint_figures(&lint);
    spate_lint_ambient(&lint);
    spate_lint_outages(&lint);
    spate_lint_moves(&lint);
    spate_lint_places(&lint);
    spate_lint_regulations(&lint);
    spate_lint_expectations(&lint);
    check_doubts(&lint);
    return spate_faults_warnings_text(faults);
}
