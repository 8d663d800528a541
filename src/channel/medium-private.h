/* medium-private.h - what the files of the medium share: levels, and what is kept of them
 *
 * A level is the in-band power of a sender at a receiver over the weakest that the receiver can
 * just decode, as a floating-point number.  Rows hold levels as whole numbers (medium.h).
 */
#pragma once

#include "channel/medium.h"
#include "propagation/shadow-series.h"
#include <math.h>

/* No link. */
#define ABSENT (-1.0)

/* All that levels follow from. */
typedef struct {
    SpateMediumPlan plan;
    const SpateMedium *medium;      /* who is who; rows need not be there yet */
    double *budget_dbm, *budget_mw; /* by radio */
    double *highest_gain;           /* by bearer of the sender */
    SpateShadowDraws *shadowing;
    SpateShadowSeries *series; /* NULL where nothing moves */
    double threshold;          /* what weighs less is left out */
    double *least_db;          /* of what is kept, over the budget; as weights of the medium */
} SpateLevels;

/* Where nodes move: what is needed to work their links out anew. */
struct SpateMoving {
    SpateLevels levels;
    SpateLinks *links; /* of levels.plan, with the places as they are now */
    bool *moves;       /* likewise, by node */
    uint32_t *mover;   /* by radio: its number among those that move; UINT32_MAX: it stays */
    uint32_t n_movers; /* radios */
    uint32_t *row_end; /* by sender: up to where its row may grow */
    /* Of the room that the sums of a receiver have for links that change, half is shared out
     * evenly: each may have a level of `share`.  Of the rest, `room`, it takes what it has ever
     * needed beyond that.  By radio, but `highest` by pair: see highest_of(). */
    double *share, *room, *taken, *highest;
};

/* levels.c */
void spate_levels_init(SpateLevels *levels, const SpateMediumPlan *plan, const SpateMedium *medium);
void spate_levels_clear(SpateLevels *levels);
/* Before any level is asked for, but exactly. */
void spate_levels_set_threshold(SpateLevels *levels, double threshold);
/* Of a sender at a receiver of another node: NAN with an error. */
double spate_level_of(const SpateLevels *levels, uint32_t sender, uint32_t receiver,
                      GError **error);
/* The same where the medium holds the link; else some level with which it does not hold it either,
 * no lower than that.  What is so far that free space would keep it out, or a glance at the ground,
 * costs little and is no error. */
double spate_level_if_kept(const SpateLevels *levels, uint32_t sender, uint32_t receiver,
                           GError **error);
/* At another radio of its own node. */
double spate_level_of_mate(const SpateLevels *levels, uint32_t sender, uint32_t receiver,
                           GError **error);
/* Protection ratio, linear. */
double spate_levels_protection(const SpateLevels *levels, uint32_t receiver, uint32_t sender);
/* What a link of that level can weigh at most. */
double spate_levels_weight(const SpateLevels *levels, uint32_t sender, uint32_t receiver,
                           double level);
/* Whether the receiver may decode it. */
bool spate_levels_may_decode(const SpateLevels *levels, uint32_t sender, uint32_t receiver,
                             double level);
/* Whether the medium holds the link. */
bool spate_levels_keep(const SpateLevels *levels, uint32_t sender, uint32_t receiver, double level);

/* Whether a node of the two moves. */
static inline bool
spate_levels_change(const SpateLevels *levels, uint32_t sender, uint32_t receiver)
{
    const bool *moves = levels->plan.moves;
    const SpateMedium *medium = levels->medium;
    return moves != NULL && (moves[medium->node[receiver]] ||
                             (sender < medium->n_radios && moves[medium->node[sender]]));
}

static inline const SpateWeight *
weight_at(const SpateMedium *medium, uint32_t receiver, uint32_t sender)
{
    return &medium->weights[medium->bearer[receiver] * medium->n_classes +
                            medium->sender_class[sender]];
}

/* level-rows.c: the levels of several senders at all radios, as by spate_level_if_kept(), worked
 * out on threads. */
#define SPATE_ROWS_AT_ONCE 64

typedef struct {
    const SpateLevels *levels;
    uint32_t first, every; /* senders: that one, and from it on every so many */
    uint32_t n;            /* SPATE_ROWS_AT_ONCE or, at the end, fewer */
    double *level;         /* [row * n_radios + receiver]; ABSENT at the sender's own node */
    uint32_t failed[SPATE_ROWS_AT_ONCE]; /* a receiver, of the rows that failed */
} SpateLevelRows;

void spate_level_rows_init(SpateLevelRows *rows, const SpateLevels *levels);
void spate_level_rows_clear(SpateLevelRows *rows);
/* False with the error of the first pair that failed, which the plan is told. */
bool spate_level_rows_fill(SpateLevelRows *rows, uint32_t first, uint32_t every, GError **error);

static inline const double *
spate_level_row(const SpateLevelRows *rows, uint32_t row)
{
    return &rows->level[(size_t)row * rows->levels->medium->n_radios];
}

/* threshold.c: sets the threshold of a medium, that of a large one by the levels in it; false with
 * an error.  The links that it leaves, about. */
bool spate_levels_choose_threshold(SpateLevels *levels, double *n_links, GError **error);

/* moving.c */
/* Of a plan in which nodes move.  The medium knows its senders and their weights. */
SpateMoving *spate_moving_new(const SpateMediumPlan *plan, const SpateMedium *medium);
void spate_moving_free(SpateMoving *moving);
/* Links of the sender, beside those to n_held receivers that move or are sent to by one that does,
 * that its row may come to hold. */
uint32_t spate_moving_spare(const SpateMoving *moving, uint32_t sender, uint32_t n_held);
/* The sums of a receiver have so much room for links that change. */
void spate_moving_make_room(SpateMoving *moving, uint32_t receiver, double room);
/* The level of a link that changes, or what the sums have room for. */
double spate_moving_admit(SpateMoving *moving, uint32_t sender, uint32_t receiver, double level);

static inline uint64_t
in_units(const SpateMedium *medium, uint32_t radio, double level)
{
    return (uint64_t)llround(level * (double)medium->budget[radio]);
}
