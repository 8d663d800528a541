/* gdal.c - GDAL, loaded when the first map is read or drawn */
#include "ground/gdal.h"

#include <gio/gio.h>

#ifdef SPATE_HAS_GDAL

#include <dlfcn.h>

SpateGdal spate_gdal;

/* What is missing; NULL if nothing. */
static char *
load(void)
{
    void *library = dlopen(SPATE_GDAL_LIBRARY, RTLD_NOW | RTLD_LOCAL);
    if (library == NULL)
        return g_strdup(dlerror());
/* POSIX: dlsym() gives functions too, though ISO C keeps their pointers apart from others. */
#define FIND(function)                                                                             \
    if ((*(void **)&spate_gdal.function = dlsym(library, #function)) == NULL)                      \
        return g_strdup("it lacks " #function);
    SPATE_GDAL_FUNCTIONS(FIND)
#undef FIND
    spate_gdal.GDALAllRegister();
    return NULL;
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
