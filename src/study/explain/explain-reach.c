/* explain-reach.c - who hears nobody that sent it
 *
 * A frame that did not reach the sensitivity of a radio has no outcome there: nothing in the
 * trace speaks of it.  The node in question says by how much it was missed, and so are those
 * that would have sent the message on, since the way may have led through them.
 */
#include "study/explain/explain-private.h"

#include "mesh/movers.h"
#include <math.h>

/* Relays and bridges out of reach: the nearest say enough, where an antenna or a mast would help.
 */
#define MOST_RELAYS     3
#define MOST_MISSING_DB 10.0

typedef struct {
    uint32_t sender; /* a radio that sent it; UINT32_MAX: none */
    uint32_t receiver;
    double margin_db; /* of its level over what the receiver needs, without fading */
} Nearest;

static const Nearest NOBODY = {UINT32_MAX, UINT32_MAX, -INFINITY};

/* ---- who heard whom at a time ---------------------------------------------------------------- */

/* The medium of the run as it was: where nodes move, they go their ways once more. */
typedef struct {
    const SpateMedium *medium;
    SpateMedium *own; /* NULL: nobody moves */
    SpateEventQueue *queue;
    SpateMovers *movers;
} Past;

static void
have_moved(gpointer user, uint32_t node, SpatePosition to)
{
}

static void
settle(gpointer user)
{
    Past *past = user;
    spate_movers_settle(past->movers, have_moved, NULL);
}

static void
past_init(Past *past, const SpateInquiry *inquiry)
{
    *past = (Past){.medium = inquiry->medium};
    if (spate_medium_links(inquiry->medium) == NULL)
        return;
    past->own = spate_world_medium(inquiry->world, inquiry->found->replication, 1, NULL);
    g_assert(past->own != NULL); /* the run had one */
    past->medium = past->own;
    past->queue = spate_event_queue_new();
    past->movers = spate_movers_new(past->queue, NULL, past->own, inquiry->plan);
    spate_event_queue_on_close(past->queue, SPATE_RANK_SWITCH, settle, past);
}

static void
past_clear(Past *past)
{
    spate_movers_free(past->movers);
    spate_event_queue_free(past->queue);
    spate_medium_unref(past->own);
}

/* Instants come in their order. */
static void
past_be_at(Past *past, int64_t at_ns)
{
    if (past->own != NULL)
        spate_event_queue_run_until(past->queue, at_ns, NULL);
}

static void
add_nearest(const SpateInquiry *inquiry, SpateFactKind kind, const Nearest *nearest)
{
    const SpateRadio *radios = inquiry->plan->radios;
    const SpateFact fact = {
        .kind = kind,
        .node = spate_inquiry_node(inquiry, radios[nearest->receiver].node),
        .bearer = spate_inquiry_bearer(inquiry, nearest->receiver),
        .sender = spate_inquiry_node(inquiry, radios[nearest->sender].node),
        .margin_db = nearest->margin_db,
    };
    spate_inquiry_add(inquiry, fact);
}

/* ---- the node in question -------------------------------------------------------------------- */

static double
margin_db(const SpateInquiry *inquiry, const Past *past, const SpateLinks *links, uint32_t sender,
          uint32_t receiver)
{
    if (past->own != NULL)
        return spate_medium_margin_now_db(past->medium, sender, receiver);
    SpateLink link;
    const SpateScenario *scenario = spate_world_scenario(inquiry->world);
    if (!spate_links_budget(links, sender, receiver, &link, NULL))
        return NAN;
    double received_dbm =
        link.received_dbm - spate_links_shadowing_db(links, sender, receiver, scenario->seed,
                                                     inquiry->found->replication);
    const SpateMedium *medium = inquiry->medium;
    return received_dbm - spate_medium_level_dbm(medium, receiver, medium->budget[receiver]);
}

/* From the links, since the medium leaves out the weakest. */
static Nearest
nearest_to_wanted(const SpateInquiry *inquiry)
{
    const SpatePlan *plan = inquiry->plan;
    const SpateNode *node = &plan->nodes[inquiry->wanted->node];
    g_autoptr(SpateLinks) links = spate_world_links(inquiry->world, inquiry->found->replication);
    Past past;
    past_init(&past, inquiry);
    Nearest nearest = NOBODY;
    for (guint i = 0; i < inquiry->trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(inquiry->trace, i);
        past_be_at(&past, step->at_ns);
        for (uint32_t r = node->first_radio;
             step->kind == SPATE_EVENT_STARTED && r < node->first_radio + node->n_radios; r++) {
            if (plan->radios[r].bearer != plan->radios[step->radio].bearer)
                continue;
            double margin = margin_db(inquiry, &past, links, step->radio, r);
            if (margin > nearest.margin_db)
                nearest = (Nearest){step->radio, r, margin};
        }
    }
    past_clear(&past);
    return nearest;
}

/* ---- those that would have sent it on -------------------------------------------------------- */

bool
spate_inquiry_sends_on_from(const SpateInquiry *inquiry, uint32_t radio)
{
    const SpatePlan *plan = inquiry->plan;
    if (plan->radios[radio].relays)
        return true;
    for (uint32_t i = 0; i < plan->n_crossings; i++)
        if (plan->crossings[i].node == plan->radios[radio].node &&
            plan->crossings[i].from_bearer == plan->radios[radio].bearer)
            return true;
    return false;
}

static void
note_links_of(const SpateInquiry *inquiry, const SpateMedium *medium, uint32_t sender,
              Nearest *by_node)
{
    const SpateRowPart *part =
        &medium->parts[(size_t)sender * medium->n_bearers + medium->bearer[sender]];
    for (uint32_t i = part->begin; i < part->end; i++) {
        uint32_t receiver = medium->receiver[i];
        Nearest *nearest = &by_node[inquiry->plan->radios[receiver].node];
        double margin = spate_medium_margin_db(medium, receiver, medium->power[i]);
        if (margin > nearest->margin_db && spate_inquiry_sends_on_from(inquiry, receiver))
            *nearest = (Nearest){sender, receiver, margin};
    }
}

static Nearest *
nearest_by_node(const SpateInquiry *inquiry)
{
    const SpatePlan *plan = inquiry->plan;
    Nearest *by_node = g_new(Nearest, plan->n_nodes);
    g_autofree bool *has_sent = g_new0(bool, plan->n_radios);
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        by_node[i] = NOBODY;
    Past past;
    past_init(&past, inquiry);
    for (guint i = 0; i < inquiry->trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(inquiry->trace, i);
        if (step->kind != SPATE_EVENT_STARTED || has_sent[step->radio])
            continue;
        past_be_at(&past, step->at_ns);
        has_sent[step->radio] = past.own == NULL;
        note_links_of(inquiry, past.medium, step->radio, by_node);
    }
    past_clear(&past);
    /* Those that could hear a frame of it have facts of their own. */
    for (guint i = 0; i < inquiry->trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(inquiry->trace, i);
        for (size_t k = 0; k < step->n_receptions; k++)
            by_node[plan->radios[step->receptions[k].receiver].node] = NOBODY;
    }
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        if (i == inquiry->wanted->node || spate_inquiry_has_it(inquiry, i) ||
            spate_inquiry_was_down(inquiry, i))
            by_node[i] = NOBODY;
    return by_node;
}

/* Why the node in question hears nothing; that it was off is told by its outage. */
static void
note_wanted(const SpateInquiry *inquiry)
{
    uint32_t node = inquiry->wanted->node;
    Nearest wanted = nearest_to_wanted(inquiry);
    if (wanted.margin_db >= 0.0 && spate_inquiry_was_down(inquiry, node))
        return;
    if (wanted.sender != UINT32_MAX)
        add_nearest(inquiry, SPATE_FACT_HEARS_NONE, &wanted);
    else
        spate_inquiry_add(inquiry, (SpateFact){.kind = SPATE_FACT_NO_SENDER,
                                               .node = spate_inquiry_node(inquiry, node)});
}

void
spate_inquiry_note_out_of_reach(const SpateInquiry *inquiry)
{
    note_wanted(inquiry);
    g_autofree Nearest *by_node = nearest_by_node(inquiry);
    for (int n = 0; n < MOST_RELAYS; n++) {
        Nearest *best = &by_node[0];
        for (uint32_t i = 1; i < inquiry->plan->n_nodes; i++)
            if (by_node[i].margin_db > best->margin_db)
                best = &by_node[i];
        if (best->margin_db < -MOST_MISSING_DB)
            return;
        add_nearest(inquiry, SPATE_FACT_RELAY_MISSED, best);
        *best = NOBODY;
    }
}
