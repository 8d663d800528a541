/* advise-streams.c - what bridges let across, and what it costs */
#include "study/advise/advise-private.h"

#include "core/time.h"
#include <math.h>
#include <string.h>

/* Entries of `nodes:` that send one traffic across, up to which each is a stream of its own; and
 * the share of its messages from which an entry counts.  Both keep the number of runs and of lines
 * small; common practice, no source. */
#define MOST_ENTRIES 6
#define LEAST_ENTRY  0.05

/* ---- costs ----------------------------------------------------------------------------------- */

typedef struct {
    const SpateAdvice *advice;
    SpateCrossingCounts *counts; /* by replication */
} Costs;

static gpointer
watch_run(gpointer user, SpateRun *run, GError **error)
{
    SpateCrossingWatch *watch = spate_crossing_watch_new(spate_run_world(run));
    const SpateObserver observer = spate_crossing_watch_observer(watch);
    spate_run_add_observer(run, &observer);
    return watch;
}

static void
collect(gpointer user, uint32_t replication, SpateRun *run, gpointer watch)
{
    const Costs *costs = user;
    costs->counts[replication] = spate_crossing_watch_counts(watch);
}

static const SpateRunWatcher WATCHER = {watch_run, collect,
                                        (GDestroyNotify)spate_crossing_watch_free};

/* The cell of a stream, all its entries together. */
static SpateCrossingCell
cell_of(const SpateAdvice *advice, const SpateAdviseStream *stream,
        const SpateCrossingCounts *counts)
{
    SpateCrossingCell sum = {.first_rule = SPATE_NO_RULE};
    for (uint32_t entry = 0; entry < advice->index.n_entries; entry++) {
        if (stream->entry != SPATE_ADVISE_ALL_SOURCES && stream->entry != entry)
            continue;
        size_t at = spate_crossing_cell(&advice->index, stream->group, stream->traffic, entry);
        const SpateCrossingCell *cell = &counts->cells[at];
        sum.n_messages += cell->n_messages;
        sum.airtime_ns += cell->airtime_ns;
        sum.n_collisions += cell->n_collisions;
        sum.first_rule = MIN(sum.first_rule, cell->first_rule);
    }
    return sum;
}

static void
cost_stream(const Costs *costs, SpateAdviseStream *stream)
{
    const SpateAdvice *advice = costs->advice;
    const SpateScenario *scenario = advice->scenario;
    uint32_t bearer = spate_advise_crossing(advice, stream)->to_bearer;
    double hours =
        (double)(scenario->duration_ns - scenario->warm_up_ns) / (double)SPATE_NS_PER_HOUR;
    SpateRunning per_hour = {0}, load = {0}, collisions = {0};
    stream->first_rule = SPATE_NO_RULE;
    for (uint32_t i = 0; i < advice->n_replications; i++) {
        const SpateCrossingCounts *counts = &costs->counts[i];
        SpateCrossingCell cell = cell_of(advice, stream, counts);
        stream->first_rule = MIN(stream->first_rule, cell.first_rule);
        spate_running_add(&per_hour, (double)cell.n_messages / hours);
        double airtime = (double)counts->airtime_ns[bearer];
        double broken = (double)counts->n_collisions[bearer];
        spate_running_add(&load, airtime > 0.0 ? (double)cell.airtime_ns / airtime : 0.0);
        spate_running_add(&collisions, broken > 0.0 ? (double)cell.n_collisions / broken : 0.0);
    }
    stream->per_hour = spate_estimate_of(&per_hour, 0.0, INFINITY);
    stream->load_share = spate_estimate_of(&load, 0.0, 1.0);
    stream->collision_share = spate_estimate_of(&collisions, 0.0, 1.0);
}

/* ---- streams --------------------------------------------------------------------------------- */

/* The first name, by alphabet, that stands for the nodes of an entry and no others; NULL if none
 * does.  Free with g_free(). */
static char *
name_of_entry(const SpateScenario *scenario, uint32_t entry)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        n += scenario->nodes[i].entry == entry;
    for (uint32_t i = 0; i < scenario->n_groups; i++) {
        const SpateScenarioGroup *group = &scenario->groups[i];
        bool is_it = group->n_members == n;
        for (uint32_t k = 0; is_it && k < n; k++)
            is_it = scenario->nodes[group->members[k]].entry == entry;
        if (is_it)
            return g_strdup(group->name);
    }
    return NULL;
}

static uint64_t
n_messages(const Costs *costs, uint32_t group, uint32_t traffic, uint32_t entry)
{
    size_t at = spate_crossing_cell(&costs->advice->index, group, traffic, entry);
    uint64_t n = 0;
    for (uint32_t i = 0; i < costs->advice->n_replications; i++)
        n += costs->counts[i].cells[at].n_messages;
    return n;
}

static void
add_stream(SpateAdvice *advice, const Costs *costs, SpateAdviseStream stream)
{
    stream.gain = SPATE_NO_ESTIMATE;
    stream.gain_level = NAN;
    cost_stream(costs, &stream);
    g_array_append_val(advice->streams, stream);
}

/* People's traffic is not distinguished by its sources: it crosses as it did. */
static void
add_streams_of(SpateAdvice *advice, const Costs *costs, uint32_t group, uint32_t traffic)
{
    bool is_peoples = advice->people.any_named && advice->people.is_named[traffic];
    g_autoptr(GArray) entries = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    uint64_t n_all = 0;
    guint n_large = 0;
    for (uint32_t entry = 0; entry < advice->index.n_entries; entry++)
        n_all += n_messages(costs, group, traffic, entry);
    for (uint32_t entry = 0; entry < advice->index.n_entries; entry++) {
        uint64_t n = n_messages(costs, group, traffic, entry);
        if (n > 0)
            g_array_append_val(entries, entry);
        n_large += (double)n > LEAST_ENTRY * (double)n_all;
    }
    SpateAdviseStream stream = {.group = group,
                                .traffic = traffic,
                                .entry = SPATE_ADVISE_ALL_SOURCES,
                                .is_peoples = is_peoples};
    bool is_split = !is_peoples && n_large > 1 && entries->len <= MOST_ENTRIES;
    for (guint i = 0; is_split && i < entries->len; i++) {
        stream.entry = g_array_index(entries, uint32_t, i);
        stream.source = name_of_entry(advice->scenario, stream.entry);
        if (stream.source != NULL)
            add_stream(advice, costs, stream);
    }
    if (!is_split && entries->len > 0)
        add_stream(advice, costs, stream);
}

/* To be run once; its check is judged later. */
static bool
make_study(SpateAdvice *advice, const SpateAdviseWanted *wanted, GError **error)
{
    const SpateScenario *scenario = advice->scenario;
    advice->study = spate_study_new(&scenario, &advice->variant, 1, error);
    if (advice->study == NULL)
        return false;
    advice->unjudged = spate_advise_check(advice, wanted, NULL, 0, error);
    if (advice->unjudged == NULL)
        return false;
    spate_check_watch(advice->unjudged, advice->variant, advice->study);
    return true;
}

bool
spate_advise_find_streams(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                          const SpateStudyOptions *options, GError **error)
{
    if (!make_study(advice, wanted, error))
        return false;
    uint32_t n = spate_advise_replications(wanted, advice->scenario);
    Costs costs = {advice, g_new0(SpateCrossingCounts, n + 1)};
    spate_study_observe(advice->study, 0, &WATCHER, &costs);
    bool is_fine = spate_studies_run(&advice->study, &n, 1, options, error);
    advice->n_replications = spate_study_n_replications(advice->study);
    for (uint32_t group = 0; is_fine && group < advice->index.groups->len; group++)
        for (uint32_t traffic = 0; traffic < advice->index.n_traffics; traffic++)
            add_streams_of(advice, &costs, group, traffic);
    for (uint32_t i = 0; i < n; i++)
        spate_crossing_counts_clear(&costs.counts[i]);
    g_free(costs.counts);
    return is_fine;
}
