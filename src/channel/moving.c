/* moving.c - links of nodes that move, worked out anew at each of their steps
 *
 * The rows of such a medium have places to spare for every link that may come to matter, so that a
 * step changes them where they are.  Frames on the air must have rows of their own by then
 * (spate_channel_keep_losses()).
 */
#include "channel/medium-private.h"

#include "core/units.h"
#include <string.h>

/* The row of a radio that moves, as a receiver, then as a sender to those that stay. */
static double *
highest_of(const SpateMoving *moving, uint32_t sender, uint32_t receiver)
{
    const SpateMedium *medium = moving->levels.medium;
    if (moving->mover[receiver] != UINT32_MAX)
        return &moving->highest[(size_t)moving->mover[receiver] * medium->n_senders + sender];
    size_t as_receivers = (size_t)moving->n_movers * medium->n_senders;
    g_assert(sender < medium->n_radios && moving->mover[sender] != UINT32_MAX);
    return &moving->highest[as_receivers + (size_t)moving->mover[sender] * medium->n_radios +
                            receiver];
}

SpateMoving *
spate_moving_new(const SpateMediumPlan *plan, const SpateMedium *medium)
{
    SpateMoving *moving = g_new0(SpateMoving, 1);
    SpateMediumPlan own = *plan;
    moving->links = spate_links_copy(plan->links);
    moving->moves = g_memdup2(plan->moves, MAX(plan->n_nodes, 1) * sizeof plan->moves[0]);
    own.links = moving->links;
    own.moves = moving->moves;
    own.nodes = NULL;
    spate_levels_init(&moving->levels, &own, medium);
    size_t n_radios = MAX(medium->n_radios, 1);
    moving->mover = g_new(uint32_t, n_radios);
    for (uint32_t r = 0; r < medium->n_radios; r++)
        moving->mover[r] = moving->moves[medium->node[r]] ? moving->n_movers++ : UINT32_MAX;
    moving->row_end = g_new0(uint32_t, MAX(medium->n_senders, 1));
    moving->share = g_new0(double, n_radios);
    moving->room = g_new0(double, n_radios);
    moving->taken = g_new0(double, n_radios);
    size_t n_pairs = (size_t)moving->n_movers * ((size_t)medium->n_senders + medium->n_radios);
    moving->highest = g_new0(double, MAX(n_pairs, 1));
    return moving;
}

void
spate_moving_free(SpateMoving *moving)
{
    if (moving == NULL)
        return;
    spate_levels_clear(&moving->levels);
    spate_links_free(moving->links);
    g_free(moving->moves);
    g_free(moving->mover);
    g_free(moving->row_end);
    g_free(moving->share);
    g_free(moving->room);
    g_free(moving->taken);
    g_free(moving->highest);
    g_free(moving);
}

const SpateLinks *
spate_medium_links(const SpateMedium *medium)
{
    return medium->moving != NULL ? medium->moving->links : NULL;
}

double
spate_medium_margin_now_db(const SpateMedium *medium, uint32_t sender, uint32_t receiver)
{
    double level = spate_level_of(&medium->moving->levels, sender, receiver, NULL);
    return level >= 0.0 ? spate_linear_to_db(level) : isnan(level) ? NAN : -INFINITY;
}

uint32_t
spate_medium_most_links(const SpateMedium *medium, uint32_t sender)
{
    const SpateRowPart *parts = &medium->parts[sender * medium->n_bearers];
    uint32_t end =
        medium->moving != NULL ? medium->moving->row_end[sender] : parts[medium->n_bearers - 1].end;
    return end - parts[0].begin;
}

/* Whether there may ever be a link, one that changes. */
static bool
may_link(const SpateMoving *moving, uint32_t sender, uint32_t receiver)
{
    const SpateMedium *medium = moving->levels.medium;
    return medium->node[receiver] != medium->node[sender] &&
           spate_levels_change(&moving->levels, sender, receiver) &&
           weight_at(medium, receiver, sender)->share > 0.0;
}

uint32_t
spate_moving_spare(const SpateMoving *moving, uint32_t sender, uint32_t n_held)
{
    uint32_t n_possible = 0;
    for (uint32_t r = 0; r < moving->levels.medium->n_radios; r++)
        n_possible += may_link(moving, sender, r);
    g_assert(n_held <= n_possible);
    return n_possible - n_held;
}

void
spate_moving_make_room(SpateMoving *moving, uint32_t receiver, double room)
{
    double taken_by_all = 0.0;
    for (uint32_t s = 0; s < moving->levels.medium->n_senders; s++)
        if (may_link(moving, s, receiver))
            taken_by_all += spate_levels_taken_by_one(&moving->levels, s, receiver);
    moving->room[receiver] = 0.5 * room;
    moving->share[receiver] = taken_by_all > 0.0 ? 0.5 * room / taken_by_all : 0.0;
}

double
spate_moving_admit(SpateMoving *moving, uint32_t sender, uint32_t receiver, double level)
{
    double *highest = highest_of(moving, sender, receiver);
    double held = MAX(*highest, moving->share[receiver]);
    if (level <= held)
        return level;
    double each = spate_levels_taken_by_one(&moving->levels, sender, receiver);
    double left = MAX(moving->room[receiver] - moving->taken[receiver], 0.0);
    level = MIN(level, held + left / each);
    moving->taken[receiver] += (level - held) * each;
    *highest = level;
    return level;
}

/* ---- rows ------------------------------------------------------------------------------------ */

/* Where a receiver is, or would be, among links in ascending order. */
static uint32_t
place_of(const SpateMedium *medium, uint32_t begin, uint32_t end, uint32_t receiver)
{
    while (begin < end) {
        uint32_t middle = begin + (end - begin) / 2;
        if (medium->receiver[middle] < receiver)
            begin = middle + 1;
        else
            end = middle;
    }
    return begin;
}

/* All of a row from that link on goes one place up or down; so do the ends of its parts, from that
 * of the receivers' bearer on. */
static void
shift(SpateMedium *medium, uint32_t sender, uint32_t bearer, uint32_t link, bool opens)
{
    SpateRowPart *parts = &medium->parts[sender * medium->n_bearers];
    uint32_t end = parts[medium->n_bearers - 1].end, by = opens ? 1 : UINT32_MAX;
    uint32_t from = opens ? link : link + 1, to = opens ? link + 1 : link;
    g_assert(!opens || end < medium->moving->row_end[sender]);
    memmove(&medium->receiver[to], &medium->receiver[from], (end - from) * sizeof(uint32_t));
    memmove(&medium->power[to], &medium->power[from], (end - from) * sizeof(uint64_t));
    memmove(&medium->level[to], &medium->level[from], (end - from) * sizeof(double));
    parts[bearer].end += by;
    for (uint32_t b = bearer + 1; b < medium->n_bearers; b++) {
        parts[b].begin += by;
        parts[b].audible_end += by;
        parts[b].end += by;
    }
    medium->n_links += opens ? 1 : SIZE_MAX;
}

static void
remove_link(SpateMedium *medium, uint32_t sender, uint32_t receiver)
{
    uint32_t bearer = medium->bearer[receiver];
    SpateRowPart *part = &medium->parts[sender * medium->n_bearers + bearer];
    uint32_t link = place_of(medium, part->begin, part->audible_end, receiver);
    bool is_audible = link < part->audible_end && medium->receiver[link] == receiver;
    if (!is_audible)
        link = place_of(medium, part->audible_end, part->end, receiver);
    if (link >= part->end || medium->receiver[link] != receiver)
        return;
    part->audible_end -= is_audible;
    shift(medium, sender, bearer, link, false);
}

static void
insert_link(SpateMedium *medium, uint32_t sender, uint32_t receiver, bool is_audible, double level)
{
    uint32_t bearer = medium->bearer[receiver];
    SpateRowPart *part = &medium->parts[sender * medium->n_bearers + bearer];
    uint32_t link = is_audible ? place_of(medium, part->begin, part->audible_end, receiver)
                               : place_of(medium, part->audible_end, part->end, receiver);
    part->audible_end += is_audible;
    shift(medium, sender, bearer, link, true);
    medium->receiver[link] = receiver;
    medium->power[link] = in_units(medium, receiver, level);
    medium->level[link] = level;
}

/* ---- steps ----------------------------------------------------------------------------------- */

/* False with an error. */
static bool
renew(SpateMedium *medium, uint32_t sender, uint32_t receiver, GError **error)
{
    SpateMoving *moving = medium->moving;
    if (weight_at(medium, receiver, sender)->share <= 0.0)
        return true;
    const SpateLevelsFrom from = spate_levels_from(&moving->levels, sender);
    double level = spate_level_if_kept(&from, receiver, error);
    if (isnan(level))
        return false;
    remove_link(medium, sender, receiver);
    if (level < 0.0)
        return true;
    bool is_audible = spate_levels_may_decode(&moving->levels, sender, receiver, level);
    if (!spate_levels_keep(&moving->levels, is_audible,
                           spate_levels_weight(&moving->levels, sender, receiver, level)))
        return true;
    level = spate_moving_admit(moving, sender, receiver, level);
    insert_link(medium, sender, receiver, is_audible, level);
    return true;
}

bool
spate_medium_move(SpateMedium *medium, const SpateMove *move, GError **error)
{
    SpateMoving *moving = medium->moving;
    g_assert(moving != NULL && moving->moves[move->node]);
    if (!spate_links_move(moving->links, move->node, move->to, error))
        return false;
    spate_shadow_series_step(moving->levels.series, move->node, move->gone_m, move->number);
    for (uint32_t own = 0; own < medium->n_radios; own++) {
        if (medium->node[own] != move->node)
            continue;
        for (uint32_t s = 0; s < medium->n_senders; s++) {
            if (medium->node[s] == move->node)
                continue;
            /* Both ways in turn: over terrain they have one path. */
            if (!renew(medium, s, own, error))
                return false;
            if (s < medium->n_radios && !renew(medium, own, s, error))
                return false;
        }
    }
    return true;
}
