/* disturber-watch.c - whose frames break whose reception, in one run */
#include "study/watch/disturber-watch.h"

#include "study/watch/missed-watch.h"

#define FEWEST_SLOTS 64

struct SpateDisturberWatch {
    const SpatePlan *plan;
    int64_t warm_up_ns;
    SpateMissedWatch *missed;               /* NULL: messages are not watched */
    uint64_t (*outcomes)[SPATE_N_OUTCOMES]; /* by radio that hears */
    SpateDisturberCounts counts;
    /* Where each pair is: its place, plus 1, in the slot that its hash says or the first after it
     * that is free (0).  A power of two, at least half of them free. */
    uint32_t *slots, n_slots;
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
    watch->outcomes = g_malloc0_n(plan->n_radios, sizeof watch->outcomes[0]);
    watch->counts.needed = g_new0(uint64_t, plan->n_radios);
    watch->counts.pairs = g_array_new(FALSE, FALSE, sizeof(SpateDisturbance));
    watch->n_slots = FEWEST_SLOTS;
    watch->slots = g_new0(uint32_t, watch->n_slots);
    return watch;
}

void
spate_disturber_watch_free(SpateDisturberWatch *watch)
{
    if (watch == NULL)
        return;
    spate_disturber_counts_clear(&watch->counts);
    spate_missed_watch_free(watch->missed);
    g_free(watch->outcomes);
    g_free(watch->slots);
    g_free(watch);
}

static SpateDisturbance *
pair_at(const SpateDisturberWatch *watch, uint32_t slot)
{
    return &g_array_index(watch->counts.pairs, SpateDisturbance, watch->slots[slot] - 1);
}

/* That of the pair, or the free one that it will have. */
static uint32_t
find_slot(const SpateDisturberWatch *watch, uint32_t receiver, uint32_t sender)
{
    /* Fibonacci hashing (Knuth, TAOCP 3, 6.4): the multiplier is 2^64 over the golden ratio. */
    uint64_t hash = ((uint64_t)receiver << 32 | sender) * UINT64_C(0x9E3779B97F4A7C15);
    uint32_t slot = (uint32_t)(hash >> 32) & (watch->n_slots - 1);
    while (watch->slots[slot] != 0 &&
           (pair_at(watch, slot)->receiver != receiver || pair_at(watch, slot)->sender != sender))
        slot = (slot + 1) & (watch->n_slots - 1);
    return slot;
}

static void
double_slots(SpateDisturberWatch *watch)
{
    const GArray *pairs = watch->counts.pairs;
    watch->n_slots *= 2;
    g_free(watch->slots);
    watch->slots = g_new0(uint32_t, watch->n_slots);
    for (guint i = 0; i < pairs->len; i++) {
        const SpateDisturbance *pair = &g_array_index(pairs, SpateDisturbance, i);
        watch->slots[find_slot(watch, pair->receiver, pair->sender)] = i + 1;
    }
}

static SpateDisturbance *
add_pair(SpateDisturberWatch *watch, uint32_t receiver, uint32_t sender)
{
    GArray *pairs = watch->counts.pairs;
    const SpateDisturbance none = {.receiver = receiver, .sender = sender};
    if (pairs->len >= watch->n_slots / 2)
        double_slots(watch);
    watch->slots[find_slot(watch, receiver, sender)] = pairs->len + 1;
    g_array_append_val(pairs, none);
    return &g_array_index(pairs, SpateDisturbance, pairs->len - 1);
}

static SpateDisturbance *
pair_of(SpateDisturberWatch *watch, uint32_t receiver, uint32_t sender)
{
    uint32_t slot = find_slot(watch, receiver, sender);
    return watch->slots[slot] != 0 ? pair_at(watch, slot) : add_pair(watch, receiver, sender);
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
    watch->outcomes[receiver][outcome]++;
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

static void
sum_outcomes(SpateDisturberWatch *watch)
{
    SpateDisturberCounts *counts = &watch->counts;
    uint32_t n = watch->plan->n_radios;
    counts->audible = g_new0(uint64_t, n);
    counts->received = g_new0(uint64_t, n);
    counts->sending = g_new0(uint64_t, n);
    counts->asleep = g_new0(uint64_t, n);
    for (uint32_t r = 0; r < n; r++) {
        const uint64_t *outcomes = watch->outcomes[r];
        for (size_t k = 0; k < SPATE_N_OUTCOMES; k++)
            counts->audible[r] += outcomes[k];
        counts->received[r] = outcomes[SPATE_OUTCOME_RECEIVED];
        counts->sending[r] = outcomes[SPATE_OUTCOME_LOST_SENDING];
        counts->asleep[r] = outcomes[SPATE_OUTCOME_LOST_ASLEEP];
    }
}

SpateDisturberCounts
spate_disturber_watch_counts(SpateDisturberWatch *watch)
{
    if (watch->missed != NULL)
        spate_missed_watch_end(watch->missed);
    sum_outcomes(watch);
    SpateDisturberCounts counts = watch->counts;
    watch->counts = (SpateDisturberCounts){0};
    g_array_sort(counts.pairs, spate_disturbance_compare);
    return counts;
}
