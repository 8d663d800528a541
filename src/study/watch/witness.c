/* witness.c - whether what is claimed of messages held in one run */
#include "study/watch/witness.h"

#include "core/ascending.h"
#include <string.h>

/* A message that a claim is about. */
typedef struct {
    uint32_t number, origin;
    uint64_t offer; /* of its source, from 0, over the whole run */
    int64_t offered_ns;
    int64_t at_ns; /* first time at the node or on the bearer; -1: never so far */
} Followed;

typedef struct {
    const SpateClaim *claim;
    GArray *followed;   /* Followed, by number, ascending */
    uint64_t *n_offers; /* by node, of the claim's traffic so far */
} Case;

struct SpateWitness {
    const SpatePlan *plan;
    int64_t warm_up_ns, end_ns;
    Case *cases;
    size_t n_cases;
    GHashTable *digests; /* number -> GArray of uint32_t: numbers of what it carries in the end */
    GHashTable *answers; /* number of an acknowledgement -> that of the message, plus 1 */
};

/* Every variant is read with the expectations: names that they use are there. */
SpateClaim
spate_claim_of(const SpateExpectation *expectation, const SpateScenario *scenario)
{
    SpateClaim claim = {.kind = expectation->kind, .within_ns = expectation->within_ns};
    claim.traffic = spate_scenario_find_traffic(scenario, expectation->traffic);
    g_assert(claim.traffic != UINT32_MAX);
    if (expectation->node != NULL)
        claim.node = spate_scenario_find_node(scenario, expectation->node);
    if (expectation->bearer != NULL)
        claim.bearer = spate_scenario_find_bearer(scenario, expectation->bearer);
    g_assert(claim.node != UINT32_MAX && claim.bearer != UINT32_MAX);
    if (expectation->from == NULL)
        return claim;
    uint32_t group = spate_scenario_find_group(scenario, expectation->from);
    g_assert(group != UINT32_MAX);
    claim.from = scenario->groups[group].members;
    claim.n_from = scenario->groups[group].n_members;
    return claim;
}

SpateWitness *
spate_witness_new(const SpatePlan *plan, const SpateClaim *claims, size_t n_claims,
                  int64_t warm_up_ns, int64_t end_ns)
{
    SpateWitness *witness = g_new0(SpateWitness, 1);
    witness->plan = plan;
    witness->warm_up_ns = warm_up_ns;
    witness->end_ns = end_ns;
    witness->n_cases = n_claims;
    witness->cases = g_new0(Case, n_claims);
    for (size_t i = 0; i < n_claims; i++) {
        witness->cases[i].claim = &claims[i];
        witness->cases[i].followed = g_array_new(FALSE, FALSE, sizeof(Followed));
        witness->cases[i].n_offers = g_new0(uint64_t, plan->n_nodes);
    }
    witness->digests = g_hash_table_new_full(NULL, NULL, NULL, (GDestroyNotify)g_array_unref);
    witness->answers = g_hash_table_new(NULL, NULL);
    return witness;
}

void
spate_witness_free(SpateWitness *witness)
{
    if (witness == NULL)
        return;
    for (size_t i = 0; i < witness->n_cases; i++) {
        g_array_unref(witness->cases[i].followed);
        g_free(witness->cases[i].n_offers);
    }
    g_free(witness->cases);
    g_hash_table_unref(witness->digests);
    g_hash_table_unref(witness->answers);
    g_free(witness);
}

/* ---- which messages -------------------------------------------------------------------------- */

static bool
is_of_a_node(const SpateClaim *claim)
{
    return claim->kind == SPATE_EXPECT_REACHES || claim->kind == SPATE_EXPECT_NEVER_REACHES;
}

static bool
is_about(const SpateClaim *claim, uint32_t origin)
{
    bool is_from = claim->from == NULL;
    for (uint32_t i = 0; !is_from && i < claim->n_from; i++)
        is_from = claim->from[i] == origin;
    return is_from && !(is_of_a_node(claim) && origin == claim->node);
}

static void
note_offered(const SpateWitness *witness, const SpateMessageFacts *message)
{
    for (size_t i = 0; i < witness->n_cases; i++) {
        Case *one = &witness->cases[i];
        if (message->traffic != one->claim->traffic)
            continue;
        uint64_t offer = one->n_offers[message->origin]++;
        if (message->offered_ns < witness->warm_up_ns || !is_about(one->claim, message->origin))
            continue;
        Followed followed = {.number = message->number,
                             .origin = message->origin,
                             .offer = offer,
                             .offered_ns = message->offered_ns,
                             .at_ns = -1};
        g_array_append_val(one->followed, followed);
    }
}

static Followed *
find_followed(const Case *one, uint32_t number)
{
    uint32_t n = one->followed->len;
    if (n == 0)
        return NULL;
    Followed *first = &g_array_index(one->followed, Followed, 0);
    uint32_t found = spate_ascending_find_at(&first->number, sizeof *first, n, number);
    return found < n ? &first[found] : NULL;
}

/* ---- where they are -------------------------------------------------------------------------- */

static void
mark(const SpateWitness *witness, const Case *one, uint32_t number, int64_t now_ns)
{
    if (one->claim->kind == SPATE_EXPECT_NEVER_ON) {
        gpointer asked = g_hash_table_lookup(witness->answers, GUINT_TO_POINTER(number));
        number = asked != NULL ? GPOINTER_TO_UINT(asked) - 1 : number;
    }
    Followed *followed = find_followed(one, number);
    if (followed != NULL && followed->at_ns < 0)
        followed->at_ns = now_ns;
}

static bool
is_followed(const SpateWitness *witness, uint32_t number)
{
    for (size_t i = 0; i < witness->n_cases; i++)
        if (find_followed(&witness->cases[i], number) != NULL)
            return true;
    return false;
}

/* A digest may carry digests. */
static void
note_digested(const SpateWitness *witness, const SpateEvent *event)
{
    g_autoptr(GArray) numbers = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    for (size_t i = 0; i < event->n_carried; i++) {
        uint32_t number = event->carried[i];
        const GArray *inner = g_hash_table_lookup(witness->digests, GUINT_TO_POINTER(number));
        if (inner != NULL)
            g_array_append_vals(numbers, inner->data, inner->len);
        else if (is_followed(witness, number) ||
                 g_hash_table_contains(witness->answers, GUINT_TO_POINTER(number)))
            g_array_append_val(numbers, number);
    }
    if (numbers->len > 0)
        g_hash_table_insert(witness->digests, GUINT_TO_POINTER(event->message->number),
                            g_steal_pointer(&numbers));
}

/* A further try is where it is as a digest that carries the message would be. */
static void
note_tried(const SpateWitness *witness, const SpateMessageFacts *message)
{
    if (!is_followed(witness, message->about))
        return;
    GArray *numbers = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    g_array_append_val(numbers, message->about);
    g_hash_table_insert(witness->digests, GUINT_TO_POINTER(message->number), numbers);
}

static void
note_answered(const SpateWitness *witness, const SpateMessageFacts *message)
{
    if (is_followed(witness, message->about))
        g_hash_table_insert(witness->answers, GUINT_TO_POINTER(message->number),
                            GUINT_TO_POINTER(message->about + 1));
}

static void
note_acknowledged(const SpateWitness *witness, const SpateEvent *event)
{
    for (size_t i = 0; i < witness->n_cases; i++)
        if (witness->cases[i].claim->kind == SPATE_EXPECT_VALUE)
            mark(witness, &witness->cases[i], event->message->number, event->at_ns);
}

/* The message is at the node, or on the bearer, of some claims, and so is what it carries. */
static void
note_there(const SpateWitness *witness, const SpateEvent *event)
{
    uint32_t number = event->message->number;
    bool is_sent = event->kind == SPATE_EVENT_STARTED;
    uint32_t bearer = witness->plan->radios[event->radio].bearer;
    for (size_t i = 0; i < witness->n_cases; i++) {
        const Case *one = &witness->cases[i];
        if (is_sent ? one->claim->kind != SPATE_EXPECT_NEVER_ON || one->claim->bearer != bearer
                    : !is_of_a_node(one->claim) || one->claim->node != event->node)
            continue;
        const GArray *carried = g_hash_table_lookup(witness->digests, GUINT_TO_POINTER(number));
        mark(witness, one, number, event->at_ns);
        for (guint k = 0; carried != NULL && k < carried->len; k++)
            mark(witness, one, g_array_index(carried, uint32_t, k), event->at_ns);
    }
}

static void
see(gpointer self, const SpateEvent *event)
{
    const SpateWitness *witness = self;
    if (event->kind == SPATE_EVENT_OFFERED)
        note_offered(witness, event->message);
    else if (event->kind == SPATE_EVENT_DIGESTED)
        note_digested(witness, event);
    else if (event->kind == SPATE_EVENT_TRIED)
        note_tried(witness, event->message);
    else if (event->kind == SPATE_EVENT_ANSWERED)
        note_answered(witness, event->message);
    else if (event->kind == SPATE_EVENT_ACKNOWLEDGED)
        note_acknowledged(witness, event);
    else
        note_there(witness, event);
}

SpateObserver
spate_witness_observer(SpateWitness *witness)
{
    return (SpateObserver){SPATE_EVENT_OFFERED | SPATE_EVENT_DIGESTED | SPATE_EVENT_ARRIVED |
                               SPATE_EVENT_STARTED | SPATE_EVENT_TRIED | SPATE_EVENT_ANSWERED |
                               SPATE_EVENT_ACKNOWLEDGED,
                           see, witness};
}

/* ---- results --------------------------------------------------------------------------------- */

typedef enum { HELD, BROKEN, TOO_LATE } What;

/* One whose time was not over when the run ended is not judged, even if it arrived: of those
 * offered last, only the fast ones would count. */
static What
what_became_of(const SpateWitness *witness, const SpateClaim *claim, const Followed *followed)
{
    if (claim->kind == SPATE_EXPECT_VALUE)
        return followed->at_ns < 0 ? BROKEN : HELD;
    if (claim->kind != SPATE_EXPECT_REACHES)
        return followed->at_ns < 0 ? HELD : BROKEN;
    if (witness->end_ns - followed->offered_ns < claim->within_ns)
        return TOO_LATE;
    bool is_in_time =
        followed->at_ns >= 0 && followed->at_ns - followed->offered_ns <= claim->within_ns;
    return is_in_time ? HELD : BROKEN;
}

static SpateClaimResult
result_of(const SpateWitness *witness, const Case *one)
{
    SpateClaimResult claim_result = {.at_ns = -1};
    for (guint i = 0; i < one->followed->len; i++) {
        const Followed *followed = &g_array_index(one->followed, Followed, i);
        What what = what_became_of(witness, one->claim, followed);
        claim_result.n_messages += what != TOO_LATE;
        claim_result.n_too_late += what == TOO_LATE;
        if (what != BROKEN || claim_result.n_broken++ > 0)
            continue;
        claim_result.first =
            (SpateMessageWanted){one->claim->traffic, followed->origin, followed->offer};
        claim_result.first_number = followed->number;
        claim_result.offered_ns = followed->offered_ns;
        claim_result.at_ns = followed->at_ns;
    }
    return claim_result;
}

SpateClaimResult *
spate_witness_results(const SpateWitness *witness)
{
    SpateClaimResult *claim_results = g_new0(SpateClaimResult, witness->n_cases);
    for (size_t i = 0; i < witness->n_cases; i++)
        claim_results[i] = result_of(witness, &witness->cases[i]);
    return claim_results;
}
