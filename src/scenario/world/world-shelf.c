/* world-shelf.c - media of worlds with the same links
 *
 * Runs of one replication come one soon after the other, one of each world.  The first to need its
 * medium builds it, and the others find it here.  Who comes while it is being built does not wait
 * but builds one too: they are the same.
 */
#include "scenario/world/world-private.h"

typedef struct {
    uint32_t replication;
    uint32_t n_left; /* worlds that did not have it yet */
    SpateMedium *medium;
} ShelvedMedium;

static void
shelved_free(gpointer shelved)
{
    spate_medium_unref(((ShelvedMedium *)shelved)->medium);
    g_free(shelved);
}

void
spate_world_shelf_init(SpateWorld *world)
{
    pthread_mutex_init(&world->shelving, NULL);
    world->shelf = g_queue_new();
}

void
spate_world_shelf_clear(SpateWorld *world)
{
    g_queue_free_full(world->shelf, shelved_free);
    pthread_mutex_destroy(&world->shelving);
}

static GList *
find(const SpateWorld *lender, uint32_t replication)
{
    GList *at = lender->shelf->head;
    while (at != NULL && ((ShelvedMedium *)at->data)->replication != replication)
        at = at->next;
    return at;
}

/* One world has it now. */
static void
count_down(SpateWorld *lender, GList *at)
{
    ShelvedMedium *shelved = at->data;
    if (--shelved->n_left > 0)
        return;
    g_queue_delete_link(lender->shelf, at);
    shelved_free(shelved);
}

/* Replications come one after the other: what no run uses by the time of a new one, worlds that are
 * stopped or left out will never ask for.  So there are no more than runs at a time, and one. */
static void
drop_unused(const SpateWorld *lender)
{
    GList *at = lender->shelf->head;
    while (at != NULL) {
        GList *next = at->next;
        ShelvedMedium *shelved = at->data;
        if (g_atomic_int_get(&shelved->medium->references) == 1) {
            g_queue_delete_link(lender->shelf, at);
            shelved_free(shelved);
        }
        at = next;
    }
}

SpateMedium *
spate_world_shelf_take(SpateWorld *lender, uint32_t replication)
{
    SpateMedium *medium = NULL;
    pthread_mutex_lock(&lender->shelving);
    GList *at = find(lender, replication);
    if (at != NULL) {
        medium = spate_medium_ref(((ShelvedMedium *)at->data)->medium);
        count_down(lender, at);
    }
    pthread_mutex_unlock(&lender->shelving);
    return medium;
}

void
spate_world_shelf_put(SpateWorld *lender, uint32_t replication, SpateMedium *medium)
{
    pthread_mutex_lock(&lender->shelving);
    GList *at = find(lender, replication);
    uint32_t n_others = (uint32_t)g_atomic_int_get(&lender->n_borrowers);
    if (at != NULL) {
        count_down(lender, at);
    } else if (n_others > 0) {
        ShelvedMedium *shelved = g_new(ShelvedMedium, 1);
        *shelved = (ShelvedMedium){replication, n_others, spate_medium_ref(medium)};
        drop_unused(lender);
        g_queue_push_head(lender->shelf, shelved);
    }
    pthread_mutex_unlock(&lender->shelving);
}
