/* faults-private.h - what was noted, for those who note and those who show
 *
 *     faults.c       notes what is wrong, once each
 *     faults-text.c  the text shown for it
 */
#pragma once

#include "scenario/text/faults.h"

typedef struct {
    SpatePlace place;
    bool is_warning;
    char *text, *context, *hint;
    guint order; /* in which it was noted */
} SpateFault;

typedef struct {
    char *name, *text;
    size_t length;
    bool is_table, is_map; /* map: of features, without lines */
} SpateFaultText;

struct SpateFaults {
    GArray *texts;     /* SpateFaultText */
    GArray *faults;    /* SpateFault, as they were noted */
    GHashTable *known; /* their kind, place and words */
    char *context;
    size_t n_faults, n_warnings, n_noted;
};
