/* shadow-series.c - shadowing of pairs of which a node moves */
#include "propagation/shadow-series.h"

#include "core/random.h"
#include "propagation/links-private.h"
#include <math.h>

struct SpateShadowSeries {
    const SpateLinks *links;
    uint32_t *mover;    /* by node: its number among those that move; UINT32_MAX: it stays */
    double *over_sigma; /* [(mover * n_nodes + other) * n_bearers + sender's bearer] */
    uint64_t key_anew, key_once;
};

/* Of two nodes that both move, the first keeps the series of the pair. */
static double *
series_of(const SpateShadowSeries *series, uint32_t a, uint32_t b)
{
    uint32_t first = MIN(a, b), second = MAX(a, b);
    uint32_t keeper = series->mover[first] != UINT32_MAX ? first : second;
    uint32_t other = keeper == first ? second : first;
    g_assert(series->mover[keeper] != UINT32_MAX && first != second);
    const SpateLinks *links = series->links;
    size_t pair = (size_t)series->mover[keeper] * links->n_nodes + other;
    return &series->over_sigma[pair * links->n_bearers];
}

static void
begin_pair(SpateShadowSeries *series, const SpateShadowDraws *draws, uint32_t a, uint32_t b)
{
    double *over_sigma = series_of(series, a, b);
    for (uint32_t i = 0; i < series->links->n_bearers; i++) {
        const SpateShadowing *shadowing = spate_links_pair_shadowing(series->links, a, b, i);
        if (shadowing != NULL)
            over_sigma[i] = spate_shadow_draws_over_sigma(series->links, draws, shadowing, a, b);
    }
}

SpateShadowSeries *
spate_shadow_series_new(const SpateLinks *links, const SpateShadowDraws *draws, const bool *moves,
                        uint64_t seed, uint32_t replication)
{
    SpateShadowSeries *series = g_new0(SpateShadowSeries, 1);
    series->links = links;
    series->key_anew = spate_random_key(seed, replication, SPATE_FOR_MOVE_SHADOWING);
    series->key_once = spate_random_key(seed, ONCE, SPATE_FOR_MOVE_SHADOWING);
    series->mover = g_new(uint32_t, MAX(links->n_nodes, 1));
    uint32_t n_movers = 0;
    for (uint32_t i = 0; i < links->n_nodes; i++)
        series->mover[i] = moves[i] ? n_movers++ : UINT32_MAX;
    series->over_sigma = g_new0(double, MAX(n_movers * links->n_nodes * links->n_bearers, 1));
    for (uint32_t a = 0; a < links->n_nodes; a++)
        for (uint32_t b = 0; moves[a] && b < links->n_nodes; b++)
            if (a != b && (!moves[b] || a < b))
                begin_pair(series, draws, a, b);
    return series;
}

void
spate_shadow_series_free(SpateShadowSeries *series)
{
    if (series == NULL)
        return;
    g_free(series->mover);
    g_free(series->over_sigma);
    g_free(series);
}

/* What is new in a pair at a step is the same on all bearers. */
static double
draw_news(uint64_t key, uint64_t hash_a, uint64_t hash_b, uint64_t step)
{
    uint64_t pair = spate_hash_combine(MIN(hash_a, hash_b), MAX(hash_a, hash_b));
    SpateRandom random = spate_random_stream(key, spate_hash_combine(pair, step));
    return spate_random_normal(&random);
}

static void
step_pair(SpateShadowSeries *series, uint32_t node, uint32_t other, double gone_m, uint64_t step)
{
    const SpateLinks *links = series->links;
    double *over_sigma = series_of(series, node, other);
    for (uint32_t i = 0; i < links->n_bearers; i++) {
        const SpateShadowing *shadowing = spate_links_pair_shadowing(links, node, other, i);
        if (shadowing == NULL)
            continue;
        double news = draw_news(shadowing->redraw ? series->key_anew : series->key_once,
                                links->nodes[node].name_hash, links->nodes[other].name_hash, step);
        double kept = exp(-gone_m / shadowing->decorrelation_m);
        over_sigma[i] = kept * over_sigma[i] + sqrt(1.0 - kept * kept) * news;
    }
}

void
spate_shadow_series_step(SpateShadowSeries *series, uint32_t node, double gone_m, uint64_t number)
{
    uint64_t step = spate_hash_combine(series->links->nodes[node].name_hash, number);
    for (uint32_t other = 0; other < series->links->n_nodes; other++)
        if (other != node)
            step_pair(series, node, other, gone_m, step);
}

double
spate_shadow_series_db(const SpateShadowSeries *series, uint32_t sender, uint32_t receiver)
{
    const SpateLinks *links = series->links;
    const SpateShadowing *shadowing = spate_links_shadowing(links, sender, receiver);
    if (shadowing == NULL)
        return 0.0;
    const SpateRadioSite *from = &links->radios[sender], *to = &links->radios[receiver];
    return shadowing->sigma_db * series_of(series, from->node, to->node)[from->bearer];
}
