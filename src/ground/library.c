/* library.c - a shared library that is loaded when it is needed */
#include "ground/library.h"

#include <dlfcn.h>
#include <glib.h>
#include <string.h>

char *
spate_library_load(const char *file, const char *const *names, void *table, size_t n)
{
    void *library = dlopen(file, RTLD_NOW | RTLD_LOCAL);
    if (library == NULL)
        return g_strdup(dlerror());
    for (size_t i = 0; i < n; i++) {
        /* POSIX: dlsym() gives functions too, though ISO C keeps their pointers apart from others.
         */
        void *function = dlsym(library, names[i]);
        if (function == NULL)
            return g_strdup_printf("it lacks %s", names[i]);
        memcpy((char *)table + i * sizeof function, &function, sizeof function);
    }
    return NULL;
}
