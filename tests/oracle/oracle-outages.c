/* oracle-outages.c - nodes that are down for a time, and what they lose (docs/model.md, Outages)
 *
 * All times are known from the beginning: of each node a list of times in which it is down, none of
 * which meets the next.
 */
#include "oracle/oracle-private.h"

#include <math.h>

#define LONGEST_GAP_NS 4e18

static OracleSpan
span_at(const GArray *spans, guint index)
{
    return g_array_index(spans, OracleSpan, index);
}

/* ---- when ------------------------------------------------------------------------------------ */

static int64_t
draw_ns(SpateRandom *draws, int64_t mean_ns)
{
    double drawn_ns = fmin((double)mean_ns * spate_random_exponential(draws), LONGEST_GAP_NS);
    int64_t whole_ns = llround(drawn_ns);
    return whole_ns < 1 ? 1 : whole_ns;
}

/* Up first, by turns to the end of the run. */
static void
draw_outages(Oracle *oracle, uint32_t node, uint64_t which, const SpateScenarioOutage *outage)
{
    uint64_t entity = spate_hash_combine(spate_hash_name(oracle_node(oracle, node)->name), which);
    SpateRandom draws = spate_random_stream(oracle_key(oracle, SPATE_FOR_OUTAGES, true), entity);
    int64_t end_ns = oracle->scenario->duration_ns;
    OracleSpan span = {0, 0};
    for (;;) {
        span.from_ns = span.to_ns + draw_ns(&draws, outage->mean_between_ns);
        if (span.from_ns > end_ns)
            return;
        span.to_ns = span.from_ns + draw_ns(&draws, outage->mean_time_ns);
        g_array_append_val(oracle->outages[node], span);
        if (span.to_ns > end_ns)
            return;
    }
}

static int
compare_begins(gconstpointer first, gconstpointer second)
{
    const OracleSpan *a = first, *b = second;
    return a->from_ns < b->from_ns ? -1 : a->from_ns > b->from_ns ? 1 : 0;
}

/* What overlaps or meets is one. */
static void
join(GArray *spans)
{
    g_array_sort(spans, compare_begins);
    for (guint i = 1; i < spans->len;) {
        OracleSpan *before = &g_array_index(spans, OracleSpan, i - 1), next = span_at(spans, i);
        if (next.from_ns > before->to_ns) {
            i++;
            continue;
        }
        before->to_ns = MAX(before->to_ns, next.to_ns);
        g_array_remove_index(spans, i);
    }
}

void
oracle_plan_outages(Oracle *oracle)
{
    const SpateScenario *scenario = oracle->scenario;
    g_autofree uint64_t *n_drawn = g_new0(uint64_t, MAX(scenario->n_nodes, 1));
    oracle->outages = g_new0(GArray *, MAX(scenario->n_nodes, 1));
    oracle->is_down = g_new0(bool, MAX(scenario->n_nodes, 1));
    for (uint32_t node = 0; node < scenario->n_nodes; node++)
        oracle->outages[node] = g_array_new(FALSE, FALSE, sizeof(OracleSpan));
    for (uint32_t i = 0; i < scenario->n_outages; i++) {
        const SpateScenarioOutage *outage = &scenario->outages[i];
        for (uint32_t k = 0; k < outage->n_nodes; k++) {
            uint32_t node = outage->nodes[k];
            OracleSpan span = {outage->at_ns, outage->at_ns + outage->for_ns};
            if (outage->mean_between_ns == 0)
                g_array_append_val(oracle->outages[node], span);
            else
                draw_outages(oracle, node, n_drawn[node]++, outage);
        }
    }
    for (uint32_t node = 0; node < scenario->n_nodes; node++)
        join(oracle->outages[node]);
}

bool
oracle_is_down(const Oracle *oracle, uint32_t node)
{
    return oracle->is_down[node];
}

/* As of the outages of this instant; frames that end at it have ended before. */
static bool
is_out(const Oracle *oracle, uint32_t node)
{
    const GArray *spans = oracle->outages[node];
    for (guint i = 0; i < spans->len; i++)
        if (span_at(spans, i).from_ns <= oracle->now_ns && oracle->now_ns < span_at(spans, i).to_ns)
            return true;
    return false;
}

int64_t
oracle_next_outage_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (uint32_t node = 0; node < oracle->scenario->n_nodes; node++)
        for (guint i = 0; i < oracle->outages[node]->len; i++) {
            OracleSpan span = span_at(oracle->outages[node], i);
            if (span.from_ns > oracle->now_ns)
                next_ns = MIN(next_ns, span.from_ns);
            if (span.to_ns > oracle->now_ns)
                next_ns = MIN(next_ns, span.to_ns);
        }
    return next_ns;
}

/* ---- what is lost ---------------------------------------------------------------------------- */

/* The frame that it was locked on counts nowhere. */
static void
break_lock(const Oracle *oracle, OracleRadio *radio)
{
    if (radio->locked == NULL)
        return;
    OracleSpan lock = {radio->locked_ns, oracle->now_ns};
    g_array_append_val(radio->locks, lock);
    radio->locked->hearings[radio - oracle->radios].is_gone = true;
    radio->locked = NULL;
    radio->unlocked_ns = oracle->now_ns;
}

static void
fail(Oracle *oracle, uint32_t node)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++)
        if (oracle->radios[r].node == node)
            break_lock(oracle, &oracle->radios[r]);
    oracle_lose_frames(oracle, node);
    oracle_lose_digests(oracle, node);
    oracle_forget_messages(oracle, node);
    oracle_forget_rules(oracle, node);
    oracle_forget_routes(oracle, node);
}

void
oracle_heed_outages(Oracle *oracle)
{
    for (uint32_t node = 0; node < oracle->scenario->n_nodes; node++)
        for (guint i = 0; i < oracle->outages[node]->len; i++)
            if (span_at(oracle->outages[node], i).from_ns == oracle->now_ns)
                fail(oracle, node);
    for (uint32_t node = 0; node < oracle->scenario->n_nodes; node++)
        oracle->is_down[node] = is_out(oracle, node);
    /* Those that are back look at once. */
    oracle_look_for_frames(oracle);
}
