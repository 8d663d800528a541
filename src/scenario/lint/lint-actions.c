/* lint-actions.c - actions of rules and settings of flooding that do nothing, or more than is meant
 */
#include "scenario/lint/lint.h"

#include "channel/access.h"
#include "scenario/read/actions.h"

/* ---- rules ----------------------------------------------------------------------------------- */

static void
check_rules(SpateLint *lint, const GArray *rules, SpatePlace owner, uint32_t to_bearer)
{
    for (guint i = 0; i < rules->len; i++) {
        const SpateRule *rule = &g_array_index(rules, SpateRule, i);
        SpateRemark remark = spate_remark_on_action(rule);
        if (remark.what != NULL)
            spate_faults_warn(lint->faults, spate_lint_rule_place(rule, owner), remark.hint, "%s",
                              remark.what);
    }
}

/* ---- flooding -------------------------------------------------------------------------------- */

static void
check_flooding(SpateLint *lint, const SpateScenarioNode *node)
{
    const SpateFlooding *flooding = &node->flooding;
    if (!spate_lint_is_relay(node))
        return;
    if (flooding->policy == SPATE_FLOOD_PROBABILITY && flooding->p <= 0)
        spate_faults_warn(lint->faults, node->place, "policy: none, or 'p' above 0 %",
                          "'%s' never relays: its probability is 0", node->name);
    if (flooding->policy == SPATE_FLOOD_COUNTER && flooding->copies >= lint->scenario->n_nodes)
        spate_faults_warn(lint->faults, node->place, "such as copies: 3; or policy: classic",
                          "'%s' can never hear %u further copies: there are %u nodes", node->name,
                          flooding->copies, lint->scenario->n_nodes);
}

/* Relays that heard one frame send at one instant, and none hears another: only some methods of
 * access draw a wait for each frame. */
static void
check_jitter(SpateLint *lint, uint32_t bearer)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateScenarioNode *first = NULL;
    uint32_t n = 0;
    if (spate_access_info(scenario->bearers[bearer].radio.access.method)->draws_each_wait)
        return;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        if (!spate_lint_relays_on(node, bearer) || node->flooding.jitter_airtimes > 0)
            continue;
        first = first == NULL ? node : first;
        n++;
    }
    if (n > 1)
        spate_faults_warn(lint->faults, first->place, "such as jitter: {at-most: 6 airtimes}",
                          "without jitter the relays that hear one frame on '%s' send at one "
                          "instant and collide: '%s' and %u more",
                          scenario->bearers[bearer].name, first->name, n - 1);
}

void
spate_lint_actions(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    spate_lint_each_rules(lint, check_rules);
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        if (lint->is_first[i])
            check_flooding(lint, &scenario->nodes[i]);
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        check_jitter(lint, b);
}
