/* instant.c - instants of a run as people read them */
#include "core/instant.h"

#include "core/time.h"

void
spate_append_instant(GString *text, int64_t at_ns)
{
    g_assert(at_ns >= 0);
    int64_t whole_s = at_ns / SPATE_NS_PER_S;
    g_string_append_printf(text, "%" G_GINT64_FORMAT ":%02d:%02d.%03d", whole_s / 3600,
                           (int)(whole_s / 60 % 60), (int)(whole_s % 60),
                           (int)(at_ns % SPATE_NS_PER_S / SPATE_NS_PER_MS));
}
