/* message-pool.c - messages that are still under way */
#include "mesh/message-pool.h"

#include <string.h>

#define NO_SLOT              UINT32_MAX
#define LARGEST_GROWTH_BYTES ((size_t)16 << 20)

void
spate_message_pool_init(SpateMessagePool *pool, uint32_t n_nodes, uint32_t n_radios)
{
    *pool = (SpateMessagePool){
        .messages = g_ptr_array_new(),
        .first_free = NO_SLOT,
        .n_nodes = n_nodes,
        .n_radios = n_radios,
    };
}

void
spate_message_pool_clear(SpateMessagePool *pool)
{
    for (guint i = 0; i < pool->messages->len; i++) {
        SpateMessage *message = spate_message_at(pool, i);
        g_free(message->at_node);
        g_free(message->on_radio);
        if (message->carried != NULL)
            g_array_unref(message->carried);
        if (message->route != NULL)
            g_array_unref(message->route);
        g_free(message);
    }
    g_ptr_array_free(pool->messages, TRUE);
}

static void
give_back(SpateMessagePool *pool, uint32_t slot)
{
    spate_message_at(pool, slot)->next_free = pool->first_free;
    pool->first_free = slot;
}

static size_t
bytes_each(const SpateMessagePool *pool)
{
    return sizeof(SpateMessage) + pool->n_nodes * sizeof(SpateKnowledge) +
           pool->n_radios * sizeof(uint32_t);
}

size_t
spate_message_pool_bytes(const SpateMessagePool *pool)
{
    return pool->messages->len * bytes_each(pool);
}

/* As many again as there are, so that a pool that is about large enough seldom grows; of large
 * messages fewer, so that a pool near its limit does not leap over it. */
static void
grow(SpateMessagePool *pool)
{
    guint most = MAX((guint)(LARGEST_GROWTH_BYTES / bytes_each(pool)), 8);
    guint old = pool->messages->len, grown = old + CLAMP(old, 8, most);
    for (guint i = old; i < grown; i++) {
        SpateMessage *message = g_new0(SpateMessage, 1);
        message->at_node = g_new(SpateKnowledge, MAX(pool->n_nodes, 1));
        message->on_radio = g_new(uint32_t, MAX(pool->n_radios, 1));
        g_ptr_array_add(pool->messages, message);
    }
    for (guint i = grown; i > old; i--)
        give_back(pool, i - 1);
}

uint32_t
spate_message_pool_take(SpateMessagePool *pool)
{
    if (pool->first_free == NO_SLOT)
        grow(pool);
    uint32_t slot = pool->first_free;
    SpateMessage *message = spate_message_at(pool, slot);
    pool->first_free = message->next_free;
    message->references = 1;
    message->asked = SPATE_NO_MESSAGE;
    message->n_answers = 0;
    message->exchange = (SpateExchange){0};
    pool->n_taken++;
    memset(message->at_node, 0, pool->n_nodes * sizeof(SpateKnowledge));
    G_STATIC_ASSERT(SPATE_NO_FRAME == UINT32_MAX);
    memset(message->on_radio, 0xff, pool->n_radios * sizeof(uint32_t));
    return slot;
}

static void
let_carried_go(SpateMessagePool *pool, SpateMessage *message)
{
    for (guint i = 0; message->carried != NULL && i < message->carried->len; i++)
        spate_message_pool_unref(pool, g_array_index(message->carried, SpateCarried, i).message);
    if (message->carried != NULL)
        g_array_set_size(message->carried, 0);
}

void
spate_message_pool_unref(SpateMessagePool *pool, uint32_t slot)
{
    SpateMessage *message = spate_message_at(pool, slot);
    g_assert(message->references > 0);
    if (--message->references > 0)
        return;
    let_carried_go(pool, message);
    if (message->asked != SPATE_NO_MESSAGE && message->asked != slot)
        spate_message_pool_unref(pool, message->asked);
    pool->n_taken--;
    give_back(pool, slot);
}
