/* left-out.c - what the model leaves out */
#include "report/words/left-out.h"

#include <stddef.h>

const SpateLeftOut SPATE_LEFT_OUT[] = {
    {"propagation delay", NULL, "none at these distances"},
    {"the ground between nodes where no `terrain` is given, and what a height model of bare earth "
     "does not show: woods, houses",
     "woods and houses between nodes (hills too, where no `terrain` is given)",
     "links across a hill or a wood look better than they are, and a repeater on the hill less "
     "useful; give such pairs their loss in `links`, or `extra-loss`"},
    {"clock drift, frequency error", NULL,
     "LoRa tolerates a quarter of the bandwidth; narrow bandwidths (below 62.5 kHz) look better "
     "than they are"},
    {"multipath between symbols", NULL,
     "none for these rates; 2.4 GHz at 2 Mbit/s in large halls looks a little better"},
    {"graded errors: a frame above the threshold always decodes", NULL,
     "the edge of coverage is sharper than it is; use fading and shadowing"},
    {"fading within a frame", NULL,
     "long frames at the edge look a little better for moving nodes"},
    {"receiver overload and desensing beyond selectivity and `isolation`", NULL,
     "very near radios (below 1 m) look better than they are"},
    {"intermodulation, spurious emissions", "other services on the mast",
     "masts shared with other services look better than they are"},
    {"people who move, beyond `moves`", "people who move", "availability looks better than it is"},
    {"Doppler shift, and fading that goes with the speed", NULL,
     "none for these rates at a walk or a drive; `coherence` of fading is as long for who moves as "
     "for who stands"},
    {"hardware that fails, beyond `outages`", "hardware that fails",
     "availability looks better than it is"},
    {NULL, NULL, NULL},
};

void
spate_append_left_out(GString *text)
{
    g_autoptr(GPtrArray) all = g_ptr_array_new();
    for (size_t i = 0; SPATE_LEFT_OUT[i].what != NULL; i++)
        if (SPATE_LEFT_OUT[i].for_plan != NULL)
            g_ptr_array_add(all, (gpointer)SPATE_LEFT_OUT[i].for_plan);
    g_string_append(text, "The model leaves out ");
    for (guint i = 0; i < all->len; i++)
        g_string_append_printf(text, "%s%s",
                               i == 0             ? ""
                               : i + 1 < all->len ? ", "
                                                  : " and ",
                               (const char *)all->pdata[i]);
    g_string_append(text, ": they may change the value of a mast.");
}
