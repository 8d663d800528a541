/* failing.c - what a node loses when it goes down
 *
 * All that it holds: what waits to be sent, what it remembers of messages, what its rules have
 * counted.  What others hold of it survives, and so does what is written down: the tries of its
 * exchanges and what it has sent within the hour of the duty cycle.
 */
#include "mesh/mesh-private.h"

static void
go_down(SpateMesh *mesh, uint32_t number)
{
    const SpateNode *node = &mesh->plan->nodes[number];
    spate_mesh_tell_message(mesh, SPATE_EVENT_WENT_DOWN, number, 0, NULL);
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++) {
        spate_queue_lose(mesh, r);
        spate_channel_switch_off(mesh->channel, r);
    }
    spate_digests_lose(mesh, number);
    spate_duplicates_clear(mesh->duplicates, number);
    spate_routes_forget(mesh, number);
    if (mesh->relay_memory[number] != NULL)
        spate_rule_memory_reset(mesh->relay_memory[number]);
    if (mesh->failed != NULL)
        mesh->failed(mesh->arrived_user, number);
}

/* What the node knew of the message, and frames of it that had not reached a queue.  Whether it was
 * delivered is its user's to know. */
static void
forget_message(SpateMesh *mesh, uint32_t slot, uint32_t number)
{
    const SpateNode *node = &mesh->plan->nodes[number];
    const SpateMessage *message = spate_message_at(&mesh->pool, slot);
    SpateKnowledge *knowledge = &message->at_node[number];
    knowledge->is_known = knowledge->is_answered = false;
    /* With its last frame the message goes. */
    for (uint32_t r = node->first_radio;
         message->references > 0 && r < node->first_radio + node->n_radios; r++)
        if (message->on_radio[r] != SPATE_NO_FRAME)
            spate_frame_lose(mesh, message->on_radio[r]);
}

/* One walk over all that is under way, for all nodes that failed together. */
static void
forget_messages(SpateMesh *mesh, const SpateOutageChanges *changes)
{
    for (uint32_t slot = 0; slot < mesh->pool.messages->len; slot++)
        for (uint32_t i = 0; i < changes->n_down; i++)
            if (spate_message_at(&mesh->pool, slot)->references > 0)
                forget_message(mesh, slot, changes->down[i]);
}

static void
come_back(SpateMesh *mesh, uint32_t number)
{
    const SpateNode *node = &mesh->plan->nodes[number];
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
        spate_channel_switch_on(mesh->channel, r);
    spate_mesh_tell_message(mesh, SPATE_EVENT_CAME_BACK, number, 0, NULL);
}

void
spate_mesh_heed_outages(SpateMesh *mesh)
{
    const SpateOutageChanges changes = spate_outages_settle(mesh->outages);
    for (uint32_t i = 0; i < changes.n_down; i++)
        go_down(mesh, changes.down[i]);
    if (changes.n_down > 0)
        forget_messages(mesh, &changes);
    for (uint32_t i = 0; i < changes.n_back; i++)
        come_back(mesh, changes.back[i]);
}
