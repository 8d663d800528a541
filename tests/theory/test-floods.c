/* test-floods.c - what relaying costs and reaches, where it can be worked out
 *
 * Relays wait so long (up to 10,000 airtimes) that copies hardly ever meet; between messages there
 * is time for the longest way.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

/* LoRa at SF 7: a frame of 10 bytes lasts 41.216 ms, the longest wait 412 s.  `flooding` keys,
 * then sections. */
static SpateResult *
run_floods(const char *bearer_keys, const char *flooding, const char *sections,
           uint32_t replications)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 203000 s, cool-down: 3000 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    propagation: {model: free-space, extra-loss: 300 dB}%s}\n"
        "flooding: {hop-limit: 20, jitter: {at-most: 10000 airtimes}%s}\n"
        "%s",
        bearer_keys, flooding, sections);
    return judge_run(text, replications);
}

/* Loss over which a frame of 0 dBm, Rayleigh-faded, is received with probability q: the level lies
 * -10 log10(-ln q) above the sensitivity, -174 + 10 log10(125000) + 6 - 7.5 dBm. */
static double
loss_for(double q)
{
    return 124.5308998699194 + 10.0 * log10(-log(q));
}

/* A source that all of `count` relays hear, and a receiver that hears each of them by chance. */
static void
judge_copies(const Reference *rows, guint i)
{
    g_autofree char *sections = g_strdup_printf(
        "links: [{from: source, to: relays, loss: 30 dB}, {from: relays, to: me, loss: %.9f dB}]\n"
        "nodes:\n"
        "  source: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "  relays: {count: %d, at: {x: 0 m, y: 9 m}, radios: {air: {power: 0 dBm}}, relay: [air]}\n"
        "  me: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "traffic: {news: {from: source, to: me, payload: 10 bytes, every: 1000 s}}\n",
        loss_for(reference_input(rows, i, "reception_each")),
        (int)reference_input(rows, i, "copies_sent_to_me"));
    g_autoptr(SpateResult) result = run_floods(", fading: rayleigh", "", sections, 20);
    JudgeClaim claim =
        claim_of_row(rows, i, "copies of a flood, Rayleigh-faded", "share delivered", 0.03);
    judge_mean(&claim, judge_row(result, "delivery", "news", NULL));
}

/* A chain in which each node hears its neighbours: `loss_db` between them. */
static SpateResult *
run_chain(int hops, double loss_db, const char *bearer_keys, const char *flooding)
{
    g_autoptr(GString) sections = g_string_new("links:\n");
    for (int k = 1; k <= hops; k++)
        g_string_append_printf(sections, "  - {between: [n-%d, n-%d], loss: %.9f dB}\n", k, k + 1,
                               loss_db);
    g_string_append_printf(sections,
                           "nodes:\n"
                           "  n: {count: %d, place: {line: {from: {x: 0 m, y: 0 m}, to: {x: 900 m, "
                           "y: 0 m}}},\n"
                           "    radios: {air: {power: 0 dBm}}, relay: [air]}\n"
                           "traffic: {news: {from: n-1, to: n-%d, payload: 10 bytes, every: 1000 "
                           "s}}\n",
                           hops + 1, hops + 1);
    return run_floods(bearer_keys, flooding, sections->str, 20);
}

START_TEST(copies_and_hops_that_fail_independently_multiply)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "flood-delivery")
    {
        n++;
        if (strcmp(reference_text(rows, i, "quantity"), "probability_end_to_end") != 0) {
            judge_copies(rows, i);
            continue;
        }
        int hops = (int)reference_input(rows, i, "hops_in_line");
        double q = reference_input(rows, i, "reception_each");
        g_autoptr(SpateResult) faded = run_chain(hops, loss_for(q), ", fading: rayleigh", "");
        JudgeClaim claim =
            claim_of_row(rows, i, "chain, Rayleigh-faded hops", "share delivered", 0.03);
        judge_mean(&claim, judge_row(faded, "delivery", "news", NULL));

        /* The same with relays that send by chance: one hop more than relays. */
        g_autofree char *policy = g_strdup_printf(", policy: probability, p: %.6f", q);
        g_autoptr(SpateResult) thinned = run_chain(hops + 1, 30.0, "", policy);
        claim = claim_of_row(rows, i, "chain, relays that send with probability q",
                             "share delivered", 0.03);
        judge_mean(&claim, judge_row(thinned, "delivery", "news", NULL));
    }
    ck_assert_int_eq(n, 6);
}
END_TEST

#define N_CLIQUE 12

/* Transmissions for each message of a source that all of N_CLIQUE relays hear, and each other. */
static void
judge_clique(const char *flooding, double expected, double tolerance, const char *source)
{
    g_autofree char *sections = g_strdup_printf(
        "links: [{between: [all, all], loss: 30 dB}]\n"
        "groups: {all: [source, relays]}\n"
        "nodes:\n"
        "  source: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "  relays: {count: %d, at: {x: 0 m, y: 9 m}, radios: {air: {power: 0 dBm}}, relay: [air]}\n"
        "traffic: {news: {from: source, to: relays, payload: 10 bytes, every: 1000 s}}\n",
        N_CLIQUE);
    g_autoptr(SpateResult) result = run_floods("", flooding, sections, 20);
    const SpateResultRow *sent = judge_row(result, "transmissions", "news", NULL);
    const SpateResultRow *messages = judge_row(result, "messages", "news", NULL);
    g_autofree double *each = g_new(double, sent->n);
    for (uint32_t r = 0; r < sent->n; r++)
        each[r] = sent->values[r] / messages->values[r];
    g_autofree char *subject = g_strdup_printf("clique of %d relays%s", N_CLIQUE, flooding);
    JudgeClaim claim = {.subject = g_intern_string(subject),
                        .quantity = "transmissions a message",
                        .unit = "1",
                        .expected = expected,
                        .tolerance = tolerance,
                        .source = source};
    judge_values(&claim, each, sent->n);
    ck_assert_double_eq(judge_row(result, "delivery", "news", NULL)->mean, 1.0);
}

START_TEST(in_a_clique_each_relay_sends_with_its_probability)
{
    static const double chances[] = {0.0, 0.25, 0.6, 1.0};
    for (size_t k = 0; k < G_N_ELEMENTS(chances); k++) {
        double p = chances[k];
        g_autofree char *flooding = g_strdup_printf(", policy: probability, p: %.2f", p);
        judge_clique(flooding, 1.0 + p * N_CLIQUE, p > 0.0 && p < 1.0 ? 0.15 : 0.0,
                     "1 + n p, mean of a binomial number of relays (probabilistic scheme of S.-Y. "
                     "Ni et al., MobiCom 1999, sec. 3.1, section from memory)");
    }
}
END_TEST

START_TEST(in_a_clique_the_counter_lets_as_many_relays_send_as_it_counts_to)
{
    /* Copies hardly ever meet, so the k-th further copy silences all who still wait: the source,
     * then the k whose waits are the shortest. */
    static const int copies[] = {1, 2, 3, 6, N_CLIQUE, 20};
    for (size_t k = 0; k < G_N_ELEMENTS(copies); k++) {
        g_autofree char *flooding = g_strdup_printf(", policy: counter, copies: %d", copies[k]);
        judge_clique(
            flooding, 1.0 + fmin(copies[k], N_CLIQUE), 0.02,
            "1 + min(k, n), derived here (counter-based scheme of S.-Y. Ni et al., MobiCom "
            "1999, sec. 3.2, section from memory)");
    }
}
END_TEST

CHECK_MAIN("theory of floods", copies_and_hops_that_fail_independently_multiply,
           in_a_clique_each_relay_sends_with_its_probability,
           in_a_clique_the_counter_lets_as_many_relays_send_as_it_counts_to)
