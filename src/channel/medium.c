/* medium.c - from link budgets to rows of whole numbers */
#include "channel/medium.h"

#include "channel/access.h"
#include "core/random.h"
#include "core/units.h"
#include <math.h>
#include <string.h>

/* A link is left out when its power, weighted and at its highest fade, stays this far below what
 * the receiver can just decode.  With at most SMALL_MEDIUM senders the sum of all
 * that is left out is below a thousandth of that (0.005 dB).  In larger meshes
 * the threshold rises, up to nearly a hundredth, until LINKS_PER_RECEIVER fit on average. */
#define LEAST_RELATIVE_POWER 1e-6
#define SMALL_MEDIUM         1000
#define LINKS_PER_RECEIVER   400

/* Powers are held in units of 2^-k of the receiver's budget, k <= FINEST_UNIT, such that the sum of
 * everything at once stays below 2^SUM_BITS. */
#define FINEST_UNIT 28
#define SUM_BITS    62

/* A power that falls short of the sensitivity by no more than the arithmetic of decibels loses
 * still reaches it.  Less than half a unit, so that it is rounded up to the budget. */
#define JUST_AUDIBLE (1.0 - 1e-9)

/* Below any threshold, whatever a protection ratio (60 dB at most) and the highest fade (18 dB)
 * add. */
#define HOPELESS_DB 140.0

/* The threshold is chosen by every so many senders, in half-decibel steps from the least: 39.5 dB
 * above it (9 / 1000) at most. */
#define STEPS           80
#define SAMPLED_SENDERS 32

/* A receiver that hears more than this over its budget (132 dB) hears no more: far above what its
 * input withstands, and it keeps the sums within their bits. */
#define MOST_RELATIVE_POWER 0x1p44

/* More would take 5 GB and more: refused before memory is gone. */
#define MOST_LINKS 200e6

#define ABSENT (-1.0)

typedef struct {
    const SpateMediumPlan *plan;
    SpateMedium *medium;
    double *budget_dbm, *budget_mw; /* by radio */
    SpateShadowDraws *shadowing;
    double *highest_gain; /* by bearer of the sender */
    double threshold;
    double *relative_sum; /* by radio: everything at once, over the budget */
    double *omitted_sum;  /* by radio */
    uint32_t **radios_of; /* by bearer: its radios, ascending */
    uint32_t *n_radios_of;
    double *relative; /* scratch by radio: the row of one sender */
} Builder;

double
spate_medium_level_dbm(const SpateMedium *medium, uint32_t radio, uint64_t power)
{
    return spate_linear_to_db((double)power * medium->unit_mw[radio]);
}

double
spate_medium_margin_db(const SpateMedium *medium, uint32_t radio, uint64_t power)
{
    return spate_linear_to_db((double)power / (double)medium->budget[radio]);
}

static SpateWeight
weight_from(SpateInterference interference)
{
    return (SpateWeight){
        .share = interference.share,
        .weight_q32 = (uint64_t)llround(ldexp(interference.protection, 32)),
    };
}

/* Ambient traffic fills its bearer's channel with noise. */
static void
fill_weights(SpateMedium *medium)
{
    for (uint32_t r = 0; r < medium->n_bearers; r++) {
        const SpateBearer *wanted = &medium->bearers[r];
        SpateWeight *row = &medium->weights[r * medium->n_classes];
        for (uint32_t s = 0; s < medium->n_bearers; s++) {
            const SpateBearer *other = &medium->bearers[s];
            row[s] = weight_from(spate_bearer_interference(wanted, other));
            row[medium->n_bearers + s] =
                weight_from(spate_bearer_noise_interference(wanted, other));
        }
    }
}

static const SpateWeight *
weight_at(const SpateMedium *medium, uint32_t receiver_bearer, uint32_t sender)
{
    return &medium->weights[receiver_bearer * medium->n_classes + medium->sender_class[sender]];
}

/* Received power of a source of ambient traffic, in dBm. */
static double
ambient_dbm(const Builder *b, uint32_t source, uint32_t receiver, GError **error)
{
    const SpateAmbientSite *site = &b->plan->ambient[source];
    if (site->everywhere)
        return site->power_dbm;
    const SpateRadioSite *radio = &b->plan->radios[receiver];
    const SpateNodeSite *node = &b->plan->nodes[radio->node];
    double loss_db = spate_path_loss_db(&b->plan->propagation[site->bearer].model,
                                        (double)b->plan->bearers[site->bearer].modulation.centre_hz,
                                        site->position, node->position, error);
    double bearing_deg = spate_bearing_deg(node->position, site->position);
    return site->power_dbm - loss_db - node->site_loss_db +
           spate_antenna_gain_dbi(&radio->antenna, bearing_deg) - radio->feeder_loss_db;
}

/* In-band power of a sender at a receiver of another node over the receiver's budget, or ABSENT;
 * NAN with an error. */
static double
relative_power(Builder *b, uint32_t sender, uint32_t receiver, GError **error)
{
    const SpateMedium *medium = b->medium;
    const SpateWeight *weight = weight_at(medium, medium->bearer[receiver], sender);
    if (weight->share <= 0.0)
        return ABSENT;
    double dbm;
    if (sender >= medium->n_radios) {
        dbm = ambient_dbm(b, sender - medium->n_radios, receiver, error);
        if (isnan(dbm))
            return NAN;
    } else {
        SpateLink link;
        if (!spate_links_budget(b->plan->links, sender, receiver, &link, error))
            return NAN;
        dbm = link.received_dbm;
        if (link.shadowing_sigma_db > 0.0)
            dbm -= spate_links_shadowing_with(b->plan->links, b->shadowing, sender, receiver);
    }
    /* Most pairs of a large mesh are far apart: spare them the power function. */
    if (dbm < b->budget_dbm[receiver] - HOPELESS_DB)
        return ABSENT;
    return fmin(spate_db_to_linear(dbm) * weight->share / b->budget_mw[receiver],
                MOST_RELATIVE_POWER);
}

/* Fills b->relative for one sender; false with an error. */
static bool
fill_relative_row(Builder *b, uint32_t sender, GError **error)
{
    const SpateMedium *medium = b->medium;
    for (uint32_t r = 0; r < medium->n_radios; r++) {
        if (medium->node[r] == medium->node[sender]) {
            b->relative[r] = ABSENT;
            continue;
        }
        b->relative[r] = relative_power(b, sender, r, error);
        if (isnan(b->relative[r]))
            return false;
    }
    return true;
}

/* Protection ratio, linear. */
static double
protection_at(const Builder *b, uint32_t receiver, uint32_t sender)
{
    const SpateMedium *medium = b->medium;
    return ldexp((double)weight_at(medium, medium->bearer[receiver], sender)->weight_q32, -32);
}

/* What a link can weigh at most, over the budget. */
static double
relative_weight(const Builder *b, uint32_t sender, uint32_t receiver, double relative)
{
    return relative * b->highest_gain[b->medium->bearer[sender]] *
           protection_at(b, receiver, sender);
}

static bool
is_kept(const Builder *b, uint32_t sender, uint32_t receiver, double relative)
{
    /* What may be decoded is kept, however small its weight as a disturber. */
    bool same_bearer = b->medium->sender_class[sender] == b->medium->bearer[receiver];
    if (same_bearer && relative * b->highest_gain[b->medium->bearer[sender]] >= JUST_AUDIBLE)
        return true;
    return relative_weight(b, sender, receiver, relative) >= b->threshold;
}

static bool
fits_into_memory(double n_links, GError **error)
{
    if (n_links <= MOST_LINKS)
        return true;
    g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_TOO_LARGE,
                "too many radios hear each other: about %.0f million pairs matter, at most %.0f "
                "million are held",
                n_links / 1e6, MOST_LINKS / 1e6);
    return false;
}

/* The number of links by level decides the threshold of a large medium. */
static bool
choose_threshold(Builder *b, GError **error)
{
    const SpateMedium *medium = b->medium;
    b->threshold = LEAST_RELATIVE_POWER;
    if (medium->n_senders <= SMALL_MEDIUM)
        return true;

    size_t at_level[STEPS] = {0};
    for (uint32_t s = 0; s < medium->n_senders; s += SAMPLED_SENDERS) {
        if (!fill_relative_row(b, s, error))
            return false;
        for (uint32_t r = 0; r < medium->n_radios; r++) {
            double weight = relative_weight(b, s, r, b->relative[r]);
            if (weight < LEAST_RELATIVE_POWER)
                continue;
            double steps = 2.0 * spate_linear_to_db(weight / LEAST_RELATIVE_POWER);
            at_level[(size_t)MIN(steps, STEPS - 1.0)]++;
        }
    }
    size_t step = STEPS - 1, kept = at_level[step];
    size_t wanted = (size_t)LINKS_PER_RECEIVER * medium->n_radios / SAMPLED_SENDERS;
    while (step > 0 && kept + at_level[step - 1] <= wanted)
        kept += at_level[--step];
    b->threshold = LEAST_RELATIVE_POWER * spate_db_to_linear(0.5 * (double)step);
    return fits_into_memory((double)kept * SAMPLED_SENDERS, error);
}

typedef struct {
    GArray *receiver; /* uint32_t */
    GArray *relative; /* float would lose digits: double */
} LinkList;

static void
append_link(LinkList *list, uint32_t receiver, double relative)
{
    g_array_append_val(list->receiver, receiver);
    g_array_append_val(list->relative, relative);
}

/* Appends one part of the row in b->relative. */
static void
append_part(Builder *b, uint32_t sender, uint32_t bearer, LinkList *links, LinkList *suffering)
{
    SpateMedium *medium = b->medium;
    SpateRowPart *part = &medium->parts[sender * medium->n_bearers + bearer];
    double highest_gain = b->highest_gain[medium->bearer[sender]];
    bool decodes = medium->sender_class[sender] == bearer;

    g_array_set_size(suffering->receiver, 0);
    g_array_set_size(suffering->relative, 0);
    part->begin = links->receiver->len;
    for (uint32_t i = 0; i < b->n_radios_of[bearer]; i++) {
        uint32_t r = b->radios_of[bearer][i];
        double relative = b->relative[r];
        if (relative < 0.0)
            continue;
        if (!is_kept(b, sender, r, relative)) {
            b->omitted_sum[r] += relative_weight(b, sender, r, relative);
            continue;
        }
        b->relative_sum[r] += relative * highest_gain + relative_weight(b, sender, r, relative);
        append_link(decodes && relative * highest_gain >= JUST_AUDIBLE ? links : suffering, r,
                    relative);
    }
    part->audible_end = links->receiver->len;
    g_array_append_vals(links->receiver, suffering->receiver->data, suffering->receiver->len);
    g_array_append_vals(links->relative, suffering->relative->data, suffering->relative->len);
    part->end = links->receiver->len;
}

static bool
collect_links(Builder *b, LinkList *links, GError **error)
{
    LinkList suffering = {g_array_new(FALSE, FALSE, sizeof(uint32_t)),
                          g_array_new(FALSE, FALSE, sizeof(double))};
    bool fine = true;
    for (uint32_t s = 0; fine && s < b->medium->n_senders; s++) {
        fine = fill_relative_row(b, s, error);
        for (uint32_t bearer = 0; fine && bearer < b->medium->n_bearers; bearer++)
            append_part(b, s, bearer, links, &suffering);
    }
    g_array_free(suffering.receiver, TRUE);
    g_array_free(suffering.relative, TRUE);
    return fine;
}

/* Power at another radio of the same node, over its budget. */
static double
mate_relative(const Builder *b, uint32_t sender, uint32_t receiver, GError **error)
{
    const SpateWeight *weight = weight_at(b->medium, b->medium->bearer[receiver], sender);
    SpateLink link;
    if (!spate_links_budget(b->plan->links, sender, receiver, &link, error))
        return NAN;
    return fmin(spate_db_to_linear(link.received_dbm) * weight->share / b->budget_mw[receiver],
                MOST_RELATIVE_POWER);
}

/* Radios are numbered by node, so those of one node stand side by side. */
static bool
collect_mates(Builder *b, GArray *mates, GArray *relatives, GError **error)
{
    SpateMedium *medium = b->medium;
    for (uint32_t s = 0; s < medium->n_senders; s++) {
        medium->mates_begin[s] = mates->len;
        if (s >= medium->n_radios)
            continue;
        uint32_t first = s;
        while (first > 0 && medium->node[first - 1] == medium->node[s])
            first--;
        for (uint32_t r = first; r < medium->n_radios && medium->node[r] == medium->node[s]; r++) {
            if (r == s || weight_at(medium, medium->bearer[r], s)->share <= 0.0)
                continue;
            double relative = mate_relative(b, s, r, error);
            if (isnan(relative))
                return false;
            /* Nothing fades on a mast. */
            b->relative_sum[r] += relative * (1.0 + protection_at(b, r, s));
            SpateMate mate = {r, 0};
            g_array_append_val(mates, mate);
            g_array_append_val(relatives, relative);
        }
    }
    medium->mates_begin[medium->n_senders] = mates->len;
    return true;
}

static void
choose_units(Builder *b)
{
    SpateMedium *medium = b->medium;
    for (uint32_t r = 0; r < medium->n_radios; r++) {
        double room = SUM_BITS - log2(b->relative_sum[r] + 2.0);
        int k = (int)CLAMP(floor(room), 1.0, (double)FINEST_UNIT);
        medium->budget[r] = UINT64_C(1) << k;
        medium->unit_mw[r] = ldexp(b->budget_mw[r], -k);

        const SpateBearer *bearer = &medium->bearers[medium->bearer[r]];
        medium->csma_threshold[r] = UINT64_MAX;
        if (spate_access_info(bearer->access.method)->senses_power) {
            double dbm = spate_bearer_csma_threshold_dbm(bearer, b->plan->radios[r].power_dbm);
            double units = ceil(spate_db_to_linear(dbm) / medium->unit_mw[r]);
            medium->csma_threshold[r] =
                units < ldexp(1.0, 63) ? (uint64_t)MAX(units, 1.0) : UINT64_MAX;
        }
        medium->omitted_worst = MAX(medium->omitted_worst, b->omitted_sum[r]);
    }
}

static uint64_t
in_units(const SpateMedium *medium, uint32_t radio, double relative)
{
    return (uint64_t)llround(relative * (double)medium->budget[radio]);
}

static void
quantise(SpateMedium *medium, const LinkList *links, const GArray *mates, const GArray *relatives)
{
    medium->n_links = links->receiver->len;
    medium->receiver = g_new(uint32_t, MAX(medium->n_links, 1));
    medium->power = g_new(uint64_t, MAX(medium->n_links, 1));
    for (size_t i = 0; i < medium->n_links; i++) {
        medium->receiver[i] = g_array_index(links->receiver, uint32_t, i);
        medium->power[i] =
            in_units(medium, medium->receiver[i], g_array_index(links->relative, double, i));
    }
    medium->mates = g_new(SpateMate, MAX(mates->len, 1));
    for (guint i = 0; i < mates->len; i++) {
        medium->mates[i] = g_array_index(mates, SpateMate, i);
        medium->mates[i].power =
            in_units(medium, medium->mates[i].receiver, g_array_index(relatives, double, i));
    }
}

static SpateMedium *
allocate(const SpateMediumPlan *plan)
{
    SpateMedium *medium = g_new0(SpateMedium, 1);
    g_atomic_ref_count_init(&medium->references);
    medium->n_nodes = plan->n_nodes;
    medium->n_bearers = plan->n_bearers;
    medium->n_classes = 2 * plan->n_bearers;
    medium->n_radios = plan->n_radios;
    medium->n_senders = plan->n_radios + plan->n_ambient;
    medium->bearers = plan->bearers;
    medium->fading = plan->fading;
    medium->bearer_hash = g_memdup2(plan->bearer_hash, plan->n_bearers * sizeof(uint64_t));
    medium->weights = g_new0(SpateWeight, MAX(medium->n_bearers * medium->n_classes, 1));
    size_t n_senders = MAX(medium->n_senders, 1), n_radios = MAX(medium->n_radios, 1);
    medium->node = g_new(uint32_t, n_senders);
    medium->bearer = g_new(uint32_t, n_senders);
    medium->sender_class = g_new(uint32_t, n_senders);
    medium->name_hash = g_new(uint64_t, n_senders);
    medium->parts = g_new0(SpateRowPart, n_senders * MAX(medium->n_bearers, 1));
    medium->mates_begin = g_new0(uint32_t, n_senders + 1);
    medium->budget = g_new(uint64_t, n_radios);
    medium->unit_mw = g_new(double, n_radios);
    medium->csma_threshold = g_new(uint64_t, n_radios);
    return medium;
}

static void
fill_senders(SpateMedium *medium, const SpateMediumPlan *plan)
{
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        medium->node[r] = plan->radios[r].node;
        medium->bearer[r] = plan->radios[r].bearer;
        medium->sender_class[r] = plan->radios[r].bearer;
        medium->name_hash[r] = plan->nodes[plan->radios[r].node].name_hash;
        g_assert(r == 0 || medium->node[r - 1] <= medium->node[r]);
    }
    for (uint32_t a = 0; a < plan->n_ambient; a++) {
        uint32_t s = plan->n_radios + a;
        medium->node[s] = UINT32_MAX;
        medium->bearer[s] = plan->ambient[a].bearer;
        medium->sender_class[s] = plan->n_bearers + plan->ambient[a].bearer;
        medium->name_hash[s] = plan->ambient[a].name_hash;
    }
}

static void
builder_init(Builder *b, const SpateMediumPlan *plan, SpateMedium *medium)
{
    *b = (Builder){.plan = plan, .medium = medium};
    size_t n_radios = MAX(plan->n_radios, 1);
    b->shadowing = spate_links_draw_shadowing(plan->links, plan->seed, plan->replication);
    b->budget_dbm = g_new0(double, n_radios);
    b->budget_mw = g_new0(double, n_radios);
    b->relative_sum = g_new0(double, n_radios);
    b->omitted_sum = g_new0(double, n_radios);
    b->relative = g_new0(double, n_radios);
    b->highest_gain = g_new0(double, plan->n_bearers);
    b->radios_of = g_new0(uint32_t *, plan->n_bearers);
    b->n_radios_of = g_new0(uint32_t, plan->n_bearers);
    for (uint32_t i = 0; i < plan->n_bearers; i++) {
        b->highest_gain[i] = spate_fading_highest_gain(&plan->fading[i]);
        b->radios_of[i] = g_new(uint32_t, n_radios);
    }
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        uint32_t bearer = plan->radios[r].bearer;
        b->radios_of[bearer][b->n_radios_of[bearer]++] = r;
        b->budget_dbm[r] =
            spate_bearer_sensitivity_dbm(&plan->bearers[bearer]) + plan->noise_rise_db[r];
        b->budget_mw[r] = spate_db_to_linear(b->budget_dbm[r]);
    }
}

static void
builder_clear(Builder *b)
{
    spate_shadow_draws_free(b->shadowing);
    for (uint32_t i = 0; i < b->plan->n_bearers; i++)
        g_free(b->radios_of[i]);
    g_free(b->radios_of);
    g_free(b->n_radios_of);
    g_free(b->highest_gain);
    g_free(b->budget_dbm);
    g_free(b->budget_mw);
    g_free(b->relative_sum);
    g_free(b->omitted_sum);
    g_free(b->relative);
}

SpateMedium *
spate_medium_new(const SpateMediumPlan *plan, GError **error)
{
    g_autoptr(SpateMedium) medium = allocate(plan);
    fill_senders(medium, plan);
    fill_weights(medium);

    Builder b;
    builder_init(&b, plan, medium);
    LinkList links = {g_array_new(FALSE, FALSE, sizeof(uint32_t)),
                      g_array_new(FALSE, FALSE, sizeof(double))};
    g_autoptr(GArray) mates = g_array_new(FALSE, FALSE, sizeof(SpateMate));
    g_autoptr(GArray) relatives = g_array_new(FALSE, FALSE, sizeof(double));
    bool fine = choose_threshold(&b, error) && collect_links(&b, &links, error) &&
                collect_mates(&b, mates, relatives, error);
    if (fine) {
        choose_units(&b);
        quantise(medium, &links, mates, relatives);
    }
    g_array_free(links.receiver, TRUE);
    g_array_free(links.relative, TRUE);
    builder_clear(&b);
    return fine ? g_steal_pointer(&medium) : NULL;
}

SpateMedium *
spate_medium_ref(SpateMedium *medium)
{
    g_atomic_ref_count_inc(&medium->references);
    return medium;
}

void
spate_medium_unref(SpateMedium *medium)
{
    if (medium == NULL || !g_atomic_ref_count_dec(&medium->references))
        return;
    g_free(medium->bearer_hash);
    g_free(medium->weights);
    g_free(medium->node);
    g_free(medium->bearer);
    g_free(medium->sender_class);
    g_free(medium->name_hash);
    g_free(medium->parts);
    g_free(medium->mates_begin);
    g_free(medium->mates);
    g_free(medium->budget);
    g_free(medium->unit_mw);
    g_free(medium->csma_threshold);
    g_free(medium->receiver);
    g_free(medium->power);
    g_free(medium);
}
