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

/* A level that falls short of the sensitivity by no more than the arithmetic of decibels loses
 * still reaches it.  Less than half a unit, so that it is rounded up to the budget. */
#define JUST_AUDIBLE (1.0 - 1e-9)

/* Far more than the arithmetic of decibels loses. */
#define SURELY_DB 1e-6

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

/* One sender at many receivers. */
typedef struct {
    const SpateLevels *levels;
    uint32_t sender;
    SpateSender links; /* unless it is a source of ambient traffic */
} SpateLevelsFrom;

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
double spate_level_if_kept(const SpateLevelsFrom *from, uint32_t receiver, GError **error);
SpateLevelsFrom spate_levels_from(const SpateLevels *levels, uint32_t sender);
/* At another radio of its own node. */
double spate_level_of_mate(const SpateLevels *levels, uint32_t sender, uint32_t receiver,
                           GError **error);
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

/* Protection ratio, linear. */
static inline double
spate_levels_protection(const SpateLevels *levels, uint32_t receiver, uint32_t sender)
{
    return (double)weight_at(levels->medium, receiver, sender)->weight_q32 * 0x1p-32;
}

/* What a link of that level can weigh at most. */
static inline double
spate_levels_weight(const SpateLevels *levels, uint32_t sender, uint32_t receiver, double level)
{
    return level * levels->highest_gain[levels->medium->bearer[sender]] *
           spate_levels_protection(levels, receiver, sender);
}

/* What a link of level 1 takes of the sums, at its highest fade: as power, and as what it weighs.
 */
static inline double
spate_levels_taken_by_one(const SpateLevels *levels, uint32_t sender, uint32_t receiver)
{
    return levels->highest_gain[levels->medium->bearer[sender]] +
           spate_levels_weight(levels, sender, receiver, 1.0);
}

/* Whether the receiver may decode it. */
static inline bool
spate_levels_may_decode(const SpateLevels *levels, uint32_t sender, uint32_t receiver, double level)
{
    const SpateMedium *medium = levels->medium;
    return medium->sender_class[sender] == medium->bearer[receiver] &&
           level * levels->highest_gain[medium->bearer[sender]] >= JUST_AUDIBLE;
}

/* Whether the medium holds a link: what may be decoded, however little it weighs as a disturber. */
static inline bool
spate_levels_keep(const SpateLevels *levels, bool may_decode, double weight)
{
    return may_decode || weight >= levels->threshold;
}

/* reach.c */
typedef struct SpateReach SpateReach;
/* By the threshold of the levels, which are borrowed; NULL where any radio may matter to any
 * sender, or where that is the quickest to suppose. */
SpateReach *spate_reach_new(const SpateLevels *levels);
void spate_reach_free(SpateReach *reach);
/* Marks all radios to which the medium may hold a link, and some others. */
void spate_reach_mark(const SpateReach *reach, uint32_t sender, uint64_t *marks);

/* 64-bit words that hold a bit for each of so many. */
static inline size_t
spate_mark_words(uint32_t n)
{
    return ((size_t)n + 63) / 64;
}

static inline void
spate_mark(uint64_t *marks, uint32_t number)
{
    marks[number / 64] |= UINT64_C(1) << number % 64;
}

/* link-rows.c: the links that are held of several senders, worked out on threads. */
typedef struct {
    uint32_t *receiver;
    double *level; /* float would lose digits */
    size_t n, room;
} SpateLinkList;

void spate_link_list_clear(SpateLinkList *list);
/* Makes room for so many more. */
void spate_link_list_reserve(SpateLinkList *list, size_t n_more);

/* There is room for it. */
static inline void
spate_link_list_add(SpateLinkList *list, uint32_t receiver, double level)
{
    list->receiver[list->n] = receiver;
    list->level[list->n++] = level;
}

#define SPATE_ROWS_AT_ONCE 256

typedef struct SpateLinkBlock SpateLinkBlock; /* some rows; private to link-rows.c */

typedef struct {
    const SpateLevels *levels;
    SpateReach *reach;
    uint32_t first, every; /* senders: that one, and from it on every so many */
    uint32_t n;            /* SPATE_ROWS_AT_ONCE or, at the end, fewer */
    SpateLinkBlock *blocks;
} SpateLinkRows;

/* The links of one sender, in the order of a medium's row; and those to other nodes that were
 * looked at and are too weak. */
typedef struct {
    uint32_t begin; /* from which its parts count */
    const SpateRowPart *parts;
    uint32_t n, n_omitted;
    const uint32_t *receiver, *omitted;
    const double *level, *omitted_weight;
} SpateLinkRow;

/* By the threshold of the levels as it is now. */
void spate_link_rows_init(SpateLinkRows *rows, const SpateLevels *levels);
void spate_link_rows_clear(SpateLinkRows *rows);
/* What one thread does meanwhile; NULL: nothing. */
typedef struct {
    void (*perform)(gpointer user);
    gpointer user;
} SpateMeanwhile;

/* False with the error of the first pair that failed, which the plan is told. */
bool spate_link_rows_fill(SpateLinkRows *rows, uint32_t first, uint32_t every,
                          SpateMeanwhile meanwhile, GError **error);
/* Valid until rows are filled again. */
SpateLinkRow spate_link_row(const SpateLinkRows *rows, uint32_t at);

static inline uint32_t
spate_link_rows_sender(const SpateLinkRows *rows, uint32_t at)
{
    return rows->first + at * rows->every;
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
