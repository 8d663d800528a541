/* detail.c - what a report shows beside the measures */
#include "study/detail/detail.h"

#include "core/time.h"
#include "study/detail/detail-replay.h"
#include <math.h>

static const SpateInterval NO_INTERVAL = {NAN, NAN};

static void
clear_message(gpointer message)
{
    g_free(((SpateDetailMessage *)message)->traffic);
    g_free(((SpateDetailMessage *)message)->origin);
}

void
spate_detail_free(SpateDetail *detail)
{
    if (detail == NULL)
        return;
    for (size_t v = 0; v < detail->n_variants; v++) {
        SpateDetailVariant *variant = &detail->variants[v];
        for (guint i = 0; variant->replay != NULL && i < detail->messages->len; i++)
            spate_message_trace_free(variant->replay[i]);
        g_free(variant->replay);
        g_clear_pointer(&variant->links, g_array_unref);
        g_clear_pointer(&variant->disturbers, g_array_unref);
        g_free(variant->to_node);
        g_free(variant->from_node);
        g_free(variant->radios);
        g_free(variant->timeline);
        g_free(variant->airtime);
        g_free(variant->latency);
    }
    g_free(detail->variants);
    spate_relief_free(detail->relief);
    g_array_unref(detail->messages);
    g_free(detail);
}

/* One variant while it is summed up. */
typedef struct {
    const SpateStudy *study;
    size_t scenario;
    uint32_t n; /* replications */
    const SpatePlan *plan;
    SpateDetailVariant *variant;
    double counted_s; /* of one replication */
} Sum;

static const SpateDetailKept *
kept_of(const Sum *sum, uint32_t replication)
{
    return spate_study_kept(sum->study, sum->scenario, replication);
}

/* ---- links ----------------------------------------------------------------------------------- */

static double
margin_db(const Sum *sum, const SpateLinks *links, uint32_t sender, uint32_t receiver)
{
    SpateLink link;
    const SpateScenario *scenario = spate_world_scenario(sum->variant->shown);
    const SpateRadio *radio = &sum->plan->radios[receiver];
    const SpateBearer *bearer = &sum->plan->bearers[radio->bearer];
    uint32_t within = receiver - sum->plan->nodes[radio->node].first_radio;
    if (!spate_links_budget(links, sender, receiver, &link, NULL))
        return NAN;
    return link.received_dbm - spate_bearer_sensitivity_dbm(bearer) -
           scenario->nodes[radio->node].radios[within].noise_rise_db;
}

static double
better_db(const SpateDetailLink *link)
{
    return fmax(link->margin_db, link->margin_back_db); /* passes over a NAN */
}

static int
compare_ends(gconstpointer a, gconstpointer b)
{
    const SpateDetailLink *first = a, *second = b;
    if (first->from != second->from)
        return first->from < second->from ? -1 : 1;
    return (first->to > second->to) - (first->to < second->to);
}

static int
compare_strength(gconstpointer a, gconstpointer b)
{
    double first = better_db(a), second = better_db(b);
    return first != second ? (first > second ? -1 : 1) : compare_ends(a, b);
}

static void
find_links(Sum *sum)
{
    const SpatePlan *plan = sum->plan;
    SpateDetailVariant *variant = sum->variant;
    g_autoptr(SpateLinks) links = spate_world_links(variant->shown, 0);
    variant->links = g_array_new(FALSE, FALSE, sizeof(SpateDetailLink));
    for (uint32_t a = 0; a < plan->n_radios; a++) {
        for (uint32_t b = a + 1; b < plan->n_radios; b++) {
            if (plan->radios[a].bearer != plan->radios[b].bearer)
                continue;
            const SpateDetailLink link = {a, b, margin_db(sum, links, a, b),
                                          margin_db(sum, links, b, a)};
            if (better_db(&link) >= SPATE_DETAIL_LEAST_MARGIN_DB)
                g_array_append_val(variant->links, link);
        }
    }
    g_array_sort(variant->links, compare_strength);
    if (variant->links->len > SPATE_DETAIL_LINKS) {
        variant->n_links_left = variant->links->len - SPATE_DETAIL_LINKS;
        g_array_set_size(variant->links, SPATE_DETAIL_LINKS);
    }
    g_array_sort(variant->links, compare_ends);
}

/* ---- nodes ----------------------------------------------------------------------------------- */

/* As shares in a result: Student's over replications, never narrower than Wilson's of all. */
static SpateDetailShare
share_of(const SpateRunning *running, double delivered, double pairs)
{
    if (pairs == 0.0)
        return (SpateDetailShare){0, NAN, NO_INTERVAL};
    SpateInterval ci95 = spate_interval_union(spate_student_interval(running),
                                              spate_wilson_interval(delivered, pairs));
    return (SpateDetailShare){(uint64_t)pairs, delivered / pairs,
                              spate_interval_clip(ci95, 0.0, 1.0)};
}

static void
sum_node(Sum *sum, uint32_t node)
{
    SpateRunning to = {0}, from = {0};
    double pairs = 0, delivered = 0, from_pairs = 0, from_delivered = 0;
    for (uint32_t i = 0; i < sum->n; i++) {
        const SpateNodeCounts *counts = &kept_of(sum, i)->counts.nodes[node];
        if (counts->n_pairs > 0)
            spate_running_add(&to, (double)counts->n_delivered / (double)counts->n_pairs);
        if (counts->n_from_pairs > 0)
            spate_running_add(&from,
                              (double)counts->n_from_delivered / (double)counts->n_from_pairs);
        pairs += (double)counts->n_pairs;
        delivered += (double)counts->n_delivered;
        from_pairs += (double)counts->n_from_pairs;
        from_delivered += (double)counts->n_from_delivered;
    }
    sum->variant->to_node[node] = share_of(&to, delivered, pairs);
    sum->variant->from_node[node] = share_of(&from, from_delivered, from_pairs);
}

/* ---- radios and who disturbs them ------------------------------------------------------------ */

/* Over all replications. */
typedef struct {
    double audible, received, sending, asleep, collision, busy, blocked;
} Heard;

static Heard *
sum_heard(const Sum *sum)
{
    Heard *heard = g_new0(Heard, sum->plan->n_radios + 1u);
    for (uint32_t i = 0; i < sum->n; i++) {
        const SpateDisturberCounts *counts = &kept_of(sum, i)->disturbers;
        for (uint32_t r = 0; r < sum->plan->n_radios; r++) {
            heard[r].audible += (double)counts->audible[r];
            heard[r].received += (double)counts->received[r];
            heard[r].sending += (double)counts->sending[r];
            heard[r].asleep += (double)counts->asleep[r];
        }
        for (guint k = 0; k < counts->pairs->len; k++) {
            const SpateDisturbance *pair = &g_array_index(counts->pairs, SpateDisturbance, k);
            heard[pair->receiver].collision += (double)pair->n_collision;
            heard[pair->receiver].busy += (double)pair->n_busy;
            heard[pair->receiver].blocked += (double)pair->n_blocked;
        }
    }
    return heard;
}

static double
part(double count, double of)
{
    return of > 0.0 ? count / of : (double)NAN;
}

static void
sum_radio(Sum *sum, uint32_t radio, const Heard *heard)
{
    SpateRunning sending = {0};
    double transmissions = 0, redundant = 0;
    double hours = sum->counted_s / 3600.0 * sum->n;
    for (uint32_t i = 0; i < sum->n; i++) {
        const SpateRadioCounts *counts = &kept_of(sum, i)->counts.radios[radio];
        double airtime_s = (double)counts->airtime_ns / (double)SPATE_NS_PER_S;
        spate_running_add(&sending, airtime_s / sum->counted_s);
        transmissions += (double)counts->n_transmissions;
        redundant += (double)counts->n_redundant;
    }
    sum->variant->radios[radio] = (SpateDetailRadio){
        .sending = sending.mean,
        .ci95 = spate_interval_clip(spate_student_interval(&sending), 0.0, INFINITY),
        .audible_per_hour = heard->audible / hours,
        .transmissions_per_hour = transmissions / hours,
        .received = part(heard->received, heard->audible),
        .lost_collision = part(heard->collision, heard->audible),
        .lost_busy = part(heard->busy, heard->audible),
        .lost_sending = part(heard->sending, heard->audible),
        .lost_blocked = part(heard->blocked, heard->audible),
        .lost_asleep = part(heard->asleep, heard->audible),
        .redundant = part(redundant, heard->received),
    };
}

static double
lost_to(const SpateDetailDisturber *disturber)
{
    return disturber->collision + disturber->busy + disturber->blocked;
}

static int
compare_within(gconstpointer a, gconstpointer b)
{
    const SpateDetailDisturber *first = a, *second = b;
    if (first->receiver != second->receiver)
        return first->receiver < second->receiver ? -1 : 1;
    if (lost_to(first) != lost_to(second))
        return lost_to(first) > lost_to(second) ? -1 : 1;
    return (first->sender > second->sender) - (first->sender < second->sender);
}

static int
compare_worst(gconstpointer a, gconstpointer b)
{
    const SpateDetailDisturber *first = a, *second = b;
    if (first->per_hour != second->per_hour)
        return first->per_hour > second->per_hour ? -1 : 1;
    return compare_within(a, b);
}

/* All replications together; all ambient traffic is one sender. */
static GArray *
sum_pairs(const Sum *sum)
{
    GArray *pairs = g_array_new(FALSE, FALSE, sizeof(SpateDisturbance));
    for (uint32_t i = 0; i < sum->n; i++) {
        const GArray *its = kept_of(sum, i)->disturbers.pairs;
        for (guint k = 0; k < its->len; k++) {
            SpateDisturbance pair = g_array_index(its, SpateDisturbance, k);
            pair.sender = MIN(pair.sender, sum->plan->n_radios);
            g_array_append_val(pairs, pair);
        }
    }
    g_array_sort(pairs, spate_disturbance_compare);
    guint n = 0;
    for (guint k = 0; k < pairs->len; k++) {
        const SpateDisturbance pair = g_array_index(pairs, SpateDisturbance, k);
        SpateDisturbance *last = n > 0 ? &g_array_index(pairs, SpateDisturbance, n - 1) : NULL;
        if (last == NULL || spate_disturbance_compare(last, &pair) != 0) {
            g_array_index(pairs, SpateDisturbance, n++) = pair;
            continue;
        }
        last->n_collision += pair.n_collision;
        last->n_busy += pair.n_busy;
        last->n_blocked += pair.n_blocked;
    }
    g_array_set_size(pairs, n);
    return pairs;
}

/* Keeps the worst few of each receiver, and of these the worst in all. */
static void
keep_worst(SpateDetailVariant *variant)
{
    GArray *all = variant->disturbers;
    guint n = 0, n_of_one = 0, n_before = all->len;
    g_array_sort(all, compare_within);
    for (guint i = 0; i < all->len; i++) {
        const SpateDetailDisturber its = g_array_index(all, SpateDetailDisturber, i);
        bool is_same =
            n > 0 && g_array_index(all, SpateDetailDisturber, n - 1).receiver == its.receiver;
        n_of_one = is_same ? n_of_one + 1 : 1;
        if (n_of_one <= SPATE_DETAIL_DISTURBERS_OF_ONE)
            g_array_index(all, SpateDetailDisturber, n++) = its;
    }
    g_array_set_size(all, n);
    g_array_sort(all, compare_worst);
    g_array_set_size(all, MIN(n, SPATE_DETAIL_DISTURBERS));
    g_array_sort(all, compare_within);
    variant->n_disturbers_left = n_before - all->len;
}

static void
find_disturbers(Sum *sum, const Heard *heard)
{
    const SpatePlan *plan = sum->plan;
    double hours = sum->counted_s / 3600.0 * sum->n;
    g_autoptr(GArray) pairs = sum_pairs(sum);
    sum->variant->disturbers = g_array_new(FALSE, FALSE, sizeof(SpateDetailDisturber));
    for (guint i = 0; i < pairs->len; i++) {
        const SpateDisturbance *pair = &g_array_index(pairs, SpateDisturbance, i);
        double audible = heard[pair->receiver].audible;
        double collision = (double)pair->n_collision, busy = (double)pair->n_busy;
        double blocked = (double)pair->n_blocked, lost = collision + busy + blocked;
        const SpateDetailDisturber disturber = {
            .receiver = pair->receiver,
            .sender = pair->sender,
            .blame = pair->sender < plan->n_radios
                         ? spate_blame_of(sum->variant->shown, plan->radios[pair->sender].node,
                                          plan->radios[pair->receiver].node)
                         : SPATE_BLAME_AMBIENT,
            .per_hour = lost / hours,
            .share = part(lost, audible),
            .collision = part(collision, audible),
            .busy = part(busy, audible),
            .blocked = part(blocked, audible),
        };
        g_array_append_val(sum->variant->disturbers, disturber);
    }
    keep_worst(sum->variant);
}

/* ---- over time ------------------------------------------------------------------------------- */

static void
sum_step(Sum *sum, uint32_t bearer, uint32_t step)
{
    SpateRunning all = {0};
    uint32_t n_traffics = sum->plan->n_traffics;
    double *airtime = sum->variant->airtime;
    for (uint32_t i = 0; i < sum->n; i++) {
        const SpateDetailCounts *counts = &kept_of(sum, i)->counts;
        double erlang = 0.0;
        for (uint32_t t = 0; t < n_traffics; t++) {
            size_t row = (size_t)bearer * n_traffics + t;
            double its =
                (double)counts->airtime_ns[row * counts->n_steps + step] / (double)counts->step_ns;
            airtime[row * SPATE_DETAIL_STEPS + step] += its / sum->n;
            erlang += its;
        }
        spate_running_add(&all, erlang);
    }
    SpateInterval ci95 = spate_interval_clip(spate_student_interval(&all), 0.0, INFINITY);
    sum->variant->timeline[bearer].mean[step] = all.mean;
    sum->variant->timeline[bearer].low[step] = ci95.low;
    sum->variant->timeline[bearer].high[step] = ci95.high;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void
sum_variant(SpateDetailVariant *variant, const SpateStudy *study, size_t scenario)
{
    const SpateWorld *shown = spate_study_shown_world(study, scenario);
    const SpateScenario *its = spate_world_scenario(shown);
    Sum sum = {
        .study = study,
        .scenario = scenario,
        .n = spate_study_n_replications(study),
        .plan = spate_world_plan(shown),
        .variant = variant,
        .counted_s = (double)(its->duration_ns - its->warm_up_ns) / (double)SPATE_NS_PER_S,
    };
    variant->shown = shown;
    variant->to_node = g_new0(SpateDetailShare, sum.plan->n_nodes + 1u);
    variant->from_node = g_new0(SpateDetailShare, sum.plan->n_nodes + 1u);
    variant->radios = g_new0(SpateDetailRadio, sum.plan->n_radios + 1u);
    size_t n_airtime = (size_t)sum.plan->n_bearers * sum.plan->n_traffics * SPATE_DETAIL_STEPS;
    size_t n_latency = (size_t)sum.plan->n_traffics * SPATE_DETAIL_HOPS * SPATE_LATENCY_BINS;
    variant->timeline = g_new0(SpateDetailTimeline, sum.plan->n_bearers + 1u);
    variant->airtime = g_new0(double, n_airtime + 1);
    variant->latency = g_new0(uint64_t, n_latency + 1);
    g_autofree Heard *heard = sum_heard(&sum);
    find_links(&sum);
    for (uint32_t i = 0; i < sum.plan->n_nodes; i++)
        sum_node(&sum, i);
    for (uint32_t i = 0; i < sum.plan->n_radios; i++)
        sum_radio(&sum, i, &heard[i]);
    find_disturbers(&sum, heard);
    for (uint32_t b = 0; b < sum.plan->n_bearers; b++)
        for (uint32_t step = 0; step < SPATE_DETAIL_STEPS; step++)
            sum_step(&sum, b, step);
    for (uint32_t i = 0; i < sum.n; i++)
        for (size_t k = 0; k < n_latency; k++)
            variant->latency[k] += kept_of(&sum, i)->counts.latency[k];
}

SpateDetail *
spate_detail_new(const SpateStudy *study, size_t n_scenarios, const SpateStudyOptions *options,
                 GError **error)
{
    g_autoptr(SpateDetail) detail = g_new0(SpateDetail, 1);
    detail->n_replications = spate_study_n_replications(study);
    g_assert(detail->n_replications > 0);
    detail->messages = g_array_new(FALSE, FALSE, sizeof(SpateDetailMessage));
    g_array_set_clear_func(detail->messages, clear_message);
    detail->n_variants = n_scenarios;
    detail->variants = g_new0(SpateDetailVariant, n_scenarios);
    detail->step_ns = spate_study_kept(study, 0, 0)->counts.step_ns;
    for (size_t v = 0; v < n_scenarios; v++)
        sum_variant(&detail->variants[v], study, v);
    g_autofree const SpateWorld **worlds = g_new(const SpateWorld *, n_scenarios);
    for (size_t v = 0; v < n_scenarios; v++)
        worlds[v] = detail->variants[v].shown;
    detail->relief = spate_relief_new(worlds, n_scenarios);
    if (!spate_detail_replay(detail, study, options, error))
        return NULL;
    return g_steal_pointer(&detail);
}
