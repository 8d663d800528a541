/* link-rows.c - the links of many senders, worked out on threads */
#include "channel/medium-private.h"

#include "core/pool.h"
#include <string.h>

/* Fewer pairs are not worth a thread. */
#define FEW_PAIRS 10000

/* One task of the pool. */
#define ROWS_OF_A_BLOCK 8

/* So many radios ahead of the one in hand, data are fetched: some memory latencies' worth. */
#define AHEAD 4

struct SpateLinkBlock {
    SpateLinkList links, omitted; /* of its rows, one after the other; those omitted by weight */
    SpateRowPart *parts;          /* [row * n_bearers + receiver's bearer], of `links` */
    size_t links_end[ROWS_OF_A_BLOCK], omitted_end[ROWS_OF_A_BLOCK]; /* by row */
    uint32_t failed_sender, failed_receiver;                         /* UINT32_MAX: none */
    /* of the row in hand */
    uint64_t *marks;     /* radios to look at */
    uint32_t *receivers; /* the same; room for */
    uint32_t n_receivers;
    SpateLinkList *of_part; /* [receiver's bearer * 2 + does not decode] */
};

void
spate_link_list_clear(SpateLinkList *list)
{
    g_free(list->receiver);
    g_free(list->level);
    *list = (SpateLinkList){0};
}

void
spate_link_list_reserve(SpateLinkList *list, size_t n_more)
{
    if (list->n + n_more <= list->room)
        return;
    list->room = MAX(list->n + n_more, 2 * list->room);
    list->receiver = g_renew(uint32_t, list->receiver, list->room);
    list->level = g_renew(double, list->level, list->room);
}

static void
block_init(SpateLinkBlock *block, const SpateMedium *medium)
{
    *block = (SpateLinkBlock){0};
    /* A row without links points somewhere all the same. */
    spate_link_list_reserve(&block->links, 1);
    spate_link_list_reserve(&block->omitted, 1);
    block->parts = g_new0(SpateRowPart, ROWS_OF_A_BLOCK * MAX(medium->n_bearers, 1));
    block->marks = g_new(uint64_t, MAX(spate_mark_words(medium->n_radios), 1));
    block->of_part = g_new0(SpateLinkList, 2 * medium->n_bearers);
}

static void
block_clear(SpateLinkBlock *block, const SpateMedium *medium)
{
    spate_link_list_clear(&block->links);
    spate_link_list_clear(&block->omitted);
    for (uint32_t i = 0; i < 2 * medium->n_bearers; i++)
        spate_link_list_clear(&block->of_part[i]);
    g_free(block->of_part);
    g_free(block->parts);
    g_free(block->marks);
    g_free(block->receivers);
}

void
spate_link_rows_init(SpateLinkRows *rows, const SpateLevels *levels)
{
    *rows = (SpateLinkRows){.levels = levels, .reach = spate_reach_new(levels)};
    rows->blocks = g_new(SpateLinkBlock, SPATE_ROWS_AT_ONCE / ROWS_OF_A_BLOCK);
    for (uint32_t i = 0; i < SPATE_ROWS_AT_ONCE / ROWS_OF_A_BLOCK; i++)
        block_init(&rows->blocks[i], levels->medium);
}

void
spate_link_rows_clear(SpateLinkRows *rows)
{
    for (uint32_t i = 0; i < SPATE_ROWS_AT_ONCE / ROWS_OF_A_BLOCK; i++)
        block_clear(&rows->blocks[i], rows->levels->medium);
    g_free(rows->blocks);
    spate_reach_free(rows->reach);
}

static void
mark_radios(const SpateLinkRows *rows, SpateLinkBlock *block, uint32_t sender)
{
    uint32_t n_radios = rows->levels->medium->n_radios;
    if (rows->reach != NULL) {
        spate_reach_mark(rows->reach, sender, block->marks);
        return;
    }
    memset(block->marks, 0, spate_mark_words(n_radios) * sizeof block->marks[0]);
    for (uint32_t r = 0; r < n_radios; r++)
        spate_mark(block->marks, r);
}

/* One link, or none; false with an error. */
static bool
look_at(SpateLinkBlock *block, const SpateLevelsFrom *from, uint32_t receiver, GError **error)
{
    const SpateMedium *medium = from->levels->medium;
    uint32_t sender = from->sender;
    if (medium->node[receiver] == medium->node[sender])
        return true;
    double level = spate_level_if_kept(from, receiver, error);
    if (isnan(level)) {
        block->failed_sender = sender;
        block->failed_receiver = receiver;
        return false;
    }
    if (level < 0.0)
        return true;
    bool may_decode = spate_levels_may_decode(from->levels, sender, receiver, level);
    double weight = spate_levels_weight(from->levels, sender, receiver, level);
    if (spate_levels_keep(from->levels, may_decode, weight))
        spate_link_list_add(&block->of_part[2 * medium->bearer[receiver] + !may_decode], receiver,
                            level);
    else
        spate_link_list_add(&block->omitted, receiver, weight);
    return true;
}

static uint32_t
n_marked(const uint64_t *marks, size_t n_words)
{
    uint32_t n = 0;
    for (size_t i = 0; i < n_words; i++)
        n += (uint32_t)__builtin_popcountll(marks[i]);
    return n;
}

/* There is room for them. */
static void
list_marked(SpateLinkBlock *block, size_t n_words)
{
    uint32_t n = 0;
    for (size_t word = 0; word < n_words; word++)
        for (uint64_t left = block->marks[word]; left != 0; left &= left - 1)
            block->receivers[n++] = (uint32_t)(64 * word) + (uint32_t)__builtin_ctzll(left);
}

/* Radios that are near each other stand anywhere in a large mesh's arrays: what is looked at soon
 * is fetched now. */
static void
fetch(const SpateLevelsFrom *from, const uint32_t *next, uint32_t n)
{
    const SpateLevels *levels = from->levels;
    const SpateLinks *links = levels->plan.links;
    if (n > 2 * AHEAD)
        spate_links_fetch_radio(links, next[2 * AHEAD]);
    if (n > AHEAD) {
        spate_links_fetch_node(links, next[AHEAD]);
        __builtin_prefetch(&levels->budget_dbm[next[AHEAD]]);
        __builtin_prefetch(&levels->budget_mw[next[AHEAD]]);
        __builtin_prefetch(&levels->medium->node[next[AHEAD]]);
        __builtin_prefetch(&levels->medium->bearer[next[AHEAD]]);
    }
}

static bool
look_at_marked(const SpateLinkRows *rows, SpateLinkBlock *block, uint32_t sender, GError **error)
{
    const SpateMedium *medium = rows->levels->medium;
    const SpateLevelsFrom from = spate_levels_from(rows->levels, sender);
    size_t n_words = spate_mark_words(medium->n_radios);
    uint32_t n = n_marked(block->marks, n_words);
    if (n > block->n_receivers) {
        block->n_receivers = n;
        block->receivers = g_renew(uint32_t, block->receivers, n);
    }
    spate_link_list_reserve(&block->omitted, n);
    for (uint32_t i = 0; i < 2 * medium->n_bearers; i++)
        spate_link_list_reserve(&block->of_part[i], n);
    list_marked(block, n_words);
    for (uint32_t i = 0; i < n; i++) {
        fetch(&from, &block->receivers[i], n - i);
        if (!look_at(block, &from, block->receivers[i], error))
            return false;
    }
    return true;
}

/* Moves one list to the end of another; where that ends. */
static uint32_t
move_all(SpateLinkList *list, SpateLinkList *from)
{
    spate_link_list_reserve(list, from->n);
    if (from->n > 0) {
        memcpy(list->receiver + list->n, from->receiver, from->n * sizeof from->receiver[0]);
        memcpy(list->level + list->n, from->level, from->n * sizeof from->level[0]);
    }
    list->n += from->n;
    from->n = 0;
    return (uint32_t)list->n;
}

static bool
fill_row(const SpateLinkRows *rows, SpateLinkBlock *block, uint32_t row, uint32_t sender,
         GError **error)
{
    uint32_t n_bearers = rows->levels->medium->n_bearers;
    mark_radios(rows, block, sender);
    if (!look_at_marked(rows, block, sender, error))
        return false;
    for (uint32_t b = 0; b < n_bearers; b++) {
        SpateRowPart *part = &block->parts[row * n_bearers + b];
        part->begin = (uint32_t)block->links.n;
        part->audible_end = move_all(&block->links, &block->of_part[2 * b]);
        part->end = move_all(&block->links, &block->of_part[2 * b + 1]);
    }
    block->links_end[row] = block->links.n;
    block->omitted_end[row] = block->omitted.n;
    return true;
}

static bool
fill_block(SpateLinkRows *rows, uint32_t number, GError **error)
{
    SpateLinkBlock *block = &rows->blocks[number];
    block->links.n = block->omitted.n = 0;
    for (uint32_t row = 0; row < ROWS_OF_A_BLOCK; row++) {
        uint32_t at = number * ROWS_OF_A_BLOCK + row;
        if (at < rows->n && !fill_row(rows, block, row, spate_link_rows_sender(rows, at), error))
            return false;
    }
    return true;
}

typedef struct {
    SpateLinkRows *rows;
    SpateMeanwhile meanwhile;
} Filling;

/* A task of the pool: first of all what is to be done meanwhile, which nobody can share. */
static bool
fill_some(gpointer user, uint32_t number, GError **error)
{
    const Filling *filling = user;
    if (number > 0)
        return fill_block(filling->rows, number - 1, error);
    if (filling->meanwhile.perform != NULL)
        filling->meanwhile.perform(filling->meanwhile.user);
    return true;
}

static bool
fill_alone(const Filling *filling, uint32_t n_tasks, GError **error)
{
    for (uint32_t i = 0; i < n_tasks; i++)
        if (!fill_some((gpointer)filling, i, error))
            return false;
    return true;
}

/* The first pair that failed, which the threads may have found after others. */
static void
note_failure(const SpateLinkRows *rows)
{
    SpateMediumPair *failed = rows->levels->plan.failed;
    const SpateLinkBlock *block = rows->blocks;
    while (block->failed_sender == UINT32_MAX)
        block++;
    if (failed != NULL)
        *failed = (SpateMediumPair){block->failed_sender, block->failed_receiver};
}

bool
spate_link_rows_fill(SpateLinkRows *rows, uint32_t first, uint32_t every, SpateMeanwhile meanwhile,
                     GError **error)
{
    const SpateMedium *medium = rows->levels->medium;
    rows->first = first;
    rows->every = every;
    rows->n = MIN((medium->n_senders - first - 1) / every + 1, SPATE_ROWS_AT_ONCE);
    uint32_t n_blocks = (rows->n - 1) / ROWS_OF_A_BLOCK + 1;
    for (uint32_t i = 0; i < n_blocks; i++)
        rows->blocks[i].failed_sender = UINT32_MAX;
    /* Links whose nodes may move are for one thread. */
    bool is_shared = rows->levels->plan.n_threads != 1 && rows->levels->plan.moves == NULL &&
                     (uint64_t)rows->n * medium->n_radios > FEW_PAIRS;
    Filling filling = {rows, meanwhile};
    const SpatePool pool = {.n_tasks = n_blocks + 1,
                            .perform = fill_some,
                            .user = &filling,
                            .jobs = rows->levels->plan.n_threads};
    bool fine =
        is_shared ? spate_pool_run(&pool, error) : fill_alone(&filling, pool.n_tasks, error);
    if (!fine)
        note_failure(rows);
    return fine;
}

SpateLinkRow
spate_link_row(const SpateLinkRows *rows, uint32_t at)
{
    const SpateLinkBlock *block = &rows->blocks[at / ROWS_OF_A_BLOCK];
    uint32_t row = at % ROWS_OF_A_BLOCK;
    size_t links = row > 0 ? block->links_end[row - 1] : 0;
    size_t omitted = row > 0 ? block->omitted_end[row - 1] : 0;
    return (SpateLinkRow){
        .begin = (uint32_t)links,
        .parts = &block->parts[row * rows->levels->medium->n_bearers],
        .n = (uint32_t)(block->links_end[row] - links),
        .n_omitted = (uint32_t)(block->omitted_end[row] - omitted),
        .receiver = block->links.receiver + links,
        .level = block->links.level + links,
        .omitted = block->omitted.receiver + omitted,
        .omitted_weight = block->omitted.level + omitted,
    };
}
