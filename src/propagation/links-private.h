/* links-private.h - what the files of links and their shadowing share */
#pragma once

#include "propagation/links.h"

/* Shadowing that is drawn once is that of a replication of its own. */
#define ONCE UINT32_MAX

/* The path over terrain that was worked out last. */
typedef struct {
    const SpateTerrain *terrain; /* NULL: none was */
    SpatePosition a, b;
    SpateObstacle obstacle;
} SpateLastPath;

struct SpateLinks {
    const SpateTerrain *terrain;    /* NULL: flat */
    const SpateTerrainPaths *paths; /* NULL: none are known */
    SpateLastPath *last_path;       /* of links whose nodes may move; NULL for all threads' */
    SpateNodeSite *nodes;
    size_t n_nodes;
    double *isolation_db;
    SpateRadioSite *radios;
    size_t n_radios;
    double *frequency_hz;                /* by bearer */
    const SpatePropagation *propagation; /* by bearer */
    size_t n_bearers;
    GHashTable *given; /* SpateGivenLoss by its nodes and bearer; NULL without any */
};

/* The loss as given for the pair, a named bearer first; NULL if none is. */
const SpateGivenLoss *spate_links_find_given(const SpateLinks *links, uint32_t from, uint32_t to,
                                             uint32_t bearer);

struct SpateShadowDraws {
    double *anew, *once; /* by node: standard normal */
    uint64_t pair_key_anew, pair_key_once;
    uint64_t *tail; /* spate_random_normal_bound(), by steps of a draw below 0: shadow-draws.c */
};

/* What shadows a pair of nodes for senders of a bearer, unless its loss is given; NULL: nothing. */
const SpateShadowing *spate_links_pair_shadowing(const SpateLinks *links, uint32_t a, uint32_t b,
                                                 uint32_t bearer);
/* The same for two radios; NULL also where nothing is drawn: one node, or the loss as given. */
const SpateShadowing *spate_links_shadowing(const SpateLinks *links, uint32_t sender,
                                            uint32_t receiver);
/* Shadowing of a pair of nodes as it is drawn, over sigma. */
double spate_shadow_draws_over_sigma(const SpateLinks *links, const SpateShadowDraws *draws,
                                     const SpateShadowing *shadowing, uint32_t a, uint32_t b);
