/* levels.c - from link budgets to levels */
#include "channel/medium-private.h"

#include "core/units.h"
#include <math.h>

/* Below any threshold, whatever a protection ratio (60 dB at most) and the highest fade (18 dB)
 * add. */
#define HOPELESS_DB 140.0

/* A receiver that hears more than this over its budget (132 dB) hears no more: far above what its
 * input withstands, and it keeps the sums within their bits. */
#define HIGHEST_LEVEL 0x1p44

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

SpateLevelsFrom
spate_levels_from(const SpateLevels *levels, uint32_t sender)
{
    SpateLevelsFrom from = {.levels = levels, .sender = sender};
    if (sender < levels->medium->n_radios)
        from.links = spate_links_sender(levels->plan.links, sender);
    return from;
}

/* In dBm, shadowing included; where it is sure to be below least_dbm, one that is no lower.  NAN
 * with an error. */
static double
received_dbm(const SpateLevelsFrom *from, uint32_t receiver, double least_dbm, GError **error)
{
    const SpateLevels *levels = from->levels;
    if (from->sender >= levels->medium->n_radios)
        return ambient_dbm(levels, from->sender - levels->medium->n_radios, receiver, error);
    double shadow_db = from->links.is_shadowed ? shadowing_db(levels, from->sender, receiver) : 0.0;
    return spate_sender_received_dbm(&from->links, receiver, least_dbm + shadow_db, error) -
           shadow_db;
}

/* The level, or where it is sure to be below least_dbm before shadowing one that is not lower. */
static double
level_above(const SpateLevelsFrom *from, uint32_t receiver, double least_dbm, GError **error)
{
    const SpateLevels *levels = from->levels;
    const SpateWeight *weight = weight_at(levels->medium, receiver, from->sender);
    if (weight->share <= 0.0)
        return ABSENT;
    double dbm = received_dbm(from, receiver, least_dbm, error);
    if (isnan(dbm))
        return NAN;
    /* Most pairs of a large mesh are far apart: spare them the power function. */
    if (dbm < levels->budget_dbm[receiver] - HOPELESS_DB)
        return ABSENT;
    return fmin(spate_db_to_linear(dbm) * weight->share / levels->budget_mw[receiver],
                HIGHEST_LEVEL);
}

double
spate_level_of(const SpateLevels *levels, uint32_t sender, uint32_t receiver, GError **error)
{
    const SpateLevelsFrom from = spate_levels_from(levels, sender);
    return level_above(&from, receiver, -INFINITY, error);
}

double
spate_level_if_kept(const SpateLevelsFrom *from, uint32_t receiver, GError **error)
{
    const SpateLevels *levels = from->levels;
    const SpateMedium *medium = levels->medium;
    double least_db = levels->least_db[medium->bearer[receiver] * medium->n_classes +
                                       medium->sender_class[from->sender]];
    return level_above(from, receiver, levels->budget_dbm[receiver] + least_db, error);
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
