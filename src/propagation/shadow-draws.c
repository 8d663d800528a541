/* shadow-draws.c - shadowing of pairs whose nodes stay where they are */
#include "core/random.h"
#include "propagation/links-private.h"
#include <math.h>

/* Bounds of a draw for a pair are held by so many steps a unit. */
#define TAIL_STEPS 16

/* Far more than the arithmetic of decibels loses. */
#define SURELY_DB 1e-6

static double
draw_node(const SpateLinks *links, uint64_t key, size_t node)
{
    SpateRandom random = spate_random_stream(key, links->nodes[node].name_hash);
    return spate_random_normal(&random);
}

/* The same for (a, b) and (b, a). */
static uint64_t
name_of_pair(const SpateLinks *links, uint32_t a, uint32_t b)
{
    uint64_t hash_a = links->nodes[a].name_hash, hash_b = links->nodes[b].name_hash;
    return spate_hash_combine(MIN(hash_a, hash_b), MAX(hash_a, hash_b));
}

static double
draw_pair(const SpateLinks *links, uint64_t key, uint32_t a, uint32_t b)
{
    SpateRandom random = spate_random_stream(key, name_of_pair(links, a, b));
    return spate_random_normal(&random);
}

static uint64_t
pair_key(const SpateShadowDraws *draws, const SpateShadowing *shadowing)
{
    return shadowing->redraw ? draws->pair_key_anew : draws->pair_key_once;
}

SpateShadowDraws *
spate_links_draw_shadowing(const SpateLinks *links, uint64_t seed, uint32_t replication)
{
    SpateShadowDraws *draws = g_new0(SpateShadowDraws, 1);
    draws->anew = g_new(double, MAX(links->n_nodes, 1));
    draws->once = g_new(double, MAX(links->n_nodes, 1));
    uint64_t key_anew = spate_random_key(seed, replication, SPATE_FOR_NODE_SHADOWING);
    uint64_t key_once = spate_random_key(seed, ONCE, SPATE_FOR_NODE_SHADOWING);
    for (size_t i = 0; i < links->n_nodes; i++) {
        draws->anew[i] = draw_node(links, key_anew, i);
        draws->once[i] = draw_node(links, key_once, i);
    }
    size_t n_steps = (size_t)(SPATE_RANDOM_HIGHEST_NORMAL * TAIL_STEPS) + 1;
    draws->tail = g_new(uint64_t, n_steps);
    for (size_t i = 0; i < n_steps; i++)
        draws->tail[i] = spate_random_normal_bound(-(double)i / TAIL_STEPS);
    draws->pair_key_anew = spate_random_key(seed, replication, SPATE_FOR_PAIR_SHADOWING);
    draws->pair_key_once = spate_random_key(seed, ONCE, SPATE_FOR_PAIR_SHADOWING);
    return draws;
}

void
spate_shadow_draws_free(SpateShadowDraws *draws)
{
    if (draws == NULL)
        return;
    g_free(draws->anew);
    g_free(draws->once);
    g_free(draws->tail);
    g_free(draws);
}

const SpateShadowing *
spate_links_pair_shadowing(const SpateLinks *links, uint32_t a, uint32_t b, uint32_t bearer)
{
    const SpatePropagation *propagation = &links->propagation[bearer];
    const SpateBetween *between = spate_propagation_between(propagation, a, b);
    const SpateShadowing *shadowing =
        between != NULL ? &between->shadowing : &propagation->shadowing;
    return shadowing->sigma_db > 0.0 ? shadowing : NULL;
}

const SpateShadowing *
spate_links_shadowing(const SpateLinks *links, uint32_t sender, uint32_t receiver)
{
    uint32_t a = links->radios[sender].node, b = links->radios[receiver].node;
    uint32_t bearer = links->radios[sender].bearer;
    if (a == b || spate_links_find_given(links, a, b, bearer) != NULL)
        return NULL;
    return spate_links_pair_shadowing(links, a, b, bearer);
}

/* What two nodes share with all others, over sigma. */
static double
of_nodes(const SpateShadowing *shadowing, double node_a, double node_b)
{
    return sqrt(shadowing->shared) * (node_a + node_b) / G_SQRT2;
}

static double
over_sigma(const SpateShadowing *shadowing, double node_a, double node_b, double pair)
{
    return of_nodes(shadowing, node_a, node_b) + sqrt(1.0 - shadowing->shared) * pair;
}

double
spate_shadow_draws_over_sigma(const SpateLinks *links, const SpateShadowDraws *draws,
                              const SpateShadowing *shadowing, uint32_t a, uint32_t b)
{
    const double *node = shadowing->redraw ? draws->anew : draws->once;
    return over_sigma(shadowing, node[a], node[b],
                      draw_pair(links, pair_key(draws, shadowing), a, b));
}

double
spate_links_shadowing_with(const SpateLinks *links, const SpateShadowDraws *draws, uint32_t sender,
                           uint32_t receiver)
{
    const SpateShadowing *shadowing = spate_links_shadowing(links, sender, receiver);
    if (shadowing == NULL)
        return 0.0;
    uint32_t a = links->radios[sender].node, b = links->radios[receiver].node;
    return shadowing->sigma_db * spate_shadow_draws_over_sigma(links, draws, shadowing, a, b);
}

double
spate_links_shadowing_db(const SpateLinks *links, uint32_t sender, uint32_t receiver, uint64_t seed,
                         uint32_t replication)
{
    const SpateShadowing *shadowing = spate_links_shadowing(links, sender, receiver);
    if (shadowing == NULL)
        return 0.0;
    uint32_t a = links->radios[sender].node, b = links->radios[receiver].node;
    uint32_t draw = shadowing->redraw ? replication : ONCE;
    uint64_t node_key = spate_random_key(seed, draw, SPATE_FOR_NODE_SHADOWING);
    uint64_t pair_key = spate_random_key(seed, draw, SPATE_FOR_PAIR_SHADOWING);
    return shadowing->sigma_db * over_sigma(shadowing, draw_node(links, node_key, a),
                                            draw_node(links, node_key, b),
                                            draw_pair(links, pair_key, a, b));
}

static double
highest_of(const double *draws, size_t n)
{
    double highest = 0.0;
    for (size_t i = 0; i < n; i++)
        highest = fmax(highest, -draws[i]);
    return highest;
}

static double
highest_db(const SpateShadowing *shadowing, const SpateShadowDraws *draws, size_t n_nodes)
{
    if (shadowing->sigma_db <= 0.0)
        return 0.0;
    double node = highest_of(shadowing->redraw ? draws->anew : draws->once, n_nodes);
    return -shadowing->sigma_db * over_sigma(shadowing, -node, -node, -SPATE_RANDOM_HIGHEST_NORMAL);
}

double
spate_shadow_draws_highest_db(const SpateLinks *links, const SpateShadowDraws *draws,
                              uint32_t bearer)
{
    const SpatePropagation *propagation = &links->propagation[bearer];
    double most_db = highest_db(&propagation->shadowing, draws, links->n_nodes);
    for (size_t i = 0; i < propagation->n_between; i++)
        most_db =
            fmax(most_db, highest_db(&propagation->between[i].shadowing, draws, links->n_nodes));
    return most_db;
}

bool
spate_shadow_draws_may_raise(const SpateLinks *links, const SpateShadowDraws *draws,
                             uint32_t bearer, uint32_t a, uint32_t b, double by_db)
{
    const SpatePropagation *propagation = &links->propagation[bearer];
    const SpateShadowing *shadowing = &propagation->shadowing;
    g_assert(propagation->n_between == 0);
    if (shadowing->sigma_db <= 0.0)
        return by_db <= 0.0;
    const double *node = shadowing->redraw ? draws->anew : draws->once;
    double left_db =
        by_db + shadowing->sigma_db * of_nodes(shadowing, node[a], node[b]) - SURELY_DB;
    double own_db = shadowing->sigma_db * sqrt(1.0 - shadowing->shared);
    if (left_db <= 0.0)
        return true;
    if (left_db >= own_db * SPATE_RANDOM_HIGHEST_NORMAL)
        return false;
    return spate_random_normal_is_below(pair_key(draws, shadowing), name_of_pair(links, a, b),
                                        draws->tail[(size_t)(left_db / own_db * TAIL_STEPS)]);
}

static bool
is_redrawn(const SpateShadowing *shadowing)
{
    return shadowing->sigma_db > 0.0 && shadowing->redraw;
}

bool
spate_links_redraw(const SpateLinks *links)
{
    for (size_t i = 0; i < links->n_bearers; i++) {
        const SpatePropagation *propagation = &links->propagation[i];
        if (is_redrawn(&propagation->shadowing))
            return true;
        for (size_t k = 0; k < propagation->n_between; k++)
            if (is_redrawn(&propagation->between[k].shadowing))
                return true;
    }
    return false;
}
