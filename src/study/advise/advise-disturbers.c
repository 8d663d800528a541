/* advise-disturbers.c - for each receiver, whose frames break its reception */
#include "study/advise/advise-disturbers.h"

#include "core/time.h"
#include "study/watch/disturber-watch.h"
#include <math.h>

typedef struct {
    SpateDisturberRanking *ranking;
    SpateDisturberCounts *counts; /* by replication */
    const SpatePlan *plan;
} Disturbers;

static void
clear_radio(gpointer radio)
{
    g_array_unref(((SpateDisturbedRadio *)radio)->disturbers);
}

void
spate_disturber_ranking_free(SpateDisturberRanking *ranking)
{
    if (ranking == NULL)
        return;
    g_array_unref(ranking->radios);
    spate_world_free(ranking->world);
    spate_scenario_free(ranking->scenario);
    g_free(ranking);
}

/* ---- watching -------------------------------------------------------------------------------- */

static gpointer
watch_run(gpointer user, SpateRun *run, GError **error)
{
    const Disturbers *all = user;
    const SpateWorld *world = spate_run_world(run);
    if (spate_world_plan(world)->n_radios != all->plan->n_radios) {
        g_set_error_literal(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
                            "'doubt' changes which radios there are, so their disturbers cannot be "
                            "ranked; fix their number with --set");
        return NULL;
    }
    SpateDisturberWatch *watch =
        spate_disturber_watch_new(spate_world_plan(world), spate_world_scenario(world)->warm_up_ns);
    spate_disturber_watch_messages(watch);
    const SpateObserver observer = spate_disturber_watch_observer(watch);
    spate_run_add_observer(run, &observer);
    return watch;
}

static void
collect(gpointer user, uint32_t replication, SpateRun *run, gpointer watch)
{
    const Disturbers *all = user;
    all->counts[replication] = spate_disturber_watch_counts(watch);
}

static const SpateRunWatcher WATCHER = {watch_run, collect,
                                        (GDestroyNotify)spate_disturber_watch_free};

/* ---- summing up ------------------------------------------------------------------------------ */

static double
distance_m(const SpateWorld *world, uint32_t a, uint32_t b)
{
    return spate_distance_m(spate_world_position(world, a, 0), spate_world_position(world, b, 0));
}

SpateBlame
spate_blame_of(const SpateWorld *world, uint32_t from_node, uint32_t to_node)
{
    if (from_node == to_node)
        return SPATE_BLAME_OWN_RADIO;
    return distance_m(world, from_node, to_node) <= SPATE_NEIGHBOUR_M ? SPATE_BLAME_NEIGHBOUR
                                                                      : SPATE_BLAME_MESH;
}

static void
blame(const Disturbers *all, uint32_t receiver, SpateDisturber *disturber)
{
    const SpatePlan *plan = all->plan;
    disturber->distance_m = NAN;
    disturber->blame = SPATE_BLAME_AMBIENT;
    if (disturber->sender >= plan->n_radios)
        return;
    uint32_t from = plan->radios[disturber->sender].node, to = plan->radios[receiver].node;
    disturber->distance_m = from == to ? 0.0 : distance_m(all->ranking->world, from, to);
    disturber->blame = spate_blame_of(all->ranking->world, from, to);
}

/* Where the pairs of a receiver begin, from that sender on. */
static guint
first_pair(const GArray *pairs, uint32_t receiver, uint32_t sender)
{
    guint low = 0, high = pairs->len;
    while (low < high) {
        guint middle = low + (high - low) / 2;
        const SpateDisturbance *pair = &g_array_index(pairs, SpateDisturbance, middle);
        if (pair->receiver < receiver || (pair->receiver == receiver && pair->sender < sender))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static double
hours_of(const Disturbers *all)
{
    const SpateScenario *scenario = all->ranking->scenario;
    return (double)(scenario->duration_ns - scenario->warm_up_ns) / (double)SPATE_NS_PER_HOUR;
}

static SpateDisturber
sum_up(const Disturbers *all, uint32_t receiver, uint32_t sender)
{
    bool is_ambient = sender >= all->plan->n_radios; /* all its sources are one sender */
    SpateDisturber disturber = {.sender = sender};
    SpateRunning share = {0}, collision = {0}, busy = {0}, blocked = {0}, missed = {0};
    for (uint32_t i = 0; i < all->ranking->n_replications; i++) {
        double audible = (double)all->counts[i].audible[receiver];
        SpateDisturbance pair = {0};
        const GArray *pairs = all->counts[i].pairs;
        for (guint k = first_pair(pairs, receiver, sender); k < pairs->len; k++) {
            const SpateDisturbance *its = &g_array_index(pairs, SpateDisturbance, k);
            if (its->receiver != receiver || (its->sender != sender && !is_ambient))
                break;
            pair.n_collision += its->n_collision;
            pair.n_busy += its->n_busy;
            pair.n_blocked += its->n_blocked;
            pair.n_missed += its->n_missed;
        }
        spate_running_add(&missed, (double)pair.n_missed / hours_of(all));
        if (audible == 0.0)
            continue;
        uint64_t n = pair.n_collision + pair.n_busy + pair.n_blocked;
        spate_running_add(&share, (double)n / audible);
        spate_running_add(&collision, (double)pair.n_collision / audible);
        spate_running_add(&busy, (double)pair.n_busy / audible);
        spate_running_add(&blocked, (double)pair.n_blocked / audible);
    }
    disturber.share = spate_estimate_of(&share, 0.0, 1.0);
    disturber.collision = collision.mean;
    disturber.busy = busy.mean;
    disturber.blocked = blocked.mean;
    disturber.missed_per_hour = missed.mean;
    blame(all, receiver, &disturber);
    return disturber;
}

static int
compare_disturbers(gconstpointer a, gconstpointer b)
{
    const SpateDisturber *first = a, *second = b;
    if (first->missed_per_hour != second->missed_per_hour)
        return first->missed_per_hour > second->missed_per_hour ? -1 : 1;
    if (first->share.mean != second->share.mean)
        return first->share.mean > second->share.mean ? -1 : 1;
    return (first->sender > second->sender) - (first->sender < second->sender);
}

/* The senders that disturb a receiver in any replication. */
static void
add_disturbers(const Disturbers *all, SpateDisturbedRadio *radio)
{
    uint32_t n_senders = all->plan->n_radios + 1;
    g_autofree bool *is_there = g_new0(bool, n_senders);
    for (uint32_t i = 0; i < all->ranking->n_replications; i++) {
        const GArray *pairs = all->counts[i].pairs;
        for (guint k = first_pair(pairs, radio->radio, 0); k < pairs->len; k++) {
            const SpateDisturbance *pair = &g_array_index(pairs, SpateDisturbance, k);
            if (pair->receiver != radio->radio)
                break;
            is_there[MIN(pair->sender, n_senders - 1)] = true;
        }
    }
    for (uint32_t sender = 0; sender < n_senders; sender++) {
        if (!is_there[sender])
            continue;
        SpateDisturber disturber = sum_up(all, radio->radio, sender);
        g_array_append_val(radio->disturbers, disturber);
    }
    g_array_sort(radio->disturbers, compare_disturbers);
}

static SpateDisturbedRadio
sum_up_radio(const Disturbers *all, uint32_t number)
{
    double hours = hours_of(all);
    SpateRunning needed = {0}, missed = {0};
    SpateRunning audible = {0}, received = {0}, sending = {0}, lost = {0}, asleep = {0};
    for (uint32_t i = 0; i < all->ranking->n_replications; i++) {
        const SpateDisturberCounts *counts = &all->counts[i];
        double n = (double)counts->audible[number];
        double wanted = (double)counts->needed[number];
        spate_running_add(&audible, n / hours);
        spate_running_add(&needed, wanted / hours);
        uint64_t n_missed = 0; /* because of any sender */
        for (guint k = first_pair(counts->pairs, number, 0); k < counts->pairs->len; k++) {
            const SpateDisturbance *pair = &g_array_index(counts->pairs, SpateDisturbance, k);
            if (pair->receiver != number)
                break;
            n_missed += pair->n_missed;
        }
        if (wanted > 0.0)
            spate_running_add(&missed, (double)n_missed / wanted);
        if (n == 0.0)
            continue;
        double got = (double)counts->received[number], own = (double)counts->sending[number];
        double slept_through = (double)counts->asleep[number];
        spate_running_add(&received, got / n);
        spate_running_add(&sending, own / n);
        spate_running_add(&asleep, slept_through / n);
        spate_running_add(&lost, (n - got - own - slept_through) / n);
    }
    return (SpateDisturbedRadio){
        .radio = number,
        .audible_per_hour = audible.mean,
        .received = spate_estimate_of(&received, 0.0, 1.0),
        .sending = spate_estimate_of(&sending, 0.0, 1.0),
        .lost = spate_estimate_of(&lost, 0.0, 1.0),
        .asleep = spate_estimate_of(&asleep, 0.0, 1.0),
        .sleeps = spate_listening_sleeps(
            &spate_world_plan(all->ranking->world)->radios[number].listening),
        .needed_per_hour = needed.mean,
        .missed = spate_estimate_of(&missed, 0.0, 1.0),
        .disturbers = g_array_new(FALSE, FALSE, sizeof(SpateDisturber)),
    };
}

/* What one sender makes a radio miss: there something can be done. */
static double
worst_missed(const SpateDisturbedRadio *radio)
{
    return radio->disturbers->len > 0
               ? g_array_index(radio->disturbers, SpateDisturber, 0).missed_per_hour
               : 0.0;
}

/* The greatest share that it loses to one. */
static double
worst(const SpateDisturbedRadio *radio)
{
    double most = 0.0;
    for (guint i = 0; i < radio->disturbers->len; i++)
        most = fmax(most, g_array_index(radio->disturbers, SpateDisturber, i).share.mean);
    return most;
}

static int
compare_radios(gconstpointer a, gconstpointer b)
{
    const SpateDisturbedRadio *first = a, *second = b;
    if (worst_missed(first) != worst_missed(second))
        return worst_missed(first) > worst_missed(second) ? -1 : 1;
    if (worst(first) != worst(second))
        return worst(first) > worst(second) ? -1 : 1;
    return (first->radio > second->radio) - (first->radio < second->radio);
}

static void
rank(const Disturbers *all)
{
    GArray *radios = all->ranking->radios;
    for (uint32_t i = 0; i < all->plan->n_radios && all->ranking->n_replications > 0; i++) {
        SpateDisturbedRadio radio = sum_up_radio(all, i);
        if (radio.audible_per_hour > 0.0)
            add_disturbers(all, &radio);
        if (radio.audible_per_hour > 0.0)
            g_array_append_val(radios, radio);
        else
            g_array_unref(radio.disturbers);
    }
    g_array_sort(radios, compare_radios);
}

/* ---- the whole ------------------------------------------------------------------------------- */

SpateDisturberRanking *
spate_advise_disturbers(const SpateAdviseWanted *wanted, const SpateStudyOptions *options,
                        GError **error)
{
    g_autoptr(SpateDisturberRanking) ranking = g_new0(SpateDisturberRanking, 1);
    ranking->radios = g_array_new(FALSE, FALSE, sizeof(SpateDisturbedRadio));
    g_array_set_clear_func(ranking->radios, clear_radio);
    ranking->variant = wanted->variant != NULL ? wanted->variant : "base";
    ranking->scenario = spate_advise_scenario(wanted, NULL, error);
    ranking->world = ranking->scenario != NULL ? spate_world_new(ranking->scenario, error) : NULL;
    if (ranking->world == NULL)
        return NULL;
    uint32_t n = spate_advise_replications(wanted, ranking->scenario);
    Disturbers all = {.ranking = ranking,
                      .counts = g_new0(SpateDisturberCounts, n + 1),
                      .plan = spate_world_plan(ranking->world)};
    const SpateRunTask task = {
        .world = ranking->world, .names_disturbers = true, .watcher = &WATCHER, .user = &all};
    GError *problem = NULL;
    ranking->n_replications = spate_run_replications(&task, n, options, &problem);
    ranking->interrupted = ranking->n_replications < n;
    if (problem == NULL)
        rank(&all);
    for (uint32_t i = 0; i < n; i++)
        spate_disturber_counts_clear(&all.counts[i]);
    g_free(all.counts);
    if (problem == NULL)
        return g_steal_pointer(&ranking);
    g_propagate_error(error, problem);
    return NULL;
}
