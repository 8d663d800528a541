/* missed-watch.c - messages that a radio needs and its node never got, in one run */
#include "study/watch/missed-watch.h"

#include <string.h>

#define REMEMBERED 512

/* Of a message at a radio: else the disturber of its last broken copy, plus 1. */
#define UNHEARD UINT32_C(0)
#define NOBODY  UINT32_MAX /* within reach, and nobody is to blame */

/* A message that is remembered. */
typedef struct {
    bool is_used;
    uint32_t number;
    uint32_t *blamed; /* by radio; of copies that it needs */
    bool *has_got;    /* by node */
} Slot;

struct SpateMissedWatch {
    const SpatePlan *plan;
    int64_t warm_up_ns;
    SpateMissedFuncs funcs;
    bool *carries_on; /* by radio: it relays, or a crossing begins at it */
    Slot slots[REMEMBERED];
};

SpateMissedWatch *
spate_missed_watch_new(const SpatePlan *plan, int64_t warm_up_ns, SpateMissedFuncs funcs)
{
    SpateMissedWatch *watch = g_new0(SpateMissedWatch, 1);
    watch->plan = plan;
    watch->warm_up_ns = warm_up_ns;
    watch->funcs = funcs;
    watch->carries_on = g_new0(bool, plan->n_radios + 1u);
    for (uint32_t i = 0; i < plan->n_radios; i++)
        watch->carries_on[i] = plan->radios[i].relays;
    for (uint32_t i = 0; i < plan->n_crossings; i++) {
        const SpateNode *node = &plan->nodes[plan->crossings[i].node];
        for (uint32_t k = node->first_radio; k < node->first_radio + node->n_radios; k++)
            if (plan->radios[k].bearer == plan->crossings[i].from_bearer)
                watch->carries_on[k] = true;
    }
    for (size_t i = 0; i < REMEMBERED; i++) {
        watch->slots[i].blamed = g_new0(uint32_t, plan->n_radios + 1u);
        watch->slots[i].has_got = g_new0(bool, plan->n_nodes + 1u);
    }
    return watch;
}

void
spate_missed_watch_free(SpateMissedWatch *watch)
{
    if (watch == NULL)
        return;
    for (size_t i = 0; i < REMEMBERED; i++) {
        g_free(watch->slots[i].blamed);
        g_free(watch->slots[i].has_got);
    }
    g_free(watch->carries_on);
    g_free(watch);
}

/* This copy: a relay can only carry on what has hops left. */
static bool
needs(const SpateMissedWatch *watch, uint32_t radio, const SpateFrameFacts *frame)
{
    uint32_t number = watch->plan->radios[radio].node;
    const SpateNode *node = &watch->plan->nodes[number];
    const SpateTrafficKind *traffic = &watch->plan->traffics[frame->message.traffic];
    uint32_t limit = traffic->hop_limit > 0 ? traffic->hop_limit : node->flooding.hop_limit;
    return number != frame->message.origin && ((watch->carries_on[radio] && frame->hops < limit) ||
                                               spate_is_recipient(traffic, number));
}

/* Nothing more is heard of it. */
static void
forget(SpateMissedWatch *watch, Slot *slot)
{
    const SpatePlan *plan = watch->plan;
    for (uint32_t i = 0; slot->is_used && i < plan->n_radios; i++) {
        uint32_t blamed = slot->blamed[i];
        if (blamed == UNHEARD)
            continue;
        watch->funcs.needed(watch->funcs.user, i);
        if (blamed != NOBODY && !slot->has_got[plan->radios[i].node])
            watch->funcs.missed(watch->funcs.user, i, blamed - 1);
    }
    slot->is_used = false;
    memset(slot->blamed, 0, plan->n_radios * sizeof *slot->blamed);
    memset(slot->has_got, 0, plan->n_nodes * sizeof *slot->has_got);
}

/* NULL: it was forgotten. */
static Slot *
slot_of(SpateMissedWatch *watch, const SpateMessageFacts *message)
{
    Slot *slot = &watch->slots[message->number % REMEMBERED];
    if (slot->is_used && slot->number > message->number)
        return NULL;
    if (!slot->is_used || slot->number < message->number) {
        forget(watch, slot);
        slot->is_used = true;
        slot->number = message->number;
    }
    return slot;
}

void
spate_missed_watch_note(SpateMissedWatch *watch, const SpateEvent *ended)
{
    if (ended->message->offered_ns < watch->warm_up_ns)
        return;
    Slot *slot = slot_of(watch, ended->message);
    for (size_t i = 0; slot != NULL && i < ended->n_receptions; i++) {
        const SpateReception *reception = &ended->receptions[i];
        uint32_t radio = reception->receiver;
        if (reception->outcome == SPATE_OUTCOME_RECEIVED)
            slot->has_got[watch->plan->radios[radio].node] = true;
        if (!needs(watch, radio, ended->frame))
            continue;
        if (reception->disturber != SPATE_NO_DISTURBER)
            slot->blamed[radio] = MIN(reception->disturber, NOBODY - 2) + 1;
        if (slot->blamed[radio] == UNHEARD)
            slot->blamed[radio] = NOBODY;
    }
}

void
spate_missed_watch_end(SpateMissedWatch *watch)
{
    for (size_t i = 0; i < REMEMBERED; i++)
        forget(watch, &watch->slots[i]);
}
