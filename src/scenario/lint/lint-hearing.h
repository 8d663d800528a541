/* lint-hearing.h - which radios could ever hear which
 *
 * Generous on purpose, since what is drawn from it is that no message can ever arrive: a radio
 * could hear another if its level without shadowing and fading, raised by three sigma of the
 * shadowing and by what fading adds now and then, reaches its sensitivity.  A node that moves may
 * come near any other.  Only of one bearer, in the layout of the first replication.
 *
 * Rows are worked out when they are asked for, up to a number of links in all: what goes beyond
 * counts as heard.
 */
#pragma once

#include "scenario/world/world.h"

/* One pair in 740 has a shadowing of more than three sigma to its favour (normal distribution).
 * Rayleigh fading exceeds 10 dB in one frame of 22,000 (exp(-10)); kinds that fade less have less.
 */
#define SPATE_HEARING_SIGMAS    3.0
#define SPATE_HEARING_FADING_DB 10.0

typedef struct SpateHearing SpateHearing;

SpateHearing *spate_hearing_new(const SpateWorld *world);
void spate_hearing_free(SpateHearing *hearing);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateHearing, spate_hearing_free)

/* The radios of a bearer, by number; a row has a bit for each of them. */
const uint32_t *spate_hearing_radios(const SpateHearing *hearing, uint32_t bearer, uint32_t *n);
/* The place of a radio among those of its bearer. */
uint32_t spate_hearing_rank(const SpateHearing *hearing, uint32_t radio);
size_t spate_hearing_n_words(const SpateHearing *hearing, uint32_t bearer);
/* Who could hear the radio; borrowed. */
const uint64_t *spate_hearing_row(SpateHearing *hearing, uint32_t sender);

/* A link, and by how much it falls short of being heard at all (negative: it does not). */
typedef struct {
    uint32_t sender, receiver;
    double distance_m, short_db;
} SpateMissingLink;

SpateMissingLink spate_hearing_link(const SpateHearing *hearing, uint32_t sender,
                                    uint32_t receiver);
