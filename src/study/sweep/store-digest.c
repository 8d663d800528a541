/* store-digest.c - sums that tell a store that was changed from one that was written
 *
 * The head (what the store is about) has a SHA-256.  The rows of `runs`, `samples` and `sums` have
 * a 64-bit sum: each row has a hash, and hashes are added without carry.  A row that is added or
 * taken away changes the sum by its own hash, so that a batch costs what its own rows cost; the
 * order of rows does not matter, nor do the numbers of measures, which enter by name.
 *
 * This finds damage and edits by hand.  It is no signature: whoever knows docs/store.md can work
 * the sums out again.
 */
#include "study/sweep/store-private.h"

#include "core/random.h"
#include <math.h>
#include <string.h>

/* Kinds of rows. */
enum { RUN = 1, SAMPLE = 2, SUMMED = 3 };

/* Any number that no value is written as: a NaN. */
#define MISSING UINT64_C(0x7FF8000000000000)

/* The bits of an IEEE 754 double.  SQLite does not tell -0 from 0. */
static uint64_t
word_of(double value)
{
    if (isnan(value))
        return MISSING;
    const double plain = value == 0 ? 0 : value;
    uint64_t word;
    memcpy(&word, &plain, sizeof word);
    return word;
}

static uint64_t
hash_words(const uint64_t *words, size_t n)
{
    uint64_t hash = 0;
    for (size_t i = 0; i < n; i++)
        hash = spate_hash_combine(hash, words[i]);
    return hash;
}

uint64_t
spate_store_hash_measure(const char *measure, const char *traffic, const char *bearer,
                         const char *node, const char *bridge)
{
    const char *const names[] = {measure, traffic, bearer, node, bridge};
    uint64_t words[G_N_ELEMENTS(names)];
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        words[i] = names[i] != NULL ? spate_hash_name(names[i]) : 0;
    return hash_words(words, G_N_ELEMENTS(words));
}

uint64_t
spate_store_hash_run(int64_t point, int64_t replication)
{
    const uint64_t words[] = {RUN, (uint64_t)point, (uint64_t)replication};
    return hash_words(words, G_N_ELEMENTS(words));
}

uint64_t
spate_store_hash_sample(int64_t point, uint64_t measure, int64_t replication,
                        const SpateMeasureValue *value)
{
    const uint64_t words[] = {SAMPLE,
                              (uint64_t)point,
                              measure,
                              (uint64_t)replication,
                              word_of(value->value),
                              word_of(value->count),
                              word_of(value->of)};
    return hash_words(words, G_N_ELEMENTS(words));
}

uint64_t
spate_store_hash_summed(int64_t point, uint64_t measure, double mean, SpateInterval ci95, int64_t n)
{
    const uint64_t words[] = {SUMMED,        (uint64_t)point,   measure,
                              word_of(mean), word_of(ci95.low), word_of(ci95.high),
                              (uint64_t)n};
    return hash_words(words, G_N_ELEMENTS(words));
}

char *
spate_store_head_sum(const char *title, const char *const *values)
{
    g_autoptr(GChecksum) sum = g_checksum_new(G_CHECKSUM_SHA256);
    g_checksum_update(sum, (const guchar *)title, (gssize)strlen(title) + 1);
    for (size_t i = 0; i < SPATE_STORE_N_KEYS; i++)
        g_checksum_update(sum, (const guchar *)values[i], (gssize)strlen(values[i]) + 1);
    return g_strdup(g_checksum_get_string(sum));
}
