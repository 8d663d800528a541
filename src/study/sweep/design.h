/* design.h - the points of a sweep: which settings are tried
 *
 * A grid is the product of its axes, the last one fastest; a listed design names its
 * points one by one.  Points are numbered from 0 in that order, variant by variant.
 */
#pragma once

#include "scenario/scenario.h"

/* All points together have at most so many settings, and there are at most so many points. */
#define SPATE_DESIGN_MAX_SETTINGS 16000000
#define SPATE_DESIGN_MAX_POINTS   1000000

typedef struct {
    char **paths; /* what is varied; ends with NULL */
    uint32_t n_paths, n_points;
    const char **variants; /* by point */
    const char **values;   /* [point * n_paths + path]; NULL: as the scenario says */
    bool one_layout;       /* a point holds random places, see spate_sweep_check() */
    GStringChunk *texts;   /* private */
} SpateDesign;

/* The product of the axes, for each variant (names, NULL at the end).  Without axes, a point for
 * each variant. */
SpateDesign *spate_design_new_grid(const SpateSweepAxis *axes, uint32_t n_axes,
                                   const char *const *variants, GError **error);
/* A row for each point: columns are paths, an empty cell leaves the scenario as it is.  The error
 * shows no line of a file of which no column can be a path. */
SpateDesign *spate_design_new_listed(const char *name, const char *csv, size_t length,
                                     const char *const *variants, GError **error);
void spate_design_free(SpateDesign *design);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateDesign, spate_design_free)

/* Those of a point; an array of its own, which borrows the texts. */
SpateSetting *spate_design_settings(const SpateDesign *design, uint32_t point, size_t *n_settings);
