/* run.c - one replication, put together from the bottom up */
#include "study/run/run.h"

#include "bridge/bridge.h"
#include "core/stop.h"
#include "measure/tally.h"
#include "study/run/result.h"
#include "study/run/turns.h"
#include <math.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif

G_DEFINE_QUARK(spate - run - error, spate_run_error)

struct SpateRun {
    const SpateWorld *as_written; /* borrowed */
    SpateWorld *world;            /* of this replication */
    const SpateScenario *scenario;
    const SpatePlan *plan;
    SpateEventQueue *queue;
    SpateMedium *medium;
    SpateChannel *channel;
    SpateMesh *mesh;
    SpateBridges *bridges;
    SpateTraffic *traffic;
    SpateAmbient *ambient;
    SpateTally *tally;
    const SpateMeasureValue *values;       /* when the run is over */
    bool never_waits, has_begun, has_turn; /* among all_turns, until the run is freed */
    SpateMeasureValue
        *aligned_values; /* the same, owned, where the rows are not those of the tally */
};

/* Those of all threads. */
static SpateTurns all_turns = SPATE_TURNS(SPATE_MESH_MOST_BYTES, 0);

/* Offers stop one cool-down before the end. */
static int64_t
last_offer_ns(const SpateScenario *scenario)
{
    return MAX(scenario->duration_ns - scenario->cool_down_ns, 0);
}

static void
set_listening(SpateRun *run)
{
    for (uint32_t i = 0; i < run->plan->n_radios; i++)
        spate_channel_set_listening(run->channel, i, &run->plan->radios[i].listening);
}

SpateRun *
spate_run_new_made(const SpateWorld *as_written, uint32_t replication, SpateRunMaking making,
                   GError **error)
{
    g_autoptr(SpateRun) run = g_new0(SpateRun, 1);
    run->as_written = as_written;
    run->world = spate_world_of_replication(as_written, replication, error);
    if (run->world == NULL)
        return NULL;
    const SpateWorld *world = run->world;
    const SpateScenario *scenario = spate_world_scenario(world);
    uint64_t seed = scenario->seed;
    run->scenario = scenario;
    run->plan = spate_world_plan(world);
    run->medium = spate_world_medium(world, replication, making.n_builders, error);
    if (run->medium == NULL)
        return NULL;
    run->queue = spate_event_queue_new();
    run->channel =
        spate_channel_new(run->queue, run->medium, seed, replication, making.names_disturbers);
    set_listening(run);
    run->mesh = spate_mesh_new(run->queue, run->channel, run->medium, run->plan, seed, replication);
    run->bridges = spate_bridges_new(run->mesh, run->plan);

    uint32_t n_offers = 0, n_sources = 0;
    const SpateOffers *offers = spate_world_offers(world, &n_offers);
    run->traffic = spate_traffic_new(run->queue, run->mesh, run->plan, offers, n_offers,
                                     last_offer_ns(scenario), seed, replication);
    const SpateAmbientSource *sources = spate_world_ambient(world, &n_sources);
    run->ambient = spate_ambient_new(run->queue, run->channel, run->medium, sources, n_sources,
                                     seed, replication);

    g_autofree double *expected = g_new0(double, run->plan->n_traffics);
    for (uint32_t i = 0; i < n_offers; i++)
        expected[offers[i].traffic] +=
            spate_traffic_expected_offers(&offers[i], last_offer_ns(scenario));
    run->tally = spate_tally_new(run->plan, scenario->warm_up_ns, scenario->duration_ns, expected);
    SpateObserver tally = spate_tally_observer(run->tally);
    spate_mesh_add_observer(run->mesh, &tally);
    return g_steal_pointer(&run);
}

SpateRun *
spate_run_new(const SpateWorld *world, uint32_t replication, GError **error)
{
    return spate_run_new_made(world, replication, (SpateRunMaking){.n_builders = 1}, error);
}

void
spate_run_free(SpateRun *run)
{
    if (run == NULL)
        return;
    g_clear_pointer(&run->ambient, spate_ambient_free);
    g_clear_pointer(&run->traffic, spate_traffic_free);
    g_clear_pointer(&run->bridges, spate_bridges_free);
    g_clear_pointer(&run->mesh, spate_mesh_free);
    g_clear_pointer(&run->tally, spate_tally_free);
    g_clear_pointer(&run->channel, spate_channel_free);
    g_clear_pointer(&run->queue, spate_event_queue_free);
    g_clear_pointer(&run->medium, spate_medium_unref);
    g_clear_pointer(&run->world, spate_world_free);
#ifdef __GLIBC__
    /* Else the C library would keep what one thread has freed for that thread: a GiB for each, in
     * the end. */
    if (run->has_turn)
        malloc_trim(0);
#endif
    if (run->has_begun)
        spate_turns_end(&all_turns, run->has_turn);
    g_free(run->aligned_values);
    g_free(run);
}

void
spate_run_add_observer(SpateRun *run, const SpateObserver *observer)
{
    spate_mesh_add_observer(run->mesh, observer);
}

/* ---- values ---------------------------------------------------------------------------------- */

/* What a row is called: the numbers of two plans need not be the same.  Free with g_free(). */
static char *
key_of(const SpateMeasureRow *row, const SpatePlan *plan)
{
    SpateResultRow named = {0};
    spate_result_row_name(&named, row, plan);
    char *key = spate_result_row_key(&named);
    spate_result_row_clear(&named);
    return key;
}

/* The values of what was drawn, for the rows of what is written. */
static void
align_values(SpateRun *run)
{
    size_t n_rows = 0, n_drawn = 0;
    const SpatePlan *plan = spate_world_plan(run->as_written);
    g_autofree SpateMeasureRow *rows = spate_measure_rows(plan, &n_rows);
    g_autofree SpateMeasureRow *drawn = spate_measure_rows(run->plan, &n_drawn);
    g_autoptr(GHashTable) by_key = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    for (size_t i = 0; i < n_drawn; i++)
        g_hash_table_insert(by_key, key_of(&drawn[i], run->plan),
                            (gpointer)(uintptr_t)&run->values[i]);
    run->aligned_values = g_new(SpateMeasureValue, n_rows + 1);
    for (size_t i = 0; i < n_rows; i++) {
        g_autofree char *key = key_of(&rows[i], plan);
        const SpateMeasureValue *value = g_hash_table_lookup(by_key, key);
        run->aligned_values[i] = value != NULL ? *value : (SpateMeasureValue){NAN, NAN, NAN};
    }
    run->values = run->aligned_values;
}

/* ---- running --------------------------------------------------------------------------------- */

/* Between two looks at the memory: a few milliseconds, and no more than a small part of a share. */
#define EVENTS_AT_ONCE 4096
#define BYTES_AT_ONCE  ((size_t)16 << 20)

static void
set_overloaded(const SpateRun *run, GError **error)
{
    const SpateMeshBurden burden = spate_mesh_burden(run->mesh);
    double now_s = (double)spate_event_queue_now_ns(run->queue) / SPATE_NS_PER_S;
    g_set_error(
        error, SPATE_RUN_ERROR, SPATE_RUN_ERROR_OVERLOADED,
        "the mesh is overloaded: after %.6g s %u messages are under way and %" G_GUINT64_FORMAT
        " frames wait in queues, more than the %zu MB limit of one run; "
        "offer less traffic, shorten the queues or let frames expire",
        now_s, burden.messages, burden.waiting, SPATE_MESH_MOST_BYTES >> 20);
}

/* Whether a node has come to where a path loss model does not hold. */
static bool
raise_move_error(const SpateRun *run, GError **error)
{
    const SpateMoveProblem *problem = spate_mesh_move_problem(run->mesh);
    if (problem == NULL)
        return false;
    if (!spate_world_raise_ranges(run->world, spate_medium_links(run->medium), problem->at_ns,
                                  error))
        g_propagate_error(error, g_error_copy(problem->error));
    return true;
}

static bool
run_until(SpateRun *run, int64_t until_ns, const volatile int *stop, GError **error)
{
    SpateQueuePause pause = SPATE_QUEUE_PAUSED;
    /* An event makes one message at most, which has a mark for each node and each radio. */
    size_t message_bytes =
        sizeof(uint32_t) * ((size_t)run->plan->n_nodes + run->plan->n_radios + 1);
    uint64_t n_events = CLAMP(BYTES_AT_ONCE / message_bytes, 16, EVENTS_AT_ONCE);
    while (pause == SPATE_QUEUE_PAUSED) {
        pause = spate_event_queue_run_some(run->queue, until_ns, n_events, stop);
        const SpateMeshBurden burden = spate_mesh_burden(run->mesh);
        if (burden.is_overloaded) {
            set_overloaded(run, error);
            return false;
        }
        if (raise_move_error(run, error))
            return false;
        if (pause != SPATE_QUEUE_PAUSED)
            break;
        if (!run->has_turn && !run->never_waits && spate_turns_are_needed(&all_turns, burden.bytes))
            run->has_turn = spate_turns_take(&all_turns, stop);
        if (spate_is_stopped(stop))
            return false;
    }
    return pause == SPATE_QUEUE_DONE;
}

/* What the radios have done from the start of the run until now. */
static void
note_times(SpateRun *run, void (*note)(SpateTally *tally, uint32_t radio, SpateRadioTimes times))
{
    for (uint32_t i = 0; i < run->plan->n_radios; i++)
        note(run->tally, i,
             (SpateRadioTimes){
                 .busy_ns = spate_channel_busy_ns(run->channel, i),
                 .awake_ns = spate_channel_awake_ns(run->channel, i),
                 .off_ns = spate_channel_off_ns(run->channel, i),
             });
}

/* The events of the instant at which the warm-up ends are over before the radios' times are
 * read.  None of them takes time, so the order does not matter. */
bool
spate_run_go(SpateRun *run, const volatile int *stop, GError **error)
{
    g_assert(run->values == NULL);
    run->has_begun = true;
    spate_turns_begin(&all_turns);
    if (!run_until(run, run->scenario->warm_up_ns, stop, error))
        return false;
    note_times(run, spate_tally_note_at_warm_up);
    if (!run_until(run, run->scenario->duration_ns, stop, error))
        return false;
    note_times(run, spate_tally_note_at_end);
    run->values = spate_tally_finish(run->tally);
    if (run->world != run->as_written)
        align_values(run);
#ifdef SPATE_CHECK_INVARIANTS
    spate_channel_check(run->channel);
    spate_mesh_check(run->mesh);
    spate_tally_check(run->tally);
#endif
    return true;
}

void
spate_run_never_wait(SpateRun *run)
{
    run->never_waits = true;
}

bool
spate_run_try(SpateRun *run, uint64_t n_events)
{
    return spate_event_queue_run_some(run->queue, run->scenario->duration_ns, n_events, NULL) ==
               SPATE_QUEUE_PAUSED &&
           !spate_mesh_burden(run->mesh).is_overloaded &&
           spate_mesh_move_problem(run->mesh) == NULL;
}

int64_t
spate_run_now_ns(const SpateRun *run)
{
    return spate_event_queue_now_ns(run->queue);
}

const SpateMeasureValue *
spate_run_values(const SpateRun *run)
{
    g_assert(run->values != NULL);
    return run->values;
}

const SpateWorld *
spate_run_world(const SpateRun *run)
{
    return run->world;
}

const SpateMedium *
spate_run_medium(const SpateRun *run)
{
    return run->medium;
}

uint64_t
spate_run_n_events(const SpateRun *run)
{
    return spate_event_queue_n_run(run->queue);
}

uint64_t
spate_run_n_transmissions(const SpateRun *run)
{
    return spate_mesh_queue_counts(run->mesh).sent;
}
