/* left-out.h - what the model leaves out, as docs/model.md has it */
#pragma once

#include <glib.h>

typedef struct {
    const char *what;
    const char *for_plan; /* in few words where it may turn a verdict on a mast; else NULL */
    const char *effect;   /* what it likely does to conclusions */
} SpateLeftOut;

/* Ends with {NULL}. */
extern const SpateLeftOut SPATE_LEFT_OUT[];

/* "The model leaves out woods and houses between nodes, ... and hardware that fails: ...", one line
 * without its end, to go beside verdicts on masts and relays. */
void spate_append_left_out(GString *text);
