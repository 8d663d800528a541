/* twin.h - a slow, plain second reading of docs/model.md, "A frame at a receiver"
 *
 * All pairs, floating point, no cut-off, no event queue: at each instant at which anything
 * happens everything is worked out anew from the list of frames.  It shares nothing with the
 * channel but the timing of frames and the protection ratios of src/radio/.
 */
#pragma once

#include "channel/channel.h"

#define TWIN_MOST_NODES   8
#define TWIN_MOST_BEARERS 3
#define TWIN_MOST_RADIOS  (TWIN_MOST_NODES * TWIN_MOST_BEARERS)
#define TWIN_MOST_FRAMES  64

typedef struct {
    uint32_t radio;
    int64_t start_ns, airtime_ns;
} TwinFrame;

/* Who is there, and who means to send when.  Frames of one radio do not overlap. */
typedef struct {
    uint32_t n_bearers, n_nodes, n_radios, n_frames;
    SpateBearer bearers[TWIN_MOST_BEARERS];
    uint32_t node[TWIN_MOST_RADIOS], bearer[TWIN_MOST_RADIOS];
    double loss_db[TWIN_MOST_RADIOS][TWIN_MOST_NODES]; /* sender's radio to the other node */
    double isolation_db[TWIN_MOST_NODES];
    SpateListening listening[TWIN_MOST_RADIOS];
    int64_t phase_ns[TWIN_MOST_RADIOS]; /* of radios that sleep: set by drive_phases() */
    TwinFrame frames[TWIN_MOST_FRAMES];
} TwinScript;

typedef struct {
    bool audible;
    SpateOutcome outcome;
    uint32_t disturber;
} TwinFate;

typedef struct {
    bool skipped[TWIN_MOST_FRAMES]; /* the radio was locked (or sending) when it meant to begin */
    TwinFate fates[TWIN_MOST_FRAMES][TWIN_MOST_RADIOS];
    int64_t busy_ns[TWIN_MOST_RADIOS], awake_ns[TWIN_MOST_RADIOS];
    double closest; /* relative distance of the closest comparison from a tie */
} TwinResult;

void twin_run(const TwinScript *script, TwinResult *result);
