/* delay.c - frames that a rule lets wait for a quieter channel
 *
 * They wait where they would be sent: once a second, when the node looks how busy it has heard the
 * bearer to be, those whose bound it has fallen below go on their way, oldest first.  What has
 * waited for the longest time that its rule allows goes too.
 */
#include "mesh/mesh-private.h"

/* Its jitter only begins now. */
static void
let_go(SpateMesh *mesh, uint32_t slot)
{
    SpateFrame *frame = spate_frame_at(mesh, slot);
    spate_event_queue_cancel(mesh->queue, frame->timer);
    frame->state = SPATE_FRAME_JITTER;
    spate_frame_enqueue_later(mesh, slot, frame->jitter_ns);
}

void
spate_frame_end_delay(SpateMesh *mesh, uint32_t slot)
{
    for (guint i = 0; i < mesh->delayed->len; i++) {
        if (g_array_index(mesh->delayed, uint32_t, i) != slot)
            continue;
        g_array_remove_index(mesh->delayed, i);
        return;
    }
    g_assert_not_reached();
}

static void
has_waited_long_enough(gpointer subject, uint32_t slot)
{
    SpateMesh *mesh = subject;
    spate_frame_at(mesh, slot)->timer = 0;
    spate_frame_end_delay(mesh, slot);
    let_go(mesh, slot);
}

static bool
is_quiet_enough(const SpateMesh *mesh, const SpateFrame *frame)
{
    const SpateRadio *radio = &mesh->plan->radios[frame->facts.radio];
    return spate_occupancy_share(mesh->occupancy, radio->node, radio->bearer) <
           frame->delayed_until_below;
}

void
spate_mesh_release_delayed(gpointer user)
{
    SpateMesh *mesh = user;
    guint kept = 0;
    for (guint i = 0; i < mesh->delayed->len; i++) {
        uint32_t slot = g_array_index(mesh->delayed, uint32_t, i);
        if (is_quiet_enough(mesh, spate_frame_at(mesh, slot)))
            let_go(mesh, slot);
        else
            g_array_index(mesh->delayed, uint32_t, kept++) = slot;
    }
    g_array_set_size(mesh->delayed, kept);
}

void
spate_frame_delay(SpateMesh *mesh, uint32_t slot, const SpateRule *rule, int64_t jitter_ns)
{
    SpateFrame *frame = spate_frame_at(mesh, slot);
    frame->state = SPATE_FRAME_DELAYED;
    frame->delayed_until_below = rule->delay_until_below;
    frame->jitter_ns = jitter_ns;
    frame->timer = spate_event_queue_schedule(
        mesh->queue, spate_event_queue_now_ns(mesh->queue) + rule->delay_at_most_ns,
        SPATE_RANK_TIMER, has_waited_long_enough, mesh, slot);
    g_array_append_val(mesh->delayed, slot);
}
