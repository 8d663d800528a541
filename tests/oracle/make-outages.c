/* make-outages.c - random outages, at instants at which something else happens too */
#include "oracle/making.h"

static void
say_node(Making *m, Outline *outage)
{
    if (m->has_group && making_chance(m, 20))
        outline_say(outage, "node", "folk");
    else
        outline_say(outage, "node", "%s", m->node[making_whole(m, 0, m->n_nodes - 1)]);
}

/* As long as a part of a frame, or as some frames. */
static int64_t
draw_length_ns(Making *m)
{
    int64_t length_ns = making_chance(m, 40)
                            ? making_offset_ns(m)
                            : m->slowest_ns * making_whole(m, 1, 12) / making_whole(m, 1, 4);
    return MAX(length_ns, 1000);
}

static void
say_ns(Outline *outage, const char *key, int64_t ns)
{
    outline_say(outage, key, "%" G_GINT64_FORMAT " ns", ns);
}

/* Often while a frame is on the air that began at a favourite instant. */
static void
say_given(Making *m, Outline *outage)
{
    int64_t at_ns = making_instant_ns(m);
    if (making_chance(m, 40))
        at_ns += making_offset_ns(m);
    say_ns(outage, "at", at_ns);
    say_ns(outage, "for", draw_length_ns(m));
}

void
making_add_outages(Making *m)
{
    if (!making_chance(m, 40))
        return;
    Outline *outages = outline_put(m->root, "outages", outline_new(OUTLINE_LIST));
    for (int i = making_whole(m, 1, 6); i > 0; i--) {
        Outline *outage = outline_append(outages, outline_new(OUTLINE_MAP));
        say_node(m, outage);
        if (making_chance(m, 70)) {
            say_given(m, outage);
        } else {
            making_say_time(outage, "mean-between", m->duration_ns / making_whole(m, 1, 12));
            making_say_time(outage, "mean-time", m->duration_ns / making_whole(m, 8, 60));
        }
    }
}
