/* world.c - a scenario as numbers, ready to run */
#include "scenario/world/world-private.h"

#include "scenario/layout.h"
#include "scenario/world/world-ranges.h"

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
spate_world_medium(const SpateWorld *world, uint32_t replication, unsigned n_threads,
                   GError **error)
{
    if (world->shared != NULL)
        return spate_medium_ref(world->shared);
    SpateWorld *lender = world->lender != NULL ? world->lender : (SpateWorld *)(uintptr_t)world;
    if (g_atomic_int_get(&lender->n_borrowers) == 0)
        return build_medium(world, replication, n_threads, error);
    SpateMedium *medium = spate_world_shelf_take(lender, replication);
    if (medium != NULL)
        return medium;
    medium = build_medium(lender, replication, n_threads, error);
    if (medium != NULL)
        spate_world_shelf_put(lender, replication, medium);
    return medium;
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

/* False with an error if a medium cannot be built. */
static bool
find_links(SpateWorld *world, GError **error)
{
    if (!spate_scenario_redraws_places(world->scenario))
        world->paths = find_paths(world, 0, g_get_num_processors());
    bool is_shared = world->moves == NULL && !is_redrawn(world);
    /* One of many media is built to see that it can be. */
    g_autoptr(SpateMedium) medium = NULL;
    if (is_shared || may_fail(world)) {
        medium = build_medium(world, 0, g_get_num_processors(), error);
        if (medium == NULL)
            return false;
    }
    if (is_shared)
        world->shared = g_steal_pointer(&medium);
    return true;
}

/* Where nodes move, each run moves a medium of its own. */
bool
spate_world_has_links_of(const SpateWorld *world, const SpateScenario *scenario)
{
    const char *links = scenario->links_sha256;
    return links != NULL && g_strcmp0(links, world->scenario->links_sha256) == 0 &&
           scenario->seed == world->scenario->seed && world->moves == NULL;
}

static void
borrow_links(SpateWorld *world, SpateWorld *from)
{
    SpateWorld *lender = from->lender != NULL ? from->lender : from;
    g_assert(world->plan.n_radios == lender->plan.n_radios &&
             world->plan.n_nodes == lender->plan.n_nodes);
    g_atomic_int_inc(&lender->n_references);
    g_atomic_int_inc(&lender->n_borrowers);
    world->lender = lender;
    world->paths = lender->paths;
    world->shared = lender->shared != NULL ? spate_medium_ref(lender->shared) : NULL;
}

SpateWorld *
spate_world_new_like(const SpateScenario *scenario, SpateWorld *like, GError **error)
{
    g_autoptr(SpateWorld) world = g_new0(SpateWorld, 1);
    world->n_references = 1;
    g_mutex_init(&world->explaining);
    spate_world_shelf_init(world);
    world->scenario = scenario;
    spate_world_fill_plan(world);
    if (!settle_ambient(world, error) || raise_grounds(world, 0, error))
        return NULL;
    if (like != NULL && spate_world_has_links_of(like, scenario))
        borrow_links(world, like);
    else if (!find_links(world, error))
        return NULL;
    return g_steal_pointer(&world);
}

SpateWorld *
spate_world_new(const SpateScenario *scenario, GError **error)
{
    return spate_world_new_like(scenario, NULL, error);
}

void
spate_world_free(SpateWorld *world)
{
    if (world == NULL || !g_atomic_int_dec_and_test(&world->n_references))
        return;
    g_mutex_clear(&world->explaining);
    spate_world_shelf_clear(world);
    spate_medium_unref(world->shared);
    if (world->lender == NULL)
        spate_terrain_paths_free(world->paths);
    else
        g_atomic_int_add(&world->lender->n_borrowers, -1);
    spate_world_free(world->lender);
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
