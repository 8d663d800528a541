/* star.h - a medium of given levels for tests: one bearer, one radio a node */
#pragma once

#include "channel/medium.h"

typedef struct {
    SpateBearer bearer;
    SpatePropagation propagation;
    SpateFading fading;
    uint64_t bearer_hash;
} Star;

/* Level at which `receiver` hears `sender`, in dBm; -300 for never. */
typedef double (*StarLevel)(uint32_t sender, uint32_t receiver, void *user);

/* The star must outlive the medium.  `power_dbm` only matters to the csma threshold. */
SpateMedium *star_medium(Star *star, uint32_t n_nodes, double power_dbm, StarLevel level,
                         void *user);

/* The usual settings of a bearer, everything else by default. */
SpateBearer star_lora(int spreading_factor, int preamble_symbols, int lock_symbols);
SpateBearer star_dsss(int64_t rate_bps);
