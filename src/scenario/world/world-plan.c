/* world-plan.c - the parts of a scenario as numbers: bearers, nodes, traffic, crossings, outages,
 * ambient traffic */
#include "scenario/world/world-private.h"

#include "core/random.h"

static void
add_bearers(SpateWorld *world)
{
    const SpateScenario *scenario = world->scenario;
    uint32_t n = scenario->n_bearers;
    world->bearers = g_new0(SpateBearer, MAX(n, 1));
    world->bearer_names = g_new0(const char *, MAX(n, 1));
    world->bearer_hash = g_new0(uint64_t, MAX(n, 1));
    world->propagation = g_new0(SpatePropagation, MAX(n, 1));
    world->fading = g_new0(SpateFading, MAX(n, 1));
    for (uint32_t i = 0; i < n; i++) {
        const SpateScenarioBearer *bearer = &scenario->bearers[i];
        world->bearers[i] = bearer->radio;
        world->bearer_names[i] = bearer->name;
        world->bearer_hash[i] = spate_hash_name(bearer->name);
        world->propagation[i] = bearer->propagation;
        world->fading[i] = bearer->fading;
    }
    world->plan.bearers = world->bearers;
    world->plan.bearer_names = world->bearer_names;
    world->plan.n_bearers = n;
}

static void
add_radio(SpateWorld *world, uint32_t node, const SpateScenarioRadio *from, uint32_t radio)
{
    world->radios[radio] = (SpateRadio){
        .node = node,
        .bearer = from->bearer,
        .relays = from->relays,
        .supply_sending_w = from->supply_sending_w,
        .supply_receiving_w = from->supply_receiving_w,
        .supply_asleep_w = from->supply_asleep_w,
        .listening = from->listening,
    };
    world->sites[radio] = (SpateRadioSite){
        .node = node,
        .bearer = from->bearer,
        .power_dbm = from->power_dbm,
        .antenna = from->antenna,
        .feeder_loss_db = from->feeder_loss_db,
    };
    world->noise_rise_db[radio] = from->noise_rise_db;
}

static void
add_nodes(SpateWorld *world)
{
    const SpateScenario *scenario = world->scenario;
    uint32_t n_radios = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        n_radios += scenario->nodes[i].n_radios;
    world->nodes = g_new0(SpateNode, MAX(scenario->n_nodes, 1));
    world->radios = g_new0(SpateRadio, MAX(n_radios, 1));
    world->sites = g_new0(SpateRadioSite, MAX(n_radios, 1));
    world->noise_rise_db = g_new0(double, MAX(n_radios, 1));
    world->isolation_db = g_new0(double, MAX(scenario->n_nodes, 1));

    uint32_t radio = 0;
    bool any_moves = false;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        world->isolation_db[i] = node->isolation_db;
        world->nodes[i] = (SpateNode){
            .name = node->name,
            .name_hash = spate_hash_name(node->name),
            .first_radio = radio,
            .n_radios = node->n_radios,
            .flooding = node->flooding,
            .queue = node->queue,
            .track = {node->moves.points, node->moves.n_points, node->moves.speed_m_per_s,
                      node->moves.from_ns, node->moves.back},
        };
        any_moves = any_moves || node->moves.n_points > 0;
        if (node->relay_rules != NULL) {
            world->nodes[i].relay_rules = (const SpateRule *)(const void *)node->relay_rules->data;
            world->nodes[i].n_relay_rules = node->relay_rules->len;
        }
        for (uint32_t r = 0; r < node->n_radios; r++)
            add_radio(world, i, &node->radios[r], radio++);
    }
    if (any_moves) {
        world->moves = g_new0(bool, scenario->n_nodes);
        for (uint32_t i = 0; i < scenario->n_nodes; i++)
            world->moves[i] = scenario->nodes[i].moves.n_points > 0;
    }
    world->plan.move_step_m = scenario->move_step_m;
    world->plan.nodes = world->nodes;
    world->plan.n_nodes = scenario->n_nodes;
    world->plan.radios = world->radios;
    world->plan.n_radios = n_radios;
}

static int
compare_numbers(gconstpointer a, gconstpointer b)
{
    uint32_t first = *(const uint32_t *)a, second = *(const uint32_t *)b;
    return (first > second) - (first < second);
}

/* What expectations ask of single recipients, each once. */
static void
add_measured_recipients(SpateWorld *world, uint32_t number)
{
    const SpateScenario *scenario = world->scenario;
    SpateTrafficKind *kind = &world->traffics[number];
    GArray *nodes = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    for (uint32_t i = 0; i < scenario->n_expectations; i++) {
        const SpateExpectation *expectation = &scenario->expectations[i];
        if (expectation->to == NULL || strcmp(expectation->traffic, kind->name) != 0)
            continue;
        uint32_t node = spate_scenario_find_node(scenario, expectation->to);
        /* A candidate that is not built; whoever judges refuses it. */
        if (node == UINT32_MAX)
            continue;
        g_array_append_val(nodes, node);
    }
    g_array_sort(nodes, compare_numbers);
    uint32_t *distinct = (uint32_t *)(void *)nodes->data;
    for (guint i = 0; i < nodes->len; i++)
        if (i == 0 || distinct[i] != distinct[i - 1])
            distinct[kind->n_measured++] = distinct[i];
    g_ptr_array_add(world->measured_recipients, nodes);
    kind->measured_recipients = distinct;
}

static void
add_traffics(SpateWorld *world)
{
    const SpateScenario *scenario = world->scenario;
    uint32_t n = scenario->n_traffics;
    world->measured_recipients = g_ptr_array_new_with_free_func((GDestroyNotify)g_array_unref);
    world->traffics = g_new0(SpateTrafficKind, MAX(n, 1));
    world->offers = g_new0(SpateOffers, MAX(n, 1));
    for (uint32_t i = 0; i < n; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        world->traffics[i] = (SpateTrafficKind){
            .name = traffic->name,
            .name_hash = spate_hash_name(traffic->name),
            .class_rank = traffic->class_rank,
            .payload_bytes = traffic->payload_bytes,
            .hop_limit = traffic->hop_limit,
            .on_bearers = traffic->on_bearers,
            .deadline_ns = traffic->deadline_ns,
            .acknowledgement = traffic->acknowledgement,
            .routing = {traffic->route, traffic->along, traffic->n_along, traffic->is_back},
            .recipients = traffic->recipients,
            .n_recipients = traffic->n_recipients,
        };
        add_measured_recipients(world, i);
        world->offers[i] = (SpateOffers){
            .traffic = i,
            .sources = traffic->sources,
            .n_sources = traffic->n_sources,
            .times = traffic->times,
            .every_ns = traffic->every_ns,
            .together = traffic->together,
            .spread_ns = traffic->spread_ns,
            .mean_interval_ns = traffic->mean_interval_ns,
            .at_ns = traffic->at_ns,
            .n_at = traffic->n_at,
            .follows = traffic->followed,
            .share = traffic->share,
            .within_ns = traffic->within_ns,
            .expected = spate_scenario_offers(scenario, i),
        };
    }
    world->plan.traffics = world->traffics;
    world->plan.n_traffics = n;
}

static void
add_crossings(SpateWorld *world)
{
    const SpateScenario *scenario = world->scenario;
    uint32_t n = scenario->n_crossings;
    world->crossings = g_new0(SpateCrossing, MAX(n, 1));
    for (uint32_t i = 0; i < n; i++) {
        const SpateScenarioCrossing *crossing = &scenario->crossings[i];
        const SpateNode *node = &world->nodes[crossing->node];
        uint32_t to_radio = node->first_radio, end = node->first_radio + node->n_radios;
        while (to_radio < end && world->radios[to_radio].bearer != crossing->to_bearer)
            to_radio++;
        g_assert(to_radio < end);
        world->crossings[i] = (SpateCrossing){
            .name = crossing->name,
            .bridge = crossing->bridge,
            .node = crossing->node,
            .from_bearer = crossing->from_bearer,
            .to_radio = to_radio,
            .rules = (const SpateRule *)(const void *)crossing->rules->data,
            .n_rules = crossing->rules->len,
            .otherwise_passes = crossing->otherwise_passes,
        };
    }
    world->plan.crossings = world->crossings;
    world->plan.n_crossings = n;
    world->plan.bridge_names = (const char *const *)scenario->bridge_names;
    world->plan.n_bridges = scenario->n_bridges;
}

static void
add_outages(SpateWorld *world)
{
    const SpateScenario *scenario = world->scenario;
    uint32_t n = scenario->n_outages;
    world->outages = g_new0(SpateOutage, MAX(n, 1));
    for (uint32_t i = 0; i < n; i++) {
        const SpateScenarioOutage *outage = &scenario->outages[i];
        world->outages[i] = (SpateOutage){
            .nodes = outage->nodes,
            .n_nodes = outage->n_nodes,
            .at_ns = outage->at_ns,
            .for_ns = outage->for_ns,
            .mean_between_ns = outage->mean_between_ns,
            .mean_time_ns = outage->mean_time_ns,
            .is_left_out = outage->is_left_out,
        };
    }
    world->plan.outages = world->outages;
    world->plan.n_outages = n;
}

static void
add_ambient(SpateWorld *world)
{
    const SpateScenario *scenario = world->scenario;
    uint32_t n = scenario->n_ambient;
    world->ambient_sites = g_new0(SpateAmbientSite, MAX(n, 1));
    world->ambient = g_new0(SpateAmbientSource, MAX(n, 1));
    for (uint32_t i = 0; i < n; i++) {
        const SpateScenarioAmbient *ambient = &scenario->ambient[i];
        uint32_t order = 0; /* on its bearer */
        for (uint32_t k = 0; k < i; k++)
            order += scenario->ambient[k].bearer == ambient->bearer;
        world->ambient_sites[i] = (SpateAmbientSite){
            .bearer = ambient->bearer,
            /* Sources have no names: their bearer and their order on it stand in. */
            .name_hash = spate_hash_combine(world->bearer_hash[ambient->bearer], order),
            .everywhere = ambient->everywhere,
            .position = ambient->position,
            .power_dbm = ambient->power_dbm,
        };
        world->ambient[i] = (SpateAmbientSource){
            .sender = world->plan.n_radios + i,
            .busy = ambient->busy,
            .burst_ns = ambient->burst_ns,
        };
    }
}

void
spate_world_fill_plan(SpateWorld *world)
{
    add_bearers(world);
    add_nodes(world);
    add_traffics(world);
    add_crossings(world);
    add_outages(world);
    add_ambient(world);
}
