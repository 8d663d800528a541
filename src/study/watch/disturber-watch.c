/* disturber-watch.c - whose frames break whose reception, in one run */
#include "study/watch/disturber-watch.h"

#include "study/watch/missed-watch.h"

struct SpateDisturberWatch {
    const SpatePlan *plan;
    int64_t warm_up_ns;
    SpateMissedWatch *missed; /* NULL: messages are not watched */
    SpateDisturberCounts counts;
    GHashTable *place; /* receiver and sender -> place among the pairs, plus 1 */
};

void
spate_disturber_counts_clear(SpateDisturberCounts *counts)
{
    g_clear_pointer(&counts->audible, g_free);
    g_clear_pointer(&counts->received, g_free);
    g_clear_pointer(&counts->sending, g_free);
    g_clear_pointer(&counts->asleep, g_free);
    g_clear_pointer(&counts->needed, g_free);
    g_clear_pointer(&counts->pairs, g_array_unref);
}

SpateDisturberWatch *
spate_disturber_watch_new(const SpatePlan *plan, int64_t warm_up_ns)
{
    SpateDisturberWatch *watch = g_new0(SpateDisturberWatch, 1);
    watch->plan = plan;
    watch->warm_up_ns = warm_up_ns;
    watch->counts.audible = g_new0(uint64_t, plan->n_radios);
    watch->counts.received = g_new0(uint64_t, plan->n_radios);
    watch->counts.sending = g_new0(uint64_t, plan->n_radios);
    watch->counts.asleep = g_new0(uint64_t, plan->n_radios);
    watch->counts.needed = g_new0(uint64_t, plan->n_radios);
    watch->counts.pairs = g_array_new(FALSE, FALSE, sizeof(SpateDisturbance));
    watch->place = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
    return watch;
}

void
spate_disturber_watch_free(SpateDisturberWatch *watch)
{
    if (watch == NULL)
        return;
    spate_disturber_counts_clear(&watch->counts);
    spate_missed_watch_free(watch->missed);
    g_hash_table_unref(watch->place);
    g_free(watch);
}

static SpateDisturbance *
pair_of(SpateDisturberWatch *watch, uint32_t receiver, uint32_t sender)
{
    GArray *pairs = watch->counts.pairs;
    gint64 key = (gint64)(((guint64)receiver << 32) | sender);
    guint place = GPOINTER_TO_UINT(g_hash_table_lookup(watch->place, &key));
    if (place == 0) {
        const SpateDisturbance none = {.receiver = receiver, .sender = sender};
        g_array_append_val(pairs, none);
        place = pairs->len;
        g_hash_table_insert(watch->place, g_memdup2(&key, sizeof key), GUINT_TO_POINTER(place));
    }
    return &g_array_index(pairs, SpateDisturbance, place - 1);
}

static void
note_needed(gpointer self, uint32_t radio)
{
    ((SpateDisturberWatch *)self)->counts.needed[radio]++;
}

static void
note_missed(gpointer self, uint32_t radio, uint32_t disturber)
{
    pair_of(self, radio, disturber)->n_missed++;
}

void
spate_disturber_watch_messages(SpateDisturberWatch *watch)
{
    const SpateMissedFuncs funcs = {note_needed, note_missed, watch};
    watch->missed = spate_missed_watch_new(watch->plan, watch->warm_up_ns, funcs);
}

static void
note_reception(SpateDisturberWatch *watch, const SpateReception *reception)
{
    uint32_t receiver = reception->receiver, sender = reception->disturber;
    SpateOutcome outcome = reception->outcome;
    watch->counts.audible[receiver]++;
    watch->counts.received[receiver] += outcome == SPATE_OUTCOME_RECEIVED;
    watch->counts.sending[receiver] += outcome == SPATE_OUTCOME_LOST_SENDING;
    watch->counts.asleep[receiver] += outcome == SPATE_OUTCOME_LOST_ASLEEP;
    if (outcome == SPATE_OUTCOME_RECEIVED || outcome == SPATE_OUTCOME_LOST_SENDING ||
        sender == SPATE_NO_DISTURBER)
        return;
    SpateDisturbance *pair = pair_of(watch, receiver, sender);
    pair->n_collision += outcome == SPATE_OUTCOME_LOST_COLLISION;
    pair->n_busy += outcome == SPATE_OUTCOME_LOST_BUSY;
    pair->n_blocked += outcome == SPATE_OUTCOME_LOST_BLOCKED;
}

static void
see(gpointer self, const SpateEvent *ended)
{
    SpateDisturberWatch *watch = self;
    bool counts = ended->frame->started_ns >= watch->warm_up_ns;
    for (size_t i = 0; counts && i < ended->n_receptions; i++)
        note_reception(watch, &ended->receptions[i]);
    if (watch->missed != NULL)
        spate_missed_watch_note(watch->missed, ended);
}

SpateObserver
spate_disturber_watch_observer(SpateDisturberWatch *watch)
{
    return (SpateObserver){SPATE_EVENT_ENDED, see, watch};
}

int
spate_disturbance_compare(gconstpointer a, gconstpointer b)
{
    const SpateDisturbance *first = a, *second = b;
    if (first->receiver != second->receiver)
        return first->receiver < second->receiver ? -1 : 1;
    return (first->sender > second->sender) - (first->sender < second->sender);
}

SpateDisturberCounts
spate_disturber_watch_counts(SpateDisturberWatch *watch)
{
    if (watch->missed != NULL)
        spate_missed_watch_end(watch->missed);
    SpateDisturberCounts counts = watch->counts;
    watch->counts = (SpateDisturberCounts){0};
    g_array_sort(counts.pairs, spate_disturbance_compare);
    return counts;
}
