/* medium.h - who hears whom how loudly, as a run needs it
 *
 * Immutable once built; shared by threads.  One in which nodes move belongs to a single run, which
 * moves them.  Received powers are whole numbers
 * of a unit of the receiver's own, a fixed small fraction of the power that it can
 * just decode, so that adding an interferer and taking it away again is exact: sums
 * do not drift and do not depend on the order of events.
 *
 * Rows: for each sender, its receivers, split by the receivers' bearer and within
 * that into those that may decode (same bearer, sensitivity reached, or within reach of
 * the highest fade) and those that only suffer; by number within each part.
 */
#pragma once

#include "propagation/links.h"
#include "radio/bearer.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

/* A part of a sender's row: links begin .. end - 1; those before `audible_end` may decode. */
typedef struct {
    uint32_t begin, audible_end, end;
} SpateRowPart;

/* Another radio of the sender's node, and how it is disturbed. */
typedef struct {
    uint32_t receiver;
    uint64_t power;
} SpateMate;

/* How frames of one class weigh at receivers of a bearer. */
typedef struct {
    double share;        /* of the power that the receiver takes in */
    uint64_t weight_q32; /* protection ratio, linear, times 2^32; 0: no disturbance */
} SpateWeight;

typedef struct SpateMoving SpateMoving; /* opaque */

typedef struct SpateMedium {
    uint32_t n_nodes, n_bearers;
    uint32_t n_classes; /* 2 n_bearers: frames of each bearer, then its ambient traffic */
    uint32_t n_radios;  /* receivers: 0 .. n_radios - 1, by node, then bearer */
    uint32_t n_senders; /* radios, then sources of ambient traffic */

    /* by bearer */
    const SpateBearer *bearers; /* borrowed */
    const SpateFading *fading;  /* borrowed */
    uint64_t *bearer_hash;      /* of its name */
    SpateWeight *weights;       /* [receiver's bearer * n_classes + sender's class] */

    /* by sender */
    uint32_t *node; /* UINT32_MAX for ambient sources */
    uint32_t *bearer;
    uint32_t *sender_class; /* a radio's bearer; n_bearers + bearer of an ambient source */
    SpateRowPart *parts;    /* [sender * n_bearers + receiver's bearer] */
    uint32_t *mates_begin;  /* n_senders + 1 */
    SpateMate *mates;
    uint64_t *name_hash; /* of the node, or of the source */

    /* by radio */
    uint64_t *budget;         /* the weakest power that can be decoded, N theta0, in units */
    double *unit_mw;          /* one unit, in mW */
    uint64_t *csma_threshold; /* in units; UINT64_MAX without csma */

    /* by link */
    uint32_t *receiver;
    uint64_t *power; /* taken in by the receiver, in its units */
    /* The same over the receiver's budget before it was rounded; NULL unless nodes move.  Units are
     * coarse then, and a weak link that fades upwards would fade its rounding too. */
    double *level;

    size_t n_links;
    /* What the cut-off left out: at the worst receiver, the sum of all omitted
     * powers, as if all of them sent at once, over the power that it can just
     * decode (linear); no less, and in a large mesh far more, where pairs were not looked at, or
     * paths over terrain not walked. */
    double omitted_worst; /* as it was built */

    SpateMoving *moving; /* NULL: nothing ever changes */
    gint references;     /* atomic; GLib's own counter is hidden from the thread sanitizer */
} SpateMedium;

/* A source of ambient traffic, as noise. */
typedef struct {
    uint32_t bearer;
    uint64_t name_hash;
    bool everywhere; /* received with `power_dbm` by all radios of all bearers that it disturbs */
    SpatePosition position; /* else an isotropic radiator there */
    double power_dbm;
} SpateAmbientSite;

/* Radios, by number; the sender may be a source of ambient traffic. */
typedef struct {
    uint32_t sender, receiver;
} SpateMediumPair;

/* What a medium is made of.  Borrowed for the call; bearers and fading for as long as the
 * medium lives, and where nodes move all but `links`, `nodes` and `moves`. */
typedef struct {
    const SpateLinks *links;
    const SpateNodeSite *nodes;
    const SpateRadioSite *radios; /* by node, then bearer */
    const double *noise_rise_db;  /* by radio */
    const SpateBearer *bearers;
    const SpatePropagation *propagation;
    const SpateFading *fading;
    const uint64_t *bearer_hash;
    const SpateAmbientSite *ambient;
    const bool *moves; /* by node; NULL: all stay */
    uint32_t n_nodes, n_radios, n_bearers, n_ambient;
    uint64_t seed;
    uint32_t replication;
    unsigned n_threads;      /* 0: all cores; where nodes move it is one */
    SpateMediumPair *failed; /* set where a path loss model does not hold; may be NULL */
} SpateMediumPlan;

/* Builds the medium of one replication.  Fails where a path loss model does not hold. */
SpateMedium *spate_medium_new(const SpateMediumPlan *plan, GError **error);
SpateMedium *spate_medium_ref(SpateMedium *medium);
void spate_medium_unref(SpateMedium *medium);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateMedium, spate_medium_unref)

/* A step of a node that moves. */
typedef struct {
    uint32_t node;
    uint64_t number; /* of its steps, from 1 */
    double gone_m;   /* since the last one */
    SpatePosition to;
} SpateMove;

/* Works out anew who hears the node, and whom it hears, at its new place.  Allocates nothing. False
 * where a path loss model does not hold: the medium is then of no more use. */
bool spate_medium_move(SpateMedium *medium, const SpateMove *move, GError **error);
/* Where nodes move: link budgets and places as they are now; NULL else. */
const SpateLinks *spate_medium_links(const SpateMedium *medium);
/* Where nodes move: the margin of any pair as it is now, without fading, also where a link is left
 * out; NAN where the path loss model does not hold, and -INFINITY far below. */
double spate_medium_margin_now_db(const SpateMedium *medium, uint32_t sender, uint32_t receiver);
/* Links that the row of a sender may ever hold. */
uint32_t spate_medium_most_links(const SpateMedium *medium, uint32_t sender);

double spate_medium_level_dbm(const SpateMedium *medium, uint32_t radio, uint64_t power);
/* Level above the sensitivity, in dB. */
double spate_medium_margin_db(const SpateMedium *medium, uint32_t radio, uint64_t power);
