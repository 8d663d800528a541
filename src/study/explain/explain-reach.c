/* explain-reach.c - who hears nobody that sent it
 *
 * A frame that did not reach the sensitivity of a radio has no outcome there: nothing in the
 * trace speaks of it.  The node in question says by how much it was missed, and so are those
 * that would have sent the message on, since the way may have led through them.
 */
#include "study/explain/explain-private.h"

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

static const char *
node_of(const SpateExplanation *explanation, uint32_t radio)
{
    return spate_explain_node(explanation, explanation->plan->radios[radio].node);
}

/* "the strongest, mast on valley, is 3.1 dB too weak there" */
static void
add_nearest(const SpateExplanation *explanation, const Nearest *nearest)
{
    g_string_append_printf(explanation->text, "the strongest, %s on %s, is ",
                           node_of(explanation, nearest->sender),
                           spate_explain_bearer(explanation, nearest->receiver));
    if (nearest->margin_db < 0.0)
        g_string_append_printf(explanation->text, "%.1f dB too weak there\n", -nearest->margin_db);
    else
        g_string_append_printf(explanation->text,
                               "%.1f dB above its sensitivity there without fading, but faded\n",
                               nearest->margin_db);
}

/* ---- the node in question -------------------------------------------------------------------- */

static double
margin_db(const SpateExplanation *explanation, const SpateLinks *links, uint32_t sender,
          uint32_t receiver)
{
    SpateLink link;
    const SpateScenario *scenario = spate_world_scenario(explanation->world);
    if (!spate_links_budget(links, sender, receiver, &link, NULL))
        return NAN;
    double received_dbm =
        link.received_dbm -
        spate_links_shadowing_db(links, sender, receiver, scenario->seed, explanation->replication);
    const SpateMedium *medium = explanation->medium;
    return received_dbm - spate_medium_level_dbm(medium, receiver, medium->budget[receiver]);
}

/* From the links, since the medium leaves out the weakest. */
static Nearest
nearest_to_wanted(const SpateExplanation *explanation)
{
    const SpatePlan *plan = explanation->plan;
    const SpateNode *node = &plan->nodes[explanation->wanted->node];
    g_autoptr(SpateLinks) links = spate_world_links(explanation->world, explanation->replication);
    Nearest nearest = NOBODY;
    for (guint i = 0; i < explanation->trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(explanation->trace, i);
        for (uint32_t r = node->first_radio;
             step->kind == SPATE_EVENT_STARTED && r < node->first_radio + node->n_radios; r++) {
            if (plan->radios[r].bearer != plan->radios[step->radio].bearer)
                continue;
            double margin = margin_db(explanation, links, step->radio, r);
            if (margin > nearest.margin_db)
                nearest = (Nearest){step->radio, r, margin};
        }
    }
    return nearest;
}

static void
tell_wanted(const SpateExplanation *explanation)
{
    Nearest nearest = nearest_to_wanted(explanation);
    const char *name = spate_explain_node(explanation, explanation->wanted->node);
    if (nearest.sender == UINT32_MAX) {
        g_string_append_printf(explanation->text,
                               "no node sent it on a bearer on which %s has a radio\n", name);
        return;
    }
    g_string_append_printf(explanation->text, "%s hears none of the nodes that sent it: ", name);
    add_nearest(explanation, &nearest);
}

/* ---- those that would have sent it on -------------------------------------------------------- */

static bool
sends_on_from(const SpatePlan *plan, uint32_t radio)
{
    if (plan->radios[radio].relays)
        return true;
    for (uint32_t i = 0; i < plan->n_crossings; i++)
        if (plan->crossings[i].node == plan->radios[radio].node &&
            plan->crossings[i].from_bearer == plan->radios[radio].bearer)
            return true;
    return false;
}

/* Those that could hear a frame of it have lines of their own. */
static void
forget_those_that_could_hear(const SpateExplanation *explanation, Nearest *by_node)
{
    for (guint i = 0; i < explanation->trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(explanation->trace, i);
        for (size_t k = 0; k < step->n_receptions; k++)
            by_node[explanation->plan->radios[step->receptions[k].receiver].node] = NOBODY;
    }
}

static void
note_links_of(const SpateExplanation *explanation, uint32_t sender, Nearest *by_node)
{
    const SpateMedium *medium = explanation->medium;
    const SpateRowPart *part =
        &medium->parts[(size_t)sender * medium->n_bearers + medium->bearer[sender]];
    for (uint32_t i = part->begin; i < part->end; i++) {
        uint32_t receiver = medium->receiver[i];
        Nearest *nearest = &by_node[explanation->plan->radios[receiver].node];
        double margin = spate_medium_margin_db(medium, receiver, medium->power[i]);
        if (margin > nearest->margin_db && sends_on_from(explanation->plan, receiver))
            *nearest = (Nearest){sender, receiver, margin};
    }
}

static Nearest *
nearest_by_node(const SpateExplanation *explanation)
{
    const SpatePlan *plan = explanation->plan;
    Nearest *by_node = g_new(Nearest, plan->n_nodes);
    g_autofree bool *has_sent = g_new0(bool, plan->n_radios);
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        by_node[i] = NOBODY;
    for (guint i = 0; i < explanation->trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(explanation->trace, i);
        if (step->kind != SPATE_EVENT_STARTED || has_sent[step->radio])
            continue;
        has_sent[step->radio] = true;
        note_links_of(explanation, step->radio, by_node);
    }
    forget_those_that_could_hear(explanation, by_node);
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        if (i == explanation->wanted->node || spate_explain_has_it(explanation, i))
            by_node[i] = NOBODY;
    return by_node;
}

static void
tell_relays(const SpateExplanation *explanation)
{
    g_autofree Nearest *by_node = nearest_by_node(explanation);
    for (int told = 0; told < MOST_RELAYS; told++) {
        Nearest *best = &by_node[0];
        for (uint32_t i = 1; i < explanation->plan->n_nodes; i++)
            if (by_node[i].margin_db > best->margin_db)
                best = &by_node[i];
        if (best->margin_db < -MOST_MISSING_DB)
            return;
        g_string_append_printf(explanation->text,
                               "%s would relay it, but hears no node that has it: ",
                               node_of(explanation, best->receiver));
        add_nearest(explanation, best);
        *best = NOBODY;
    }
}

void
spate_explain_tell_out_of_reach(const SpateExplanation *explanation)
{
    tell_wanted(explanation);
    tell_relays(explanation);
}
