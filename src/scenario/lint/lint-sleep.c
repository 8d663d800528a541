/* lint-sleep.c - radios that sleep through what is meant for them
 *
 * A frame wakes a radio if its preamble lasts from one window to the next, up to its critical part.
 * A shorter one is missed by a share of all frames (docs/model.md, Radios that sleep).
 */
#include "core/ascending.h"
#include "scenario/lint/lint.h"

#define MOST_SYMBOLS 65535

/* By traffic: the bearers that its messages can come to. */
static GPtrArray *
bearers_by_traffic(const SpateScenario *scenario)
{
    GPtrArray *reached = g_ptr_array_new_with_free_func(g_free);
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        g_ptr_array_add(reached, spate_lint_bearers_reached(scenario, &scenario->traffics[i]));
    return reached;
}

static bool
is_recipient_on(const SpateScenario *scenario, const GPtrArray *reached, uint32_t node,
                uint32_t bearer)
{
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        bool is_only_source = traffic->n_sources == 1 && traffic->sources[0] == node;
        bool comes_here = ((const bool *)g_ptr_array_index(reached, i))[bearer];
        if (comes_here && !is_only_source &&
            spate_ascending_find(traffic->recipients, traffic->n_recipients, node) <
                traffic->n_recipients)
            return true;
    }
    return false;
}

static bool
crosses_from(const SpateScenario *scenario, uint32_t node, uint32_t bearer)
{
    for (uint32_t i = 0; i < scenario->n_crossings; i++)
        if (scenario->crossings[i].node == node && scenario->crossings[i].from_bearer == bearer)
            return true;
    return false;
}

/* Whether what is sent on the bearer is meant for the node. */
static bool
has_to_hear(const SpateScenario *scenario, const GPtrArray *reached, uint32_t node,
            const SpateScenarioRadio *radio)
{
    return radio->relays || is_recipient_on(scenario, reached, node, radio->bearer) ||
           crosses_from(scenario, node, radio->bearer);
}

/* A preamble that reaches from the end of a window to the next, as a hint. */
static char *
preamble_that_would_do(const SpateModulation *modulation, int64_t gap_ns)
{
    int64_t symbol_ns = modulation->kind->symbol_ns(modulation);
    int64_t symbols = modulation->lock_symbols + (gap_ns + symbol_ns - 1) / symbol_ns;
    if (modulation->kind == &spate_radio_lora && symbols <= MOST_SYMBOLS)
        return g_strdup_printf("preamble: %" G_GINT64_FORMAT
                               " symbols or more; or more windows, or longer ones",
                               symbols);
    return g_strdup("more windows, or longer ones");
}

static void
check_windows(SpateLint *lint, const SpateScenarioNode *node, const SpateScenarioRadio *radio)
{
    const SpateScenarioBearer *bearer = &lint->scenario->bearers[radio->bearer];
    const SpateModulation *modulation = &bearer->radio.modulation;
    int64_t gap_ns = radio->listening.every_ns - radio->listening.for_ns;
    int64_t critical_ns = modulation->kind->critical_ns(modulation);
    if (critical_ns >= gap_ns)
        return;
    g_autofree char *gap = spate_lint_time(gap_ns), *critical = spate_lint_time(critical_ns);
    g_autofree char *hint = preamble_that_would_do(modulation, gap_ns);
    double missed_percent = 100.0 * (1.0 - spate_listening_share(&radio->listening, critical_ns));
    spate_faults_warn(
        lint->faults, radio->place, hint,
        "'%s' sleeps through about %.2g %% of the frames on '%s': it is asleep for %s "
        "between windows, and a preamble can wake it for %s",
        node->name, missed_percent, bearer->name, gap, critical);
}

/* Once for the radios of a group on a bearer: of the first that has to hear. */
static void
check_radio(SpateLint *lint, const GPtrArray *reached, GHashTable *seen, uint32_t number,
            const SpateScenarioRadio *radio)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateScenarioNode *node = &scenario->nodes[number];
    if (spate_listening_sleeps(&radio->listening)) {
        gpointer key = GUINT_TO_POINTER(node->entry * scenario->n_bearers + radio->bearer + 1);
        if (!g_hash_table_contains(seen, key) && has_to_hear(scenario, reached, number, radio)) {
            g_hash_table_add(seen, key);
            check_windows(lint, node, radio);
        }
    } else if (radio->supply_asleep_w > 0 && lint->is_first[number]) {
        spate_faults_warn(
            lint->faults, radio->place, "such as listens: {every: 2 s, for: 50 ms}",
            "the radio of '%s' on '%s' never sleeps: 'asleep' of its supply does nothing",
            node->name, scenario->bearers[radio->bearer].name);
    }
}

void
spate_lint_sleep(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    g_autoptr(GPtrArray) reached = bearers_by_traffic(scenario);
    g_autoptr(GHashTable) seen = g_hash_table_new(NULL, NULL); /* entry and bearer */
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        for (uint32_t r = 0; r < scenario->nodes[i].n_radios; r++)
            check_radio(lint, reached, seen, i, &scenario->nodes[i].radios[r]);
}
