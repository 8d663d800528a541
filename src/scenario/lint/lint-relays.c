/* lint-relays.c - relays that are out of everyone's reach
 *
 * A relay that nobody could ever hear, or that could never hear anybody, helps nobody, however near
 * it looks.  All its radios count, not only those that relay: a crossing may join them.
 */

#include "scenario/lint/lint.h"

/* Links that are tried one by one, in all: a second.  Beyond, a relay counts as one that hears. */
#define MOST_LINKS 10000000

/* A warning about several relays, given once. */
typedef struct {
    uint32_t n, first; /* node */
} Findings;

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
        node->name, what, others, spate_lint_layout_note(lint->scenario));
}

void
spate_lint_relays(SpateLint *lint)
{
    const SpatePlan *plan = spate_world_plan(lint->world);
    Findings unheard = {0}, deaf = {0};
    uint64_t n_left = MOST_LINKS;
    for (uint32_t i = 0; i < plan->n_nodes && plan->n_nodes > 1; i++) {
        const SpateNode *node = &plan->nodes[i];
        bool is_unheard = true, is_deaf = true;
        if (!spate_lint_is_relay(&lint->scenario->nodes[i]))
            continue;
        for (uint32_t r = 0; r < node->n_radios && is_unheard; r++)
            is_unheard = !is_heard(lint, node->first_radio + r);
        for (uint32_t r = 0; r < node->n_radios && !is_unheard && is_deaf; r++)
            is_deaf = !hears_someone(lint, node->first_radio + r, &n_left);
        Findings *findings = is_unheard ? &unheard : &deaf;
        if (is_deaf && findings->n++ == 0)
            findings->first = i;
    }
    warn_of(lint, &unheard, "out of everyone's reach: no node can hear it");
    warn_of(lint, &deaf, "out of reach of all others: it can hear no node");
}
