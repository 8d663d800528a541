/* message-choice.c - which messages of a run a report follows */
#include "study/watch/message-choice.h"

#include "core/ascending.h"

/* A message that might be chosen. */
typedef struct {
    SpateMessageWanted wanted;
    uint32_t number; /* in the run */
    int64_t offered_ns;
    uint32_t n_pairs, n_delivered;
} Candidate;

struct SpateMessageChooser {
    const SpatePlan *plan;
    int64_t warm_up_ns;
    uint64_t *n_offers; /* [traffic * n_nodes + origin] */
    GArray *candidates; /* Candidate, by number */
};

static void
note_offered(const SpateMessageChooser *chooser, const SpateMessageFacts *message)
{
    size_t source = (size_t)message->traffic * chooser->plan->n_nodes + message->origin;
    uint64_t offer = chooser->n_offers[source]++;
    if (message->offered_ns < chooser->warm_up_ns)
        return;
    const SpateTrafficKind *kind = &chooser->plan->traffics[message->traffic];
    Candidate candidate = {
        .wanted = {.traffic = message->traffic, .origin = message->origin, .offer = offer},
        .number = message->number,
        .offered_ns = message->offered_ns,
        .n_pairs = kind->n_recipients,
    };
    for (uint32_t i = 0; i < kind->n_recipients; i++)
        candidate.n_pairs -= kind->recipients[i] == message->origin;
    g_array_append_val(chooser->candidates, candidate);
}

static void
see(gpointer self, const SpateEvent *event)
{
    const SpateMessageChooser *chooser = self;
    if (event->kind == SPATE_EVENT_OFFERED) {
        note_offered(chooser, event->message);
        return;
    }
    /* Numbers go up with the offers. */
    uint32_t n = chooser->candidates->len;
    Candidate *first = (Candidate *)(void *)chooser->candidates->data;
    uint32_t found =
        n > 0 ? spate_ascending_find_at(&first->number, sizeof *first, n, event->message->number)
              : n;
    if (found < n)
        first[found].n_delivered++;
}

/* NULL if there is none. */
static const Candidate *
first_of(const SpateMessageChooser *chooser, uint32_t traffic, SpateMessageWhy why)
{
    for (guint i = 0; i < chooser->candidates->len; i++) {
        const Candidate *candidate = &g_array_index(chooser->candidates, Candidate, i);
        SpateMessageWhy its = candidate->n_delivered < candidate->n_pairs ? SPATE_CHOSEN_MISSED_SOME
                              : candidate->n_pairs > 0                    ? SPATE_CHOSEN_REACHED_ALL
                                                                          : SPATE_CHOSEN_FIRST;
        if (candidate->wanted.traffic == traffic && its == why)
            return candidate;
    }
    return NULL;
}

GArray *
spate_message_chooser_choose(const SpateMessageChooser *chooser)
{
    static const SpateMessageWhy WHYS[] = {SPATE_CHOSEN_MISSED_SOME, SPATE_CHOSEN_REACHED_ALL,
                                           SPATE_CHOSEN_FIRST};
    GArray *chosen = g_array_new(FALSE, FALSE, sizeof(SpateChosenMessage));
    for (size_t w = 0; w < G_N_ELEMENTS(WHYS); w++) {
        for (uint32_t t = 0; t < chooser->plan->n_traffics && t < SPATE_CHOSEN_TRAFFICS; t++) {
            const Candidate *candidate = first_of(chooser, t, WHYS[w]);
            if (candidate == NULL || chosen->len == SPATE_CHOSEN_MESSAGES)
                continue;
            const SpateChosenMessage message = {candidate->wanted, candidate->offered_ns, WHYS[w]};
            g_array_append_val(chosen, message);
        }
    }
    return chosen;
}

SpateMessageChooser *
spate_message_chooser_new(const SpatePlan *plan, int64_t warm_up_ns)
{
    SpateMessageChooser *chooser = g_new0(SpateMessageChooser, 1);
    chooser->plan = plan;
    chooser->warm_up_ns = warm_up_ns;
    chooser->n_offers = g_new0(uint64_t, (size_t)plan->n_traffics * plan->n_nodes + 1);
    chooser->candidates = g_array_new(FALSE, FALSE, sizeof(Candidate));
    return chooser;
}

void
spate_message_chooser_free(SpateMessageChooser *chooser)
{
    if (chooser == NULL)
        return;
    g_free(chooser->n_offers);
    g_array_unref(chooser->candidates);
    g_free(chooser);
}

SpateObserver
spate_message_chooser_observer(SpateMessageChooser *chooser)
{
    return (SpateObserver){SPATE_EVENT_OFFERED | SPATE_EVENT_DELIVERED, see, chooser};
}
