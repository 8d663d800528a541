/* random.c - random draws that depend on what they are for */
#include "core/random.h"

#include "core/units.h"
#include <gsl/gsl_cdf.h>
#include <math.h>

/* Multipliers and key increments of Philox4x32 (Salmon et al., SC11, 2011). */
#define PHILOX_M0     UINT32_C(0xD2511F53)
#define PHILOX_M1     UINT32_C(0xCD9E8D57)
#define PHILOX_W0     UINT32_C(0x9E3779B9)
#define PHILOX_W1     UINT32_C(0xBB67AE85)
#define PHILOX_ROUNDS 10

/* Offset and prime of the 64-bit FNV-1a hash (G. Fowler, L. C. Noll, K.-P. Vo). */
#define FNV_OFFSET UINT64_C(0xCBF29CE484222325)
#define FNV_PRIME  UINT64_C(0x100000001B3)

void
spate_philox4x32(const uint32_t counter[4], const uint32_t key[2], uint32_t out[4])
{
    uint32_t c0 = counter[0], c1 = counter[1], c2 = counter[2], c3 = counter[3];
    uint32_t k0 = key[0], k1 = key[1];
    for (int round = 0; round < PHILOX_ROUNDS; round++) {
        uint64_t p0 = (uint64_t)PHILOX_M0 * c0;
        uint64_t p1 = (uint64_t)PHILOX_M1 * c2;
        c0 = (uint32_t)(p1 >> 32) ^ c1 ^ k0;
        c1 = (uint32_t)p1;
        c2 = (uint32_t)(p0 >> 32) ^ c3 ^ k1;
        c3 = (uint32_t)p0;
        k0 += PHILOX_W0;
        k1 += PHILOX_W1;
    }
    out[0] = c0;
    out[1] = c1;
    out[2] = c2;
    out[3] = c3;
}

uint64_t
spate_random_u64_at(uint64_t key, uint64_t entity, uint64_t n)
{
    uint32_t counter[4] = {(uint32_t)n, (uint32_t)(n >> 32), (uint32_t)entity,
                           (uint32_t)(entity >> 32)};
    uint32_t words[2] = {(uint32_t)key, (uint32_t)(key >> 32)};
    uint32_t out[4];
    spate_philox4x32(counter, words, out);
    return (uint64_t)out[1] << 32 | out[0];
}

uint64_t
spate_random_key(uint64_t seed, uint32_t replication, SpatePurpose purpose)
{
    return spate_random_u64_at(seed, (uint64_t)purpose, replication);
}

/* The finaliser of SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014): every bit of the
 * input changes every bit of the output with a probability near one half. */
static uint64_t
mix(uint64_t x)
{
    x = (x ^ (x >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    x = (x ^ (x >> 27)) * UINT64_C(0x94D049BB133111EB);
    return x ^ (x >> 31);
}

uint64_t
spate_hash_name(const char *name)
{
    uint64_t hash = FNV_OFFSET;
    for (const char *c = name; *c != '\0'; c++)
        hash = (hash ^ (unsigned char)*c) * FNV_PRIME;
    return mix(hash);
}

uint64_t
spate_hash_combine(uint64_t a, uint64_t b)
{
    return mix(mix(a + UINT64_C(0x9E3779B97F4A7C15)) + b);
}

SpateRandom
spate_random_stream(uint64_t key, uint64_t entity)
{
    return (SpateRandom){.key = key, .entity = entity, .n_drawn = 0};
}

uint64_t
spate_random_u64(SpateRandom *random)
{
    return spate_random_u64_at(random->key, random->entity, random->n_drawn++);
}

double
spate_random_unit(SpateRandom *random)
{
    return (double)(spate_random_u64(random) >> 11) * 0x1p-53;
}

/* Uniform over the middles of 2^53 equal parts of (0, 1): neither end can occur. */
static double
open_unit(SpateRandom *random)
{
    return ((double)(spate_random_u64(random) >> 12) + 0.5) * 0x1p-52;
}

/* D. Lemire, "Fast random integer generation in an interval", ACM TOMACS 29(1), 2019. */
uint64_t
spate_random_below(SpateRandom *random, uint64_t n)
{
    spate_uint128 product = (spate_uint128)spate_random_u64(random) * n;
    if ((uint64_t)product < n) {
        uint64_t unfair = (0 - n) % n;
        while ((uint64_t)product < unfair)
            product = (spate_uint128)spate_random_u64(random) * n;
    }
    return (uint64_t)(product >> 64);
}

int64_t
spate_random_wait_ns(SpateRandom *random, int64_t at_most_ns)
{
    return (int64_t)spate_random_below(random, (uint64_t)at_most_ns + 1);
}

double
spate_random_exponential(SpateRandom *random)
{
    return -log(open_unit(random));
}

double
spate_random_normal(SpateRandom *random)
{
    return gsl_cdf_ugaussian_Pinv(open_unit(random));
}

uint64_t
spate_random_normal_bound(double value)
{
    return (uint64_t)(gsl_cdf_ugaussian_P(value) * (1.0 + 1e-9) * 0x1p52) + 1;
}

bool
spate_random_normal_is_below(uint64_t key, uint64_t entity, uint64_t bound)
{
    return spate_random_u64_at(key, entity, 0) >> 12 < bound;
}

/* G. Marsaglia, W. W. Tsang, "A simple method for generating gamma variables", ACM TOMS 26(3),
 * 2000.  A shape below 1 is drawn at shape + 1 and scaled by u^(1/shape). */
double
spate_random_gamma(SpateRandom *random, double shape)
{
    double boost = 1.0, raised = shape;
    if (shape < 1.0) {
        boost = pow(open_unit(random), 1.0 / shape);
        raised = shape + 1.0;
    }
    double d = raised - 1.0 / 3.0, c = 1.0 / sqrt(9.0 * d);
    for (;;) {
        double x = spate_random_normal(random);
        double v = 1.0 + c * x;
        if (v <= 0.0)
            continue;
        v = v * v * v;
        if (log(open_unit(random)) < 0.5 * x * x + d - d * v + d * log(v))
            return boost * d * v / shape;
    }
}
