/* random.h - random draws that depend on what they are for, and on nothing else
 *
 * A draw is a function of (seed, replication, purpose, entity, number): there is
 * no hidden state, so streams cost nothing to hold and changing one thing in a
 * scenario does not shift the draws of another.  Two variants see the same
 * messages at the same times under the same radio conditions.
 *
 * The generator is Philox4x32-10 (J. K. Salmon, M. A. Moraes, R. O. Dror, D. E.
 * Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC11, 2011), which is
 * counter-based by design.
 */
#pragma once

#include <stdbool.h>
#include <stdint.h>

/* Names of purposes, folded into the key.  The order is part of the results:
 * append only. */
typedef enum {
    SPATE_FOR_PLACE = 1,      /* random places of a group's nodes */
    SPATE_FOR_NODE_SHADOWING, /* the part of shadowing that a node has towards everyone */
    SPATE_FOR_PAIR_SHADOWING, /* ... and the part of a pair */
    SPATE_FOR_FADING,         /* fading of a frame at a receiver, or of a pair over a block */
    SPATE_FOR_OFFERS,         /* message times of a source */
    SPATE_FOR_RELAY_JITTER,   /* wait before a relay, by node and message */
    SPATE_FOR_RELAY_CHOICE,   /* policy probability, by node and message */
    SPATE_FOR_BACKOFF,        /* csma slots and cad waits, by radio */
    SPATE_FOR_DETECTION,      /* cad detection of a frame */
    SPATE_FOR_AMBIENT,        /* other people's traffic */
    SPATE_FOR_TEST,
    SPATE_FOR_DOUBT,         /* uncertain inputs, by replication and path */
    SPATE_FOR_BLUR,          /* steps and numbers that hide places and names */
    SPATE_FOR_LISTENING,     /* when the windows of a radio that sleeps begin */
    SPATE_FOR_FOLLOWING,     /* whether and when a message follows one that was delivered */
    SPATE_FOR_OUTAGES,       /* when a node is up and down */
    SPATE_FOR_MOVE_SHADOWING /* what is new in the shadowing of a pair at a step of either node */
} SpatePurpose;

/* A stream: a key, and how many draws were taken from it.  Copy freely; a copy
 * repeats the original's draws. */
typedef struct {
    uint64_t key;
    uint64_t entity;
    uint64_t n_drawn;
} SpateRandom;

/* What all draws of one replication share. */
uint64_t spate_random_key(uint64_t seed, uint32_t replication, SpatePurpose purpose);

/* A stable 64-bit hash of a name; the same on every machine. */
uint64_t spate_hash_name(const char *name);
/* Order matters: combine(a, b) != combine(b, a) but for chance. */
uint64_t spate_hash_combine(uint64_t a, uint64_t b);

SpateRandom spate_random_stream(uint64_t key, uint64_t entity);

/* The generator itself: counter and key in, four words out. */
void spate_philox4x32(const uint32_t counter[4], const uint32_t key[2], uint32_t out[4]);

/* The n-th draw of (key, entity), without a stream. */
uint64_t spate_random_u64_at(uint64_t key, uint64_t entity, uint64_t n);

uint64_t spate_random_u64(SpateRandom *random);
/* As if one was drawn. */
static inline void
spate_random_skip(SpateRandom *random)
{
    random->n_drawn++;
}
/* Uniform over [0, 1), 53 bits. */
double spate_random_unit(SpateRandom *random);
/* Uniform over 0 .. n - 1, without bias; n > 0. */
uint64_t spate_random_below(SpateRandom *random, uint64_t n);
/* Uniform over the whole nanoseconds from 0 to at_most_ns, both included. */
int64_t spate_random_wait_ns(SpateRandom *random, int64_t at_most_ns);
/* Exponential with mean 1. */
double spate_random_exponential(SpateRandom *random);
/* Standard normal; within SPATE_RANDOM_HIGHEST_NORMAL of 0, by the 2^52 values that it can take. */
#define SPATE_RANDOM_HIGHEST_NORMAL 8.22
double spate_random_normal(SpateRandom *random);
/* A bound for spate_random_normal_is_below(): a last digit too high perhaps, never too low. */
uint64_t spate_random_normal_bound(double value);
/* Whether the first standard normal draw of (key, entity) is below the value of the bound: told
 * without working it out. */
bool spate_random_normal_is_below(uint64_t key, uint64_t entity, uint64_t bound);
/* Gamma with shape k > 0 and mean 1 (Marsaglia and Tsang, 2000). */
double spate_random_gamma(SpateRandom *random, double shape);
