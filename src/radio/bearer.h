/* bearer.h - a kind of link that all its radios share: settings, noise, interference */
#pragma once

#include "radio/modulation.h"
#include <stdbool.h>

typedef enum {
    SPATE_ACCESS_NONE,
    SPATE_ACCESS_CAD,
    SPATE_ACCESS_CSMA,
    SPATE_N_ACCESS_METHODS
} SpateAccessMethod;

/* How a radio decides when it may send (docs/model.md, Access to the channel). */
typedef struct {
    SpateAccessMethod method;
    int cad_slots;             /* a busy channel: wait 1 .. slots airtimes of the own frame */
    int cad_tries;             /* looks at the channel, then the frame is sent anyway */
    bool cad_payload;          /* a frame in its payload is found too */
    double cad_detection;      /* probability of finding a frame that is there */
    double csma_threshold_dbm; /* NAN: IEEE 802.11 clause 15, by the radio's own power */
} SpateAccess;

typedef struct {
    SpateModulation modulation;
    int overhead_bytes;      /* added to each payload */
    int largest_frame_bytes; /* overhead included */
    double noise_figure_db;
    double sensitivity_dbm;     /* NAN: noise + required SNR */
    double protection_same_db;  /* NAN: by the default table */
    double protection_other_db; /* NAN: by the default table */
    SpateAccess access;
    int64_t duty_limit_ns; /* largest time on air in any hour; 0: no limit */
    int64_t turnaround_ns; /* from the end of a lock to a sending */
} SpateBearer;

/* N = -174 dBm/Hz + 10 log10(B / 1 Hz) + NF.  -174 dBm/Hz is k T0 at 290 K as the
 * trade rounds it (-173.98). */
double spate_noise_floor_dbm(double bandwidth_hz, double noise_figure_db);

/* Without the noise rise of a single radio, which adds to both. */
double spate_bearer_noise_dbm(const SpateBearer *bearer);
double spate_bearer_sensitivity_dbm(const SpateBearer *bearer);
/* Required SNR theta0: sensitivity - noise. */
double spate_bearer_required_snr_db(const SpateBearer *bearer);

/* How frames of `other` disturb a receiver of `wanted` (docs/model.md, rule 4): a
 * frame of power I there counts as  I * share * protection  against the wanted
 * frame's power.  `share` is the part of its power that the receiver takes in
 * (overlap or selectivity); share 0: no disturbance. */
typedef struct {
    double share;      /* linear, 0 .. 1 */
    double protection; /* linear */
} SpateInterference;

SpateInterference spate_bearer_interference(const SpateBearer *wanted, const SpateBearer *other);

/* The same for anything but frames on the sender's channel: noise, so that its protection ratio is
 * the required SNR and its share the larger of overlap and selectivity. */
SpateInterference spate_bearer_noise_interference(const SpateBearer *wanted,
                                                  const SpateBearer *channel);

/* Level at which a csma radio of that conducted power finds the channel busy. */
double spate_bearer_csma_threshold_dbm(const SpateBearer *bearer, double power_dbm);
