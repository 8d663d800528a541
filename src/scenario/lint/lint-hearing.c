/* lint-hearing.c - which radios could ever hear which */
#include "scenario/lint/lint-hearing.h"

#include "core/units.h"
#include <math.h>

/* All pairs of 10,000 radios: some seconds. */
#define MOST_LINKS 100000000

struct SpateHearing {
    const SpateScenario *scenario;
    const SpatePlan *plan;
    SpateLinks *links;
    double *weakest_dbm;  /* by radio: the least level that it could decode, shadowing apart */
    uint32_t *rank;       /* by radio */
    uint32_t **radios;    /* by bearer */
    uint32_t *n_radios;   /* by bearer */
    uint64_t **rows;      /* by radio; NULL: not asked for yet */
    uint64_t **all_heard; /* by bearer: the row of one that is beyond MOST_LINKS; NULL: none yet */
    uint64_t n_left;
};

SpateHearing *
spate_hearing_new(const SpateWorld *world)
{
    SpateHearing *hearing = g_new0(SpateHearing, 1);
    const SpatePlan *plan = spate_world_plan(world);
    const SpateScenario *scenario = spate_world_scenario(world);
    hearing->scenario = scenario;
    hearing->plan = plan;
    hearing->links = spate_world_links(world, 0);
    hearing->n_left = MOST_LINKS;
    hearing->weakest_dbm = g_new(double, MAX(plan->n_radios, 1));
    hearing->rank = g_new(uint32_t, MAX(plan->n_radios, 1));
    hearing->rows = g_new0(uint64_t *, MAX(plan->n_radios, 1));
    hearing->radios = g_new(uint32_t *, MAX(plan->n_bearers, 1));
    hearing->n_radios = g_new0(uint32_t, MAX(plan->n_bearers, 1));
    hearing->all_heard = g_new0(uint64_t *, MAX(plan->n_bearers, 1));
    for (uint32_t b = 0; b < plan->n_bearers; b++)
        hearing->radios[b] = g_new(uint32_t, MAX(plan->n_nodes, 1));
    uint32_t radio = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        for (uint32_t r = 0; r < scenario->nodes[i].n_radios; r++, radio++) {
            const SpateScenarioRadio *at = &scenario->nodes[i].radios[r];
            uint32_t b = at->bearer;
            double fading_db =
                spate_linear_to_db(spate_fading_highest_gain(&scenario->bearers[b].fading));
            hearing->rank[radio] = hearing->n_radios[b]++;
            hearing->radios[b][hearing->rank[radio]] = radio;
            hearing->weakest_dbm[radio] = spate_bearer_sensitivity_dbm(&plan->bearers[b]) +
                                          at->noise_rise_db -
                                          fmin(fading_db, SPATE_HEARING_FADING_DB);
        }
    }
    return hearing;
}

void
spate_hearing_free(SpateHearing *hearing)
{
    if (hearing == NULL)
        return;
    for (uint32_t i = 0; i < hearing->plan->n_radios; i++)
        g_free(hearing->rows[i]);
    for (uint32_t b = 0; b < hearing->plan->n_bearers; b++) {
        g_free(hearing->radios[b]);
        g_free(hearing->all_heard[b]);
    }
    g_free(hearing->radios);
    g_free(hearing->n_radios);
    g_free(hearing->all_heard);
    g_free(hearing->rows);
    g_free(hearing->rank);
    g_free(hearing->weakest_dbm);
    spate_links_free(hearing->links);
    g_free(hearing);
}

const uint32_t *
spate_hearing_radios(const SpateHearing *hearing, uint32_t bearer, uint32_t *n)
{
    *n = hearing->n_radios[bearer];
    return hearing->radios[bearer];
}

uint32_t
spate_hearing_rank(const SpateHearing *hearing, uint32_t radio)
{
    return hearing->rank[radio];
}

size_t
spate_hearing_n_words(const SpateHearing *hearing, uint32_t bearer)
{
    return (hearing->n_radios[bearer] + 63u) / 64u;
}

static bool
moves(const SpateHearing *hearing, uint32_t radio)
{
    return hearing->scenario->nodes[hearing->plan->radios[radio].node].moves.n_points > 0;
}

SpateMissingLink
spate_hearing_link(const SpateHearing *hearing, uint32_t sender, uint32_t receiver)
{
    SpateLink link;
    /* The world has tried each pair: a model that does not hold somewhere is a fault. */
    if (!spate_links_budget(hearing->links, sender, receiver, &link, NULL))
        return (SpateMissingLink){sender, receiver, link.distance_m, 0};
    if (moves(hearing, sender) || moves(hearing, receiver))
        return (SpateMissingLink){sender, receiver, link.distance_m, 0};
    double best_dbm = link.received_dbm + SPATE_HEARING_SIGMAS * link.shadowing_sigma_db;
    return (SpateMissingLink){sender, receiver, link.distance_m,
                              hearing->weakest_dbm[receiver] - best_dbm};
}

const uint64_t *
spate_hearing_row(SpateHearing *hearing, uint32_t sender)
{
    const SpateRadio *radios = hearing->plan->radios;
    uint32_t bearer = radios[sender].bearer, n = hearing->n_radios[bearer];
    bool is_beyond = hearing->rows[sender] == NULL && n > hearing->n_left;
    uint64_t **row = is_beyond ? &hearing->all_heard[bearer] : &hearing->rows[sender];
    if (*row != NULL)
        return *row;
    hearing->n_left -= is_beyond ? 0 : n;
    *row = g_new0(uint64_t, MAX(spate_hearing_n_words(hearing, bearer), 1));
    for (uint32_t i = 0; i < n; i++) {
        uint32_t receiver = hearing->radios[bearer][i];
        if (is_beyond || (radios[receiver].node != radios[sender].node &&
                          spate_hearing_link(hearing, sender, receiver).short_db <= 0))
            (*row)[i / 64] |= UINT64_C(1) << (i % 64);
    }
    return *row;
}
