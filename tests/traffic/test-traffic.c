/* test-traffic.c - when messages are offered */
#include "mesh/town.h"

#include "support/check-main.h"
#include <math.h>

#define SECOND SPATE_NS_PER_S

/* Nodes that hear nobody, and two traffics: only offers matter. */
static Town *
quiet_town(uint32_t n_nodes)
{
    Town *town = town_new();
    for (uint32_t i = 0; i < n_nodes; i++)
        town_add_node(town, ON_FAST);
    town_add_traffic(town, "alarm");
    town_add_traffic(town, "talk");
    for (uint32_t i = 0; i < 2; i++)
        town->traffics[i].n_recipients = 0;
    return town;
}

static const uint32_t SOURCES[] = {0, 1, 2, 3};

static SpateOffers
row_of(uint32_t traffic, uint32_t n_sources, int64_t every_ns)
{
    return (SpateOffers){
        .traffic = traffic,
        .sources = SOURCES,
        .n_sources = n_sources,
        .times = SPATE_OFFERS_EVERY,
        .every_ns = every_ns,
        .together = true,
    };
}

/* Runs the offers to the end; the log then holds them. */
static void
run_offers(Town *town, const SpateOffers *offers, uint32_t n_offers, int64_t until_ns)
{
    town_start(town);
    SpateTraffic *traffic = spate_traffic_new(town->queue, town->mesh, &town->plan, offers,
                                              n_offers, until_ns, town->seed, town->replication);
    town_run(town, until_ns + 100 * SECOND);
    spate_traffic_free(traffic);
    double expected = 0.0;
    for (uint32_t i = 0; i < n_offers; i++)
        expected += spate_traffic_expected_offers(&offers[i], until_ns);
    ck_assert_double_le(town_count(town, HAPPENED_OFFERED), expected);
}

static int64_t
offered_ns(const Town *town, uint32_t node, uint32_t n)
{
    return town_find_at(town, HAPPENED_OFFERED, node, n)->at_ns;
}

START_TEST(together_all_sources_offer_at_multiples_of_the_interval)
{
    g_autoptr(Town) town = quiet_town(2);
    SpateOffers row = row_of(1, 2, 10 * SECOND);
    run_offers(town, &row, 1, 30 * SECOND);

    ck_assert_uint_eq(town_count(town, HAPPENED_OFFERED), 6);
    for (uint32_t k = 0; k < 3; k++)
        for (uint32_t node = 0; node < 2; node++)
            ck_assert_int_eq(offered_ns(town, node, k), k * 10 * SECOND);
}
END_TEST

START_TEST(no_offer_is_made_at_or_after_the_end)
{
    g_autoptr(Town) town = quiet_town(1);
    SpateOffers row = row_of(1, 1, 10 * SECOND);
    run_offers(town, &row, 1, 30 * SECOND + 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_OFFERED), 4);
}
END_TEST

/* A spread of 1 ns about the last ns before the end: a third of what is drawn falls on the end. */
START_TEST(an_offer_that_its_spread_moves_to_the_end_is_not_made)
{
    const int64_t end_ns = 10 * SECOND + 1;
    uint32_t n_offers = 0;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        g_autoptr(Town) town = quiet_town(4);
        town->seed = seed;
        SpateOffers row = row_of(1, 4, 10 * SECOND);
        row.spread_ns = 1;
        run_offers(town, &row, 1, end_ns);
        for (uint32_t i = 0; i < town_count(town, HAPPENED_OFFERED); i++)
            ck_assert_int_lt(town_find(town, HAPPENED_OFFERED, i)->at_ns, end_ns);
        n_offers += town_count(town, HAPPENED_OFFERED);
    }
    /* 80 at the start; of 80 at the end two thirds, with a standard deviation of 4.2. */
    ck_assert_double_le(fabs(n_offers - 80 - 80 * 2 / 3.0), 4 * 4.2);
}
END_TEST

/* At 20 s both traffics of both sources offer; what was scheduled when does not matter. */
START_TEST(offers_of_one_instant_go_by_node_then_traffic)
{
    g_autoptr(Town) town = quiet_town(2);
    SpateOffers rows[] = {row_of(1, 2, 20 * SECOND), row_of(0, 2, 10 * SECOND)};
    run_offers(town, rows, 2, 21 * SECOND);

    ck_assert_uint_eq(town_count(town, HAPPENED_OFFERED), 10);
    const uint32_t nodes[] = {0, 0, 1, 1, 0, 1, 0, 0, 1, 1};
    const uint32_t traffics[] = {0, 1, 0, 1, 0, 0, 0, 1, 0, 1};
    for (uint32_t i = 0; i < 10; i++) {
        const TownEntry *entry = town_find(town, HAPPENED_OFFERED, i);
        ck_assert_uint_eq(entry->message, i);
        ck_assert_uint_eq(entry->node, nodes[i]);
        ck_assert_uint_eq(entry->traffic, traffics[i]);
    }
}
END_TEST

START_TEST(with_a_random_phase_each_source_has_its_own_row)
{
    g_autoptr(Town) town = quiet_town(4);
    SpateOffers row = row_of(1, 4, 10 * SECOND);
    row.together = false;
    run_offers(town, &row, 1, 100 * SECOND);

    for (uint32_t node = 0; node < 4; node++) {
        ck_assert_uint_eq(town_count_at(town, HAPPENED_OFFERED, node), 10);
        int64_t first_ns = offered_ns(town, node, 0);
        ck_assert(first_ns >= 0 && first_ns < 10 * SECOND);
        for (uint32_t k = 1; k < 10; k++)
            ck_assert_int_eq(offered_ns(town, node, k), first_ns + k * 10 * SECOND);
        for (uint32_t other = 0; other < node; other++)
            ck_assert_int_ne(first_ns, offered_ns(town, other, 0));
    }
}
END_TEST

START_TEST(a_spread_moves_offers_without_drift)
{
    g_autoptr(Town) town = quiet_town(1);
    SpateOffers row = row_of(1, 1, 10 * SECOND);
    row.spread_ns = 2 * SECOND;
    run_offers(town, &row, 1, 9995 * SECOND);

    ck_assert_uint_eq(town_count(town, HAPPENED_OFFERED), 1000);
    double sum_s = 0.0, largest_s = 0.0;
    for (uint32_t k = 1; k < 1000; k++) {
        double moved_s = (double)(offered_ns(town, 0, k) - k * 10 * SECOND) / 1e9;
        sum_s += moved_s;
        largest_s = fmax(largest_s, fabs(moved_s));
    }
    ck_assert_double_le(largest_s, 2.0);
    ck_assert_double_ge(largest_s, 1.95);
    /* Uniform over 4 s: standard deviation of the mean 4 / sqrt(12 * 999) = 0.037 s. */
    ck_assert_double_le(fabs(sum_s / 999), 5 * 0.037);
    ck_assert_int_ge(offered_ns(town, 0, 0), 0);
}
END_TEST

/* Offers may overtake each other then; each is still made, at its own instant. */
START_TEST(an_offer_before_the_start_is_mirrored_and_none_waits_for_it)
{
    /* Half of the first row would come before the start; at exactly 0 they would all collide. */
    Town *town = quiet_town(4);
    SpateOffers row = row_of(0, 4, 1000 * SECOND);
    row.spread_ns = 400 * SECOND;
    run_offers(town, &row, 1, 500 * SECOND);
    ck_assert_uint_eq(town_count(town, HAPPENED_OFFERED), 4);
    for (uint32_t node = 0; node < 4; node++) {
        ck_assert_int_gt(offered_ns(town, node, 0), 0);
        ck_assert_int_le(offered_ns(town, node, 0), 400 * SECOND);
    }
    town_free(town);
}
END_TEST

START_TEST(a_spread_longer_than_the_interval_loses_nothing)
{
    g_autoptr(Town) town = quiet_town(1);
    SpateOffers row = row_of(1, 1, SECOND);
    row.spread_ns = 5 * SECOND;
    run_offers(town, &row, 1, 1000 * SECOND);

    /* Rows 0 to 994 cannot be moved beyond the end; one in the last five may be. */
    uint32_t n = town_count(town, HAPPENED_OFFERED);
    ck_assert_uint_ge(n, 995);
    ck_assert_uint_le(n, 1005);
    ck_assert_int_lt(offered_ns(town, 0, n - 1), 1000 * SECOND);
    g_autoptr(GHashTable) seen = g_hash_table_new(g_int64_hash, g_int64_equal);
    for (uint32_t k = 0; k < n; k++)
        g_hash_table_add(seen, (gpointer)&town_find(town, HAPPENED_OFFERED, k)->identity);
    ck_assert_uint_eq(g_hash_table_size(seen), n);
}
END_TEST

/* A spread of 1 ns: a third of node 3's offers fall on those of node 0, and were planned before. */
START_TEST(offers_that_a_spread_brings_together_go_by_node)
{
    g_autoptr(Town) town = quiet_town(4);
    SpateOffers rows[] = {row_of(1, 1, SECOND), row_of(0, 1, SECOND)};
    rows[0].sources = &SOURCES[3];
    rows[0].spread_ns = 1;
    run_offers(town, rows, 2, 200 * SECOND - 1);

    uint32_t together = 0;
    for (uint32_t k = 1; k < town_count(town, HAPPENED_OFFERED); k++) {
        const TownEntry *last = town_find(town, HAPPENED_OFFERED, k - 1);
        const TownEntry *entry = town_find(town, HAPPENED_OFFERED, k);
        ck_assert_int_le(last->at_ns, entry->at_ns);
        if (last->at_ns < entry->at_ns)
            continue;
        ck_assert_uint_lt(last->node, entry->node);
        together++;
    }
    ck_assert_uint_gt(together, 40);
}
END_TEST

/* Exponential gaps: mean and standard deviation are the mean interval. */
START_TEST(poisson_offers_have_exponential_gaps)
{
    g_autoptr(Town) town = quiet_town(1);
    SpateOffers offers = {
        .traffic = 1,
        .sources = SOURCES,
        .n_sources = 1,
        .times = SPATE_OFFERS_POISSON,
        .mean_interval_ns = 10 * SECOND,
    };
    run_offers(town, &offers, 1, 40000 * SECOND);

    uint32_t n = town_count(town, HAPPENED_OFFERED);
    /* 4000 +- 5 standard deviations of sqrt(4000) = 63. */
    ck_assert_uint_ge(n, 4000 - 5 * 63);
    ck_assert_uint_le(n, 4000 + 5 * 63);
    double sum = 0.0, squares = 0.0;
    int64_t last_ns = 0;
    for (uint32_t k = 0; k < n; k++) {
        int64_t at_ns = offered_ns(town, 0, k);
        double gap_s = (double)(at_ns - last_ns) / 1e9;
        sum += gap_s;
        squares += gap_s * gap_s;
        last_ns = at_ns;
    }
    double mean = sum / n;
    ck_assert_double_eq_tol(sqrt(squares / n - mean * mean) / mean, 1.0, 0.1);
}
END_TEST

START_TEST(listed_times_hold_for_each_source)
{
    g_autoptr(Town) town = quiet_town(2);
    const int64_t at_ns[] = {3 * SECOND, 7 * SECOND, 7 * SECOND, 50 * SECOND};
    SpateOffers offers = {
        .traffic = 1,
        .sources = SOURCES,
        .n_sources = 2,
        .times = SPATE_OFFERS_AT,
        .at_ns = at_ns,
        .n_at = 4,
    };
    run_offers(town, &offers, 1, 50 * SECOND);

    for (uint32_t node = 0; node < 2; node++) {
        ck_assert_uint_eq(town_count_at(town, HAPPENED_OFFERED, node), 3);
        for (uint32_t k = 0; k < 3; k++)
            ck_assert_int_eq(offered_ns(town, node, k), at_ns[k]);
    }
}
END_TEST

/* Common random numbers: what another traffic or source does shifts nothing. */
START_TEST(offers_do_not_depend_on_what_else_is_offered)
{
    SpateOffers rows[] = {row_of(0, 4, 7 * SECOND), row_of(1, 4, 10 * SECOND)};
    rows[1].together = false;
    rows[1].spread_ns = SECOND;
    g_autoptr(Town) both = quiet_town(4);
    run_offers(both, rows, 2, 100 * SECOND);
    rows[1].n_sources = 2;
    g_autoptr(Town) alone = quiet_town(4);
    run_offers(alone, &rows[1], 1, 100 * SECOND);

    guint k = 0;
    for (guint i = 0; i < both->log->len; i++) {
        const TownEntry *entry = town_entry(both, i);
        if (entry->happening != HAPPENED_OFFERED || entry->traffic != 1 || entry->node > 1)
            continue;
        const TownEntry *twin = town_find(alone, HAPPENED_OFFERED, k++);
        ck_assert_int_eq(twin->at_ns, entry->at_ns);
        ck_assert_uint_eq(twin->node, entry->node);
        ck_assert_uint_eq(twin->identity, entry->identity);
    }
    ck_assert_uint_eq(k, town_count(alone, HAPPENED_OFFERED));
    ck_assert_uint_ge(k, 19);
}
END_TEST

START_TEST(another_replication_offers_at_other_times)
{
    SpateOffers row = row_of(1, 1, 10 * SECOND);
    row.together = false;
    g_autoptr(Town) first = quiet_town(1), second = quiet_town(1);
    second->replication = 1;
    run_offers(first, &row, 1, 20 * SECOND);
    run_offers(second, &row, 1, 20 * SECOND);
    ck_assert_int_ne(offered_ns(first, 0, 0), offered_ns(second, 0, 0));
}
END_TEST

static const uint32_t FIRST[] = {0}, SECOND_NODE[] = {1};

/* What the second node says of alarms. */
static SpateOffers
talk_about(uint32_t followed, double share, int64_t within_ns)
{
    return (SpateOffers){.traffic = 1,
                         .sources = SECOND_NODE,
                         .n_sources = 1,
                         .times = SPATE_OFFERS_FOLLOWING,
                         .follows = followed,
                         .share = share,
                         .within_ns = within_ns};
}

/* The first node sends an alarm each second, the second hears it; offers[0] is theirs. */
static void
run_alarms(Town *town, SpateOffers *offers, uint32_t n_offers, int64_t until_ns)
{
    town_link(town, 0, 1, FAST, 80.0);
    offers[0] = row_of(0, 1, SECOND);
    offers[0].sources = FIRST;
    town_start(town);
    town->traffics[0].recipients = SECOND_NODE;
    town->traffics[0].n_recipients = 1;
    SpateTraffic *traffic = spate_traffic_new(town->queue, town->mesh, &town->plan, offers,
                                              n_offers, until_ns, town->seed, town->replication);
    town_run(town, until_ns + 100 * SECOND);
    spate_traffic_free(traffic);
}

static Town *
silent_relays(void)
{
    Town *town = quiet_town(2);
    town->nodes[0].flooding.policy = town->nodes[1].flooding.policy = SPATE_FLOOD_NONE;
    return town;
}

static Town *
town_that_talks(double share, int64_t within_ns, int64_t until_ns)
{
    Town *town = silent_relays();
    SpateOffers offers[] = {{0}, talk_about(0, share, within_ns)};
    run_alarms(town, offers, 2, until_ns);
    return town;
}

START_TEST(what_follows_comes_with_the_delivery)
{
    g_autoptr(Town) town = town_that_talks(1.0, 0, 10 * SECOND);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_OFFERED, 1), 10);
    for (uint32_t k = 0; k < 10; k++)
        ck_assert_int_eq(offered_ns(town, 1, k), k * SECOND + TOWN_FRAME_NS);
}
END_TEST

START_TEST(what_follows_waits_uniformly_and_not_beyond_the_end)
{
    g_autoptr(Town) town = town_that_talks(1.0, SECOND / 2, 1000 * SECOND);
    uint32_t n = town_count_at(town, HAPPENED_OFFERED, 1);
    double sum_s = 0.0;
    ck_assert_uint_ge(n, 999);
    for (uint32_t k = 0; k < n; k++) {
        double wait_s = (double)(offered_ns(town, 1, k) - k * SECOND - TOWN_FRAME_NS) / 1e9;
        ck_assert(wait_s >= 0.0 && wait_s <= 0.5);
        sum_s += wait_s;
    }
    /* Of a uniform wait: 5 standard errors of 0.5 / sqrt(12) / sqrt(1000). */
    ck_assert_double_eq_tol(sum_s / n, 0.25, 0.023);
}
END_TEST

/* Binomial: 1000 of share 30 %, 5 standard deviations of 14.5. */
START_TEST(only_a_share_is_followed)
{
    g_autoptr(Town) town = town_that_talks(0.3, 0, 1000 * SECOND);
    uint32_t n = town_count_at(town, HAPPENED_OFFERED, 1);
    ck_assert_uint_ge(n, 300 - 73);
    ck_assert_uint_le(n, 300 + 73);
}
END_TEST

/* The third alarm arrives just when offers end. */
START_TEST(nothing_follows_at_the_end)
{
    g_autoptr(Town) town = town_that_talks(1.0, 0, 2 * SECOND + TOWN_FRAME_NS);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 1), 3);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_OFFERED, 1), 2);
}
END_TEST

START_TEST(what_follows_comes_after_the_relay)
{
    g_autoptr(Town) town = quiet_town(2);
    SpateOffers offers[] = {{0}, talk_about(0, 1.0, 0)};
    run_alarms(town, offers, 2, SECOND);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, 1, 0)->traffic, 0);
    ck_assert_uint_eq(town_find_at(town, HAPPENED_STARTED, 1, 1)->traffic, 1);
}
END_TEST

/* News has no message, so nothing talks of it. */
START_TEST(only_the_traffic_that_is_named_is_followed)
{
    g_autoptr(Town) town = silent_relays();
    uint32_t news = town_add_traffic(town, "news");
    SpateOffers offers[] = {{0}, talk_about(news, 1.0, 0)};
    run_alarms(town, offers, 2, 10 * SECOND);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 1), 10);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_OFFERED, 1), 0);
}
END_TEST

/* Common random numbers: of fewer alarms the same ones are followed, after the same waits. */
START_TEST(what_follows_does_not_depend_on_what_else_does)
{
    g_autoptr(Town) alone = silent_relays(), beside = silent_relays();
    SpateOffers offers[] = {{0}, talk_about(0, 0.5, SECOND / 2), talk_about(0, 1.0, 0)};
    run_alarms(alone, offers, 2, 100 * SECOND);
    offers[2].traffic = town_add_traffic(beside, "chatter");
    run_alarms(beside, offers, 3, 100 * SECOND);
    uint32_t k = 0;
    for (guint i = 0; i < beside->log->len; i++) {
        const TownEntry *entry = town_entry(beside, i);
        if (entry->happening != HAPPENED_OFFERED || entry->traffic != 1)
            continue;
        const TownEntry *twin = town_find_at(alone, HAPPENED_OFFERED, 1, k++);
        ck_assert_int_eq(twin->at_ns, entry->at_ns);
        ck_assert_uint_eq(twin->identity, entry->identity);
    }
    ck_assert_uint_eq(k, town_count_at(alone, HAPPENED_OFFERED, 1));
    ck_assert_uint_ge(k, 25);
}
END_TEST

int
main(void)
{
    TCase *times = tcase_create("times");
    tcase_add_test(times, together_all_sources_offer_at_multiples_of_the_interval);
    tcase_add_test(times, no_offer_is_made_at_or_after_the_end);
    tcase_add_test(times, an_offer_that_its_spread_moves_to_the_end_is_not_made);
    tcase_add_test(times, offers_of_one_instant_go_by_node_then_traffic);
    tcase_add_test(times, with_a_random_phase_each_source_has_its_own_row);
    tcase_add_test(times, a_spread_moves_offers_without_drift);
    tcase_add_test(times, a_spread_longer_than_the_interval_loses_nothing);
    tcase_add_test(times, an_offer_before_the_start_is_mirrored_and_none_waits_for_it);
    tcase_add_test(times, offers_that_a_spread_brings_together_go_by_node);
    tcase_add_test(times, poisson_offers_have_exponential_gaps);
    tcase_add_test(times, listed_times_hold_for_each_source);
    tcase_add_test(times, offers_do_not_depend_on_what_else_is_offered);
    tcase_add_test(times, another_replication_offers_at_other_times);
    tcase_add_test(times, what_follows_comes_with_the_delivery);
    tcase_add_test(times, what_follows_waits_uniformly_and_not_beyond_the_end);
    tcase_add_test(times, only_a_share_is_followed);
    tcase_add_test(times, nothing_follows_at_the_end);
    tcase_add_test(times, what_follows_comes_after_the_relay);
    tcase_add_test(times, only_the_traffic_that_is_named_is_followed);
    tcase_add_test(times, what_follows_does_not_depend_on_what_else_does);
    Suite *suite = suite_create("traffic");
    suite_add_tcase(suite, times);
    return run_suite(suite);
}
