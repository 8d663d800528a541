/* lint-moves.c - moves that no result shows, and steps too coarse for them
 *
 * Reported once for the nodes of an entry.
 */
#include "core/time.h"
#include "scenario/lint/lint.h"
#include "scenario/text/quantity.h"

#include <math.h>

/* What a path model is asked for at most: farther than any radio on the ground reaches. */
#define FARTHEST_M 1e6

/* From the place that it has in the first replication to the last point. */
static double
way_m(const SpateScenario *scenario, const SpateScenarioNode *node)
{
    SpatePosition at =
        spate_placement_at(node->placement, node->placement_index, scenario->seed, 0);
    double sum_m = 0;
    for (uint32_t i = 0; i < node->moves.n_points; i++) {
        sum_m += spate_ground_distance_m(at, node->moves.points[i]);
        at = node->moves.points[i];
    }
    return sum_m;
}

static char *
length_text(double length_m)
{
    return spate_quantity_text(rint(length_m * 10.0) / 10.0, SPATE_DIM_LENGTH);
}

/* ---- when ------------------------------------------------------------------------------------ */

static void
check_times(SpateLint *lint, const SpateScenarioNode *node, double way_m)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateMoves *moves = &node->moves;
    double takes_ns = way_m / moves->speed_m_per_s * SPATE_NS_PER_S;
    double arrives_ns = (double)moves->from_ns + takes_ns;
    g_autofree char *from = spate_lint_time(moves->from_ns);
    g_autofree char *duration = spate_lint_time(scenario->duration_ns);
    g_autofree char *warm_up = spate_lint_time(scenario->warm_up_ns);
    if (moves->from_ns >= scenario->duration_ns) {
        spate_faults_warn(lint->faults, moves->place, "times count from the start of the run",
                          "'%s' begins to move after %s, but the run ends after %s", node->name,
                          from, duration);
    } else if (!moves->back && arrives_ns <= (double)scenario->warm_up_ns) {
        g_autofree char *arrives = spate_lint_time((int64_t)arrives_ns);
        spate_faults_warn(lint->faults, moves->place, "a later 'from', or a shorter warm-up",
                          "'%s' is at its last point after %s, within the warm-up of %s: no "
                          "message that counts meets it on its way",
                          node->name, arrives, warm_up);
    }
}

/* ---- given losses ---------------------------------------------------------------------------- */

static void
check_links(SpateLint *lint, const SpateScenarioNode *node)
{
    const SpateScenario *scenario = lint->scenario;
    uint32_t n = 0;
    for (uint32_t i = 0; i < scenario->n_given_losses; i++) {
        const SpateGivenLoss *given = &scenario->given_losses[i];
        n += scenario->nodes[given->from_node].entry == node->entry ||
             scenario->nodes[given->to_node].entry == node->entry;
    }
    if (n > 0)
        spate_faults_warn(lint->faults, node->moves.place,
                          "leave these nodes out of 'links', or do without 'moves'",
                          "'%s' moves, but 'links' gives %u of its losses: they stay as they are",
                          node->name, n);
}

/* ---- steps ----------------------------------------------------------------------------------- */

/* How far apart two such radios just hear each other, without shadowing and fading; NAN where the
 * model holds for some distances alone. */
static double
range_m(const SpateScenario *scenario, const SpateScenarioNode *node,
        const SpateScenarioRadio *radio)
{
    const SpateScenarioBearer *bearer = &scenario->bearers[radio->bearer];
    const SpatePathModel *model = &bearer->propagation.model;
    if (spate_path_model_has_range(model->kind))
        return NAN;
    double budget_db = radio->power_dbm + 2 * (radio->antenna.gain_dbi - radio->feeder_loss_db) -
                       2 * node->site_loss_db - radio->noise_rise_db -
                       spate_bearer_sensitivity_dbm(&bearer->radio);
    double near_m = 0, far_m = FARTHEST_M;
    for (int i = 0; i < 40; i++) {
        double middle_m = 0.5 * (near_m + far_m);
        const SpatePosition here = {0}, there = {.x_m = middle_m};
        double loss_db = spate_path_loss_db(model, (double)bearer->radio.modulation.centre_hz, here,
                                            there, NULL);
        if (loss_db <= budget_db)
            near_m = middle_m;
        else
            far_m = middle_m;
    }
    return near_m;
}

/* On the bearer where a step means most. */
static void
check_step_on(SpateLint *lint, const SpateScenarioNode *node, const SpateScenarioRadio *radio)
{
    const SpateScenarioBearer *bearer = &lint->scenario->bearers[radio->bearer];
    const SpateShadowing *shadowing = &bearer->propagation.shadowing;
    double step_m = lint->scenario->move_step_m, reach_m = range_m(lint->scenario, node, radio);
    g_autofree char *step = length_text(step_m);
    if (step_m > reach_m) {
        g_autofree char *range = length_text(reach_m);
        spate_faults_warn(lint->faults, node->moves.place, "a shorter 'move-step' of 'run'",
                          "'%s' moves by %s at a time, but radios like its own on '%s' reach %s",
                          node->name, step, bearer->name, range);
    } else if (shadowing->sigma_db > 0 && step_m > shadowing->decorrelation_m) {
        g_autofree char *decorrelation = length_text(shadowing->decorrelation_m);
        spate_faults_warn(lint->faults, node->moves.place, "a shorter 'move-step' of 'run'",
                          "'%s' moves by %s at a time, but the shadowing of '%s' changes within "
                          "%s ('decorrelation')",
                          node->name, step, bearer->name, decorrelation);
    }
}

static void
check_steps(SpateLint *lint, const SpateScenarioNode *node, double way_m)
{
    double step_m = lint->scenario->move_step_m;
    if (way_m <= step_m) {
        g_autofree char *way = length_text(way_m), *step = length_text(step_m);
        spate_faults_warn(lint->faults, node->moves.place, "a shorter 'move-step' of 'run'",
                          "the way of '%s' is %s long, no more than one step of %s", node->name,
                          way, step);
    } else {
        for (uint32_t r = 0; r < node->n_radios; r++)
            check_step_on(lint, node, &node->radios[r]);
    }
}

void
spate_lint_moves(SpateLint *lint)
{
    for (uint32_t i = 0; i < lint->scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &lint->scenario->nodes[i];
        if (node->moves.n_points == 0 || !lint->is_first[i])
            continue;
        double long_m = way_m(lint->scenario, node);
        check_links(lint, node);
        if (long_m > 0) {
            check_times(lint, node, long_m);
            check_steps(lint, node, long_m);
        } else {
            spate_faults_warn(lint->faults, node->moves.place, "a point of 'along' elsewhere",
                              "'%s' never moves: its way ends where it begins", node->name);
        }
    }
}
