/* oracle-links.c - how loudly every radio hears every other one (docs/model.md, Links) */
#include "oracle/oracle-private.h"

#include <math.h>

/* ---- which loss ------------------------------------------------------------------------------ */

/* An entry that names the bearer goes before one that does not, a later one before an earlier. */
static const SpateGivenLoss *
find_given(const Oracle *oracle, uint32_t from, uint32_t to, uint32_t bearer)
{
    const SpateGivenLoss *named = NULL, *general = NULL;
    for (uint32_t i = 0; i < oracle->scenario->n_given_losses; i++) {
        const SpateGivenLoss *entry = &oracle->scenario->given_losses[i];
        if (entry->from_node != from || entry->to_node != to)
            continue;
        if (entry->bearer < 0)
            general = entry;
        else if ((uint32_t)entry->bearer == bearer)
            named = entry;
    }
    return named != NULL ? named : general;
}

static bool
fits(const SpateBetween *between, uint32_t a, uint32_t b)
{
    return (between->members_a[a] && between->members_b[b]) ||
           (between->members_a[b] && between->members_b[a]);
}

/* Of the pair: the first entry of `between` that fits counts. */
static void
find_model(const SpatePropagation *propagation, uint32_t a, uint32_t b,
           const SpatePathModel **model, const SpateShadowing **shadowing)
{
    *model = &propagation->model;
    *shadowing = &propagation->shadowing;
    for (size_t i = propagation->n_between; i > 0; i--)
        if (fits(&propagation->between[i - 1], a, b)) {
            *model = &propagation->between[i - 1].model;
            *shadowing = &propagation->between[i - 1].shadowing;
        }
}

/* ---- shadowing ------------------------------------------------------------------------------- */

static double
draw_normal(uint64_t key, uint64_t entity)
{
    SpateRandom draws = spate_random_stream(key, entity);
    return spate_random_normal(&draws);
}

/* sqrt(rho) (s_a + s_b) / sqrt(2) + sqrt(1 - rho) e_ab. */
static double
draw_shadow(const Oracle *oracle, const SpateShadowing *shadowing, uint64_t a, uint64_t b)
{
    uint64_t of_node = oracle_key(oracle, SPATE_FOR_NODE_SHADOWING, shadowing->redraw);
    uint64_t of_pair = oracle_key(oracle, SPATE_FOR_PAIR_SHADOWING, shadowing->redraw);
    double towards_everyone = (draw_normal(of_node, a) + draw_normal(of_node, b)) / sqrt(2.0);
    double pair = draw_normal(of_pair, spate_hash_combine(MIN(a, b), MAX(a, b)));
    return sqrt(shadowing->shared) * towards_everyone + sqrt(1.0 - shadowing->shared) * pair;
}

static double *
shadow_of(const Oracle *oracle, uint32_t bearer, uint32_t a, uint32_t b)
{
    uint32_t n = oracle->scenario->n_nodes;
    return &oracle->shadow[(bearer * n + MIN(a, b)) * n + MAX(a, b)];
}

static uint64_t
hash_of(const Oracle *oracle, uint32_t node)
{
    return spate_hash_name(oracle_node(oracle, node)->name);
}

void
oracle_draw_shadows(Oracle *oracle)
{
    const SpateScenario *scenario = oracle->scenario;
    const SpatePathModel *model;
    const SpateShadowing *shadowing;
    for (uint32_t bearer = 0; bearer < scenario->n_bearers; bearer++)
        for (uint32_t a = 0; a < scenario->n_nodes; a++)
            for (uint32_t b = a + 1; b < scenario->n_nodes; b++) {
                find_model(&scenario->bearers[bearer].propagation, a, b, &model, &shadowing);
                *shadow_of(oracle, bearer, a, b) =
                    draw_shadow(oracle, shadowing, hash_of(oracle, a), hash_of(oracle, b));
            }
}

/* First-order Gauss-Markov over the way (docs/model.md, Nodes that move). */
void
oracle_change_shadows(Oracle *oracle, uint32_t node, double gone_m, uint64_t step)
{
    const SpateScenario *scenario = oracle->scenario;
    const SpatePathModel *model;
    const SpateShadowing *shadowing;
    uint64_t of_step = spate_hash_combine(hash_of(oracle, node), step);
    for (uint32_t bearer = 0; bearer < scenario->n_bearers; bearer++)
        for (uint32_t other = 0; other < scenario->n_nodes; other++) {
            if (other == node)
                continue;
            find_model(&scenario->bearers[bearer].propagation, node, other, &model, &shadowing);
            uint64_t a = hash_of(oracle, node), b = hash_of(oracle, other);
            uint64_t pair = spate_hash_combine(MIN(a, b), MAX(a, b));
            double fresh =
                draw_normal(oracle_key(oracle, SPATE_FOR_MOVE_SHADOWING, shadowing->redraw),
                            spate_hash_combine(pair, of_step));
            double kept = exp(-gone_m / shadowing->decorrelation_m);
            double *shadow = shadow_of(oracle, bearer, node, other);
            *shadow = kept * *shadow + sqrt(1.0 - kept * kept) * fresh;
        }
}

/* ---- links ----------------------------------------------------------------------------------- */

/* Between the antennas, site losses and shadowing included. */
static double
loss_db(const Oracle *oracle, const OracleRadio *from, const OracleRadio *to)
{
    const SpateScenarioBearer *bearer = &oracle->scenario->bearers[from->bearer];
    const SpateGivenLoss *given = find_given(oracle, from->node, to->node, from->bearer);
    if (given != NULL)
        return given->loss_db;
    const SpatePathModel *model;
    const SpateShadowing *shadowing;
    find_model(&bearer->propagation, from->node, to->node, &model, &shadowing);
    return oracle_path_loss_db(model, (double)bearer->radio.modulation.centre_hz,
                               oracle->places[from->node], oracle->places[to->node]) +
           oracle_node(oracle, from->node)->site_loss_db +
           oracle_node(oracle, to->node)->site_loss_db +
           shadowing->sigma_db * *shadow_of(oracle, from->bearer, from->node, to->node);
}

static double
received_dbm(const Oracle *oracle, const OracleRadio *from, const OracleRadio *to)
{
    const SpateScenarioRadio *sender = from->settings, *receiver = to->settings;
    if (from->node == to->node)
        return sender->power_dbm - oracle_node(oracle, from->node)->isolation_db;
    SpatePosition here = oracle->places[from->node], there = oracle->places[to->node];
    return sender->power_dbm - sender->feeder_loss_db +
           oracle_antenna_dbi(&sender->antenna, here, there) - loss_db(oracle, from, to) +
           oracle_antenna_dbi(&receiver->antenna, there, here) - receiver->feeder_loss_db;
}

/* An isotropic radiator at its place, without shadowing, or the same level everywhere. */
static double
received_from_ambient_dbm(const Oracle *oracle, const SpateScenarioAmbient *ambient,
                          const OracleRadio *at)
{
    const SpateScenarioBearer *bearer = &oracle->scenario->bearers[ambient->bearer];
    if (ambient->everywhere)
        return ambient->power_dbm;
    SpatePosition here = oracle->places[at->node];
    return ambient->power_dbm -
           oracle_path_loss_db(&bearer->propagation.model,
                               (double)bearer->radio.modulation.centre_hz, ambient->position,
                               here) -
           oracle_node(oracle, at->node)->site_loss_db +
           oracle_antenna_dbi(&at->settings->antenna, here, ambient->position) -
           at->settings->feeder_loss_db;
}

void
oracle_make_links(Oracle *oracle)
{
    uint32_t n = oracle->n_radios;
    for (uint32_t from = 0; from < n; from++)
        for (uint32_t to = 0; to < n; to++)
            if (from != to)
                oracle->link_dbm[from * n + to] =
                    received_dbm(oracle, &oracle->radios[from], &oracle->radios[to]);
    for (uint32_t source = 0; source < oracle->scenario->n_ambient; source++)
        for (uint32_t to = 0; to < n; to++)
            oracle->ambient_dbm[source * n + to] = received_from_ambient_dbm(
                oracle, &oracle->scenario->ambient[source], &oracle->radios[to]);
}

/* Of a link that changes, over what its receiver can just decode: 108 dB.  135 are the bound, with
 * what fading and protection ratios add. */
#define CLOSE_ENCOUNTER 0x1p36

void
oracle_note_close_encounters(Oracle *oracle)
{
    uint32_t n = oracle->n_radios;
    for (uint32_t from = 0; from < n; from++)
        for (uint32_t to = 0; to < n; to++) {
            uint32_t a = oracle->radios[from].node, b = oracle->radios[to].node;
            double level = pow(10.0, oracle->link_dbm[from * n + to] / 10.0) /
                           oracle->radios[to].sensitivity_mw;
            bool changes = oracle_node(oracle, a)->moves.n_points > 0 ||
                           oracle_node(oracle, b)->moves.n_points > 0;
            if (a != b && changes && level > CLOSE_ENCOUNTER)
                oracle->history->closest = 0.0;
        }
}

/* ---- fading ---------------------------------------------------------------------------------- */

/* Sources have no names: their bearer and their order on it stand in. */
uint64_t
oracle_ambient_hash(const Oracle *oracle, uint32_t source)
{
    const SpateScenario *scenario = oracle->scenario;
    uint32_t bearer = scenario->ambient[source].bearer;
    uint64_t order = 0;
    for (uint32_t i = 0; i < source; i++)
        order += scenario->ambient[i].bearer == bearer ? 1 : 0;
    return spate_hash_combine(spate_hash_name(scenario->bearers[bearer].name), order);
}

/* A frame at a receiver; or a pair, the same both ways, in a block of time. */
static uint64_t
name_of_fade(const Oracle *oracle, const SpateFading *fading, uint64_t frame_identity,
             uint64_t sender_hash, uint32_t sender_bearer, const OracleRadio *receiver)
{
    uint64_t bearer_hash = spate_hash_name(oracle->scenario->bearers[sender_bearer].name);
    uint64_t there = spate_hash_combine(bearer_hash, receiver->bearer_hash);
    uint64_t back = spate_hash_combine(receiver->bearer_hash, bearer_hash);
    if (fading->coherence_ns == 0)
        return spate_hash_combine(spate_hash_combine(frame_identity, receiver->node_hash), there);
    uint64_t pair = spate_hash_combine(MIN(sender_hash, receiver->node_hash),
                                       MAX(sender_hash, receiver->node_hash));
    return spate_hash_combine(spate_hash_combine(pair, MIN(there, back)),
                              (uint64_t)(oracle->now_ns / fading->coherence_ns));
}

/* A steady part of power K / (K + 1) and a scattered one of 1 / (K + 1). */
static double
draw_rician(double k, SpateRandom *draws)
{
    double deviation = sqrt(1.0 / (2.0 * (k + 1.0)));
    double real = sqrt(k / (k + 1.0)) + deviation * spate_random_normal(draws);
    double imaginary = deviation * spate_random_normal(draws);
    return real * real + imaginary * imaginary;
}

double
oracle_fading(const Oracle *oracle, uint64_t frame_identity, uint64_t sender_hash,
              uint32_t sender_bearer, const OracleRadio *receiver)
{
    const SpateFading *fading = &oracle->scenario->bearers[sender_bearer].fading;
    SpateRandom draws = spate_random_stream(
        oracle_key(oracle, SPATE_FOR_FADING, true),
        name_of_fade(oracle, fading, frame_identity, sender_hash, sender_bearer, receiver));
    switch (fading->kind) {
    case SPATE_FADING_NONE:
        return 1.0;
    case SPATE_FADING_RAYLEIGH:
        return spate_random_exponential(&draws);
    case SPATE_FADING_RICIAN:
        return draw_rician(pow(10.0, fading->rician_k_db / 10.0), &draws);
    case SPATE_FADING_NAKAGAMI:
        return spate_random_gamma(&draws, fading->nakagami_m);
    }
    g_assert_not_reached();
}
