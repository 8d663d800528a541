/* drive.c - plays a script through the channel */
#include "channel/drive.h"

#include "channel/channel-private.h"
#include "core/random.h"
#include <string.h>

/* A run under way. */
typedef struct {
    SpateEventQueue *queue;
    SpateChannel *channel;
    const TwinScript *script;
    TwinResult *result;
} Drive;

static void
mean_to_begin(gpointer subject, uint32_t f)
{
    Drive *drive = subject;
    const TwinFrame *frame = &drive->script->frames[f];
    if (spate_channel_is_locked(drive->channel, frame->radio) ||
        spate_channel_is_sending(drive->channel, frame->radio))
        drive->result->skipped[f] = true;
    else
        spate_channel_begin(drive->channel, frame->radio, frame->airtime_ns, f, f + 1);
}

static void
note_outcomes(gpointer user, const SpateAirFrame *frame, const SpateReception *receptions, size_t n)
{
    Drive *drive = user;
    for (size_t i = 0; i < n; i++)
        drive->result->fates[frame->cargo][receptions[i].receiver] =
            (TwinFate){true, receptions[i].outcome, receptions[i].disturber};
}

#define SEED 1

/* How nodes and bearers are named, as hashes. */
static uint64_t
hash_of_node(uint32_t node)
{
    return node + 1;
}

static uint64_t
hash_of_bearer(uint32_t bearer)
{
    return bearer + 1;
}

void
drive_phases(TwinScript *s)
{
    for (uint32_t r = 0; r < s->n_radios; r++) {
        const SpateListening *listening = &s->listening[r];
        SpateRandom random = spate_random_stream(
            spate_random_key(SEED, 0, SPATE_FOR_LISTENING),
            spate_hash_combine(hash_of_node(s->node[r]), hash_of_bearer(s->bearer[r])));
        s->phase_ns[r] = listening->every_ns == 0 || listening->phase == SPATE_PHASE_TOGETHER
                             ? 0
                             : (int64_t)spate_random_below(&random, (uint64_t)listening->every_ns);
    }
}

static SpateMedium *
medium_of(const TwinScript *s, SpatePropagation *propagation, SpateFading *fading)
{
    SpateNodeSite nodes[TWIN_MOST_NODES] = {0};
    SpateRadioSite radios[TWIN_MOST_RADIOS] = {0};
    double zero[TWIN_MOST_RADIOS] = {0};
    uint64_t bearer_hash[TWIN_MOST_BEARERS];
    for (uint32_t b = 0; b < TWIN_MOST_BEARERS; b++)
        bearer_hash[b] = hash_of_bearer(b);
    for (uint32_t i = 0; i < s->n_nodes; i++)
        nodes[i].name_hash = hash_of_node(i);
    g_autoptr(GArray) given = g_array_new(FALSE, FALSE, sizeof(SpateGivenLoss));
    for (uint32_t r = 0; r < s->n_radios; r++) {
        radios[r] = (SpateRadioSite){.node = s->node[r], .bearer = s->bearer[r]};
        for (uint32_t to = 0; to < s->n_nodes; to++) {
            SpateGivenLoss loss = {s->node[r], to, (int32_t)s->bearer[r], s->loss_db[r][to]};
            g_array_append_val(given, loss);
        }
    }
    g_autoptr(SpateLinks) links = spate_links_new(
        nodes, s->n_nodes, s->isolation_db, radios, s->n_radios, s->bearers, propagation,
        s->n_bearers, (const SpateGivenLoss *)(const void *)given->data, given->len);
    SpateMediumPlan plan = {.links = links,
                            .nodes = nodes,
                            .radios = radios,
                            .noise_rise_db = zero,
                            .bearers = s->bearers,
                            .propagation = propagation,
                            .fading = fading,
                            .bearer_hash = bearer_hash,
                            .n_nodes = s->n_nodes,
                            .n_radios = s->n_radios,
                            .n_bearers = s->n_bearers};
    return spate_medium_new(&plan, NULL);
}

void
drive_channel(const TwinScript *script, TwinResult *result)
{
    SpatePropagation propagation[TWIN_MOST_BEARERS] = {0};
    SpateFading fading[TWIN_MOST_BEARERS] = {0};
    memset(result, 0, sizeof *result);
    g_autoptr(SpateMedium) medium = medium_of(script, propagation, fading);
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    g_autoptr(SpateChannel) channel = spate_channel_new(queue, medium, SEED, 0, true);
    /* As in a large medium: whole rows are walked to find out who is to blame. */
    if (script->n_radios % 2 == 1)
        g_clear_pointer(&channel->link_of, g_free);
    for (uint32_t r = 0; r < script->n_radios; r++)
        spate_channel_set_listening(channel, r, &script->listening[r]);
    Drive drive = {queue, channel, script, result};
    SpateChannelHooks hooks = {.outcomes = note_outcomes};
    spate_channel_set_hooks(channel, &hooks, &drive);
    for (uint32_t f = 0; f < script->n_frames; f++)
        spate_event_queue_schedule(queue, script->frames[f].start_ns, SPATE_RANK_START,
                                   mean_to_begin, &drive, f);
    int64_t horizon_ns = 0;
    for (uint32_t f = 0; f < script->n_frames; f++)
        horizon_ns = MAX(horizon_ns, script->frames[f].start_ns + script->frames[f].airtime_ns);
    while (spate_event_queue_run_next(queue))
        spate_channel_check(channel);
    spate_event_queue_run_until(queue, horizon_ns, NULL);
    for (uint32_t r = 0; r < script->n_radios; r++) {
        result->busy_ns[r] = spate_channel_busy_ns(channel, r);
        result->awake_ns[r] = spate_channel_awake_ns(channel, r);
    }
}

char *
drive_difference(const TwinScript *s, const TwinResult *plain, const TwinResult *fast)
{
    for (uint32_t f = 0; f < s->n_frames; f++) {
        if (plain->skipped[f] != fast->skipped[f])
            return g_strdup_printf("frame %u: skipped %d by the twin, %d by the channel", f,
                                   plain->skipped[f], fast->skipped[f]);
        for (uint32_t r = 0; r < s->n_radios; r++) {
            const TwinFate *a = &plain->fates[f][r], *b = &fast->fates[f][r];
            if (a->audible != b->audible || a->outcome != b->outcome ||
                a->disturber != b->disturber)
                return g_strdup_printf("frame %u at radio %u: audible %d/%d, outcome %d/%d, "
                                       "disturber %d/%d (twin/channel)",
                                       f, r, a->audible, b->audible, (int)a->outcome,
                                       (int)b->outcome, (int)a->disturber, (int)b->disturber);
        }
    }
    for (uint32_t r = 0; r < s->n_radios; r++)
        if (plain->busy_ns[r] != fast->busy_ns[r])
            return g_strdup_printf("radio %u: busy %ld ns by the twin, %ld by the channel", r,
                                   (long)plain->busy_ns[r], (long)fast->busy_ns[r]);
    for (uint32_t r = 0; r < s->n_radios; r++)
        if (plain->awake_ns[r] != fast->awake_ns[r])
            return g_strdup_printf("radio %u: awake %ld ns by the twin, %ld by the channel", r,
                                   (long)plain->awake_ns[r], (long)fast->awake_ns[r]);
    return NULL;
}
