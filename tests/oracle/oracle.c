/* oracle.c - one run: from instant to instant (docs/model.md, Time) */
#include "oracle/oracle.h"

#include "oracle/oracle-private.h"
#include <math.h>

/* What is drawn once is drawn as for a replication of its own. */
#define ONCE UINT32_MAX

/* Figures that were equal before their logarithms were taken differ by less. */
#define SAME 1e-12

uint64_t
oracle_key(const Oracle *oracle, SpatePurpose purpose, bool anew)
{
    return spate_random_key(oracle->scenario->seed, anew ? oracle->replication : ONCE, purpose);
}

void
oracle_note_threshold(Oracle *oracle, double value, double threshold)
{
    double distance = fabs(value / threshold - 1.0);
    if (distance < oracle->history->closest)
        oracle->history->closest = distance;
}

bool
oracle_are_equal(double a, double b)
{
    return fabs(a / b - 1.0) < SAME;
}

void
oracle_note_closeness(Oracle *oracle, double a, double b)
{
    if (!oracle_are_equal(a, b))
        oracle_note_threshold(oracle, a, b);
}

OracleRadio *
oracle_radio(const Oracle *oracle, uint32_t node, uint32_t bearer)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++)
        if (oracle->radios[r].node == node && oracle->radios[r].bearer == bearer)
            return &oracle->radios[r];
    return NULL;
}

/* ---- who there is ---------------------------------------------------------------------------- */

static void
set_up_radio(Oracle *oracle, OracleRadio *radio, uint32_t node, const SpateScenarioRadio *settings)
{
    const SpateBearer *bearer = oracle_bearer(oracle, settings->bearer);
    double noise_dbm = oracle_noise_dbm(bearer), sensitivity_dbm = oracle_sensitivity_dbm(bearer);
    *radio = (OracleRadio){
        .node = node,
        .bearer = settings->bearer,
        .settings = settings,
        .node_hash = spate_hash_name(oracle_node(oracle, node)->name),
        .bearer_hash = spate_hash_name(oracle->scenario->bearers[settings->bearer].name),
        .noise_mw = pow(10.0, (noise_dbm + settings->noise_rise_db) / 10.0),
        .sensitivity_mw = pow(10.0, (sensitivity_dbm + settings->noise_rise_db) / 10.0),
        .required_snr = pow(10.0, (sensitivity_dbm - noise_dbm) / 10.0),
        .unlocked_ns = SPATE_NEVER_NS,
        .sent = g_array_new(FALSE, FALSE, sizeof(OracleSpan)),
        .locks = g_array_new(FALSE, FALSE, sizeof(OracleSpan)),
        .queue = g_ptr_array_new(),
    };
    radio->phase_ns = oracle_phase_ns(oracle, radio);
}

static void
set_up_radios(Oracle *oracle)
{
    const SpateScenario *scenario = oracle->scenario;
    oracle->radios = g_new0(OracleRadio, MAX(scenario->n_nodes * scenario->n_bearers, 1));
    for (uint32_t n = 0; n < scenario->n_nodes; n++)
        for (uint32_t b = 0; b < scenario->n_bearers; b++)
            for (uint32_t i = 0; i < scenario->nodes[n].n_radios; i++)
                if (scenario->nodes[n].radios[i].bearer == b)
                    set_up_radio(oracle, &oracle->radios[oracle->n_radios++], n,
                                 &scenario->nodes[n].radios[i]);
}

static void
free_known(gpointer item)
{
    g_free(((OracleKnown *)item)->is_sent);
    g_free(item);
}

static void
free_sending(gpointer item)
{
    OracleSending *sending = item;
    if (sending->path != NULL)
        g_array_unref(sending->path);
    g_free(sending);
}

static void
set_up(Oracle *oracle)
{
    const SpateScenario *scenario = oracle->scenario;
    set_up_radios(oracle);
    uint32_t n = oracle->n_radios;
    oracle->places = g_new0(SpatePosition, MAX(scenario->n_nodes, 1));
    oracle->known = g_new0(GPtrArray *, MAX(scenario->n_nodes, 1));
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        oracle->places[i] = oracle_place(oracle, i);
        oracle->known[i] = g_ptr_array_new_with_free_func(free_known);
    }
    oracle->shadow =
        g_new0(double, MAX(scenario->n_bearers * scenario->n_nodes * scenario->n_nodes, 1));
    oracle_draw_shadows(oracle);
    oracle->link_dbm = g_new0(double, MAX(n * n, 1));
    oracle->ambient_dbm = g_new0(double, MAX(scenario->n_ambient * n, 1));
    oracle_make_links(oracle);
    oracle_note_close_encounters(oracle);
    oracle->frames = g_ptr_array_new();
    oracle->gone = g_ptr_array_new();
    oracle->messages = g_ptr_array_new();
    oracle->sendings = g_ptr_array_new_with_free_func(free_sending);
    oracle->under_way = g_ptr_array_new();
    oracle->digests = oracle_new_digests();
    oracle->learned = g_ptr_array_new_with_free_func(oracle_free_learned);
    oracle->following = g_ptr_array_new_with_free_func(g_free);
    oracle->exchanges = g_ptr_array_new_with_free_func(g_free);
    oracle->memories = g_ptr_array_new_with_free_func(g_free);
    oracle_plan_outages(oracle);
    oracle_plan_moves(oracle);
    oracle_plan_offers(oracle);
    oracle_plan_ambient(oracle);
}

static void
free_message(gpointer item)
{
    OracleMessage *message = item;
    if (message->carried != NULL)
        g_array_unref(message->carried);
    if (message->route != NULL)
        g_array_unref(message->route);
    g_free(message->is_delivered);
    g_free(message);
}

static void
clear(Oracle *oracle)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        g_array_unref(oracle->radios[r].sent);
        g_array_unref(oracle->radios[r].locks);
        g_ptr_array_unref(oracle->radios[r].queue);
    }
    for (uint32_t i = 0; i < oracle->scenario->n_nodes; i++) {
        g_ptr_array_unref(oracle->known[i]);
        g_array_unref(oracle->outages[i]);
    }
    g_ptr_array_set_free_func(oracle->frames, oracle_frame_free);
    g_ptr_array_set_free_func(oracle->gone, oracle_frame_free);
    g_ptr_array_set_free_func(oracle->messages, free_message);
    GPtrArray *lists[] = {oracle->frames,    oracle->gone,     oracle->messages, oracle->sendings,
                          oracle->under_way, oracle->digests,  oracle->memories, oracle->exchanges,
                          oracle->learned,   oracle->following};
    for (size_t i = 0; i < G_N_ELEMENTS(lists); i++)
        g_ptr_array_unref(lists[i]);
    g_array_unref(oracle->offers);
    g_array_unref(oracle->movers);
    g_free(oracle->radios);
    g_free(oracle->places);
    g_free(oracle->known);
    g_free(oracle->outages);
    g_free(oracle->is_down);
    g_free(oracle->shadow);
    g_free(oracle->link_dbm);
    g_free(oracle->ambient_dbm);
    g_free(oracle->ambient);
}

/* ---- instants -------------------------------------------------------------------------------- */

static int64_t
next_instant_ns(const Oracle *oracle)
{
    int64_t next_ns = oracle_next_on_air_ns(oracle);
    next_ns = MIN(next_ns, oracle_next_window_ns(oracle));
    next_ns = MIN(next_ns, oracle_next_outage_ns(oracle));
    next_ns = MIN(next_ns, oracle_next_step_ns(oracle));
    next_ns = MIN(next_ns, oracle_next_mesh_ns(oracle));
    next_ns = MIN(next_ns, oracle_next_offer_ns(oracle));
    next_ns = MIN(next_ns, oracle_next_access_ns(oracle));
    next_ns = MIN(next_ns, oracle_next_expiry_ns(oracle));
    next_ns = MIN(next_ns, oracle_next_try_ns(oracle));
    next_ns = MIN(next_ns, oracle_next_following_ns(oracle));
    return MIN(next_ns, oracle_next_burst_ns(oracle));
}

/* Ends of frames, then outages, steps and beginnings of windows, then offers and timers, then
 * beginnings of critical parts, then starts. */
static void
live_through_instant(Oracle *oracle)
{
    oracle_end_frames(oracle);
    oracle_heed_outages(oracle);
    oracle_make_steps(oracle);
    oracle_begin_windows(oracle);
    oracle_watch_channels(oracle);
    oracle_drop_expired(oracle);
    for (uint32_t node = 0; node < oracle->scenario->n_nodes; node++) {
        oracle_make_offers(oracle, node);
        oracle_node_timers(oracle, node);
    }
    oracle_offer_following(oracle);
    oracle_try_again(oracle);
    oracle_advance_heads(oracle);
    oracle_begin_critical_parts(oracle);
    oracle_send_heads(oracle);
    oracle_begin_bursts(oracle);
    oracle_heed_starts(oracle);
    oracle_watch_channels(oracle);
}

History *
oracle_run(const SpateScenario *scenario, uint32_t replication)
{
    Oracle oracle = {.scenario = scenario, .replication = replication};
    oracle.history = history_new(scenario->n_nodes, scenario->n_bearers);
    oracle.history->closest = INFINITY;
    set_up(&oracle);
    oracle_heed_outages(&oracle); /* those that begin with the run */
    while ((oracle.now_ns = next_instant_ns(&oracle)) <= scenario->duration_ns)
        live_through_instant(&oracle);
    clear(&oracle);
    history_sort(oracle.history);
    return oracle.history;
}
