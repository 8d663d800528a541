/* shadow-series.h - shadowing of pairs of which a node moves
 *
 * The shadowing of such a pair is a first-order Gauss-Markov series over the distance gone: what it
 * was some way ago fades by exp(-d / decorrelation), and as much new is drawn as keeps its spread
 * (M. Gudmundson, "Correlation model for shadow fading in mobile radio systems", Electronics
 * Letters 27(23), 1991; from memory).  It begins as the shadowing of any pair.
 */
#pragma once

#include "propagation/links.h"

typedef struct SpateShadowSeries SpateShadowSeries;

/* `moves` says of each node of the links whether it does.  Borrows the links. */
SpateShadowSeries *spate_shadow_series_new(const SpateLinks *links, const SpateShadowDraws *draws,
                                           const bool *moves, uint64_t seed, uint32_t replication);
void spate_shadow_series_free(SpateShadowSeries *series);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateShadowSeries, spate_shadow_series_free)

/* The node has gone so far since its last step; `number` counts its steps. */
void spate_shadow_series_step(SpateShadowSeries *series, uint32_t node, double gone_m,
                              uint64_t number);

/* As spate_links_shadowing_db(), now; one of the two nodes must move. */
double spate_shadow_series_db(const SpateShadowSeries *series, uint32_t sender, uint32_t receiver);
