/* medium.c - from link budgets to rows of whole numbers */
#include "channel/medium-private.h"

#include "channel/access.h"
#include "core/huge-pages.h"
#include "core/pool.h"
#include "core/random.h"
#include "core/units.h"
#include <math.h>
#include <string.h>

/* Powers are held in units of 2^-k of the receiver's budget, k <= FINEST_UNIT, such that the sum of
 * everything at once stays below 2^SUM_BITS. */
#define FINEST_UNIT 28
#define SUM_BITS    62

/* Levels sum up to no more: beyond that a unit would have to be larger than half a budget. */
#define HIGHEST_SUM 0x1p61

/* Sums have at least this much room for links that change, all at once, weighted and at their
 * highest fade (135 dB over the budget).  A unit is then a 65,536th of the budget. */
#define LEAST_ROOM_FOR_CHANGES 0x1p45

/* More would take 5 GB and more: refused before memory is gone. */
#define MOST_LINKS 200e6

typedef struct {
    SpateMedium *medium;
    SpateLevels *levels;
    SpateLevels of_the_call; /* where nothing moves */
    double *level_sum;       /* by radio: everything at once, but what changes */
    double *omitted_sum;     /* by radio, of pairs that were looked at */
    uint32_t *n_looked_at;   /* by radio: senders; NULL where all were */
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

/* What everything at once comes to, with this link. */
static void
add_up(Builder *b, uint32_t sender, uint32_t receiver, double level)
{
    if (!spate_levels_change(b->levels, sender, receiver))
        b->level_sum[receiver] += level * b->levels->highest_gain[b->medium->bearer[sender]] +
                                  spate_levels_weight(b->levels, sender, receiver, level);
}

static void
count_looked_at(Builder *b, SpateLinkRow row)
{
    for (uint32_t i = 0; i < row.n; i++)
        b->n_looked_at[row.receiver[i]]++;
    for (uint32_t i = 0; i < row.n_omitted; i++)
        b->n_looked_at[row.omitted[i]]++;
}

/* What is left out at a radio, as if all of it were sent at once, or more: those who were too far
 * to be looked at stay below the threshold. */
static double
omitted_at(const Builder *b, uint32_t radio)
{
    if (b->n_looked_at == NULL)
        return b->omitted_sum[radio];
    uint32_t n_far = b->medium->n_senders - b->n_looked_at[radio];
    return b->omitted_sum[radio] + n_far * b->levels->threshold;
}

static void
append_row(Builder *b, uint32_t sender, SpateLinkRow row, SpateLinkList *links)
{
    SpateMedium *medium = b->medium;
    uint32_t begin = (uint32_t)links->n;
    for (uint32_t bearer = 0; bearer < medium->n_bearers; bearer++) {
        SpateRowPart part = row.parts[bearer];
        medium->parts[sender * medium->n_bearers + bearer] =
            (SpateRowPart){begin + part.begin - row.begin, begin + part.audible_end - row.begin,
                           begin + part.end - row.begin};
    }
    for (uint32_t i = 0; i < row.n_omitted; i++)
        b->omitted_sum[row.omitted[i]] += row.omitted_weight[i];
    if (b->n_looked_at != NULL)
        count_looked_at(b, row);
    for (uint32_t i = 0; i < row.n; i++)
        add_up(b, sender, row.receiver[i], row.level[i]);
    spate_link_list_reserve(links, MAX(row.n, 1));
    memcpy(&links->receiver[begin], row.receiver, row.n * sizeof row.receiver[0]);
    memcpy(&links->level[begin], row.level, row.n * sizeof row.level[0]);
    links->n += row.n;
    medium->n_links += row.n;
}

/* Places in its row for links that may yet come. */
static void
append_spare(Builder *b, uint32_t sender, SpateLinkList *links)
{
    const SpateMedium *medium = b->medium;
    uint32_t n_held = 0;
    uint32_t begin = medium->parts[sender * medium->n_bearers].begin, end = (uint32_t)links->n;
    for (uint32_t i = begin; i < end; i++)
        n_held += spate_levels_change(b->levels, sender, links->receiver[i]);
    uint32_t n_spare = spate_moving_spare(medium->moving, sender, n_held);
    spate_link_list_reserve(links, n_spare);
    for (uint32_t i = 0; i < n_spare; i++)
        spate_link_list_add(links, 0, 0.0);
    medium->moving->row_end[sender] = (uint32_t)links->n;
}

typedef struct {
    Builder *builder;
    SpateLinkList *links;
    const SpateLinkRows *rows; /* NULL: none yet */
} Appending;

/* In the order of senders, by one thread: sums of levels would depend on the order. */
static void
append_rows(gpointer user)
{
    const Appending *appending = user;
    Builder *b = appending->builder;
    const SpateLinkRows *rows = appending->rows;
    for (uint32_t at = 0; rows != NULL && at < rows->n; at++) {
        uint32_t sender = spate_link_rows_sender(rows, at);
        append_row(b, sender, spate_link_row(rows, at), appending->links);
        if (b->medium->moving != NULL)
            append_spare(b, sender, appending->links);
    }
}

/* What was foreseen is one sender in so many's: room for a little more costs nothing before it is
 * used. */
static void
make_room(SpateLinkList *links, double n_links)
{
    spate_link_list_reserve(links, (size_t)(n_links * 1.05));
    spate_ask_for_huge_pages(links->receiver, links->room * sizeof links->receiver[0]);
    spate_ask_for_huge_pages(links->level, links->room * sizeof links->level[0]);
}

/* While some rows are filled, one thread appends those before them. */
static bool
collect_links(Builder *b, SpateLinkList *links, GError **error)
{
    bool fine = true;
    SpateLinkRows rows[2];
    for (int i = 0; i < 2; i++)
        spate_link_rows_init(&rows[i], b->levels);
    if (rows[0].reach != NULL)
        b->n_looked_at = g_new0(uint32_t, b->medium->n_radios);
    Appending appending = {b, links, NULL};
    const SpateMeanwhile meanwhile = {append_rows, &appending};
    uint32_t s = 0;
    for (int i = 0; fine && s < b->medium->n_senders; s += SPATE_ROWS_AT_ONCE, i = !i) {
        fine = spate_link_rows_fill(&rows[i], s, 1, meanwhile, error) &&
               fits_into_memory((double)links->n, error);
        appending.rows = &rows[i];
    }
    if (fine)
        append_rows(&appending);
    for (int i = 0; i < 2; i++)
        spate_link_rows_clear(&rows[i]);
    return fine;
}

/* Radios are numbered by node, so those of one node stand side by side. */
static bool
collect_mates(Builder *b, GArray *mates, GArray *levels, GError **error)
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
            if (r == s || weight_at(medium, r, s)->share <= 0.0)
                continue;
            double level = spate_level_of_mate(b->levels, s, r, error);
            if (isnan(level))
                return false;
            /* Nothing fades on a mast. */
            b->level_sum[r] += level * (1.0 + spate_levels_protection(b->levels, r, s));
            SpateMate mate = {r, 0};
            g_array_append_val(mates, mate);
            g_array_append_val(levels, level);
        }
    }
    medium->mates_begin[medium->n_senders] = mates->len;
    return true;
}

/* Whether everything may be sent at once without a level being held for less than it is. */
static bool
all_fit(const Builder *b, uint32_t receiver)
{
    return b->level_sum[receiver] < HIGHEST_SUM;
}

static void
choose_units(Builder *b)
{
    SpateMedium *medium = b->medium;
    for (uint32_t r = 0; r < medium->n_radios; r++) {
        double sum = all_fit(b, r) ? b->level_sum[r] + 2.0 : 0.5 * HIGHEST_SUM;
        double bits = medium->moving == NULL ? log2(sum) : log2(sum + LEAST_ROOM_FOR_CHANGES);
        int k = (int)CLAMP(floor(SUM_BITS - bits), 1.0, (double)FINEST_UNIT);
        medium->budget[r] = UINT64_C(1) << k;
        medium->unit_mw[r] = ldexp(b->levels->budget_mw[r], -k);
        if (medium->moving != NULL)
            spate_moving_make_room(medium->moving, r, ldexp(1.0, SUM_BITS - k) - sum);

        const SpateBearer *bearer = &medium->bearers[medium->bearer[r]];
        medium->csma_threshold[r] = UINT64_MAX;
        if (spate_access_info(bearer->access.method)->senses_power) {
            double dbm =
                spate_bearer_csma_threshold_dbm(bearer, b->levels->plan.radios[r].power_dbm);
            double units = ceil(spate_db_to_linear(dbm) / medium->unit_mw[r]);
            medium->csma_threshold[r] =
                units < ldexp(1.0, 63) ? (uint64_t)MAX(units, 1.0) : UINT64_MAX;
        }
        medium->omitted_worst = MAX(medium->omitted_worst, omitted_at(b, r));
    }
}

/* The level, or what the sums have room for: where all do not fit, an even share of half of it.
 * That takes strong senders close by and the highest protection ratios together. */
static double
fitting(const Builder *b, uint32_t sender, uint32_t receiver, double level)
{
    if (all_fit(b, receiver))
        return level;
    double share = 0.5 * HIGHEST_SUM / (double)b->medium->n_senders;
    return fmin(level, share / spate_levels_taken_by_one(b->levels, sender, receiver));
}

/* The same of a link that may change. */
static double
admitted(const Builder *b, uint32_t sender, uint32_t receiver, double level)
{
    return spate_levels_change(b->levels, sender, receiver)
               ? spate_moving_admit(b->medium->moving, sender, receiver, level)
               : fitting(b, sender, receiver, level);
}

/* Whole numbers take the places of levels: a large mesh has no room for both. */
static void
quantise_row(Builder *b, uint32_t sender, double *levels)
{
    SpateMedium *medium = b->medium;
    const SpateRowPart *parts = &medium->parts[sender * medium->n_bearers];
    for (uint32_t i = parts[0].begin; i < parts[medium->n_bearers - 1].end; i++) {
        double level = admitted(b, sender, medium->receiver[i], levels[i]);
        uint64_t power = in_units(medium, medium->receiver[i], level);
        if (medium->level != NULL)
            medium->level[i] = level;
        memcpy(&levels[i], &power, sizeof power);
    }
}

typedef struct {
    Builder *builder;
    double *levels;
} Quantising;

static bool
quantise_rows(gpointer user, uint32_t number, GError **error)
{
    const Quantising *quantising = user;
    uint32_t begin = number * SPATE_ROWS_AT_ONCE;
    uint32_t end = MIN(begin + SPATE_ROWS_AT_ONCE, quantising->builder->medium->n_senders);
    for (uint32_t s = begin; s < end; s++)
        quantise_row(quantising->builder, s, quantising->levels);
    return true;
}

/* Room for what may change is given away link by link, by one thread. */
static void
quantise_all(Quantising *quantising)
{
    const SpateMedium *medium = quantising->builder->medium;
    const SpatePool pool = {.n_tasks =
                                (medium->n_senders + SPATE_ROWS_AT_ONCE - 1) / SPATE_ROWS_AT_ONCE,
                            .perform = quantise_rows,
                            .user = quantising,
                            .jobs = quantising->builder->levels->plan.n_threads};
    if (pool.jobs != 1 && medium->moving == NULL && pool.n_tasks > 1)
        spate_pool_run(&pool, NULL);
    else
        for (uint32_t i = 0; i < pool.n_tasks; i++)
            quantise_rows(quantising, i, NULL);
}

static void
quantise_mates(Builder *b, const GArray *mates, const GArray *levels)
{
    SpateMedium *medium = b->medium;
    medium->mates = g_new(SpateMate, MAX(mates->len, 1));
    for (uint32_t s = 0; s < medium->n_senders; s++)
        for (uint32_t m = medium->mates_begin[s]; m < medium->mates_begin[s + 1]; m++) {
            uint32_t receiver = g_array_index(mates, SpateMate, m).receiver;
            double level = fitting(b, s, receiver, g_array_index(levels, double, m));
            medium->mates[m] = (SpateMate){receiver, in_units(medium, receiver, level)};
        }
}

/* The links become those of the medium. */
static void
take_links(Builder *b, SpateLinkList *links)
{
    SpateMedium *medium = b->medium;
    size_t n = MAX(links->n, 1);
    medium->receiver = g_renew(uint32_t, g_steal_pointer(&links->receiver), n);
    double *levels = g_renew(double, g_steal_pointer(&links->level), n);
    if (medium->moving != NULL)
        medium->level = g_new0(double, n);
    Quantising quantising = {b, levels};
    quantise_all(&quantising);
    G_STATIC_ASSERT(sizeof(uint64_t) == sizeof(double));
    medium->power = (uint64_t *)(void *)levels;
}

static SpateMedium *
allocate(const SpateMediumPlan *plan)
{
    SpateMedium *medium = g_new0(SpateMedium, 1);
    medium->references = 1;
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
    *b = (Builder){.medium = medium};
    if (plan->moves != NULL) {
        medium->moving = spate_moving_new(plan, medium);
        b->levels = &medium->moving->levels;
    } else {
        spate_levels_init(&b->of_the_call, plan, medium);
        b->levels = &b->of_the_call;
    }
    size_t n_radios = MAX(plan->n_radios, 1);
    b->level_sum = g_new0(double, n_radios);
    b->omitted_sum = g_new0(double, n_radios);
}

static void
builder_clear(Builder *b)
{
    if (b->levels == &b->of_the_call)
        spate_levels_clear(&b->of_the_call);
    g_free(b->level_sum);
    g_free(b->omitted_sum);
    g_free(b->n_looked_at);
}

/* Pairs of radios that may come to matter at any time, though they need not at once. */
static double
n_changing(const SpateMediumPlan *plan)
{
    double n_movers = 0.0;
    for (uint32_t r = 0; plan->moves != NULL && r < plan->n_radios; r++)
        n_movers += plan->moves[plan->radios[r].node];
    return n_movers * (2.0 * plan->n_radios + plan->n_ambient);
}

SpateMedium *
spate_medium_new(const SpateMediumPlan *plan, GError **error)
{
    if (!fits_into_memory(n_changing(plan), error))
        return NULL;
    g_autoptr(SpateMedium) medium = allocate(plan);
    fill_senders(medium, plan);
    fill_weights(medium);

    Builder b;
    builder_init(&b, plan, medium);
    SpateLinkList links = {0};
    g_autoptr(GArray) mates = g_array_new(FALSE, FALSE, sizeof(SpateMate));
    g_autoptr(GArray) levels = g_array_new(FALSE, FALSE, sizeof(double));
    double n_links;
    bool fine = spate_levels_choose_threshold(b.levels, &n_links, error) &&
                fits_into_memory(n_links, error);
    if (fine) {
        make_room(&links, n_links);
        fine = collect_links(&b, &links, error) && collect_mates(&b, mates, levels, error);
    }
    if (fine) {
        choose_units(&b);
        take_links(&b, &links);
        quantise_mates(&b, mates, levels);
    }
    spate_link_list_clear(&links);
    builder_clear(&b);
    return fine ? g_steal_pointer(&medium) : NULL;
}

SpateMedium *
spate_medium_ref(SpateMedium *medium)
{
    g_atomic_int_inc(&medium->references);
    return medium;
}

void
spate_medium_unref(SpateMedium *medium)
{
    if (medium == NULL || !g_atomic_int_dec_and_test(&medium->references))
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
    g_free(medium->level);
    spate_moving_free(medium->moving);
    g_free(medium);
}
