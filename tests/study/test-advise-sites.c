/* test-advise-sites.c - which candidates to build, where it is known */
#include "advise-cases.h"
#include "study/advise/advise-sites.h"
#include "study/judge/expect.h"
#include "support/check-main.h"

#define NODE(name, more)                                                                           \
    "  " name ": {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}" more "}\n"
#define SITE(name, more) NODE(name, ", candidate: yes, relay: air" more)

/* Two halves that hear no one of the other.  The saddle alone joins them; the mill hears one. */
#define HALVES                                                                                     \
    AIR "links:\n"                                                                                 \
        "  - {between: [west, west], loss: 80 dB}\n"                                               \
        "  - {between: [east, east], loss: 80 dB}\n"                                               \
        "  - {between: [saddle, west], loss: 80 dB}\n"                                             \
        "  - {between: [saddle, east], loss: 80 dB}\n"                                             \
        "  - {between: [mill, west], loss: 80 dB}\n"                                               \
        "nodes:\n" NODE("west", ", count: 2") NODE("east", ", count: 2") SITE("saddle", "")        \
            SITE("mill", "")
#define TALK                                                                                       \
    "traffic: {talk: {from: [west, east], to: [west, east], payload: 10 bytes, mean-interval: "    \
    "60 s}}\n"

static SpateSiteRanking *
ranked(const char *text, GError **error)
{
    g_autoptr(SpateScenarioFile) file = file_of(text);
    const SpateAdviseWanted wanted = {.file = file, .replications = 8};
    const SpateStudyOptions options = {0};
    return spate_advise_sites(&wanted, &options, error);
}

static SpateSiteRanking *
ranking_of(const char *text)
{
    g_autoptr(GError) error = NULL;
    SpateSiteRanking *ranking = ranked(text, &error);
    ck_assert_msg(ranking != NULL, "%s", error != NULL ? error->message : "");
    return ranking;
}

static const char *
name_of(const SpateSiteRanking *ranking, uint32_t site)
{
    return ranking->scenario->sites[site].name;
}

/* Of 12 pairs of a source and a recipient 4 are of the same half. */
START_TEST(the_only_site_that_joins_two_halves_is_built)
{
    g_autoptr(SpateSiteRanking) ranking = ranking_of(HALVES TALK);
    ck_assert_uint_eq(ranking->n_sites, 2);
    const SpateSiteWorth *saddle = &ranking->sites[0], *mill = &ranking->sites[1];
    ck_assert_str_eq(name_of(ranking, saddle->site), "saddle");
    ck_assert_double_eq_tol(ranking->delivery.mean, 4.0 / 12.0, 0.02);
    ck_assert_double_eq_tol(saddle->gain.own.mean, 8.0 / 12.0, 0.04);
    ck_assert(spate_effect_is_told(&saddle->gain));
    ck_assert_double_eq(mill->gain.own.mean, 0.0);
    ck_assert(spate_effect_is_told(&mill->behind));
    /* Each relays every message that it hears: of all four, or of two. */
    ck_assert_double_gt(mill->change.loads[0].mean, 0.0);
    ck_assert_double_eq_tol(saddle->change.loads[0].mean, 2.0 * mill->change.loads[0].mean,
                            0.4 * saddle->change.loads[0].mean);

    ck_assert_uint_eq(ranking->n_steps, 1);
    ck_assert_str_eq(name_of(ranking, ranking->steps[0].site), "saddle");
    ck_assert_double_eq(ranking->steps[0].gain.own.mean, saddle->gain.own.mean);
    ck_assert_double_eq_tol(ranking->steps[0].change.delivery.mean,
                            ranking->delivery.mean + saddle->gain.own.mean, 1e-12);
    ck_assert_uint_eq(ranking->steps[0].ties->len, 0);
    ck_assert_int_eq(ranking->end, SPATE_SITES_NOT_TOLD);
    ck_assert_str_eq(name_of(ranking, ranking->next.site), "mill");
    ck_assert_str_eq(ranking->set, "nodes.saddle.candidate: no\n");
}
END_TEST

START_TEST(mirror_images_are_not_told_apart)
{
    g_autoptr(SpateSiteRanking) ranking =
        ranking_of(AIR "links:\n"
                       "  - {between: [hill, west], loss: 80 dB}\n"
                       "  - {between: [hill, east], loss: 80 dB}\n"
                       "nodes:\n" NODE("west", "") NODE("east", "")
                           SITE("hill", ", count: 2") "traffic: {talk: {from: [west, east], to: "
                                                      "[west, east], payload: 10 bytes, "
                                                      "mean-interval: 60 s}}\n");
    ck_assert_uint_eq(ranking->n_sites, 2);
    ck_assert(!spate_effect_is_told(&ranking->sites[1].behind));
    ck_assert_uint_eq(ranking->n_steps, 1);
    const SpateSiteStep *step = &ranking->steps[0];
    ck_assert_uint_eq(step->ties->len, 1);
    uint32_t other = g_array_index(step->ties, SpateSiteTie, 0).site;
    ck_assert_uint_ne(other, step->site);
    /* The other one of the group stays a candidate. */
    g_autofree char *set = g_strdup_printf("nodes.hill.candidate: [%s]\n", name_of(ranking, other));
    ck_assert_str_eq(ranking->set, set);
    /* All frames of one collide with those of the other at times: it wins nothing any more. */
    ck_assert_int_eq(ranking->end, SPATE_SITES_NOT_TOLD);
}
END_TEST

START_TEST(sites_that_win_only_together_are_not_overlooked)
{
    g_autoptr(SpateSiteRanking) ranking = ranking_of(
        AIR
        "links:\n"
        "  - {between: [west, near], loss: 80 dB}\n"
        "  - {between: [near, far], loss: 80 dB}\n"
        "  - {between: [far, east], loss: 80 dB}\n"
        "nodes:\n" NODE("west", "") NODE("east", "") SITE("near", "")
            SITE("far",
                 "") "traffic: {talk: {from: west, to: east, payload: 10 bytes, mean-interval: 60 "
                     "s}}\n");
    ck_assert_uint_eq(ranking->n_steps, 0);
    ck_assert_ptr_null(ranking->set);
    ck_assert_int_eq(ranking->end, SPATE_SITES_NOT_TOLD);
    ck_assert(spate_effect_is_told(&ranking->together));
    ck_assert_double_gt(ranking->together.own.mean, 0.9);
}
END_TEST

/* It hears all, and helps nobody. */
START_TEST(a_site_that_only_listens_wins_nothing)
{
    g_autoptr(SpateSiteRanking) ranking = ranking_of(
        AIR
        "links: [{between: [west, ear], loss: 80 dB}]\n"
        "nodes:\n" NODE("west", "") NODE("east", "")
            SITE("ear", "") "traffic:\n"
                            "  call: {from: west, to: everyone, payload: 10 bytes, every: 60 s}\n"
                            "  note: {from: west, to: east, payload: 10 bytes, every: 60 s}\n");
    ck_assert_uint_eq(ranking->n_sites, 1);
    ck_assert_double_eq(ranking->sites[0].gain.own.mean, 0.0);
    ck_assert(ranking->joins[0] && !ranking->joins[1]);
}
END_TEST

START_TEST(who_gets_worse_by_a_site_is_named)
{
    /* Its frames break those of west at the gate, which hears both, and it delivers to the barn. */
    g_autoptr(SpateSiteRanking) ranking = ranking_of(
        AIR
        "links:\n"
        "  - {between: [west, gate], loss: 80 dB}\n"
        "  - {between: [east, hill], loss: 80 dB}\n"
        "  - {between: [hill, gate], loss: 80 dB}\n"
        "  - {between: [hill, barn], loss: 80 dB}\n"
        "nodes:\n" NODE("west", "") NODE("east", "") NODE("gate", "") NODE("barn", "") SITE(
            "hill", "") "traffic:\n"
                        "  note: {from: east, to: barn, payload: 10 bytes, mean-interval: 300 ms}\n"
                        "  talk: {from: west, to: gate, payload: 10 bytes, mean-interval: 2 s}\n");
    const SpateSiteWorth *hill = &ranking->sites[0];
    ck_assert_str_eq(ranking->scenario->traffics[hill->change.loser.traffic].name, "talk");
    ck_assert_double_gt(hill->change.loser.loss.ci95.low, 0.05);
    ck_assert_double_gt(hill->gain.own.mean, 0.0);
}
END_TEST

START_TEST(without_candidates_nothing_is_tried)
{
    g_autoptr(SpateSiteRanking) ranking = ranking_of(STAR);
    ck_assert_uint_eq(ranking->n_sites, 0);
    ck_assert_int_eq(ranking->end, SPATE_SITES_NONE);
    ck_assert(!ranking->interrupted);
}
END_TEST

START_TEST(what_is_stopped_is_no_ranking)
{
    g_autoptr(SpateScenarioFile) file = file_of(HALVES TALK);
    const SpateAdviseWanted wanted = {.file = file};
    const int stop = 1;
    const SpateStudyOptions options = {.stop = &stop};
    g_autoptr(SpateSiteRanking) ranking = spate_advise_sites(&wanted, &options, NULL);
    ck_assert(ranking->interrupted);
    ck_assert_uint_eq(ranking->n_sites, 0);
    ck_assert_uint_eq(ranking->n_replications, 0);
    ck_assert_int_eq(ranking->end, SPATE_SITES_OPEN);
}
END_TEST

START_TEST(more_candidates_than_can_be_tried_are_refused)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateSiteRanking) ranking =
        ranked(AIR "nodes:\n" NODE("west", "") SITE("hill", ", count: 1001"), &error);
    ck_assert_ptr_null(ranking);
    ck_assert_ptr_nonnull(strstr(error->message, "1001 candidates are too many"));
}
END_TEST

/* ---- what is not built ----------------------------------------------------------------------- */

/* Shadowing, random places and outages are drawn, and what names the site draws for others too. */
#define GROUND                                                                                     \
    "spate: 1\n"                                                                                   \
    "run: {duration: 10 min, replications: 2}\n"                                                   \
    "bearers:\n"                                                                                   \
    "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"         \
    "    propagation: {model: log-distance, exponent: 3.2, shadowing: 6 dB}}\n"                    \
    "  yard: {kind: dsss, frequency: 2437 MHz, propagation: {model: log-distance, exponent: "      \
    "3}}\n"                                                                                        \
    "nodes:\n"                                                                                     \
    "  hut: {count: 6, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 2 km}}, relay: air,\n"   \
    "    radios: {air: {power: 14 dBm}}}\n"                                                        \
    "  gate: {at: {x: 0 m, y: 0 m}, relay: air,\n"                                                 \
    "    radios: {air: {power: 14 dBm}, yard: {power: 14 dBm}}}\n"                                 \
    "traffic:\n"                                                                                   \
    "  talk: {from: people, to: everyone, payload: 20 bytes, mean-interval: 30 s}\n"
#define WITHOUT_SITE                                                                               \
    "groups: {people: [hut, gate], bridged: [gate]}\n"                                             \
    "bridges: {bridged: {up: {from: yard, to: air}}}\n"                                            \
    "outages: [{node: people, mean-between: 3 min, mean-time: 30 s}]\n"
#define WITH_SITE                                                                                  \
    "groups: {people: [hut, ridge, gate], bridged: [ridge, gate]}\n"                               \
    "bridges: {bridged: {up: {from: yard, to: air}}}\n"                                            \
    "links: [{between: [ridge, hut], loss: 90 dB}, {from: ridge, to: ridge, loss: 3 dB}]\n"        \
    "outages: [{node: ridge, at: 0 s, for: 1 min}, "                                               \
    "{node: people, mean-between: 3 min, mean-time: 30 s}]\n"
#define RIDGE                                                                                      \
    "  ridge: {count: 3, candidate: yes, relay: air, place: {circle: {centre: {x: 0 m, y: 0 m}, "  \
    "radius: 2 km}},\n"                                                                            \
    "    radios: {air: {power: 20 dBm}, yard: {power: 14 dBm}}}\n"

static char *
with_ridge(void)
{
    const char *text = GROUND WITH_SITE, *at = strstr(text, "traffic:");
    return g_strdup_printf("%.*s%s%s", (int)(at - text), text, RIDGE, at);
}

static SpateResult *
result_of(const char *text, const SpateSetting *setting)
{
    g_autoptr(SpateScenarioFile) file = file_of(text);
    const SpateTrial trial = {.settings = setting, .n_settings = setting != NULL ? 1 : 0};
    g_autoptr(SpateScenario) scenario = spate_scenario_try(file, &trial, NULL);
    ck_assert_ptr_nonnull(scenario);
    const SpateScenario *const scenarios[] = {scenario};
    const char *const names[] = {"base"};
    const SpateStudyOptions options = {0};
    return spate_study_run("run", scenarios, names, 1, &options, NULL);
}

static bool
are_equal(const SpateResult *a, const SpateResult *b)
{
    bool are = a->variants[0].n_rows == b->variants[0].n_rows;
    for (size_t i = 0; are && i < a->variants[0].n_rows; i++) {
        const SpateResultRow *row = &a->variants[0].rows[i];
        const SpateResultRow *other = spate_result_find_row(&b->variants[0], row);
        are = other != NULL &&
              memcmp(row->values, other->values, a->n_replications * sizeof *row->values) == 0;
    }
    return are;
}

START_TEST(a_site_that_is_not_built_is_nowhere)
{
    g_autofree char *with = with_ridge();
    g_autoptr(SpateResult) bare = result_of(GROUND WITHOUT_SITE, NULL);
    g_autoptr(SpateResult) off = result_of(with, NULL);
    ck_assert(are_equal(bare, off));
    const SpateSetting built = {"nodes.ridge.candidate", "[ridge-2]"};
    g_autoptr(SpateResult) on = result_of(with, &built);
    ck_assert(!are_equal(bare, on));
}
END_TEST

CHECK_MAIN("advise-sites", the_only_site_that_joins_two_halves_is_built,
           mirror_images_are_not_told_apart, sites_that_win_only_together_are_not_overlooked,
           a_site_that_only_listens_wins_nothing, who_gets_worse_by_a_site_is_named,
           without_candidates_nothing_is_tried, what_is_stopped_is_no_ranking,
           more_candidates_than_can_be_tried_are_refused, a_site_that_is_not_built_is_nowhere)
