/* lint-links.c - losses that are given twice
 *
 * A later entry of `links:` replaces an earlier one.  One that names fewer pairs is an exception
 * from it, and meant so; others are reported.
 */
#include "scenario/lint/lint.h"

#include <math.h>
#include <stdlib.h>

/* A loss and the entry that gave it. */
typedef struct {
    const SpateGivenLoss *loss;
    uint32_t link;
} Given;

static int
compare_keys(const SpateGivenLoss *a, const SpateGivenLoss *b)
{
    if (a->from_node != b->from_node)
        return a->from_node < b->from_node ? -1 : 1;
    if (a->to_node != b->to_node)
        return a->to_node < b->to_node ? -1 : 1;
    return (a->bearer > b->bearer) - (a->bearer < b->bearer);
}

/* Those of one pair, direction and bearer stand together, in the order of the file. */
static int
compare_given(const void *a, const void *b)
{
    const Given *first = a, *second = b;
    int order = compare_keys(first->loss, second->loss);
    return order != 0 ? order : (first->loss > second->loss) - (first->loss < second->loss);
}

static void
warn(SpateLint *lint, const Given *earlier, const Given *later)
{
    const SpateScenario *scenario = lint->scenario;
    SpatePlace before = scenario->links[earlier->link].place;
    SpatePlace now = scenario->links[later->link].place;
    g_autofree char *who = before.origin == now.origin ? g_strdup_printf("line %d", before.line)
                           : before.origin == 0
                               ? g_strdup_printf("line %d of the scenario", before.line)
                               : g_strdup("an earlier setting or table");
    spate_faults_warn(lint->faults, now, NULL,
                      "the loss from '%s' to '%s' is given twice; this one counts; %s gave %g dB",
                      scenario->nodes[later->loss->from_node].name,
                      scenario->nodes[later->loss->to_node].name, who, earlier->loss->loss_db);
}

/* Each entry is reported once, however many pairs it names. */
void
spate_lint_links(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    uint32_t n = scenario->n_given_losses;
    if (n == 0)
        return;
    g_autofree Given *given = g_new(Given, n);
    for (uint32_t i = 0, link = 0; i < n; i++) {
        while (link + 1 < scenario->n_links && scenario->links[link + 1].first_loss <= i)
            link++;
        given[i] = (Given){&scenario->given_losses[i], link};
    }
    qsort(given, n, sizeof *given, compare_given);
    g_autofree bool *is_reported = g_new0(bool, scenario->n_links);
    for (uint32_t i = 0, first = 0; i < n; i++) {
        const Given *last = &given[i];
        if (i + 1 < n && compare_keys(last->loss, given[i + 1].loss) == 0)
            continue;
        for (uint32_t k = i; k-- > first && !is_reported[last->link];) {
            const Given *earlier = &given[k];
            if (!(fabs(earlier->loss->loss_db - last->loss->loss_db) > 0) ||
                scenario->links[last->link].n_pairs < scenario->links[earlier->link].n_pairs)
                continue;
            is_reported[last->link] = true;
            warn(lint, earlier, last);
        }
        first = i + 1;
    }
}
