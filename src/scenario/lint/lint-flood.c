/* lint-flood.c - who has heard a message */
#include "scenario/lint/lint-flood.h"

#include <string.h>

void
spate_lint_flood_init(SpateLintFlood *flood, const SpateLint *lint, uint64_t most_words)
{
    const SpatePlan *plan = spate_world_plan(lint->world);
    *flood = (SpateLintFlood){

        .plan = plan,
        .hearing = lint->hearing,
        .first_crossing = g_new0(uint32_t, plan->n_nodes + 1u),
        .has_digests = spate_lint_has_digests(lint->scenario),
        .n_words_left = most_words,
        .unheard = g_new0(uint64_t *, MAX(plan->n_bearers, 1)),
    };
    for (uint32_t i = 0; i < plan->n_crossings; i++)
        flood->first_crossing[plan->crossings[i].node + 1]++;
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        flood->first_crossing[i + 1] += flood->first_crossing[i];
    for (uint32_t b = 0; b < plan->n_bearers; b++)
        flood->unheard[b] = g_new(uint64_t, MAX(spate_hearing_n_words(flood->hearing, b), 1));
}

void
spate_lint_flood_clear(SpateLintFlood *flood)
{
    for (uint32_t b = 0; b < flood->plan->n_bearers; b++)
        g_free(flood->unheard[b]);
    g_free(flood->unheard);
    g_free(flood->first_crossing);
}

void
spate_lint_flood_begin(SpateLintFlood *flood, uint32_t source)
{
    const SpateNode *node = &flood->plan->nodes[source];
    for (uint32_t b = 0; b < flood->plan->n_bearers; b++)
        memset(flood->unheard[b], 0xff,
               spate_hearing_n_words(flood->hearing, b) * sizeof(uint64_t));
    /* What is its own is never new to it. */
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++) {
        uint32_t rank = spate_hearing_rank(flood->hearing, r);
        flood->unheard[flood->plan->radios[r].bearer][rank / 64] &= ~(UINT64_C(1) << (rank % 64));
    }
}

void
spate_lint_flood_transmit(SpateLintFlood *flood, uint32_t radio,
                          bool (*hear)(gpointer user, uint32_t receiver), gpointer user)
{
    uint32_t bearer = flood->plan->radios[radio].bearer, n;
    const uint32_t *radios = spate_hearing_radios(flood->hearing, bearer, &n);
    const uint64_t *row = spate_hearing_row(flood->hearing, radio);
    size_t n_words = spate_hearing_n_words(flood->hearing, bearer);
    uint64_t *unheard = flood->unheard[bearer];
    flood->n_words_left -= MIN(flood->n_words_left, n_words);
    bool goes_on = true;
    for (size_t word = 0; goes_on && word < n_words; word++) {
        for (uint64_t bits = row[word] & unheard[word]; bits != 0; bits &= bits - 1)
            goes_on = hear(user, radios[word * 64 + (size_t)__builtin_ctzll(bits)]) && goes_on;
        unheard[word] &= ~row[word];
    }
}
