/* gdal.c - GDAL, loaded when the first map is read or drawn */
#include "ground/gdal.h"

#include "ground/library.h"
#include <gio/gio.h>

#ifdef SPATE_HAS_GDAL

SpateGdal spate_gdal;

/* What is missing; NULL if nothing. */
static char *
load(void)
{
#define NAME(function) #function,
    static const char *const NAMES[] = {SPATE_GDAL_FUNCTIONS(NAME)};
#undef NAME
    char *missing = spate_library_load(SPATE_GDAL_LIBRARY, NAMES, &spate_gdal, G_N_ELEMENTS(NAMES));
    if (missing == NULL)
        spate_gdal.GDALAllRegister();
    return missing;
}

static gpointer
load_once(gpointer nothing)
{
    return load();
}

bool
spate_gdal_load(GError **error)
{
    static GOnce once = G_ONCE_INIT;
    const char *missing = g_once(&once, load_once, NULL);
    if (missing == NULL)
        return true;
    g_set_error(error, G_IO_ERROR, G_IO_ERROR_NOT_SUPPORTED,
                "GDAL, which reads and draws maps, cannot be loaded: %s", missing);
    return false;
}

#else

bool
spate_gdal_load(GError **error)
{
    g_set_error(error, G_IO_ERROR, G_IO_ERROR_NOT_SUPPORTED,
                "this program was built without GDAL, which reads and draws maps");
    return false;
}

#endif
