/* duplicates.c - what nodes remember of the messages that they have seen */
#include "mesh/duplicates.h"

typedef struct {
    uint32_t message; /* slot */
    uint32_t number;  /* tells whether the slot still holds it */
    int64_t since_ns;
} Entry;

/* A list of entries in a circle, oldest first. */
typedef struct {
    Entry *entries;
    uint32_t first, length, capacity; /* capacity: 0 or a power of two */
} Ring;

struct SpateDuplicates {
    const SpatePlan *plan;
    SpateMessagePool *pool;
    Ring *rings;  /* by node */
    size_t bytes; /* of all entries */
};

static Entry *
entry_at(const Ring *ring, uint32_t index)
{
    return &ring->entries[(ring->first + index) & (ring->capacity - 1)];
}

static void
grow(SpateDuplicates *duplicates, Ring *ring)
{
    Ring grown = {.length = ring->length, .capacity = MAX(8, ring->capacity * 2)};
    grown.entries = g_new(Entry, grown.capacity);
    for (uint32_t i = 0; i < ring->length; i++)
        grown.entries[i] = *entry_at(ring, i);
    g_free(ring->entries);
    duplicates->bytes += (grown.capacity - ring->capacity) * sizeof(Entry);
    *ring = grown;
}

static void
forget_oldest(SpateDuplicates *duplicates, uint32_t number)
{
    Ring *ring = &duplicates->rings[number];
    Entry oldest = *entry_at(ring, 0);
    ring->first = (ring->first + 1) & (ring->capacity - 1);
    ring->length--;

    SpateMessage *message = spate_message_at(duplicates->pool, oldest.message);
    if (message->references > 0 && message->facts.number == oldest.number)
        message->at_node[number].is_known = message->at_node[number].is_answered = false;
}

void
spate_duplicates_note(SpateDuplicates *duplicates, uint32_t node, uint32_t message, int64_t now_ns)
{
    const SpateFlooding *flooding = &duplicates->plan->nodes[node].flooding;
    if (flooding->duplicates_entries == 0 && flooding->duplicates_for_ns == 0)
        return;
    Ring *ring = &duplicates->rings[node];
    if (flooding->duplicates_entries > 0 && ring->length == flooding->duplicates_entries)
        forget_oldest(duplicates, node);
    if (ring->length == ring->capacity)
        grow(duplicates, ring);
    uint32_t number = spate_message_at(duplicates->pool, message)->facts.number;
    *entry_at(ring, ring->length++) = (Entry){message, number, now_ns};
}

void
spate_duplicates_expire(SpateDuplicates *duplicates, uint32_t node, int64_t now_ns)
{
    int64_t for_ns = duplicates->plan->nodes[node].flooding.duplicates_for_ns;
    const Ring *ring = &duplicates->rings[node];
    while (for_ns > 0 && ring->length > 0 && now_ns - entry_at(ring, 0)->since_ns > for_ns)
        forget_oldest(duplicates, node);
}

void
spate_duplicates_clear(SpateDuplicates *duplicates, uint32_t node)
{
    duplicates->rings[node].length = 0;
}

uint32_t
spate_duplicates_length(const SpateDuplicates *duplicates, uint32_t node)
{
    return duplicates->rings[node].length;
}

size_t
spate_duplicates_bytes(const SpateDuplicates *duplicates)
{
    return duplicates->bytes;
}

SpateDuplicates *
spate_duplicates_new(const SpatePlan *plan, SpateMessagePool *pool)
{
    SpateDuplicates *duplicates = g_new0(SpateDuplicates, 1);
    duplicates->plan = plan;
    duplicates->pool = pool;
    duplicates->rings = g_new0(Ring, MAX(plan->n_nodes, 1));
    return duplicates;
}

void
spate_duplicates_free(SpateDuplicates *duplicates)
{
    if (duplicates == NULL)
        return;
    for (uint32_t i = 0; i < duplicates->plan->n_nodes; i++)
        g_free(duplicates->rings[i].entries);
    g_free(duplicates->rings);
    g_free(duplicates);
}
