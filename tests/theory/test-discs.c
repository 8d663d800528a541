/* test-discs.c - floods among nodes that hear each other within a disc
 *
 * Without fading and shadowing, and with losses that grow with distance, a radio hears exactly
 * those within its range.  Frames are short (dsss, under 1 ms at 2 Mbit/s) and relays wait up to
 * 10,000 airtimes, so that copies hardly ever meet.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

/* The range is where the level falls to the sensitivity. */
static char *
scenario_of(double range_m, const char *more_keys, const char *sections)
{
    return g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 4000 s, cool-down: 3900 s}\n"
        "bearers:\n"
        "  air: {kind: dsss, frequency: 2437 MHz, rate: 2 Mbit/s, sensitivity: -90 dBm,\n"
        "    access: {method: csma}, propagation: {model: log-distance, exponent: 4,\n"
        "      intercept: {at: %.6f m, loss: 100 dB}%s}}\n"
        "flooding: {hop-limit: 1000, jitter: {at-most: 10000 airtimes}}\n"
        "%s",
        range_m, more_keys, sections);
}

/* Nodes spread over a square of 1 km, each replication anew; one message to all from each that
 * `from` names. */
static SpateResult *
run_square(int count, double range_m, const char *from, const char *relay, uint32_t replications)
{
    g_autofree char *sections = g_strdup_printf(
        "nodes:\n"
        "  n: {count: %d, place: {rectangle: {from: {x: 0 m, y: 0 m}, to: {x: 1 km, y: 1 km}},"
        " redraw: each-replication},\n"
        "    radios: {air: {power: 10 dBm}}, relay: %s}\n"
        "traffic: {news: {from: %s, to: everyone, payload: 20 bytes, every: 100 s}}\n",
        count, relay, from);
    g_autofree char *text = scenario_of(range_m, "", sections);
    return judge_run(text, replications);
}

/* Larger graphs take long: with THEORY_LONG set only. */
static bool
is_for_today(double nodes, double most_nodes)
{
    return nodes <= most_nodes || g_getenv("THEORY_LONG") != NULL;
}

START_TEST(nodes_in_a_square_have_the_mean_degree_with_borders)
{
    /* Audible pairs for each frame, one frame from each node: its degree. */
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "rgg")
    {
        int nodes = (int)reference_input(rows, i, "nodes");
        if (strcmp(reference_text(rows, i, "quantity"), "mean_degree") != 0 ||
            !is_for_today(nodes, 500.0))
            continue;
        uint32_t replications = nodes > 1000 ? 5 : nodes > 100 ? 10 : 100;
        g_autoptr(SpateResult) result = run_square(
            nodes, 1000.0 * reference_input(rows, i, "radius"), "n", "none", replications);
        const SpateResultRow *audible = judge_row(result, "audible", NULL, "air");
        g_autofree double *degree = g_new(double, audible->n);
        for (uint32_t r = 0; r < audible->n; r++)
            degree[r] = audible->values[r] / nodes;
        JudgeClaim claim = claim_of_row(rows, i, "random graph in a square", "mean degree", 0.4);
        judge_values(&claim, degree, audible->n);
        n++;
    }
    ck_assert_int_eq(n, is_for_today(2000.0, 500.0) ? 9 : 8);
}
END_TEST

static double
mean_of(const double *values, uint32_t n)
{
    double sum = 0.0;
    for (uint32_t r = 0; r < n; r++)
        sum += values[r];
    return sum / n;
}

START_TEST(a_flood_reaches_all_as_often_as_the_random_graph_is_connected)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "rgg")
    {
        if (strcmp(reference_text(rows, i, "quantity"), "probability_connected") != 0 ||
            !is_for_today(reference_input(rows, i, "nodes"), 100.0))
            continue;
        g_autoptr(SpateResult) result =
            run_square((int)reference_input(rows, i, "nodes"),
                       1000.0 * reference_input(rows, i, "radius"), "n-1", "[air]", 400);
        const SpateResultRow *row = judge_row(result, "delivery", "news", NULL);
        g_autofree double *all = g_new(double, row->n);
        for (uint32_t r = 0; r < row->n; r++)
            all[r] = row->values[r] == 1.0 ? 1.0 : 0.0;
        JudgeClaim claim = claim_of_row(rows, i, "random graph in a square",
                                        "share of floods that reach all", 0.09);
        /* What is too rare to be seen has no spread to judge it by. */
        if (claim.expected > 0.01) {
            judge_values(&claim, all, row->n);
        } else {
            claim.tolerance = 0.01;
            judge_value(&claim, mean_of(all, row->n));
        }
        n++;
    }
    ck_assert_int_eq(n, is_for_today(500.0, 100.0) ? 8 : 5);
}
END_TEST

/* Relays that stand in the disc about me, and what of that disc they cover: a signal sets off the
 * relays, which hear it over a given loss; the probes do not.  Free with g_free(). */
static char *
coverage_text(int n_relays, const char *place_of_relays)
{
    g_autofree char *sections = g_strdup_printf(
        "links:\n"
        "  - {from: signal, to: relays, loss: 50 dB}\n"
        "  - {from: signal, to: probes, loss: 300 dB}\n"
        "nodes:\n"
        "  signal: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  relays: {count: %d, place: %s, radios: {air: {power: 10 dBm}}, relay: [air]}\n"
        "  probes: {count: 40, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 1 km},"
        " redraw: each-replication},\n"
        "    radios: {air: {power: 10 dBm}}}\n"
        "traffic: {news: {from: signal, to: probes, payload: 20 bytes, at: [1 s]}}\n",
        n_relays, place_of_relays);
    return scenario_of(1000.0, "", sections);
}

/* The relays' discs have the area that the receiver's own disc has, so what they leave uncovered
 * of it is what a further copy from its middle adds. */
static void
judge_coverage(const Reference *rows, guint i, int n_relays, const char *place)
{
    g_autofree char *text = coverage_text(n_relays, place);
    g_autoptr(SpateResult) result = judge_run(text, 220);
    const SpateResultRow *row = judge_row(result, "delivery", "news", NULL);
    g_autofree double *added = g_new(double, row->n);
    for (uint32_t r = 0; r < row->n; r++)
        added[r] = 1.0 - row->values[r];
    JudgeClaim claim = claim_of_row(rows, i, "area that a relay adds", "share of its disc", 0.045);
    judge_values(&claim, added, row->n);
}

START_TEST(a_relay_adds_the_area_that_the_copies_it_heard_left)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "flood-extra-coverage")
    {
        const char *quantity = reference_text(rows, i, "quantity");
        g_autofree char *place = NULL;
        int n_relays = 1;
        if (strcmp(quantity, "expected_additional_coverage") == 0) {
            n_relays = (int)reference_input(rows, i, "copies_heard");
            place = g_strdup("{circle: {centre: {x: 0 m, y: 0 m}, radius: 1 km},"
                             " redraw: each-replication}");
        } else {
            /* "distance=r" is no number: at the edge. */
            double distance = reference_input(rows, i, "distance_over_r");
            place = g_strdup_printf("{points: [{x: %.3f m, y: 0 m}]}",
                                    1000.0 * (isnan(distance) ? 1.0 : distance));
        }
        judge_coverage(rows, i, n_relays, place);
        n++;
    }
    ck_assert_int_eq(n, 15);
}
END_TEST

START_TEST(two_who_heard_one_sender_hear_each_other_six_times_in_ten)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    guint i = next_row(rows, 0, "flood-contention");
    ck_assert_uint_lt(i, rows->rows->len);
    const char *sections =
        "nodes:\n"
        "  homes: {count: 12, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 1 km},"
        " redraw: each-replication},\n"
        "    radios: {air: {power: 10 dBm}}}\n"
        "traffic: {news: {from: homes, to: homes, payload: 20 bytes, every: 100 s}}\n";
    g_autofree char *text = scenario_of(1000.0, "", sections);
    g_autoptr(SpateResult) result = judge_run(text, 300);
    JudgeClaim claim = claim_of_row(rows, i, "two receivers of one sender",
                                    "share of pairs that hear each other", 0.02);
    judge_mean(&claim, judge_row(result, "delivery", "news", NULL));
}
END_TEST

CHECK_MAIN("theory of discs", nodes_in_a_square_have_the_mean_degree_with_borders,
           a_flood_reaches_all_as_often_as_the_random_graph_is_connected,
           a_relay_adds_the_area_that_the_copies_it_heard_left,
           two_who_heard_one_sender_hear_each_other_six_times_in_ten)
