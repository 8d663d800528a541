/* coverage.h - where a radio that is carried about is heard, and hears, and by how many relays
 *
 * Cell by cell the link budget of docs/model.md, "Links", between the carried radio at the centre
 * of the cell and every node that relays on its bearer: without shadowing and fading, as `spate
 * links` prints it.  A cell where the path loss model does not hold towards some relay is left out,
 * and so is one without ground where there is a height model.
 */
#pragma once

#include "scenario/world/world.h"
#include "study/coverage/grid.h"

typedef struct {
    uint32_t heard_by, hears, both_ways; /* relays, margin >= 0 dB */
    uint32_t best;                       /* node that hears it loudest; UINT32_MAX: no relays */
    double best_dbm;                     /* the level there; NAN: no relays */
    bool is_out;                         /* left out: nothing else is known */
} SpateCoverageCell;

/* One bearer. */
typedef struct {
    uint32_t bearer;
    uint32_t n_relays;
    SpateCoverageCell *cells; /* row by row from the north-west corner of the grid */
    char *why_out;            /* of the first cell that is left out; NULL: none is */
} SpateCoverageLayer;

typedef struct {
    const SpateWorld *world; /* borrowed */
    uint32_t node;           /* whose radios are carried */
    double height_m;
    SpateGrid grid;
    SpateCoverageLayer *layers; /* by bearer */
    uint32_t n_layers;
} SpateCoverage;

typedef struct {
    const SpateWorld *world;
    uint32_t node;   /* has a radio on each of the bearers */
    uint32_t bearer; /* UINT32_MAX: on all that it has */
    double height_m; /* above the ground of the cell */
    SpateArea area;
    double margin_m;
    double cell_m;       /* 0: a round one that makes some ten thousand cells, fewer if they cost */
    uint32_t most_cells; /* of a layer; 0: as many as the grid may have */
    unsigned jobs;       /* threads; 0: all cores */
    const volatile int *stop;                                       /* may be NULL */
    void (*progress)(gpointer user, uint32_t done, uint32_t total); /* rows; may be NULL */
    gpointer user;
} SpateCoveragePlan;

/* NULL with an error where the grid is too large or no cell can be judged; without one if it was
 * stopped.  Random places are those of the first replication. */
SpateCoverage *spate_coverage_new(const SpateCoveragePlan *plan, GError **error);
void spate_coverage_free(SpateCoverage *coverage);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateCoverage, spate_coverage_free)

/* Cells by the number of relays: 0, 1, 2, 3, and more. */
#define SPATE_COVERAGE_CLASSES 5u

typedef struct {
    uint32_t n_judged, n_out;
    uint32_t heard_by[SPATE_COVERAGE_CLASSES], hears[SPATE_COVERAGE_CLASSES],
        both_ways[SPATE_COVERAGE_CLASSES];
    /* The largest set of cells with no relay both ways that hang together by their sides: its
     * cells, and the box around them by their edges.  0: there are none. */
    uint32_t n_hole;
    SpateArea hole;
} SpateCoverageSummary;

/* What a map tells of a cell, by a colour. */
typedef enum {
    SPATE_STEP_LEFT_OUT, /* not judged */
    SPATE_STEP_NONE,     /* no relay hears the carried radio, and it hears none */
    SPATE_STEP_ONE_WAY,
    SPATE_STEP_1, /* relays both ways */
    SPATE_STEP_2,
    SPATE_STEP_3,
    SPATE_STEP_MORE,
    SPATE_N_STEPS
} SpateCoverageStep;

SpateCoverageStep spate_coverage_step(const SpateCoverageCell *cell);

SpateCoverageSummary spate_coverage_summary(const SpateCoverage *coverage, uint32_t layer);
