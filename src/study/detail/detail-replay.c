/* detail-replay.c - which messages a report follows, and their way in every variant
 *
 * Of each traffic the first message after the warm-up that came to all its recipients, and the
 * first that did not: people want to see both.  Traffics take turns, so that where room is short
 * each has one before any has two.
 */
#include "study/detail/detail-replay.h"

#include "core/ascending.h"
#include "study/run/runner.h"
#include <string.h>

/* ---- choosing -------------------------------------------------------------------------------- */

/* A message that might be shown. */
typedef struct {
    SpateMessageWanted wanted;
    uint32_t number; /* in the run */
    int64_t offered_ns;
    uint32_t n_pairs, n_delivered;
} Candidate;

typedef struct {
    const SpatePlan *plan;
    int64_t warm_up_ns;
    uint64_t *n_offers; /* [traffic * n_nodes + origin] */
    GArray *candidates; /* Candidate, by number */
} Chooser;

static void
note_offered(const Chooser *chooser, const SpateMessageFacts *message)
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
    const Chooser *chooser = self;
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
first_of(const Chooser *chooser, uint32_t traffic, SpateDetailChoice choice)
{
    for (guint i = 0; i < chooser->candidates->len; i++) {
        const Candidate *candidate = &g_array_index(chooser->candidates, Candidate, i);
        SpateDetailChoice its = candidate->n_delivered < candidate->n_pairs
                                    ? SPATE_CHOSEN_MISSED_SOME
                                : candidate->n_pairs > 0 ? SPATE_CHOSEN_REACHED_ALL
                                                         : SPATE_CHOSEN_FIRST;
        if (candidate->wanted.traffic == traffic && its == choice)
            return candidate;
    }
    return NULL;
}

static void
choose(gpointer user, uint32_t replication, SpateRun *run, gpointer watch)
{
    SpateDetail *detail = user;
    const Chooser *chooser = watch;
    static const SpateDetailChoice CHOICES[] = {SPATE_CHOSEN_MISSED_SOME, SPATE_CHOSEN_REACHED_ALL,
                                                SPATE_CHOSEN_FIRST};
    const SpatePlan *plan = chooser->plan;
    for (size_t c = 0; c < G_N_ELEMENTS(CHOICES); c++) {
        for (uint32_t t = 0; t < plan->n_traffics && t < SPATE_DETAIL_TRAFFICS; t++) {
            const Candidate *candidate = first_of(chooser, t, CHOICES[c]);
            if (candidate == NULL || detail->messages->len == SPATE_DETAIL_MESSAGES)
                continue;
            const SpateDetailMessage message = {
                .traffic = g_strdup(plan->traffics[t].name),
                .origin = g_strdup(plan->nodes[candidate->wanted.origin].name),
                .offer = candidate->wanted.offer,
                .offered_ns = candidate->offered_ns,
                .choice = CHOICES[c],
            };
            g_array_append_val(detail->messages, message);
        }
    }
}

static gpointer
watch_all(gpointer user, SpateRun *run, GError **error)
{
    Chooser *chooser = g_new0(Chooser, 1);
    chooser->plan = spate_world_plan(spate_run_world(run));
    chooser->warm_up_ns = spate_world_scenario(spate_run_world(run))->warm_up_ns;
    chooser->n_offers =
        g_new0(uint64_t, (size_t)chooser->plan->n_traffics * chooser->plan->n_nodes + 1);
    chooser->candidates = g_array_new(FALSE, FALSE, sizeof(Candidate));
    const SpateObserver observer = {SPATE_EVENT_OFFERED | SPATE_EVENT_DELIVERED, see, chooser};
    spate_run_add_observer(run, &observer);
    return chooser;
}

static void
free_chooser(gpointer watch)
{
    Chooser *chooser = watch;
    g_free(chooser->n_offers);
    g_array_unref(chooser->candidates);
    g_free(chooser);
}

/* ---- following ------------------------------------------------------------------------------- */

static bool
find_wanted(const SpatePlan *plan, const SpateDetailMessage *message, SpateMessageWanted *wanted)
{
    uint32_t traffic = 0, origin = 0;
    while (traffic < plan->n_traffics &&
           strcmp(plan->traffics[traffic].name, message->traffic) != 0)
        traffic++;
    while (origin < plan->n_nodes && strcmp(plan->nodes[origin].name, message->origin) != 0)
        origin++;
    *wanted = (SpateMessageWanted){traffic, origin, message->offer};
    return traffic < plan->n_traffics && origin < plan->n_nodes;
}

/* Traces of all messages, as the variant keeps them. */
typedef struct {
    const SpateDetail *detail;
    SpateDetailVariant *variant;
} Follower;

static gpointer
watch_chosen(gpointer user, SpateRun *run, GError **error)
{
    const Follower *follower = user;
    const GArray *messages = follower->detail->messages;
    SpateDetailVariant *variant = follower->variant;
    const SpatePlan *plan = spate_world_plan(variant->shown);
    variant->replay = g_new0(SpateMessageTrace *, messages->len + 1);
    for (guint i = 0; i < messages->len; i++) {
        SpateMessageWanted wanted;
        if (!find_wanted(plan, &g_array_index(messages, SpateDetailMessage, i), &wanted))
            continue;
        variant->replay[i] = spate_message_trace_new(plan, wanted, SPATE_TRACE_BOTH);
        const SpateObserver observer = spate_message_trace_observer(variant->replay[i]);
        spate_run_add_observer(run, &observer);
    }
    return variant;
}

static void
drop_unoffered(gpointer user, uint32_t replication, SpateRun *run, gpointer watch)
{
    const SpateDetailVariant *variant = watch;
    const Follower *follower = user;
    for (guint i = 0; i < follower->detail->messages->len; i++)
        if (variant->replay[i] != NULL && variant->replay[i]->offered_ns < 0)
            g_clear_pointer(&variant->replay[i], spate_message_trace_free);
}

/* ---- bounds ---------------------------------------------------------------------------------- */

/* One is kept in any case. */
static void
keep_what_fits(SpateDetail *detail)
{
    uint64_t n = 0;
    guint n_kept = 0;
    for (; n_kept < detail->messages->len; n_kept++) {
        for (size_t v = 0; v < detail->n_variants; v++)
            if (detail->variants[v].replay[n_kept] != NULL)
                n += detail->variants[v].replay[n_kept]->n_receptions;
        if (n > SPATE_DETAIL_RECEPTIONS && n_kept > 0)
            break;
    }
    for (guint i = n_kept; i < detail->messages->len; i++)
        for (size_t v = 0; v < detail->n_variants; v++)
            g_clear_pointer(&detail->variants[v].replay[i], spate_message_trace_free);
    g_array_set_size(detail->messages, n_kept);
}

bool
spate_detail_replay(SpateDetail *detail, const SpateStudy *study, const volatile int *stop,
                    GError **error)
{
    static const SpateRunWatcher CHOOSER = {watch_all, choose, free_chooser};
    static const SpateRunWatcher FOLLOWER = {watch_chosen, drop_unoffered, NULL};
    const SpateRunTask choosing = {
        .world = spate_study_world(study, 0), .watcher = &CHOOSER, .user = detail};
    if (!spate_run_task(&choosing, stop, error))
        return false;
    for (size_t v = 0; v < detail->n_variants; v++) {
        Follower follower = {detail, &detail->variants[v]};
        const SpateRunTask following = {.world = follower.variant->shown,
                                        .names_disturbers = true,
                                        .watcher = &FOLLOWER,
                                        .user = &follower};
        if (!spate_run_task(&following, stop, error))
            return false;
    }
    keep_what_fits(detail);
    return true;
}
