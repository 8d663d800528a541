/* left-out.h - what the model leaves out, as docs/model.md has it */
#pragma once

typedef struct {
    const char *what, *effect; /* what it likely does to conclusions */
} SpateLeftOut;

/* Ends with {NULL}. */
extern const SpateLeftOut SPATE_LEFT_OUT[];
