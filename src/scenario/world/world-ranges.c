/* world-ranges.c - where a path loss model or the height model is asked for more than it holds */
#include "scenario/world/world-ranges.h"

#include <math.h>

#define MOST_SHOWN 3
#define HINT       "another model, or the losses of these pairs in 'links'"

static const char *
node_of(const SpatePlan *plan, uint32_t radio)
{
    return plan->nodes[plan->radios[radio].node].name;
}

static void
note_pair(const SpateWorld *world, const char *when, uint32_t sender, uint32_t receiver,
          const char *why, SpateFaults *faults)
{
    const SpatePlan *plan = spate_world_plan(world);
    const SpateScenarioBearer *bearer =
        &spate_world_scenario(world)->bearers[plan->radios[sender].bearer];
    spate_faults_note(faults, bearer->propagation_place, HINT,
                      "%sbearer '%s', from '%s' to '%s': %s", when, bearer->name,
                      node_of(plan, sender), node_of(plan, receiver), why);
}

void
spate_world_note_pair(const SpateWorld *world, uint32_t sender, uint32_t receiver, const char *why,
                      SpateFaults *faults)
{
    note_pair(world, "", sender, receiver, why, faults);
}

/* Pairs of one bearer fail both ways alike: they count once. */
static void
note_bearer(const SpateWorld *world, const SpateLinks *links, const char *when, uint32_t b,
            SpateFaults *faults)
{
    const SpatePlan *plan = spate_world_plan(world);
    const SpateScenarioBearer *bearer = &spate_world_scenario(world)->bearers[b];
    /* What is heard of another bearer is lost by the sender's model too. */
    g_autofree bool *hears = g_new0(bool, plan->n_bearers);
    for (uint32_t i = 0; i < plan->n_bearers; i++)
        hears[i] = spate_bearer_interference(&plan->bearers[i], &plan->bearers[b]).share > 0.0;
    uint64_t n_failed = 0;
    for (uint32_t s = 0; s < plan->n_radios; s++) {
        if (plan->radios[s].bearer != b)
            continue;
        for (uint32_t r = 0; r < plan->n_radios; r++) {
            uint32_t heard_on = plan->radios[r].bearer;
            if (!hears[heard_on] || (heard_on == b && r <= s))
                continue;
            SpateLink link;
            g_autoptr(GError) error = NULL;
            if (spate_links_budget(links, s, r, &link, n_failed < MOST_SHOWN ? &error : NULL))
                continue;
            if (n_failed++ < MOST_SHOWN)
                note_pair(world, when, s, r, error->message, faults);
        }
    }
    if (n_failed > MOST_SHOWN)
        spate_faults_note(faults, bearer->propagation_place, HINT,
                          "%sbearer '%s': %" G_GUINT64_FORMAT " more pairs are out of range", when,
                          bearer->name, n_failed - MOST_SHOWN);
}

static void
note_ambient(const SpateWorld *world, const SpateLinks *links, const char *when,
             const SpateScenarioAmbient *source, SpateFaults *faults)
{
    const SpatePlan *plan = spate_world_plan(world);
    const SpateScenarioBearer *bearer = &spate_world_scenario(world)->bearers[source->bearer];
    const SpateBearer *sender = &plan->bearers[source->bearer];
    const SpateTerrain *terrain = spate_world_scenario(world)->terrain;
    SpatePosition position = source->position;
    if (terrain != NULL && !spate_terrain_settle(terrain, &position, NULL))
        return; /* the world has said so */
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        if (spate_bearer_noise_interference(&plan->bearers[plan->radios[r].bearer], sender).share <=
            0.0)
            continue;
        g_autoptr(GError) error = NULL;
        double loss_db = spate_path_loss_db(
            &bearer->propagation.model, (double)sender->modulation.centre_hz, position,
            spate_links_node(links, plan->radios[r].node)->position, &error);
        if (!isnan(loss_db))
            continue;
        spate_faults_note(faults, source->place, NULL, "%sbearer '%s', from here to '%s': %s", when,
                          bearer->name, node_of(plan, r), error->message);
        return;
    }
}

/* Whether the node has ground under it where it begins, and on all its way. */
static bool
has_ground(const SpateWorld *world, uint32_t node, uint32_t replication, GError **error)
{
    const SpateTerrain *terrain = spate_world_scenario(world)->terrain;
    const SpateTrackPlan *track = &spate_world_plan(world)->nodes[node].track;
    SpatePosition at;
    if (!spate_world_settle(world, node, replication, &at, error))
        return false;
    for (uint32_t i = 0; i < track->n_points; i++) {
        if (!spate_terrain_covers(terrain, at, track->points[i], error)) {
            g_prefix_error(error, "on its way, ");
            return false;
        }
        at = track->points[i];
    }
    return true;
}

void
spate_world_note_grounds(const SpateWorld *world, uint32_t replication, SpateFaults *faults)
{
    const SpateScenario *scenario = spate_world_scenario(world);
    uint32_t n_failed = 0;
    const SpateScenarioNode *last = NULL;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        g_autoptr(GError) error = NULL;
        if (has_ground(world, i, replication, &error))
            continue;
        last = &scenario->nodes[i];
        if (n_failed++ < MOST_SHOWN)
            spate_faults_note(faults, last->place, "another place, or a larger height model",
                              "node '%s': %s", last->name, error->message);
    }
    if (n_failed > MOST_SHOWN)
        spate_faults_note(faults, last->place, NULL, "%u more nodes have no ground under them",
                          n_failed - MOST_SHOWN);
}

bool
spate_world_may_fail(const SpatePropagation *propagation)
{
    bool may_fail = spate_path_model_has_range(propagation->model.kind);
    for (size_t i = 0; i < propagation->n_between; i++)
        may_fail = may_fail || spate_path_model_has_range(propagation->between[i].model.kind);
    return may_fail;
}

void
spate_world_note_ranges(const SpateWorld *world, const SpateLinks *links, const char *when,
                        SpateFaults *faults)
{
    const SpateScenario *scenario = spate_world_scenario(world);
    for (uint32_t b = 0; b < scenario->n_bearers; b++) {
        if (spate_world_may_fail(&scenario->bearers[b].propagation))
            note_bearer(world, links, when, b, faults);
    }
    for (uint32_t i = 0; i < scenario->n_ambient; i++) {
        const SpateScenarioAmbient *source = &scenario->ambient[i];
        if (!source->everywhere &&
            spate_path_model_has_range(scenario->bearers[source->bearer].propagation.model.kind))
            note_ambient(world, links, when, source, faults);
    }
}
