/* turns.c - of the runs that go side by side, one at a time may take much memory */
#include "study/run/turns.h"

#include "core/stop.h"

/* Between two looks at the turn and at `stop`, which nobody signals: short beside a run that takes
 * much memory. */
#define LOOK_EACH_US 20000

void
spate_turns_begin(SpateTurns *turns)
{
    g_atomic_int_inc(&turns->n_going);
}

void
spate_turns_end(SpateTurns *turns, bool has_turn)
{
    g_atomic_int_add(&turns->n_going, -1);
    if (!has_turn)
        return;
    pthread_mutex_lock(&turns->mutex);
    g_assert(turns->taker == g_thread_self());
    if (--turns->n_inside == 0)
        turns->taker = NULL;
    pthread_mutex_unlock(&turns->mutex);
}

bool
spate_turns_are_needed(SpateTurns *turns, gsize bytes)
{
    guint n_going = (guint)g_atomic_int_get(&turns->n_going);
    guint n_least = turns->n_least > 0 ? turns->n_least : g_get_num_processors();
    return bytes > turns->most / MAX(n_going, n_least);
}

static bool
try_to_take(SpateTurns *turns)
{
    GThread *self = g_thread_self();
    pthread_mutex_lock(&turns->mutex);
    bool is_ours = turns->taker == NULL || turns->taker == self;
    if (is_ours) {
        turns->taker = self;
        turns->n_inside++;
    }
    pthread_mutex_unlock(&turns->mutex);
    return is_ours;
}

bool
spate_turns_take(SpateTurns *turns, const volatile int *stop)
{
    while (!try_to_take(turns)) {
        if (spate_is_stopped(stop))
            return false;
        g_usleep(LOOK_EACH_US);
    }
    return true;
}
