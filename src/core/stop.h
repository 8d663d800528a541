/* stop.h - the flag by which a signal or another thread ends work early */
#pragma once

#include <stdbool.h>

#include <glib.h>

/* Whether `stop` (may be NULL: never) is set.  Threads may set it meanwhile. */
static inline bool
spate_is_stopped(const volatile int *stop)
{
    return stop != NULL && g_atomic_int_get(stop) != 0;
}
