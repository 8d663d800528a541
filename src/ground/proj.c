/* proj.c - PROJ, loaded at the first place on the globe */
#include "ground/proj.h"

#include "ground/library.h"
#include <glib.h>
#include <pthread.h>

static SpateProj proj;

static void
load(void)
{
#define NAME(function) #function,
    static const char *const NAMES[] = {SPATE_PROJ_FUNCTIONS(NAME)};
#undef NAME
    char *missing = spate_library_load(SPATE_PROJ_LIBRARY, NAMES, &proj, G_N_ELEMENTS(NAMES));
    if (missing != NULL)
        g_error("PROJ, which works out ways on the globe, cannot be loaded: %s", missing);
}

const SpateProj *
spate_proj(void)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, load);
    return &proj;
}
