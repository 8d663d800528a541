/* initialize.c - what GLib complains of ends the program: a finding like any other */
#include "fuzz.h"

#include <glib.h>

int
LLVMFuzzerInitialize(int *argc, char ***argv)
{
    g_log_set_always_fatal(G_LOG_FATAL_MASK | G_LOG_LEVEL_CRITICAL | G_LOG_LEVEL_WARNING);
    return 0;
}
