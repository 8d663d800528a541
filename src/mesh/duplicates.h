/* duplicates.h - what nodes remember of the messages that they have seen
 *
 * Duplicate packet detection (RFC 6621, section 6) by identity, over all radios of a node.  A node
 * whose memory is bounded keeps a list, oldest first; what leaves it is forgotten: the
 * node takes a later copy for new, and sends it on once more.  A node whose memory is
 * not bounded needs no list: its mark on the message is enough.
 */
#pragma once

#include "mesh/message-pool.h"
#include "mesh/plan.h"

typedef struct SpateDuplicates SpateDuplicates;

/* Everything is borrowed. */
SpateDuplicates *spate_duplicates_new(const SpatePlan *plan, SpateMessagePool *pool);
void spate_duplicates_free(SpateDuplicates *duplicates);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateDuplicates, spate_duplicates_free)

/* The node has seen the first copy of a message that it did not offer. */
void spate_duplicates_note(SpateDuplicates *duplicates, uint32_t node, uint32_t message,
                           int64_t now_ns);
/* Drops what the node has remembered for too long.  Before it looks at a copy. */
void spate_duplicates_expire(SpateDuplicates *duplicates, uint32_t node, int64_t now_ns);

/* The node has lost its list; the marks on messages are the caller's to take off. */
void spate_duplicates_clear(SpateDuplicates *duplicates, uint32_t node);

/* Memory of all nodes' lists. */
size_t spate_duplicates_bytes(const SpateDuplicates *duplicates);

/* Messages in the node's list; 0 for a memory without bounds. */
uint32_t spate_duplicates_length(const SpateDuplicates *duplicates, uint32_t node);
