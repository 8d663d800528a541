/* detail-replay.c - the way of some messages in every variant */
#include "study/detail/detail-replay.h"

#include "study/run/runner.h"
#include <string.h>

/* ---- which ----------------------------------------------------------------------------------- */

/* By the names that the first variant has for them. */
static void
name_messages(SpateDetail *detail, const GArray *chosen)
{
    const SpatePlan *plan = spate_world_plan(detail->variants[0].shown);
    for (guint i = 0; i < chosen->len; i++) {
        const SpateChosenMessage *its = &g_array_index(chosen, SpateChosenMessage, i);
        const SpateDetailMessage message = {
            .traffic = g_strdup(plan->traffics[its->wanted.traffic].name),
            .origin = g_strdup(plan->nodes[its->wanted.origin].name),
            .offer = its->wanted.offer,
            .offered_ns = its->offered_ns,
            .why = its->why,
        };
        g_array_append_val(detail->messages, message);
    }
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
    SpateTraceGroup *group;
} Follower;

static gpointer
watch_chosen(gpointer user, SpateRun *run, GError **error)
{
    Follower *follower = user;
    const GArray *messages = follower->detail->messages;
    SpateDetailVariant *variant = follower->variant;
    const SpatePlan *plan = spate_world_plan(variant->shown);
    variant->replay = g_new0(SpateMessageTrace *, messages->len + 1);
    for (guint i = 0; i < messages->len; i++) {
        SpateMessageWanted wanted;
        if (find_wanted(plan, &g_array_index(messages, SpateDetailMessage, i), &wanted))
            variant->replay[i] = spate_message_trace_new(plan, wanted, SPATE_TRACE_BOTH);
    }
    follower->group = spate_trace_group_new(variant->replay, messages->len);
    const SpateObserver observer = spate_trace_group_observer(follower->group);
    spate_run_add_observer(run, &observer);
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

/* Every variant, side by side. */
static bool
follow(SpateDetail *detail, const SpateStudyOptions *options, GError **error)
{
    static const SpateRunWatcher FOLLOWER = {watch_chosen, drop_unoffered, NULL};
    g_autofree Follower *followers = g_new(Follower, detail->n_variants);
    g_autofree SpateRunTask *tasks = g_new(SpateRunTask, detail->n_variants);
    for (size_t v = 0; v < detail->n_variants; v++) {
        followers[v] = (Follower){detail, &detail->variants[v], NULL};
        tasks[v] = (SpateRunTask){.world = detail->variants[v].shown,
                                  .names_disturbers = true,
                                  .watcher = &FOLLOWER,
                                  .user = &followers[v]};
    }
    bool all_over = spate_run_tasks(tasks, (uint32_t)detail->n_variants, 0, options, error);
    for (size_t v = 0; v < detail->n_variants; v++) {
        all_over = all_over && tasks[v].is_over;
        spate_trace_group_free(followers[v].group);
    }
    return all_over;
}

bool
spate_detail_replay(SpateDetail *detail, const SpateStudy *study, const SpateStudyOptions *options,
                    GError **error)
{
    name_messages(detail, spate_study_kept(study, 0, 0)->chosen);
    if (!follow(detail, options, error))
        return false;
    keep_what_fits(detail);
    return true;
}
