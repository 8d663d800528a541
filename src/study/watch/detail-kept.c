/* detail-kept.c - what one run keeps for the pictures of a report */
#include "study/watch/detail-kept.h"

#include <string.h>

struct SpateDetailWatch {
    const SpateRun *run;
    SpateDetailTally *tally;
    SpateDisturberWatch *disturbers;
    SpateMessageChooser *chooser; /* NULL: not the first replication */
};

uint64_t
spate_detail_kept_values(const SpatePlan *plan)
{
    uint64_t n_traffics = plan->n_traffics;
    return plan->n_nodes * sizeof(SpateNodeCounts) / sizeof(uint64_t) +
           plan->n_radios * (sizeof(SpateRadioCounts) / sizeof(uint64_t) + 3) +
           n_traffics * plan->n_bearers * SPATE_DETAIL_STEPS +
           n_traffics * SPATE_DETAIL_HOPS * SPATE_LATENCY_BINS;
}

void
spate_detail_kept_free(SpateDetailKept *kept)
{
    if (kept == NULL)
        return;
    spate_detail_counts_clear(&kept->counts);
    spate_disturber_counts_clear(&kept->disturbers);
    g_clear_pointer(&kept->chosen, g_array_unref);
    g_free(kept);
}

SpateDetailWatch *
spate_detail_watch_new(SpateRun *run, bool is_first)
{
    const SpateWorld *world = spate_run_world(run);
    const SpateScenario *scenario = spate_world_scenario(world);
    const SpatePlan *plan = spate_world_plan(world);
    SpateDetailWatch *watch = g_new0(SpateDetailWatch, 1);
    watch->run = run;
    watch->tally = spate_detail_tally_new(plan, scenario->warm_up_ns, scenario->duration_ns,
                                          SPATE_DETAIL_STEPS);
    watch->disturbers = spate_disturber_watch_new(plan, scenario->warm_up_ns);
    const SpateObserver observers[] = {spate_detail_tally_observer(watch->tally),
                                       spate_disturber_watch_observer(watch->disturbers)};
    for (size_t i = 0; i < G_N_ELEMENTS(observers); i++)
        spate_run_add_observer(run, &observers[i]);
    if (is_first) {
        watch->chooser = spate_message_chooser_new(plan, scenario->warm_up_ns);
        const SpateObserver observer = spate_message_chooser_observer(watch->chooser);
        spate_run_add_observer(run, &observer);
    }
    return watch;
}

void
spate_detail_watch_free(SpateDetailWatch *watch)
{
    if (watch == NULL)
        return;
    spate_detail_tally_free(watch->tally);
    spate_disturber_watch_free(watch->disturbers);
    spate_message_chooser_free(watch->chooser);
    g_free(watch);
}

/* ---- numbers of the world that is shown ------------------------------------------------------ */

#define NOT_SHOWN UINT32_MAX

/* From the numbers of a run to those that are shown. */
typedef struct {
    uint32_t *node, *radio;
    const SpatePlan *from, *to;
} Numbers;

static void
clear_numbers(Numbers *numbers)
{
    g_free(numbers->node);
    g_free(numbers->radio);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Numbers, clear_numbers)

/* Nodes of both plans come in the order of their names. */
static Numbers
numbers_of(const SpatePlan *from, const SpatePlan *to)
{
    Numbers numbers = {g_new(uint32_t, from->n_nodes + 1u), g_new(uint32_t, from->n_radios + 1u),
                       from, to};
    uint32_t shown = 0;
    for (uint32_t i = 0; i < from->n_nodes; i++) {
        while (shown < to->n_nodes && strcmp(to->nodes[shown].name, from->nodes[i].name) < 0)
            shown++;
        bool is_shown =
            shown < to->n_nodes && strcmp(to->nodes[shown].name, from->nodes[i].name) == 0;
        numbers.node[i] = is_shown ? shown : NOT_SHOWN;
    }
    for (uint32_t i = 0; i < from->n_radios; i++) {
        uint32_t node = numbers.node[from->radios[i].node];
        numbers.radio[i] = NOT_SHOWN;
        for (uint32_t k = 0; node != NOT_SHOWN && k < to->nodes[node].n_radios; k++)
            if (to->radios[to->nodes[node].first_radio + k].bearer == from->radios[i].bearer)
                numbers.radio[i] = to->nodes[node].first_radio + k;
    }
    return numbers;
}

static void
renumber_counts(SpateDetailCounts *counts, const Numbers *numbers)
{
    SpateNodeCounts *nodes = g_new0(SpateNodeCounts, numbers->to->n_nodes + 1u);
    SpateRadioCounts *radios = g_new0(SpateRadioCounts, numbers->to->n_radios + 1u);
    for (uint32_t i = 0; i < numbers->from->n_nodes; i++)
        if (numbers->node[i] != NOT_SHOWN)
            nodes[numbers->node[i]] = counts->nodes[i];
    for (uint32_t i = 0; i < numbers->from->n_radios; i++)
        if (numbers->radio[i] != NOT_SHOWN)
            radios[numbers->radio[i]] = counts->radios[i];
    g_free(counts->nodes);
    g_free(counts->radios);
    counts->nodes = nodes;
    counts->radios = radios;
}

static void
renumber_disturbers(SpateDisturberCounts *counts, const Numbers *numbers)
{
    uint64_t **const by_radio[] = {&counts->audible, &counts->received, &counts->sending,
                                   &counts->asleep};
    for (size_t i = 0; i < G_N_ELEMENTS(by_radio); i++) {
        g_autofree uint64_t *of_run = *by_radio[i];
        uint64_t *shown = *by_radio[i] = g_new0(uint64_t, numbers->to->n_radios + 1u);
        for (uint32_t k = 0; k < numbers->from->n_radios; k++)
            if (numbers->radio[k] != NOT_SHOWN)
                shown[numbers->radio[k]] = of_run[k];
    }
    guint n = 0;
    for (guint i = 0; i < counts->pairs->len; i++) {
        SpateDisturbance pair = g_array_index(counts->pairs, SpateDisturbance, i);
        bool is_ambient = pair.sender >= numbers->from->n_radios;
        pair.receiver = numbers->radio[pair.receiver];
        pair.sender = is_ambient ? numbers->to->n_radios + pair.sender - numbers->from->n_radios
                                 : numbers->radio[pair.sender];
        if (pair.receiver != NOT_SHOWN && pair.sender != NOT_SHOWN)
            g_array_index(counts->pairs, SpateDisturbance, n++) = pair;
    }
    g_array_set_size(counts->pairs, n);
}

SpateDetailKept *
spate_detail_watch_keep(SpateDetailWatch *watch, const SpateWorld *shown)
{
    SpateDetailKept *kept = g_new0(SpateDetailKept, 1);
    kept->counts = spate_detail_tally_counts(watch->tally);
    kept->disturbers = spate_disturber_watch_counts(watch->disturbers);
    if (watch->chooser != NULL)
        kept->chosen = spate_message_chooser_choose(watch->chooser);
    if (spate_run_world(watch->run) == shown)
        return kept;
    g_auto(Numbers) numbers =
        numbers_of(spate_world_plan(spate_run_world(watch->run)), spate_world_plan(shown));
    renumber_counts(&kept->counts, &numbers);
    renumber_disturbers(&kept->disturbers, &numbers);
    return kept;
}
