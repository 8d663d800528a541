/* left-out.c - what the model leaves out */
#include "report/left-out.h"

#include <stddef.h>

const SpateLeftOut SPATE_LEFT_OUT[] = {
    {"propagation delay", "none at these distances"},
    {"clock drift, frequency error", "LoRa tolerates a quarter of the bandwidth; narrow bandwidths "
                                     "(below 62.5 kHz) look better than they are"},
    {"multipath between symbols",
     "none for these rates; 2.4 GHz at 2 Mbit/s in large halls looks a little better"},
    {"graded errors: a frame above the threshold always decodes",
     "the edge of coverage is sharper than it is; use fading and shadowing"},
    {"fading within a frame", "long frames at the edge look a little better for moving nodes"},
    {"receiver overload and desensing beyond selectivity and `isolation`",
     "very near radios (below 1 m) look better than they are"},
    {"intermodulation, spurious emissions",
     "masts shared with other services look better than they are"},
    {"people who move, hardware that fails", "availability looks better than it is"},
    {NULL, NULL},
};
