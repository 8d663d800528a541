/* stations.h - radios that ask for the channel, and when they were given it */
#pragma once

#include "channel/access.h"
#include "channel/star.h"

#define MOST_STARTS 400000

typedef struct {
    SpateEventQueue *queue;
    SpateChannel *channel;
    SpateAccessControl *access;
    int64_t airtime_ns;
    bool saturated;
    uint64_t n_requests;
    int64_t *starts_ns; /* of all radios, in order */
    uint32_t *starters;
    SpateAccessWaits waits;
    guint n_starts;
} Stations;

/* Levels for star_medium(): everybody at -50 dBm; or radio 0 alone, which hears radio 1 with the
 * level that `user` points to (double, in dBm). */
double all_hear_all(uint32_t sender, uint32_t receiver, void *user);
double only_the_first_hears(uint32_t sender, uint32_t receiver, void *user);

/* `saturated`: a radio asks again as soon as it has sent. */
void stations_init(Stations *stations, SpateMedium *medium, int64_t airtime_ns, bool saturated);
void stations_clear(Stations *stations);
void stations_request(Stations *stations, uint32_t radio);
/* An event for that: the subject is the stations. */
void stations_request_later(gpointer stations, uint32_t radio);

/* A radio that was sending when the critical part of another's frame began hears it without
 * being locked: radio 0 sends from 0 to `own_ns`, radio 1 from `other_ns` to `other_end_ns`. */
typedef struct {
    Stations stations;
    int64_t own_ns, other_ns, other_end_ns;
} Unlocked;

/* Runs to the end of the radio's own frame; there it asks for the channel, and again after each
 * frame if it is saturated. */
void unlocked_begin(Unlocked *unlocked, SpateMedium *medium, int64_t airtime_ns, bool saturated);
