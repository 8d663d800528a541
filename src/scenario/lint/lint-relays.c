/* lint-relays.c - relays that are out of everyone's reach
 *
 * A relay that nobody could ever hear, or that could never hear anybody, helps nobody, however near
 * it looks.  All its radios count, not only those that relay: a crossing may join them.
 */
#include "scenario/layout.h"
#include "scenario/lint/lint.h"

/* Links that are tried one by one, in all: a second.  Beyond, a relay counts as one that hears. */
#define MOST_LINKS 10000000

typedef enum { WITHIN_REACH, IS_UNHEARD, HEARS_NOBODY } Standing;

/* A warning about several relays, given once. */
typedef struct {
    uint32_t n, first; /* node */
} Findings;

static bool
is_relay(const SpatePlan *plan, const SpateNode *node)
{
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
        if (plan->radios[r].relays && node->flooding.policy != SPATE_FLOOD_NONE)
            return true;
    return false;
}

static bool
is_heard(const SpateLint *lint, uint32_t radio)
{
    uint32_t bearer = spate_world_plan(lint->world)->radios[radio].bearer;
    const uint64_t *row = spate_hearing_row(lint->hearing, radio);
    for (size_t word = 0; word < spate_hearing_n_words(lint->hearing, bearer); word++)
        if (row[word] != 0)
            return true;
    return false;
}

static bool
hears_someone(const SpateLint *lint, uint32_t radio, uint64_t *n_left)
{
    uint32_t n;
    const SpateRadio *radios = spate_world_plan(lint->world)->radios;
    const uint32_t *others = spate_hearing_radios(lint->hearing, radios[radio].bearer, &n);
    const uint64_t *row = spate_hearing_row(lint->hearing, radio);
    /* Most links hold both ways. */
    for (int hears_it = 1; hears_it >= 0; hears_it--) {
        for (uint32_t i = 0; i < n; i++) {
            if (radios[others[i]].node == radios[radio].node ||
                (int)(row[i / 64] >> (i % 64) & 1) != hears_it)
                continue;
            if (*n_left == 0 || spate_hearing_link(lint->hearing, others[i], radio).short_db <= 0)
                return true;
            --*n_left;
        }
    }
    return false;
}

static Standing
standing_of(const SpateLint *lint, const SpateNode *node, uint64_t *n_left)
{
    bool heard = false, hears = false;
    for (uint32_t i = 0; i < node->n_radios && !heard; i++)
        heard = is_heard(lint, node->first_radio + i);
    for (uint32_t i = 0; i < node->n_radios && heard && !hears; i++)
        hears = hears_someone(lint, node->first_radio + i, n_left);
    return !heard ? IS_UNHEARD : !hears ? HEARS_NOBODY : WITHIN_REACH;
}

static void
warn_of(SpateLint *lint, const Findings *findings, const char *what)
{
    const SpateScenarioNode *node = &lint->scenario->nodes[findings->first];
    if (findings->n == 0)
        return;
    g_autofree char *others =
        findings->n > 1 ? g_strdup_printf(" (and so are %u more)", findings->n - 1) : g_strdup("");
    spate_faults_warn(
        lint->faults, node->place,
        "check its place, its radio and its losses; 'spate links' lists its neighbours",
        "the relay '%s' is %s, even if shadowing (3 sigma) and fading (10 dB) "
        "help%s%s",
        node->name, what, others,
        spate_scenario_redraws_places(lint->scenario) ? ", in the layout of the first replication"
                                                      : "");
}

void
spate_lint_relays(SpateLint *lint)
{
    const SpatePlan *plan = spate_world_plan(lint->world);
    Findings unheard = {0}, deaf = {0};
    uint64_t n_left = MOST_LINKS;
    for (uint32_t i = 0; i < plan->n_nodes && plan->n_nodes > 1; i++) {
        if (!is_relay(plan, &plan->nodes[i]))
            continue;
        Standing standing = standing_of(lint, &plan->nodes[i], &n_left);
        Findings *findings = standing == IS_UNHEARD ? &unheard : &deaf;
        if (standing != WITHIN_REACH && findings->n++ == 0)
            findings->first = i;
    }
    warn_of(lint, &unheard, "out of everyone's reach: no node can hear it");
    warn_of(lint, &deaf, "out of reach of all others: it can hear no node");
}
