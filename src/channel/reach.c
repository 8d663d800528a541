/* reach.c - which radios can matter to a sender at all
 *
 * In a large mesh most pairs are too far apart to be held, whatever antennas and models of single
 * pairs do to them.  Places are searched as far as the strongest receiver could be; what is found
 * there is judged by the least that it loses, and by the shadowing that it would take.  Only what
 * passes is worked out.
 */
#include "channel/medium-private.h"
#include "channel/place-tree.h"

#include <math.h>
#include <string.h>

/* Up to so many senders every pair is looked at: at a millionth of what can be decoded, most pairs
 * of a small mesh matter. */
#define FEW_SENDERS 1000

/* Rings about a sender: a distance squared by its first bits, four rings to its doubling, from 1 m
 * to 2^30 m. */
#define RINGS        240
#define BITS_OF_RING 50
#define RING_OF_ONE  (UINT64_C(1023) << (52 - BITS_OF_RING))

/* Far more than the arithmetic of places loses. */
#define NEARER (1.0 - 1e-6)

struct SpateReach {
    const SpateLevels *levels;
    SpatePlaceTree **radios;   /* by bearer; each with its receiver_db() */
    uint32_t *radios_begin;    /* by node, and one more */
    GArray **given;            /* by node: uint32_t, nodes to which a loss is given; or NULL */
    double *least_loss_db;     /* [sender's bearer * RINGS + ring] */
    double *highest_shadow_db; /* by sender's bearer */
    double *best_receiver_db;  /* by receiver's bearer */
};

/* One sender, and receivers of one bearer. */
typedef struct {
    const SpateReach *reach;
    uint32_t node, bearer; /* of the sender */
    double sender_db;      /* at 0 dB of loss, over what a receiver holds */
    bool is_one_model;
    uint64_t *marks;
} Search;

static double
inner_edge_m(uint32_t ring)
{
    if (ring == 0)
        return 0.0;
    uint64_t bits = (RING_OF_ONE + ring) << BITS_OF_RING;
    double square_m2;
    memcpy(&square_m2, &bits, sizeof bits);
    return sqrt(square_m2);
}

static uint32_t
ring_of(double away_m2)
{
    uint64_t bits;
    memcpy(&bits, &away_m2, sizeof bits);
    uint64_t ring = bits >> BITS_OF_RING;
    return ring <= RING_OF_ONE ? 0 : (uint32_t)MIN(ring - RING_OF_ONE, RINGS - 1);
}

/* What a radio adds at either end, in its best direction. */
static double
best_end_db(const SpateLevels *levels, uint32_t radio)
{
    const SpateRadioSite *site = &levels->plan.radios[radio];
    return site->antenna.gain_dbi - site->feeder_loss_db -
           spate_links_node(levels->plan.links, site->node)->site_loss_db;
}

/* How far above its budget a radio holds what comes to it with 0 dBm, in its best direction. */
static double
receiver_db(const SpateLevels *levels, uint32_t radio)
{
    return best_end_db(levels, radio) - levels->budget_dbm[radio];
}

static SpatePlaceTree *
plant(const SpateLevels *levels, uint32_t bearer)
{
    const SpateMediumPlan *plan = &levels->plan;
    uint32_t n = 0;
    SpatePlace *places = g_new(SpatePlace, plan->n_radios);
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        if (plan->radios[r].bearer != bearer)
            continue;
        SpatePlace *place = &places[n++];
        spate_position_in_space(spate_links_node(plan->links, plan->radios[r].node)->position,
                                place->at_m);
        place->value = receiver_db(levels, r);
        place->number = r;
    }
    return spate_place_tree_new(places, n);
}

static void
measure(SpateReach *reach)
{
    const SpateLevels *levels = reach->levels;
    const SpateMediumPlan *plan = &levels->plan;
    for (uint32_t b = 0; b < plan->n_bearers; b++) {
        for (uint32_t ring = 0; ring < RINGS; ring++)
            reach->least_loss_db[b * RINGS + ring] =
                spate_links_least_loss_db(plan->links, b, inner_edge_m(ring) * NEARER);
        reach->highest_shadow_db[b] =
            spate_shadow_draws_highest_db(plan->links, levels->shadowing, b);
        reach->best_receiver_db[b] = -INFINITY;
    }
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        double *best_db = &reach->best_receiver_db[plan->radios[r].bearer];
        *best_db = fmax(*best_db, receiver_db(levels, r));
    }
}

static void
add_given(gpointer user, uint32_t from_node, uint32_t to_node)
{
    GArray **given = user;
    if (given[from_node] == NULL)
        given[from_node] = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    g_array_append_val(given[from_node], to_node);
}

static uint32_t *
begin_of_nodes(const SpateMediumPlan *plan)
{
    uint32_t *begin = g_new0(uint32_t, plan->n_nodes + 1);
    for (uint32_t r = 0; r < plan->n_radios; r++)
        begin[plan->radios[r].node + 1] = r + 1;
    for (uint32_t node = 0; node < plan->n_nodes; node++)
        begin[node + 1] = MAX(begin[node + 1], begin[node]);
    return begin;
}

SpateReach *
spate_reach_new(const SpateLevels *levels)
{
    const SpateMediumPlan *plan = &levels->plan;
    if (levels->medium->n_senders <= FEW_SENDERS || plan->moves != NULL)
        return NULL;
    SpateReach *reach = g_new0(SpateReach, 1);
    reach->levels = levels;
    reach->radios = g_new(SpatePlaceTree *, plan->n_bearers);
    for (uint32_t b = 0; b < plan->n_bearers; b++)
        reach->radios[b] = plant(levels, b);
    reach->radios_begin = begin_of_nodes(plan);
    reach->given = g_new0(GArray *, plan->n_nodes);
    spate_links_each_given(plan->links, add_given, reach->given);
    reach->least_loss_db = g_new(double, (size_t)plan->n_bearers *RINGS);
    reach->highest_shadow_db = g_new(double, plan->n_bearers);
    reach->best_receiver_db = g_new(double, plan->n_bearers);
    measure(reach);
    return reach;
}

void
spate_reach_free(SpateReach *reach)
{
    if (reach == NULL)
        return;
    for (uint32_t b = 0; b < reach->levels->plan.n_bearers; b++)
        spate_place_tree_free(reach->radios[b]);
    for (uint32_t node = 0; node < reach->levels->plan.n_nodes; node++)
        if (reach->given[node] != NULL)
            g_array_free(reach->given[node], TRUE);
    g_free(reach->radios);
    g_free(reach->radios_begin);
    g_free(reach->least_loss_db);
    g_free(reach->highest_shadow_db);
    g_free(reach->best_receiver_db);
    g_free(reach->given);
    g_free(reach);
}

/* A SpatePlaceFound. */
static void
judge(gpointer user, const SpatePlace *receiver, double away_m2)
{
    const Search *search = user;
    const SpateReach *reach = search->reach;
    double loss_db = reach->least_loss_db[search->bearer * RINGS + ring_of(away_m2)];
    double short_db = loss_db - search->sender_db - receiver->value - SURELY_DB;
    if (short_db <= 0.0 || !search->is_one_model ||
        spate_shadow_draws_may_raise(reach->levels->plan.links, reach->levels->shadowing,
                                     search->bearer, search->node,
                                     reach->levels->plan.radios[receiver->number].node, short_db))
        spate_mark(search->marks, receiver->number);
}

/* Beyond it no receiver holds what loses more than that. */
static double
outer_edge_m(const SpateReach *reach, uint32_t bearer, double most_loss_db)
{
    uint32_t ring = 0;
    while (ring < RINGS && reach->least_loss_db[bearer * RINGS + ring] <= most_loss_db)
        ring++;
    return ring < RINGS ? inner_edge_m(ring) : INFINITY;
}

static void
mark_of_bearer(const SpateReach *reach, uint32_t sender, uint32_t bearer, uint64_t *marks)
{
    const SpateLevels *levels = reach->levels;
    const SpateMediumPlan *plan = &levels->plan;
    const SpateRadioSite *site = &plan->radios[sender];
    uint32_t weight = bearer * levels->medium->n_classes + levels->medium->sender_class[sender];
    if (levels->medium->weights[weight].share <= 0.0)
        return;
    Search search = {
        .reach = reach,
        .node = site->node,
        .bearer = site->bearer,
        .sender_db = site->power_dbm + best_end_db(levels, sender) - levels->least_db[weight],
        .is_one_model = plan->propagation[site->bearer].n_between == 0,
    };
    search.marks = marks;
    double most_loss_db = search.sender_db + reach->best_receiver_db[bearer] +
                          reach->highest_shadow_db[site->bearer] + SURELY_DB;
    double from_m[3];
    spate_position_in_space(spate_links_node(plan->links, site->node)->position, from_m);
    spate_place_tree_search(reach->radios[bearer], from_m,
                            outer_edge_m(reach, site->bearer, most_loss_db), judge, &search);
}

static void
mark_given(const SpateReach *reach, uint32_t node, uint64_t *marks)
{
    const GArray *given = reach->given[node];
    for (guint i = 0; given != NULL && i < given->len; i++) {
        uint32_t to = g_array_index(given, uint32_t, i);
        for (uint32_t r = reach->radios_begin[to]; r < reach->radios_begin[to + 1]; r++)
            spate_mark(marks, r);
    }
}

void
spate_reach_mark(const SpateReach *reach, uint32_t sender, uint64_t *marks)
{
    const SpateMediumPlan *plan = &reach->levels->plan;
    memset(marks, 0, spate_mark_words(plan->n_radios) * sizeof marks[0]);
    if (sender >= plan->n_radios) { /* ambient traffic */
        for (uint32_t r = 0; r < plan->n_radios; r++)
            spate_mark(marks, r);
        return;
    }
    for (uint32_t b = 0; b < plan->n_bearers; b++)
        mark_of_bearer(reach, sender, b, marks);
    mark_given(reach, plan->radios[sender].node, marks);
}
