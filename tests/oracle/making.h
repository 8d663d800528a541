/* making.h - what the files that make scenarios share: draws, and what was decided so far */
#pragma once

#include "core/random.h"
#include "oracle/outline.h"
#include "radio/modulation.h"
#include <stdbool.h>

#define MOST_NODES      7
#define MOST_BEARERS    4
#define MOST_TRAFFICS   5
#define MOST_FAVOURITES 4

typedef struct {
    const char *name;
    SpateModulation modulation;
    const char *bandwidth; /* lora: as written */
    int overhead;
    int64_t airtime_ns; /* of a frame of middling size */
    int budget_tenths;  /* the loss, in 0.1 dB, at which a radio of 14 dBm is just heard */
} MakingBearer;

typedef struct {
    SpateRandom random;
    Outline *root;
    const char *node[MOST_NODES];
    MakingBearer bearers[MOST_BEARERS];
    const char *traffic[MOST_TRAFFICS];
    int n_nodes, n_bearers, n_traffics;
    bool has_group;
    bool
        is_wide; /* every other node stands high, the others low and kilometres away: as for Hata */
    int side_m;  /* of the square in which nodes stand */
    bool is_geographic; /* places are in degrees, from this corner of the square on */
    double latitude_deg, longitude_deg;
    bool is_sleepy;     /* many radios sleep */
    bool weakest_first; /* levels are told apart by their last digit: none are equal on purpose */
    bool has_radio[MOST_NODES][MOST_BEARERS];
    bool relays[MOST_NODES];
    int64_t slowest_ns; /* airtime of the slowest bearer */
    int64_t duration_ns;
    int64_t favourites_ns[MOST_FAVOURITES]; /* instants at which several things happen */
    int n_favourites;
    int64_t offset_ns; /* from those to others, at which something else is decided */
} Making;

bool making_chance(Making *m, int percent);
/* Both ends included. */
int making_whole(Making *m, int least, int most);
const char *making_word(Making *m, const char *const *words, size_t n);
#define MAKING_ONE_OF(m, ...)                                                                      \
    making_word(m, (const char *const[]){__VA_ARGS__},                                             \
                sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))

void making_say_tenths(Outline *map, const char *key, int tenths, const char *unit);
void making_say_time(Outline *map, const char *key, int64_t ns);
void making_say_nodes(Making *m, Outline *map, const char *key, bool may_be_everyone);

/* make-bearers.c */
void making_add_bearers(Making *m);
/* make-nodes.c */
/* Metres in the square; as degrees of a sphere, which need not be exact. */
void making_say_spot(const Making *m, Outline *map, int x_m, int y_m);
void making_add_nodes(Making *m);
void making_add_links(Making *m);
void making_add_ambient(Making *m);
/* make-traffic.c */
/* How long after the start of a frame something happens to it, or somebody looks at it. */
int64_t making_offset_ns(Making *m);
/* One at which something else may happen too. */
int64_t making_instant_ns(Making *m);
void making_add_traffic(Making *m);
void making_add_flooding(Making *m);
void making_add_bridges(Making *m);
/* make-outages.c */
void making_add_outages(Making *m);
/* make-moves.c, after the nodes and what is at their instants */
void making_add_moves(Making *m);
