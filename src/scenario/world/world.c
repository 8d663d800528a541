/* world.c - a scenario as numbers, ready to run */
#include "scenario/world/world.h"

#include "core/random.h"
#include "scenario/layout.h"
#include "scenario/world/world-ranges.h"

struct SpateWorld {
    gint n_references;
    const SpateScenario *scenario;
    SpateScenario *drawn; /* the same, if it belongs to this world */
    SpatePlan plan;
    SpateNode *nodes;
    SpateRadio *radios;
    SpateBearer *bearers;
    const char **bearer_names;
    uint64_t *bearer_hash;
    SpatePropagation *propagation; /* internals, borrowed from the scenario */
    SpateFading *fading;
    SpateRadioSite *sites; /* by radio */
    double *noise_rise_db; /* by radio */
    double *isolation_db;  /* by node */
    bool *moves;           /* by node; NULL: all stay */
    SpateTrafficKind *traffics;
    GPtrArray *measured_recipients; /* GArray of uint32_t, by traffic */
    SpateOffers *offers;
    SpateCrossing *crossings;
    SpateOutage *outages;
    SpateAmbientSite *ambient_sites;
    SpateAmbientSource *ambient;

    SpateTerrainPaths *paths; /* NULL: worked out when they are asked for */

    GMutex explaining;   /* scenario->later is one for all threads */
    SpateMedium *shared; /* for all replications, where nothing is drawn anew */
};

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

/* An error where a source has no ground under it. */
static bool
settle_ambient(SpateWorld *world, GError **error)
{
    const SpateScenario *scenario = world->scenario;
    for (uint32_t i = 0; scenario->terrain != NULL && i < scenario->n_ambient; i++) {
        SpateAmbientSite *site = &world->ambient_sites[i];
        g_autoptr(GError) problem = NULL;
        if (!site->everywhere &&
            !spate_terrain_settle(scenario->terrain, &site->position, &problem))
            spate_faults_note(scenario->later, scenario->ambient[i].place, NULL, "%s",
                              problem->message);
    }
    return !spate_faults_raise(scenario->later, error);
}

static bool
is_redrawn(const SpateWorld *world)
{
    if (spate_scenario_redraws_places(world->scenario))
        return true;
    g_autoptr(SpateLinks) links = spate_world_links(world, 0);
    return spate_links_redraw(links);
}

static SpateNodeSite *
node_sites(const SpateWorld *world, uint32_t replication)
{
    const SpateScenario *scenario = world->scenario;
    SpateNodeSite *nodes = g_new0(SpateNodeSite, MAX(scenario->n_nodes, 1));
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        nodes[i] = (SpateNodeSite){
            .position = spate_world_position(world, i, replication),
            .site_loss_db = scenario->nodes[i].site_loss_db,
            .name_hash = world->nodes[i].name_hash,
        };
    }
    return nodes;
}

static bool
raise_ranges(const SpateWorld *world, const SpateLinks *links, const char *when, GError **error)
{
    SpateFaults *faults = world->scenario->later;
    GMutex *explaining = (GMutex *)&world->explaining;
    g_mutex_lock(explaining);
    if (spate_faults_count(faults) == 0)
        spate_world_note_ranges(world, links, when, faults);
    bool is_raised = spate_faults_raise(faults, error);
    g_mutex_unlock(explaining);
    return is_raised;
}

bool
spate_world_raise_ranges(const SpateWorld *world, const SpateLinks *links, int64_t at_ns,
                         GError **error)
{
    g_autofree char *when =
        g_strdup_printf("after %.6g s of the run: ", (double)at_ns / SPATE_NS_PER_S);
    return raise_ranges(world, links, when, error);
}

/* Whether some node has no ground under it: with places and names then. */
static bool
raise_grounds(const SpateWorld *world, uint32_t replication, GError **error)
{
    if (world->scenario->terrain == NULL)
        return false;
    SpateFaults *faults = world->scenario->later;
    GMutex *explaining = (GMutex *)&world->explaining;
    g_mutex_lock(explaining);
    if (spate_faults_count(faults) == 0)
        spate_world_note_grounds(world, replication, faults);
    bool is_raised = spate_faults_raise(faults, error);
    g_mutex_unlock(explaining);
    return is_raised;
}

static bool
uses_terrain(const SpatePropagation *propagation)
{
    bool uses = propagation->model.kind == SPATE_PATH_TERRAIN;
    for (size_t i = 0; i < propagation->n_between; i++)
        uses = uses || propagation->between[i].model.kind == SPATE_PATH_TERRAIN;
    return uses;
}

/* Of nodes whose bearers ask for them, in a replication.  NULL if there are none, or too many. */
static SpateTerrainPaths *
find_paths(const SpateWorld *world, uint32_t replication, unsigned n_threads)
{
    const SpateScenario *scenario = world->scenario;
    if (scenario->terrain == NULL)
        return NULL;
    uint32_t n = scenario->n_nodes;
    g_autofree bool *wanted = g_new0(bool, MAX(n, 1));
    g_autofree SpatePosition *places = g_new(SpatePosition, MAX(n, 1));
    for (uint32_t r = 0; r < world->plan.n_radios; r++)
        if (uses_terrain(&world->propagation[world->radios[r].bearer]))
            wanted[world->radios[r].node] = true;
    for (uint32_t i = 0; i < n; i++)
        places[i] = spate_world_position(world, i, replication);
    return spate_terrain_paths_new(scenario->terrain, places, wanted, n, n_threads);
}

/* Sets the error, with places and names: of the pair that failed, or where it takes no time to look
 * of all that do. */
static bool
raise_pairs(const SpateWorld *world, const SpateLinks *links, bool has_paths,
            SpateMediumPair failed, GError *problem, GError **error)
{
    if (world->scenario->terrain == NULL || has_paths || failed.sender >= world->plan.n_radios)
        return raise_ranges(world, links, "", error);
    SpateFaults *faults = world->scenario->later;
    GMutex *explaining = (GMutex *)&world->explaining;
    g_mutex_lock(explaining);
    if (spate_faults_count(faults) == 0)
        spate_world_note_pair(world, failed.sender, failed.receiver, problem->message, faults);
    bool is_raised = spate_faults_raise(faults, error);
    g_mutex_unlock(explaining);
    return is_raised;
}

static SpateMedium *
build_medium(const SpateWorld *world, uint32_t replication, unsigned n_threads, GError **error)
{
    const SpateScenario *scenario = world->scenario;
    if (raise_grounds(world, replication, error))
        return NULL;
    g_autoptr(SpateLinks) links = spate_world_links(world, replication);
    g_autoptr(SpateTerrainPaths) own = NULL;
    if (world->paths == NULL && world->moves == NULL) {
        /* Links of nodes that move would outlive these paths. */
        own = find_paths(world, replication, n_threads);
        spate_links_set_paths(links, own);
    }
    g_autofree SpateNodeSite *nodes = node_sites(world, replication);
    SpateMediumPair failed = {0};
    SpateMediumPlan plan = {
        .links = links,
        .nodes = nodes,
        .radios = world->sites,
        .noise_rise_db = world->noise_rise_db,
        .bearers = world->bearers,
        .propagation = world->propagation,
        .fading = world->fading,
        .bearer_hash = world->bearer_hash,
        .ambient = world->ambient_sites,
        .moves = world->moves,
        .n_nodes = scenario->n_nodes,
        .n_radios = world->plan.n_radios,
        .n_bearers = scenario->n_bearers,
        .n_ambient = scenario->n_ambient,
        .seed = scenario->seed,
        .replication = replication,
        .n_threads = n_threads,
        .failed = &failed,
    };
    GError *problem = NULL;
    SpateMedium *medium = spate_medium_new(&plan, &problem);
    if (medium != NULL)
        return medium;
    if (g_error_matches(problem, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE) &&
        raise_pairs(world, links, world->paths != NULL || own != NULL, failed, problem, error))
        g_error_free(problem);
    else
        g_propagate_error(error, problem);
    return NULL;
}

SpateMedium *
spate_world_medium(const SpateWorld *world, uint32_t replication, GError **error)
{
    if (world->shared != NULL)
        return spate_medium_ref(world->shared);
    /* Replications have their threads. */
    return build_medium(world, replication, 1, error);
}

/* Whether a model is asked for that does not hold everywhere. */
static bool
may_fail(const SpateWorld *world)
{
    for (uint32_t b = 0; b < world->plan.n_bearers; b++)
        if (spate_world_may_fail(&world->propagation[b]))
            return true;
    return false;
}

SpateWorld *
spate_world_new(const SpateScenario *scenario, GError **error)
{
    g_autoptr(SpateWorld) world = g_new0(SpateWorld, 1);
    world->n_references = 1;
    g_mutex_init(&world->explaining);
    world->scenario = scenario;
    add_bearers(world);
    add_nodes(world);
    add_traffics(world);
    add_crossings(world);
    add_outages(world);
    add_ambient(world);
    if (!settle_ambient(world, error) || raise_grounds(world, 0, error))
        return NULL;
    if (!spate_scenario_redraws_places(scenario))
        world->paths = find_paths(world, 0, g_get_num_processors());
    bool is_shared = world->moves == NULL && !is_redrawn(world);
    /* One of many media is built to see that it can be. */
    g_autoptr(SpateMedium) medium = NULL;
    if (is_shared || may_fail(world)) {
        medium = build_medium(world, 0, g_get_num_processors(), error);
        if (medium == NULL)
            return NULL;
    }
    if (is_shared)
        world->shared = g_steal_pointer(&medium);
    return g_steal_pointer(&world);
}

void
spate_world_free(SpateWorld *world)
{
    if (world == NULL || !g_atomic_int_dec_and_test(&world->n_references))
        return;
    g_mutex_clear(&world->explaining);
    spate_medium_unref(world->shared);
    spate_terrain_paths_free(world->paths);
    g_free(world->nodes);
    g_free(world->radios);
    g_free(world->bearers);
    g_free(world->bearer_names);
    g_free(world->bearer_hash);
    g_free(world->propagation);
    g_free(world->fading);
    g_free(world->sites);
    g_free(world->noise_rise_db);
    g_free(world->isolation_db);
    g_free(world->moves);
    g_free(world->traffics);
    g_clear_pointer(&world->measured_recipients, g_ptr_array_unref);
    g_free(world->offers);
    g_free(world->crossings);
    g_free(world->outages);
    g_free(world->ambient_sites);
    g_free(world->ambient);
    spate_scenario_free(world->drawn);
    g_free(world);
}

SpateWorld *
spate_world_of_replication(const SpateWorld *world, uint32_t replication, GError **error)
{
    if (!spate_scenario_is_in_doubt(world->scenario)) {
        SpateWorld *same = (SpateWorld *)(uintptr_t)world;
        g_atomic_int_inc(&same->n_references);
        return same;
    }
    g_autoptr(SpateScenario) scenario = spate_scenario_redraw(world->scenario, replication, error);
    SpateWorld *drawn = scenario != NULL ? spate_world_new(scenario, error) : NULL;
    if (drawn != NULL)
        drawn->drawn = g_steal_pointer(&scenario);
    return drawn;
}

const SpateScenario *
spate_world_scenario(const SpateWorld *world)
{
    return world->scenario;
}

const SpatePlan *
spate_world_plan(const SpateWorld *world)
{
    return &world->plan;
}

const SpateOffers *
spate_world_offers(const SpateWorld *world, uint32_t *n_offers)
{
    *n_offers = world->plan.n_traffics;
    return world->offers;
}

const SpateAmbientSource *
spate_world_ambient(const SpateWorld *world, uint32_t *n_sources)
{
    *n_sources = world->scenario->n_ambient;
    return world->ambient;
}

bool
spate_world_settle(const SpateWorld *world, uint32_t node, uint32_t replication,
                   SpatePosition *position, GError **error)
{
    const SpateScenario *scenario = world->scenario;
    const SpateScenarioNode *at = &scenario->nodes[node];
    SpatePosition place =
        spate_placement_at(at->placement, at->placement_index, scenario->seed, replication);
    bool is_known =
        scenario->terrain == NULL || spate_terrain_settle(scenario->terrain, &place, error);
    if (position != NULL)
        *position = place;
    return is_known;
}

SpatePosition
spate_world_position(const SpateWorld *world, uint32_t node, uint32_t replication)
{
    SpatePosition position;
    if (!spate_world_settle(world, node, replication, &position, NULL))
        position.ground_m = 0.0;
    return position;
}

double
spate_world_margin_db(const SpateWorld *world, uint32_t radio, double received_dbm)
{
    const SpateBearer *bearer = &world->bearers[world->radios[radio].bearer];
    return received_dbm - spate_bearer_sensitivity_dbm(bearer) - world->noise_rise_db[radio];
}

SpateLinks *
spate_world_links(const SpateWorld *world, uint32_t replication)
{
    const SpateScenario *scenario = world->scenario;
    g_autofree SpateNodeSite *nodes = node_sites(world, replication);
    SpateLinks *links =
        spate_links_new(nodes, scenario->n_nodes, world->isolation_db, world->sites,
                        world->plan.n_radios, world->bearers, world->propagation,
                        scenario->n_bearers, scenario->given_losses, scenario->n_given_losses);
    spate_links_set_terrain(links, scenario->terrain);
    spate_links_set_paths(links, world->paths);
    return links;
}
