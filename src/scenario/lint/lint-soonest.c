/* lint-soonest.c - messages that are late even if nothing else is on the air
 *
 * Works out when each message is where it should be at the soonest: it is sent on over all links
 * that could ever be heard (lint-hearing.h), by all who relay and across all crossings, at once and
 * without a collision.  Each transmission takes its time on air without a route record, the look
 * at an empty channel, and at a relay at least its turnaround; jitter, rules and digests take
 * nothing; traffics along given routes are left out.  Hop limits count as lint-reach.c has them
 * where they mean neighbours alone.  So who is late here is late in every run.  Sources beyond a
 * bound on the work are left out.
 */
#include "channel/access.h"
#include "core/ascending.h"

#include "scenario/lint/lint-flood.h"

#include <string.h>

/* Words of rows that are looked through, in all: half a second. */
#define MOST_WORDS 100000000

/* A radio that will send, and when its frame is over. */
typedef struct {
    uint32_t radio, hops; /* this transmission included */
    int64_t end_ns;
} Sending;

/* Those that take equally long from the moment in which they are known: so they end in the order
 * in which they came. */
typedef struct {
    int64_t takes_ns;
    GArray *sendings; /* Sending */
    guint next;
} Line;

typedef struct {
    SpateLintFlood flood;
    const SpateScenario *scenario;
    const SpatePlan *plan;

    /* of the last message */
    Line *lines;    /* [2 * bearer + whether it relays] */
    bool *has_sent; /* by radio */
    int64_t *at_ns; /* by node: when it has the message; INT64_MAX: never */
    uint32_t *hops; /* by node: transmissions until then */
} Soonest;

/* What a message is asked: from whom, to whom, and by when. */
typedef struct {
    const SpateScenarioTraffic *traffic;
    const uint32_t *recipients;
    uint32_t n_recipients;
    const SpateScenarioGroup *from; /* NULL: all sources */
    int64_t within_ns;
} Question;

typedef struct {
    uint64_t n_pairs, n_late;
    uint32_t source, recipient, hops; /* of the latest */
    int64_t takes_ns;
} Lateness;

/* ---- one message ----------------------------------------------------------------------------- */

static void
will_send(Soonest *soonest, uint32_t radio, bool relays, int64_t now_ns, uint32_t hops)
{
    Line *line = &soonest->lines[2 * soonest->plan->radios[radio].bearer + relays];
    Sending sending = {radio, hops, now_ns + line->takes_ns};
    if (!soonest->has_sent[radio])
        g_array_append_val(line->sendings, sending);
}

/* The line whose next sending ends first; NULL: nobody sends any more. */
static Line *
first_line(const Soonest *soonest)
{
    Line *first = NULL;
    for (uint32_t i = 0; i < 2 * soonest->plan->n_bearers; i++) {
        Line *line = &soonest->lines[i];
        if (line->next < line->sendings->len &&
            (first == NULL || g_array_index(line->sendings, Sending, line->next).end_ns <
                                  g_array_index(first->sendings, Sending, first->next).end_ns))
            first = line;
    }
    return first;
}

typedef struct {
    Soonest *soonest;
    const SpateScenarioTraffic *traffic;
    const Sending *sending;
} Transmission;

static bool
hear(gpointer user, uint32_t radio)
{
    const Transmission *sent = user;
    Soonest *soonest = sent->soonest;
    const SpatePlan *plan = soonest->plan;
    const SpateRadio *at = &plan->radios[radio];
    const uint32_t *first_crossing = soonest->flood.first_crossing;
    int64_t now_ns = sent->sending->end_ns;
    uint32_t hops = sent->sending->hops;
    if (soonest->at_ns[at->node] == INT64_MAX) {
        soonest->at_ns[at->node] = now_ns;
        soonest->hops[at->node] = hops;
    }
    bool is_for_neighbours =
        !soonest->flood.has_digests &&
        spate_lint_hop_limit(sent->traffic, &plan->nodes[at->node].flooding) == 1;
    if (is_for_neighbours)
        return true;
    if (at->relays && plan->nodes[at->node].flooding.policy != SPATE_FLOOD_NONE)
        will_send(soonest, radio, true, now_ns, hops + 1);
    for (uint32_t i = first_crossing[at->node]; i < first_crossing[at->node + 1]; i++)
        if (plan->crossings[i].from_bearer == at->bearer)
            will_send(soonest, plan->crossings[i].to_radio, false, now_ns, hops + 1);
    return true;
}

static void
set_times(Soonest *soonest, const SpateScenarioTraffic *traffic)
{
    for (uint32_t b = 0; b < soonest->plan->n_bearers; b++) {
        const SpateBearer *bearer = &soonest->plan->bearers[b];
        int64_t airtime_ns = spate_lint_airtime_ns(soonest->scenario, b, traffic);
        int64_t access_ns = spate_access_info(bearer->access.method)->least_ns(bearer);
        soonest->lines[2 * b].takes_ns = access_ns + airtime_ns;
        soonest->lines[2 * b + 1].takes_ns = MAX(access_ns, bearer->turnaround_ns) + airtime_ns;
    }
}

static void
send_from(Soonest *soonest, const SpateScenarioTraffic *traffic, uint32_t source)
{
    const SpateNode *node = &soonest->plan->nodes[source];
    for (uint32_t i = 0; i < 2 * soonest->plan->n_bearers; i++) {
        g_array_set_size(soonest->lines[i].sendings, 0);
        soonest->lines[i].next = 0;
    }
    memset(soonest->has_sent, 0, soonest->plan->n_radios * sizeof *soonest->has_sent);
    for (uint32_t i = 0; i < soonest->plan->n_nodes; i++)
        soonest->at_ns[i] = INT64_MAX;
    spate_lint_flood_begin(&soonest->flood, source);
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
        if (spate_lint_sends_on(soonest->scenario, traffic, source,
                                soonest->plan->radios[r].bearer))
            will_send(soonest, r, false, 0, 1);
    for (Line *line; (line = first_line(soonest)) != NULL;) {
        Sending sending = g_array_index(line->sendings, Sending, line->next++);
        if (soonest->has_sent[sending.radio])
            continue;
        Transmission sent = {soonest, traffic, &sending};
        soonest->has_sent[sending.radio] = true;
        spate_lint_flood_transmit(&soonest->flood, sending.radio, hear, &sent);
    }
}

/* ---- all of a question ----------------------------------------------------------------------- */

static void
judge(const Soonest *soonest, const Question *question, uint32_t source, Lateness *lateness)
{
    for (uint32_t i = 0; i < question->n_recipients; i++) {
        uint32_t node = question->recipients[i];
        if (node == source)
            continue;
        lateness->n_pairs++;
        /* Of whoever it never reaches, lint-reach.c warns. */
        if (soonest->at_ns[node] == INT64_MAX || soonest->at_ns[node] <= question->within_ns)
            continue;
        lateness->n_late++;
        if (soonest->at_ns[node] <= lateness->takes_ns)
            continue;
        lateness->takes_ns = soonest->at_ns[node];
        lateness->hops = soonest->hops[node];
        lateness->source = source;
        lateness->recipient = node;
    }
}

static Lateness
find_late(Soonest *soonest, const Question *question)
{
    Lateness lateness = {0};
    const SpateScenarioTraffic *traffic = question->traffic;
    const SpateScenarioGroup *from = question->from;
    uint32_t n = traffic->n_sources, stride = spate_lint_stride(n);
    set_times(soonest, traffic);
    for (uint32_t i = 0; i < n && soonest->flood.n_words_left > 0; i++) {
        uint32_t source = traffic->sources[(uint64_t)i * stride % n];
        if (from != NULL &&
            spate_ascending_find(from->members, from->n_members, source) == from->n_members)
            continue;
        send_from(soonest, traffic, source);
        judge(soonest, question, source, &lateness);
    }
    return lateness;
}

/* ---- what is said ---------------------------------------------------------------------------- */

static void
warn_of(SpateLint *lint, const Question *question, const Lateness *lateness, SpatePlace place,
        const char *of)
{
    const SpateScenario *scenario = lint->scenario;
    g_autofree char *takes = spate_lint_time(lateness->takes_ns);
    g_autofree char *within = spate_lint_time(question->within_ns);
    g_autofree char *hint = g_strdup_printf("more than %s, shorter frames or fewer hops", takes);
    spate_faults_warn(
        lint->faults, place, hint,
        "'%s' cannot get from '%s' to '%s' within %s%s: even if nothing else is on the "
        "air, %u transmission%s %s (%" G_GUINT64_FORMAT " of %" G_GUINT64_FORMAT
        " pair%s of source and recipient%s)",
        question->traffic->name, scenario->nodes[lateness->source].name,
        scenario->nodes[lateness->recipient].name, of, within, lateness->hops,
        lateness->hops == 1 ? " takes" : "s take", takes, lateness->n_late, lateness->n_pairs,
        lateness->n_pairs == 1 ? "" : "s", spate_lint_layout_note(scenario));
}

static void
check_deadline(SpateLint *lint, Soonest *soonest, const SpateScenarioTraffic *traffic)
{
    const Question question = {traffic, traffic->recipients, traffic->n_recipients, NULL,
                               traffic->deadline_ns};
    /* Of one below a single frame, lint-times.c warns. */
    if (traffic->deadline_ns == 0 || traffic->route == SPATE_ROUTE_ALONG ||
        traffic->deadline_ns < spate_lint_shortest_airtime_ns(lint->scenario, traffic))
        return;
    Lateness lateness = find_late(soonest, &question);
    if (lateness.n_late > 0)
        warn_of(lint, &question, &lateness, traffic->place, "its deadline of ");
}

/* ---- answers --------------------------------------------------------------------------------- */

/* How long after the last frame of a try its acknowledgement is home at the soonest; INT64_MAX:
 * there is no way there, or none back. */
static int64_t
answer_takes_ns(Soonest *soonest, const SpateScenarioTraffic *traffic,
                const SpateScenarioTraffic *answer, uint32_t source, bool *is_delivered)
{
    const SpateNode *node = &soonest->plan->nodes[source];
    uint32_t recipient = spate_only_recipient(traffic->recipients, source);
    int64_t last_frame_ns = 0;
    set_times(soonest, traffic);
    send_from(soonest, traffic, source);
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++) {
        uint32_t bearer = soonest->plan->radios[r].bearer;
        if (spate_lint_sends_on(soonest->scenario, traffic, source, bearer))
            last_frame_ns = MAX(last_frame_ns, soonest->lines[2 * bearer].takes_ns);
    }
    int64_t there_ns = soonest->at_ns[recipient];
    *is_delivered = there_ns < INT64_MAX;
    if (!*is_delivered)
        return INT64_MAX;
    set_times(soonest, answer);
    send_from(soonest, answer, recipient);
    int64_t back_ns = soonest->at_ns[source];
    return back_ns < INT64_MAX ? there_ns + back_ns - last_frame_ns : INT64_MAX;
}

static void
warn_of_answer(SpateLint *lint, const SpateScenarioTraffic *traffic, uint32_t source,
               int64_t takes_ns, uint32_t n_late)
{
    const char *name = lint->scenario->nodes[source].name;
    g_autofree char *within = spate_lint_time(traffic->acknowledgement.within_ns);
    g_autofree char *takes = spate_lint_time(takes_ns);
    g_autofree char *hint = g_strdup_printf("more than %s, shorter frames or fewer hops", takes);
    if (takes_ns == INT64_MAX)
        spate_faults_warn(lint->faults, traffic->place, "links, relays and crossings both ways",
                          "no acknowledgement of '%s' can get back to '%s' (%u of %u sources)",
                          traffic->name, name, n_late, traffic->n_sources);
    else
        spate_faults_warn(
            lint->faults, traffic->place, hint,
            "'%s' of '%s' is never acknowledged within %s: even if nothing else is on "
            "the air, the acknowledgement comes back after %s (%u of %u sources)",
            traffic->name, name, within, takes, n_late, traffic->n_sources);
}

static bool
fits_a_bearer(const SpateScenario *scenario, const SpateScenarioTraffic *traffic)
{
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        if (traffic->payload_bytes + (uint32_t)scenario->bearers[b].radio.overhead_bytes <=
            (uint32_t)scenario->bearers[b].radio.largest_frame_bytes)
            return true;
    return false;
}

/* Whom the message does not reach, lint-reach.c warns of; of what is too long, lint-traffic.c. */
static void
check_answers(SpateLint *lint, Soonest *soonest, const SpateScenarioTraffic *traffic)
{
    const SpateScenarioTraffic answer = spate_lint_answers_of(traffic);
    uint32_t n = traffic->n_sources, stride = spate_lint_stride(n), n_late = 0, latest = 0;
    int64_t longest_ns = 0;
    if (!fits_a_bearer(soonest->scenario, &answer))
        return;
    for (uint32_t i = 0;
         traffic->acknowledgement.tries > 0 && i < n && soonest->flood.n_words_left > 0; i++) {
        uint32_t source = traffic->sources[(uint64_t)i * stride % n];
        bool is_delivered;
        int64_t takes_ns = answer_takes_ns(soonest, traffic, &answer, source, &is_delivered);
        if (!is_delivered || takes_ns <= traffic->acknowledgement.within_ns ||
            soonest->flood.n_words_left == 0)
            continue;
        n_late++;
        if (takes_ns > longest_ns) {
            longest_ns = takes_ns;
            latest = source;
        }
    }
    if (n_late > 0)
        warn_of_answer(lint, traffic, latest, longest_ns, n_late);
}

static void
check_expectation(SpateLint *lint, Soonest *soonest, const SpateExpectation *expectation)
{
    const SpateScenario *scenario = lint->scenario;
    const char *variant = expectation->variant != NULL ? expectation->variant : "base";
    if (expectation->kind != SPATE_EXPECT_REACHES || strcmp(variant, scenario->variant) != 0)
        return;
    /* What names nobody is no longer there in this variant, which is a fault
     * (scenario/read/expect-check.c). */
    uint32_t traffic = spate_scenario_find_traffic(scenario, expectation->traffic);
    uint32_t to = spate_scenario_find_node(scenario, expectation->node);
    uint32_t from = spate_scenario_find_group(scenario, expectation->from);
    if (traffic == UINT32_MAX || to == UINT32_MAX ||
        scenario->traffics[traffic].route == SPATE_ROUTE_ALONG ||
        (from == UINT32_MAX && expectation->from != NULL))
        return;
    const Question question = {&scenario->traffics[traffic], &to, 1,
                               from != UINT32_MAX ? &scenario->groups[from] : NULL,
                               expectation->within_ns};
    Lateness lateness = find_late(soonest, &question);
    /* Without `at-least`, each message has to be there in time. */
    double late = (double)lateness.n_late / (double)MAX(lateness.n_pairs, 1);
    if (late > (expectation->at_least.is_given ? 1.0 - expectation->at_least.value : 0.0))
        warn_of(lint, &question, &lateness, expectation->places.within, "");
}

void
spate_lint_soonest(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    const SpatePlan *plan = spate_world_plan(lint->world);
    uint32_t n_lines = 2 * plan->n_bearers;
    Soonest soonest = {
        .scenario = scenario,
        .plan = plan,
        .lines = g_new0(Line, MAX(n_lines, 1)),
        .has_sent = g_new(bool, MAX(plan->n_radios, 1)),
        .at_ns = g_new(int64_t, MAX(plan->n_nodes, 1)),
        .hops = g_new0(uint32_t, MAX(plan->n_nodes, 1)),
    };
    spate_lint_flood_init(&soonest.flood, lint, MOST_WORDS);
    for (uint32_t i = 0; i < n_lines; i++)
        soonest.lines[i].sendings = g_array_new(FALSE, FALSE, sizeof(Sending));
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        check_deadline(lint, &soonest, &scenario->traffics[i]);
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        check_answers(lint, &soonest, &scenario->traffics[i]);
    for (uint32_t i = 0; i < scenario->n_expectations; i++)
        check_expectation(lint, &soonest, &scenario->expectations[i]);
    for (uint32_t i = 0; i < n_lines; i++)
        g_array_unref(soonest.lines[i].sendings);
    spate_lint_flood_clear(&soonest.flood);
    g_free(soonest.lines);
    g_free(soonest.has_sent);
    g_free(soonest.at_ns);
    g_free(soonest.hops);
}
