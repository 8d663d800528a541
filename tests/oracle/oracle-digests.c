/* oracle-digests.c - several messages in one frame (docs/model.md, Flooding and bridges) */
#include "oracle/oracle-private.h"

typedef struct {
    const SpateRule *rule;
    const void *owner;
    uint32_t traffic;
    const OracleRadio *out;
    GArray *carried; /* OracleCarried */
    uint32_t payload_bytes;
    int64_t due_ns;
} Digest;

static void
free_digest(gpointer item)
{
    Digest *digest = item;
    if (digest->carried != NULL)
        g_array_unref(digest->carried);
    g_free(digest);
}

GPtrArray *
oracle_new_digests(void)
{
    return g_ptr_array_new_with_free_func(free_digest);
}

static Digest *
digest_at(const Oracle *oracle, guint index)
{
    return g_ptr_array_index(oracle->digests, index);
}

static Digest *
find_open(const Oracle *oracle, const void *owner, const SpateRule *rule, uint32_t traffic,
          const OracleRadio *out)
{
    for (guint i = 0; i < oracle->digests->len; i++) {
        Digest *digest = digest_at(oracle, i);
        if (digest->owner == owner && digest->rule == rule && digest->traffic == traffic &&
            digest->out == out)
            return digest;
    }
    return NULL;
}

/* A new message of the node that made it, which waits a random jitter. */
static void
close_digest(Oracle *oracle, Digest *digest)
{
    const OracleRadio *out = digest->out;
    OracleMessage *first = g_array_index(digest->carried, OracleCarried, 0).message;
    HistoryMessage name = {digest->traffic, out->node, oracle->now_ns, 1};
    uint64_t maker = spate_hash_combine(out->node_hash, out->bearer_hash);
    OracleMessage *message = oracle_new_message(
        oracle, name, spate_hash_combine(maker, first->identity), digest->payload_bytes);
    message->carried = g_steal_pointer(&digest->carried);
    g_ptr_array_remove(oracle->digests, digest);
    oracle_start_jitter(oracle, oracle_new_sending(oracle, message, out, 1));
}

void
oracle_collect(Oracle *oracle, const OracleArrival *arrival, const OracleRadio *out,
               const void *owner, const SpateRule *rule)
{
    uint32_t traffic = arrival->message->name.traffic;
    uint32_t largest = (uint32_t)oracle_bearer(oracle, out->bearer)->largest_frame_bytes;
    uint32_t more_bytes = arrival->message->payload_bytes;
    Digest *digest = find_open(oracle, owner, rule, traffic, out);
    if (digest != NULL &&
        oracle_frame_bytes(oracle, out, digest->payload_bytes + more_bytes, 1) > largest) {
        close_digest(oracle, digest);
        digest = NULL;
    }
    if (digest == NULL) {
        digest = g_new0(Digest, 1);
        *digest = (Digest){rule,
                           owner,
                           traffic,
                           out,
                           g_array_new(FALSE, FALSE, sizeof(OracleCarried)),
                           0,
                           oracle->now_ns + rule->digest_every_ns};
        g_ptr_array_add(oracle->digests, digest);
    }
    OracleCarried carried = {arrival->message, arrival->hops};
    g_array_append_val(digest->carried, carried);
    digest->payload_bytes += more_bytes;
    if (rule->digest_most > 0 && digest->carried->len == rule->digest_most)
        close_digest(oracle, digest);
}

bool
oracle_is_collected(const Oracle *oracle, const OracleMessage *message, uint32_t radio)
{
    for (guint i = 0; i < oracle->digests->len; i++) {
        const Digest *digest = digest_at(oracle, i);
        for (guint k = 0; k < digest->carried->len; k++)
            if (digest->out == &oracle->radios[radio] &&
                g_array_index(digest->carried, OracleCarried, k).message == message)
                return true;
    }
    return false;
}

void
oracle_close_due_digests(Oracle *oracle, uint32_t node)
{
    for (guint i = 0; i < oracle->digests->len;) {
        Digest *digest = digest_at(oracle, i);
        if (digest->out->node == node && digest->due_ns <= oracle->now_ns)
            close_digest(oracle, digest);
        else
            i++;
    }
}

void
oracle_lose_digests(const Oracle *oracle, uint32_t node)
{
    for (guint i = 0; i < oracle->digests->len;)
        if (digest_at(oracle, i)->out->node == node)
            g_ptr_array_remove_index(oracle->digests, i);
        else
            i++;
}

int64_t
oracle_next_digest_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (guint i = 0; i < oracle->digests->len; i++)
        next_ns = MIN(next_ns, digest_at(oracle, i)->due_ns);
    return next_ns;
}
