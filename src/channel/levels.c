/* levels.c - from link budgets to levels */
#include "channel/medium-private.h"

#include "core/units.h"
#include <math.h>

/* A level that falls short of the sensitivity by no more than the arithmetic of decibels loses
 * still reaches it.  Less than half a unit, so that it is rounded up to the budget. */
#define JUST_AUDIBLE (1.0 - 1e-9)

/* Below any threshold, whatever a protection ratio (60 dB at most) and the highest fade (18 dB)
 * add. */
#define HOPELESS_DB 140.0

/* A receiver that hears more than this over its budget (132 dB) hears no more: far above what its
 * input withstands, and it keeps the sums within their bits. */
#define HIGHEST_LEVEL 0x1p44

/* Far more than the arithmetic of decibels loses. */
#define SURELY_DB 1e-6

void
spate_levels_init(SpateLevels *levels, const SpateMediumPlan *plan, const SpateMedium *medium)
{
    *levels = (SpateLevels){.plan = *plan, .medium = medium};
    size_t n_radios = MAX(plan->n_radios, 1);
    levels->shadowing = spate_links_draw_shadowing(plan->links, plan->seed, plan->replication);
    if (plan->moves != NULL)
        levels->series = spate_shadow_series_new(plan->links, levels->shadowing, plan->moves,
                                                 plan->seed, plan->replication);
    levels->budget_dbm = g_new0(double, n_radios);
    levels->budget_mw = g_new0(double, n_radios);
    levels->highest_gain = g_new0(double, plan->n_bearers);
    levels->least_db = g_new0(double, MAX(medium->n_bearers * medium->n_classes, 1));
    for (uint32_t i = 0; i < plan->n_bearers; i++)
        levels->highest_gain[i] = spate_fading_highest_gain(&plan->fading[i]);
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        levels->budget_dbm[r] =
            spate_bearer_sensitivity_dbm(&plan->bearers[plan->radios[r].bearer]) +
            plan->noise_rise_db[r];
        levels->budget_mw[r] = spate_db_to_linear(levels->budget_dbm[r]);
    }
}

void
spate_levels_clear(SpateLevels *levels)
{
    spate_shadow_draws_free(levels->shadowing);
    spate_shadow_series_free(levels->series);
    g_free(levels->highest_gain);
    g_free(levels->least_db);
    g_free(levels->budget_dbm);
    g_free(levels->budget_mw);
}

/* Received power of a source of ambient traffic, in dBm. */
static double
ambient_dbm(const SpateLevels *levels, uint32_t source, uint32_t receiver, GError **error)
{
    const SpateMediumPlan *plan = &levels->plan;
    const SpateAmbientSite *site = &plan->ambient[source];
    if (site->everywhere)
        return site->power_dbm;
    const SpateRadioSite *radio = &plan->radios[receiver];
    const SpateNodeSite *node = spate_links_node(plan->links, radio->node);
    double loss_db = spate_path_loss_db(&plan->propagation[site->bearer].model,
                                        (double)plan->bearers[site->bearer].modulation.centre_hz,
                                        site->position, node->position, error);
    double bearing_deg = spate_bearing_deg(node->position, site->position);
    return site->power_dbm - loss_db - node->site_loss_db +
           spate_antenna_gain_dbi(&radio->antenna, bearing_deg) - radio->feeder_loss_db;
}

static double
shadowing_db(const SpateLevels *levels, uint32_t sender, uint32_t receiver)
{
    if (spate_levels_change(levels, sender, receiver))
        return spate_shadow_series_db(levels->series, sender, receiver);
    return spate_links_shadowing_with(levels->plan.links, levels->shadowing, sender, receiver);
}

/* The level, or where it is sure to be below least_dbm before shadowing one that is not lower. */
static double
level_above(const SpateLevels *levels, uint32_t sender, uint32_t receiver, double least_dbm,
            GError **error)
{
    const SpateMedium *medium = levels->medium;
    const SpateWeight *weight = weight_at(medium, receiver, sender);
    if (weight->share <= 0.0)
        return ABSENT;
    double dbm;
    if (sender >= medium->n_radios) {
        dbm = ambient_dbm(levels, sender - medium->n_radios, receiver, error);
        if (isnan(dbm))
            return NAN;
    } else {
        SpateLink link;
        double shadow_db = shadowing_db(levels, sender, receiver);
        if (!spate_links_budget_above(levels->plan.links, sender, receiver, least_dbm + shadow_db,
                                      &link, error))
            return NAN;
        dbm = link.received_dbm - shadow_db;
    }
    /* Most pairs of a large mesh are far apart: spare them the power function. */
    if (dbm < levels->budget_dbm[receiver] - HOPELESS_DB)
        return ABSENT;
    return fmin(spate_db_to_linear(dbm) * weight->share / levels->budget_mw[receiver],
                HIGHEST_LEVEL);
}

double
spate_level_of(const SpateLevels *levels, uint32_t sender, uint32_t receiver, GError **error)
{
    return level_above(levels, sender, receiver, -INFINITY, error);
}

double
spate_level_if_kept(const SpateLevels *levels, uint32_t sender, uint32_t receiver, GError **error)
{
    const SpateMedium *medium = levels->medium;
    double least_db =
        levels
            ->least_db[medium->bearer[receiver] * medium->n_classes + medium->sender_class[sender]];
    return level_above(levels, sender, receiver, levels->budget_dbm[receiver] + least_db, error);
}

double
spate_level_of_mate(const SpateLevels *levels, uint32_t sender, uint32_t receiver, GError **error)
{
    SpateLink link;
    if (!spate_links_budget(levels->plan.links, sender, receiver, &link, error))
        return NAN;
    return fmin(spate_db_to_linear(link.received_dbm) *
                    weight_at(levels->medium, receiver, sender)->share /
                    levels->budget_mw[receiver],
                HIGHEST_LEVEL);
}

double
spate_levels_protection(const SpateLevels *levels, uint32_t receiver, uint32_t sender)
{
    return (double)weight_at(levels->medium, receiver, sender)->weight_q32 * 0x1p-32;
}

double
spate_levels_weight(const SpateLevels *levels, uint32_t sender, uint32_t receiver, double level)
{
    return level * levels->highest_gain[levels->medium->bearer[sender]] *
           spate_levels_protection(levels, receiver, sender);
}

bool
spate_levels_may_decode(const SpateLevels *levels, uint32_t sender, uint32_t receiver, double level)
{
    const SpateMedium *medium = levels->medium;
    return medium->sender_class[sender] == medium->bearer[receiver] &&
           level * levels->highest_gain[medium->bearer[sender]] >= JUST_AUDIBLE;
}

bool
spate_levels_keep(const SpateLevels *levels, uint32_t sender, uint32_t receiver, double level)
{
    /* What may be decoded is kept, however small its weight as a disturber. */
    return spate_levels_may_decode(levels, sender, receiver, level) ||
           spate_levels_weight(levels, sender, receiver, level) >= levels->threshold;
}

void
spate_levels_set_threshold(SpateLevels *levels, double threshold)
{
    const SpateMedium *medium = levels->medium;
    levels->threshold = threshold;
    for (uint32_t r = 0; r < medium->n_bearers; r++)
        for (uint32_t c = 0; c < medium->n_classes; c++) {
            const SpateWeight *weight = &medium->weights[r * medium->n_classes + c];
            double gain = levels->highest_gain[c % medium->n_bearers];
            double least = threshold / (gain * (double)weight->weight_q32 * 0x1p-32);
            if (c == r)
                least = fmin(least, JUST_AUDIBLE / gain);
            levels->least_db[r * medium->n_classes + c] =
                spate_linear_to_db(least / weight->share) - SURELY_DB;
        }
}
