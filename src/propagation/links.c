/* links.c - how loudly one radio is heard by another, fading apart */
#include "propagation/links-private.h"

#include "core/random.h"
#include <math.h>

static guint
given_hash(gconstpointer key)
{
    const SpateGivenLoss *given = key;
    uint64_t pair = (uint64_t)given->from_node << 32 | given->to_node;
    return (guint)spate_hash_combine(pair, (uint32_t)given->bearer);
}

static gboolean
given_equal(gconstpointer a, gconstpointer b)
{
    const SpateGivenLoss *first = a, *second = b;
    return first->from_node == second->from_node && first->to_node == second->to_node &&
           first->bearer == second->bearer;
}

const SpateGivenLoss *
spate_links_find_given(const SpateLinks *links, uint32_t from, uint32_t to, uint32_t bearer)
{
    if (links->given == NULL)
        return NULL;
    SpateGivenLoss key = {.from_node = from, .to_node = to, .bearer = (int32_t)bearer};
    const SpateGivenLoss *found = g_hash_table_lookup(links->given, &key);
    if (found != NULL)
        return found;
    key.bearer = -1;
    return g_hash_table_lookup(links->given, &key);
}

SpateLinks *
spate_links_new(const SpateNodeSite *nodes, size_t n_nodes, const double *isolation_db,
                const SpateRadioSite *radios, size_t n_radios, const SpateBearer *bearers,
                const SpatePropagation *propagation, size_t n_bearers, const SpateGivenLoss *given,
                size_t n_given)
{
    SpateLinks *links = g_new0(SpateLinks, 1);
    links->nodes = g_memdup2(nodes, n_nodes * sizeof nodes[0]);
    links->n_nodes = n_nodes;
    links->isolation_db = g_memdup2(isolation_db, n_nodes * sizeof isolation_db[0]);
    links->radios = g_memdup2(radios, n_radios * sizeof radios[0]);
    links->n_radios = n_radios;
    links->propagation = propagation;
    links->n_bearers = n_bearers;
    links->frequency_hz = g_new(double, MAX(n_bearers, 1));
    for (size_t i = 0; i < n_bearers; i++)
        links->frequency_hz[i] = (double)bearers[i].modulation.centre_hz;
    if (n_given > 0)
        links->given = g_hash_table_new_full(given_hash, given_equal, g_free, NULL);
    for (size_t i = 0; i < n_given; i++) {
        SpateGivenLoss *entry = g_memdup2(&given[i], sizeof given[i]);
        g_hash_table_replace(links->given, entry, entry);
    }
    return links;
}

SpateLinks *
spate_links_copy(const SpateLinks *links)
{
    SpateLinks *copy = g_memdup2(links, sizeof *links);
    copy->nodes = g_memdup2(links->nodes, links->n_nodes * sizeof links->nodes[0]);
    copy->isolation_db =
        g_memdup2(links->isolation_db, links->n_nodes * sizeof links->isolation_db[0]);
    copy->radios = g_memdup2(links->radios, links->n_radios * sizeof links->radios[0]);
    copy->frequency_hz =
        g_memdup2(links->frequency_hz, MAX(links->n_bearers, 1) * sizeof links->frequency_hz[0]);
    if (links->given != NULL)
        g_hash_table_ref(copy->given);
    copy->last_path = g_new0(SpateLastPath, 1);
    return copy;
}

void
spate_links_free(SpateLinks *links)
{
    if (links == NULL)
        return;
    g_free(links->nodes);
    g_free(links->isolation_db);
    g_free(links->radios);
    g_free(links->frequency_hz);
    g_clear_pointer(&links->given, g_hash_table_unref);
    g_free(links->last_path);
    g_free(links);
}

const SpateNodeSite *
spate_links_node(const SpateLinks *links, uint32_t node)
{
    return &links->nodes[node];
}

void
spate_links_set_terrain(SpateLinks *links, const SpateTerrain *terrain)
{
    links->terrain = terrain;
}

void
spate_links_set_paths(SpateLinks *links, const SpateTerrainPaths *paths)
{
    links->paths = paths;
}

bool
spate_links_move(SpateLinks *links, uint32_t node, SpatePosition to, GError **error)
{
    if (links->terrain != NULL && !spate_terrain_settle(links->terrain, &to, error))
        return false;
    links->nodes[node].position = to;
    return true;
}

const SpateBetween *
spate_propagation_between(const SpatePropagation *propagation, uint32_t a, uint32_t b)
{
    for (size_t i = 0; i < propagation->n_between; i++) {
        const SpateBetween *between = &propagation->between[i];
        if ((between->members_a[a] && between->members_b[b]) ||
            (between->members_a[b] && between->members_b[a]))
            return between;
    }
    return NULL;
}

double
spate_end_gain_db(const SpateAntenna *antenna, double feeder_loss_db, SpatePosition here,
                  SpatePosition there)
{
    double gain_dbi = antenna->beamwidth_deg <= 0.0
                          ? antenna->gain_dbi
                          : spate_antenna_gain_dbi(antenna, spate_bearing_deg(here, there));
    return gain_dbi - feeder_loss_db;
}

SpateStation
spate_links_station(const SpateLinks *links, uint32_t radio)
{
    const SpateRadioSite *site = &links->radios[radio];
    const SpateNodeSite *node = &links->nodes[site->node];
    return (SpateStation){site, node->position, node->site_loss_db};
}

/* One end of a link. */
typedef struct {
    const SpateRadioSite *radio;
    const SpatePosition *position;
} End;

static End
end_of(const SpateStation *station)
{
    return (End){station->radio, &station->position};
}

static double
end_gain_db(End here, End there)
{
    const SpateAntenna *antenna = &here.radio->antenna;
    return antenna->beamwidth_deg <= 0.0 ? antenna->gain_dbi - here.radio->feeder_loss_db
                                         : spate_end_gain_db(antenna, here.radio->feeder_loss_db,
                                                             *here.position, *there.position);
}

static double
received_dbm(End from, End to, double loss_db, double site_loss_db)
{
    return from.radio->power_dbm + end_gain_db(from, to) - loss_db - site_loss_db +
           end_gain_db(to, from);
}

static bool
is_same_place(SpatePosition a, SpatePosition b)
{
    return a.x_m == b.x_m && a.y_m == b.y_m && a.height_m == b.height_m;
}

/* What stands between two places is the same both ways, and on all bearers, which ask in turn. */
static bool
obstacle_between(const SpateLinks *links, const SpateTerrain *terrain, SpatePosition a,
                 SpatePosition b, SpateObstacle *obstacle, GError **error)
{
    SpateLastPath *last = links->last_path;
    bool is_last = last != NULL && last->terrain == terrain &&
                   ((is_same_place(a, last->a) && is_same_place(b, last->b)) ||
                    (is_same_place(a, last->b) && is_same_place(b, last->a)));
    if (is_last)
        *obstacle = last->obstacle;
    else if (!spate_terrain_obstacle(terrain, a, b, obstacle, error))
        return false;
    else if (last != NULL)
        *last = (SpateLastPath){terrain, a, b, *obstacle};
    return true;
}

/* Over terrain, as if nothing stood in between. */
static double
loss_in_sight_db(const SpateLinks *links, const SpatePathModel *model, const SpateStation *from,
                 const SpateStation *to)
{
    SpatePathModel in_sight = *model;
    in_sight.kind = SPATE_PATH_FREE_SPACE;
    return spate_path_loss_db(&in_sight, links->frequency_hz[from->radio->bearer], from->position,
                              to->position, NULL);
}

/* What a path over terrain loses at the least, found without walking it. */
static double
least_loss_db(const SpateLinks *links, const SpatePathModel *model, const SpateStation *from,
              const SpateStation *to, double enough_db)
{
    double least_db = loss_in_sight_db(links, model, from, to);
    if (least_db < enough_db)
        least_db += spate_terrain_least_loss_db(model->terrain, from->position, to->position,
                                                links->frequency_hz[from->radio->bearer]);
    return least_db;
}

/* Where it is `enough_db` or more it may be too low, though not below that. */
static double
path_loss_db(const SpateLinks *links, const SpatePathModel *model, const SpateStation *from,
             const SpateStation *to, double enough_db, GError **error)
{
    double frequency_hz = links->frequency_hz[from->radio->bearer];
    if (model->kind != SPATE_PATH_TERRAIN)
        return spate_path_loss_db(model, frequency_hz, from->position, to->position, error);
    SpateObstacle obstacle;
    bool is_known = links->paths != NULL &&
                    spate_terrain_paths_find(links->paths, from->radio->node, from->position,
                                             to->radio->node, to->position, &obstacle);
    if (!is_known && isfinite(enough_db)) {
        double least_db = least_loss_db(links, model, from, to, enough_db);
        if (least_db >= enough_db)
            return least_db;
    }
    if (!is_known &&
        !obstacle_between(links, model->terrain, from->position, to->position, &obstacle, error))
        return NAN;
    return spate_path_loss_over_db(model, frequency_hz, from->position, to->position, &obstacle);
}

/* By the path loss model between two nodes: all of *link; that is too much below least_dbm. */
static bool
model_link(const SpateLinks *links, const SpateStation *from, const SpateStation *to,
           double least_dbm, SpateLink *link, GError **error)
{
    uint32_t bearer = from->radio->bearer;
    const SpatePropagation *propagation = &links->propagation[bearer];
    const SpateBetween *between =
        spate_propagation_between(propagation, from->radio->node, to->radio->node);
    link->is_given = false;
    link->distance_m = spate_distance_m(from->position, to->position);
    double site_loss_db = from->site_loss_db + to->site_loss_db;
    const SpatePathModel *model = between != NULL ? &between->model : &propagation->model;
    double enough_db = isfinite(least_dbm) && model->kind == SPATE_PATH_TERRAIN
                           ? received_dbm(end_of(from), end_of(to), 0.0, site_loss_db) - least_dbm
                           : INFINITY;
    link->loss_db = path_loss_db(links, model, from, to, enough_db, error);
    if (isnan(link->loss_db))
        return false;
    link->received_dbm = received_dbm(end_of(from), end_of(to), link->loss_db, site_loss_db);
    link->shadowing_sigma_db =
        (between != NULL ? &between->shadowing : &propagation->shadowing)->sigma_db;
    return true;
}

bool
spate_links_budget(const SpateLinks *links, uint32_t sender, uint32_t receiver, SpateLink *link,
                   GError **error)
{
    return spate_links_budget_above(links, sender, receiver, -INFINITY, link, error);
}

bool
spate_links_budget_above(const SpateLinks *links, uint32_t sender, uint32_t receiver,
                         double least_dbm, SpateLink *link, GError **error)
{
    const SpateStation from = spate_links_station(links, sender);
    const SpateStation to = spate_links_station(links, receiver);
    uint32_t here = from.radio->node, there = to.radio->node;
    if (here == there) {
        double loss_db = links->isolation_db[here];
        *link = (SpateLink){.loss_db = loss_db, .received_dbm = from.radio->power_dbm - loss_db};
        return true;
    }
    const SpateGivenLoss *given = spate_links_find_given(links, here, there, from.radio->bearer);
    if (given == NULL)
        return model_link(links, &from, &to, least_dbm, link, error);
    *link = (SpateLink){
        .distance_m = spate_distance_m(from.position, to.position),
        .loss_db = given->loss_db,
        .received_dbm = received_dbm(end_of(&from), end_of(&to), given->loss_db, 0.0),
        .is_given = true,
    };
    return true;
}

bool
spate_links_budget_between(const SpateLinks *links, const SpateStation *a, const SpateStation *b,
                           SpateLink *a_to_b, SpateLink *b_to_a, GError **error)
{
    g_assert(a->radio->node != b->radio->node && a->radio->bearer == b->radio->bearer);
    if (!model_link(links, a, b, -INFINITY, a_to_b, error))
        return false;
    /* A path loses the same both ways, and takes long to work out over terrain. */
    *b_to_a = *a_to_b;
    b_to_a->received_dbm =
        received_dbm(end_of(b), end_of(a), a_to_b->loss_db, a->site_loss_db + b->site_loss_db);
    return true;
}

bool
spate_links_levels_in_sight(const SpateLinks *links, const SpateStation *a, const SpateStation *b,
                            double *at_a_dbm, double *at_b_dbm)
{
    const SpatePropagation *propagation = &links->propagation[a->radio->bearer];
    const SpateBetween *between =
        spate_propagation_between(propagation, a->radio->node, b->radio->node);
    const SpatePathModel *model = between != NULL ? &between->model : &propagation->model;
    if (model->kind != SPATE_PATH_TERRAIN)
        return false;
    double loss_db = loss_in_sight_db(links, model, a, b);
    double site_loss_db = a->site_loss_db + b->site_loss_db;
    *at_a_dbm = received_dbm(end_of(b), end_of(a), loss_db, site_loss_db);
    *at_b_dbm = received_dbm(end_of(a), end_of(b), loss_db, site_loss_db);
    return true;
}

static bool
may_be_shadowed(const SpatePropagation *propagation)
{
    bool may_be = propagation->shadowing.sigma_db > 0.0;
    for (size_t i = 0; i < propagation->n_between; i++)
        may_be = may_be || propagation->between[i].shadowing.sigma_db > 0.0;
    return may_be;
}

double
spate_links_least_loss_db(const SpateLinks *links, uint32_t bearer, double distance_m)
{
    double lowest_m = INFINITY, highest_m = -INFINITY;
    for (size_t i = 0; i < links->n_nodes; i++) {
        lowest_m = fmin(lowest_m, links->nodes[i].position.height_m);
        highest_m = fmax(highest_m, links->nodes[i].position.height_m);
    }
    const SpatePropagation *propagation = &links->propagation[bearer];
    double frequency_hz = links->frequency_hz[bearer];
    double least_db = spate_path_least_loss_db(&propagation->model, frequency_hz, distance_m,
                                               lowest_m, highest_m);
    for (size_t i = 0; i < propagation->n_between; i++)
        least_db =
            fmin(least_db, spate_path_least_loss_db(&propagation->between[i].model, frequency_hz,
                                                    distance_m, lowest_m, highest_m));
    return least_db;
}

void
spate_links_each_given(const SpateLinks *links,
                       void (*call)(gpointer user, uint32_t from_node, uint32_t to_node),
                       gpointer user)
{
    if (links->given == NULL)
        return;
    GHashTableIter iter;
    gpointer key;
    g_hash_table_iter_init(&iter, links->given);
    while (g_hash_table_iter_next(&iter, &key, NULL)) {
        const SpateGivenLoss *given = key;
        call(user, given->from_node, given->to_node);
    }
}

SpateSender
spate_links_sender(const SpateLinks *links, uint32_t sender)
{
    uint32_t bearer = links->radios[sender].bearer;
    const SpatePropagation *propagation = &links->propagation[bearer];
    bool is_plain = links->given == NULL && propagation->n_between == 0 &&
                    spate_path_model_is_of_distance(propagation->model.kind);
    return (SpateSender){
        .links = links,
        .sender = sender,
        .model = is_plain ? &propagation->model : NULL,
        .frequency_hz = links->frequency_hz[bearer],
        .is_shadowed = may_be_shadowed(propagation),
    };
}

/* It may lie in two cache lines. */
static void
fetch(const void *begin, size_t n_bytes)
{
    __builtin_prefetch(begin);
    __builtin_prefetch((const char *)begin + n_bytes - 1);
}

void
spate_links_fetch_radio(const SpateLinks *links, uint32_t radio)
{
    fetch(&links->radios[radio], sizeof links->radios[0]);
}

void
spate_links_fetch_node(const SpateLinks *links, uint32_t radio)
{
    const SpateNodeSite *node = &links->nodes[links->radios[radio].node];
    fetch(node, sizeof *node);
}

double
spate_sender_received_dbm(const SpateSender *sender, uint32_t receiver, double least_dbm,
                          GError **error)
{
    const SpateLinks *links = sender->links;
    if (sender->model == NULL) {
        SpateLink link;
        return spate_links_budget_above(links, sender->sender, receiver, least_dbm, &link, error)
                   ? link.received_dbm
                   : NAN;
    }
    const SpateRadioSite *from = &links->radios[sender->sender], *to = &links->radios[receiver];
    const SpateNodeSite *here = &links->nodes[from->node], *there = &links->nodes[to->node];
    double distance_m = spate_distance_m(here->position, there->position);
    return received_dbm((End){from, &here->position}, (End){to, &there->position},
                        spate_path_loss_at_db(sender->model, sender->frequency_hz, distance_m),
                        here->site_loss_db + there->site_loss_db);
}
