/* test-advise-relays.c - which relay is missed, and what outages cost: where it is known */
#include "advise-cases.h"
#include "study/advise/advise-relays.h"
#include "study/judge/expect.h"
#include "support/check-main.h"

static SpateRelayRanking *
ranked(const char *text, uint32_t replications)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file = file_of(text);
    const SpateAdviseWanted wanted = {.file = file, .replications = replications};
    const SpateStudyOptions options = {0};
    SpateRelayRanking *ranking = spate_advise_relays(&wanted, &options, &error);
    ck_assert_msg(ranking != NULL, "%s", error != NULL ? error->message : "");
    return ranking;
}

/* ---- relays ---------------------------------------------------------------------------------- */

START_TEST(the_only_cut_vertex_is_missed_and_no_other)
{
    g_autoptr(SpateScenarioFile) file = file_of(STAR);
    const SpateAdviseWanted wanted = {.file = file};
    const SpateStudyOptions options = {0};
    g_autoptr(SpateRelayRanking) ranking = spate_advise_relays(&wanted, &options, NULL);

    ck_assert_uint_eq(ranking->n_relays, 3);
    const SpateRelayWorth *hub = &ranking->relays[0];
    ck_assert_str_eq(ranking->scenario->nodes[hub->node].name, "hub");
    /* Without it nothing arrives: what is lost is all that there was. */
    ck_assert_double_eq_tol(hub->loss.own.mean, ranking->delivery.mean, 1e-12);
    ck_assert_double_gt(hub->loss.own.mean, 0.9);
    ck_assert_double_lt(hub->loss.p, SPATE_ADVISE_RISK);
    for (size_t i = 1; i < ranking->n_relays; i++)
        ck_assert_double_gt(ranking->relays[i].loss.p, SPATE_ADVISE_RISK);
}
END_TEST

START_TEST(a_relays_interval_says_what_its_verdict_says)
{
    g_autoptr(SpateScenarioFile) file = file_of(STAR);
    const SpateAdviseWanted wanted = {.file = file, .replications = 8};
    const SpateStudyOptions options = {0};
    g_autoptr(SpateRelayRanking) ranking = spate_advise_relays(&wanted, &options, NULL);
    for (size_t i = 0; i < ranking->n_relays; i++) {
        const SpateRelayWorth *worth = &ranking->relays[i];
        bool leaves_out_0 = worth->loss.tested.low > 0.0 || worth->loss.tested.high < 0.0;
        ck_assert(leaves_out_0 == (worth->loss.p < SPATE_ADVISE_RISK));
        ck_assert(worth->loss.tested.low <= worth->loss.own.ci95.low + 1e-12);
        ck_assert(worth->loss.tested.high >= worth->loss.own.ci95.high - 1e-12);
        ck_assert(!leaves_out_0 || worth->loss.more == SPATE_MORE_NEVER);
        ck_assert(leaves_out_0 || worth->loss.own.mean == 0.0 || worth->loss.more > 0);
    }
    /* Without the hub all talk is lost, and there is no other traffic. */
    ck_assert_double_eq(ranking->relays[0].loser.loss.mean, ranking->relays[0].loss.own.mean);
    /* The first of three: at 5 % / 3, so wider than its own. */
    ck_assert_double_lt(ranking->relays[0].loss.tested.low, ranking->relays[0].loss.own.ci95.low);
}
END_TEST

/* ---- outages --------------------------------------------------------------------------------- */

/* All that is offered while the only way is down is lost: of 1799 s that count, 360 s. */
START_TEST(an_outage_of_the_only_way_costs_its_share_of_the_time)
{
    g_autoptr(SpateRelayRanking) ranking =
        ranked(STAR "outages:\n"
                    "  - {node: busy, mean-between: 5 min, mean-time: 5 min}\n"
                    "  - {node: hub, at: 10 min, for: 2 min}\n"
                    "  - {node: hub, at: 20 min, for: 4 min}\n",
               8);
    ck_assert_uint_eq(ranking->n_outages, 2);
    const SpateOutageCost *hub = &ranking->outages[0], *busy = &ranking->outages[1];
    ck_assert_str_eq(hub->name, "hub");
    ck_assert_uint_eq(hub->n_entries, 2);
    double without = ranking->delivery.mean + hub->loss.own.mean;
    ck_assert_double_gt(without, 0.9);
    /* 120 messages in 8 replications each: some 960, so a standard deviation of 1.3 points. */
    ck_assert_double_eq_tol(hub->loss.own.mean, without * 360.0 / 1799.0, 0.05);
    ck_assert(spate_effect_is_told(&hub->loss));
    ck_assert_str_eq(ranking->scenario->traffics[hub->loser.traffic].name, "talk");
    ck_assert_double_eq(hub->loser.loss.mean, hub->loss.own.mean);

    /* What carries nothing may fail. */
    ck_assert_str_eq(busy->name, "busy");
    ck_assert_uint_eq(busy->n_nodes, 2);
    ck_assert(!spate_effect_is_told(&busy->loss));
    ck_assert(spate_effect_is_told(&busy->behind));
    ck_assert_double_eq_tol(busy->behind.own.mean, hub->loss.own.mean - busy->loss.own.mean, 1e-12);
}
END_TEST

START_TEST(outages_that_cost_the_same_are_not_told_apart)
{
    g_autoptr(SpateRelayRanking) ranking =
        ranked(STAR "outages: [{node: leaf-1, at: 10 min, for: 8 min}, "
                    "{node: leaf-2, at: 10 min, for: 8 min}]\n",
               6);
    ck_assert_uint_eq(ranking->n_outages, 2);
    const SpateOutageCost *second = &ranking->outages[1];
    ck_assert(spate_effect_is_told(&ranking->outages[0].loss));
    ck_assert(spate_effect_is_told(&second->loss));
    ck_assert(!spate_effect_is_told(&second->behind));
    ck_assert_double_ge(second->behind.own.mean, 0.0);
    ck_assert_uint_gt(second->behind.more, 0);
}
END_TEST

/* With the scenario as it is written on one side: both outages cut the same link, and either alone
 * is enough. */
START_TEST(an_outage_costs_nothing_while_another_does_the_same)
{
    g_autoptr(SpateRelayRanking) ranking = ranked(
        STAR "outages: [{node: hub, at: 0 s, for: 1 h}, {node: leaf, at: 0 s, for: 1 h}]\n", 2);
    ck_assert_uint_eq(ranking->n_outages, 2);
    for (size_t i = 0; i < 2; i++)
        ck_assert_double_eq(ranking->outages[i].loss.own.mean, 0.0);
}
END_TEST

CHECK_MAIN("advise-relays", the_only_cut_vertex_is_missed_and_no_other,
           a_relays_interval_says_what_its_verdict_says,
           an_outage_of_the_only_way_costs_its_share_of_the_time,
           outages_that_cost_the_same_are_not_told_apart,
           an_outage_costs_nothing_while_another_does_the_same)
