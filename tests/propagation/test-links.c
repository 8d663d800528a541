/* test-links.c - link budgets by hand, shadowing by its statistics */
#include "core/random.h"
#include "propagation/links.h"
#include "scenario/read/regulations.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

#define MANY 200
#define SEED 5

static SpateBearer bearers[2];
static SpatePropagation propagation[2];
static SpateNodeSite nodes[MANY];
static SpateRadioSite radios[MANY];
static double isolation_db[MANY];

static void
set_up(void)
{
    memset(propagation, 0, sizeof propagation);
    for (int b = 0; b < 2; b++) {
        bearers[b] = (SpateBearer){
            .modulation = {.kind = &spate_radio_lora, .centre_hz = b == 0 ? 868000000 : 869500000}};
        propagation[b].model =
            (SpatePathModel){.kind = SPATE_PATH_FREE_SPACE, .intercept_loss_db = NAN};
    }
    for (uint32_t i = 0; i < MANY; i++) {
        g_autofree char *name = g_strdup_printf("node-%u", i);
        nodes[i] =
            (SpateNodeSite){.position = {.x_m = 1000.0 * i}, .name_hash = spate_hash_name(name)};
        radios[i] = (SpateRadioSite){.node = i};
        isolation_db[i] = 40.0;
    }
}

static SpateLinks *
links_with(const SpateGivenLoss *given, size_t n_given)
{
    return spate_links_new(nodes, MANY, isolation_db, radios, MANY, bearers, propagation, 2, given,
                           n_given);
}

START_TEST(a_budget_by_hand)
{
    /* 868 MHz, 1 km, free space: 91.218 dB (Rec. ITU-R P.525).  14 dBm - 1 dB feeder + 2 dBi
     * - 2 dB (a hedge) - 91.218 - 3 dB (a wall at the far end) + 6 dBi - 0.5 dB feeder
     * = -75.718 dBm. */
    set_up();
    radios[0].power_dbm = 14.0;
    radios[0].feeder_loss_db = 1.0;
    radios[0].antenna.gain_dbi = 2.0;
    radios[1].antenna.gain_dbi = 6.0;
    radios[1].feeder_loss_db = 0.5;
    nodes[0].site_loss_db = 2.0;
    nodes[1].site_loss_db = 3.0;
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    SpateLink link;
    ck_assert(spate_links_budget(links, 0, 1, &link, NULL));
    ck_assert_double_eq_tol(link.distance_m, 1000.0, 1e-9);
    ck_assert_double_eq_tol(link.loss_db, 91.21817773, 1e-6);
    ck_assert_double_eq_tol(link.received_dbm, -75.71817773, 1e-6);
}
END_TEST

START_TEST(sectors_face_the_other_end)
{
    /* Node 1 lies 1 km east of node 0.  A sector of 12 dBi and 60 degrees, 30 degrees off: 3 dB
     * less; turned away: at the front-to-back ratio. */
    set_up();
    SpateAntenna sector = {
        .gain_dbi = 12.0, .azimuth_deg = 60.0, .beamwidth_deg = 60.0, .front_to_back_db = 25.0};
    radios[0].antenna = sector;
    radios[1].antenna = sector;
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    SpateLink there, back;
    ck_assert(spate_links_budget(links, 0, 1, &there, NULL));
    ck_assert(spate_links_budget(links, 1, 0, &back, NULL));
    ck_assert_double_eq_tol(there.received_dbm, -91.21817773 + 9.0 + 12.0 - 25.0, 1e-6);
    ck_assert_double_eq_tol(back.received_dbm, there.received_dbm, 1e-9);
}
END_TEST

START_TEST(between_bearers_the_loss_is_that_of_the_sender)
{
    set_up();
    radios[1].bearer = 1;
    propagation[1].model.extra_loss_db = 10.0;
    propagation[1].shadowing = (SpateShadowing){.sigma_db = 4.0, .shared = 0.5, .redraw = true};
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    SpateLink there, back;
    ck_assert(spate_links_budget(links, 0, 1, &there, NULL));
    ck_assert(spate_links_budget(links, 1, 0, &back, NULL));
    ck_assert_double_eq_tol(there.loss_db, 91.21817773, 1e-6);
    /* 869.5 instead of 868 MHz: 20 log10(869.5 / 868) = 0.01500 dB */
    ck_assert_double_eq_tol(back.loss_db, 91.21817773 + 0.01500 + 10.0, 1e-4);
    ck_assert_double_eq(there.shadowing_sigma_db, 0.0);
    ck_assert_double_eq(back.shadowing_sigma_db, 4.0);
    ck_assert_double_eq(spate_links_shadowing_db(links, 0, 1, SEED, 0), 0.0);
    ck_assert(spate_links_shadowing_db(links, 1, 0, SEED, 0) != 0.0);
}
END_TEST

START_TEST(where_a_model_does_not_hold_there_is_no_budget)
{
    set_up();
    propagation[0].model.kind = SPATE_PATH_HATA;
    SpateGivenLoss given = {.from_node = 0, .to_node = 1, .bearer = -1, .loss_db = 100.0};
    g_autoptr(SpateLinks) links = links_with(&given, 1);
    SpateLink link;
    g_autoptr(GError) error = NULL;
    ck_assert(!spate_links_budget(links, 1, 2, &link, &error));
    ck_assert(
        g_error_matches(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE));
    /* a given loss needs no model */
    ck_assert(spate_links_budget(links, 0, 1, &link, NULL));
}
END_TEST

START_TEST(erp_is_eirp_less_a_dipole)
{
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "erp-eirp") != 0)
            continue;
        bool to_erp = strcmp(reference_text(rows, i, "quantity"), "erp") == 0;
        double power_dbm = reference_input(rows, i, "power_dbm") +
                           (to_erp ? -SPATE_DIPOLE_GAIN_DBI : SPATE_DIPOLE_GAIN_DBI);
        ck_assert_double_eq_tol(power_dbm, reference_number(rows, i, "value"),
                                reference_tolerance(rows, i));
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

START_TEST(a_given_loss_stands_in_place_of_path_site_and_shadowing)
{
    set_up();
    nodes[1].site_loss_db = 9.0;
    radios[0].antenna.gain_dbi = 2.0;
    propagation[0].shadowing = (SpateShadowing){.sigma_db = 8.0, .shared = 0.5, .redraw = true};
    SpateGivenLoss given[] = {{.from_node = 0, .to_node = 1, .bearer = -1, .loss_db = 100.0},
                              {.from_node = 2, .to_node = 3, .bearer = 0, .loss_db = 110.0},
                              {.from_node = 2, .to_node = 3, .bearer = -1, .loss_db = 90.0},
                              {.from_node = 4, .to_node = 5, .bearer = -1, .loss_db = 80.0},
                              {.from_node = 4, .to_node = 5, .bearer = -1, .loss_db = 85.0}};
    radios[3].bearer = 1;
    g_autoptr(SpateLinks) links = links_with(given, G_N_ELEMENTS(given));
    SpateLink link;
    ck_assert(spate_links_budget(links, 0, 1, &link, NULL));
    ck_assert_double_eq_tol(link.received_dbm, -98.0, 1e-9);
    ck_assert_double_eq(spate_links_shadowing_db(links, 0, 1, SEED, 0), 0.0);
    /* one direction only */
    ck_assert(spate_links_budget(links, 1, 0, &link, NULL));
    ck_assert_double_eq_tol(link.loss_db, 91.21817773, 1e-6);
    ck_assert(spate_links_shadowing_db(links, 1, 0, SEED, 0) != 0.0);
    /* an entry that names the bearer wins */
    ck_assert(spate_links_budget(links, 2, 3, &link, NULL));
    ck_assert_double_eq(link.loss_db, 110.0);
    /* of two alike the later */
    ck_assert(spate_links_budget(links, 4, 5, &link, NULL));
    ck_assert_double_eq(link.loss_db, 85.0);
    ck_assert_double_eq(link.shadowing_sigma_db, 0.0);
}
END_TEST

START_TEST(radios_of_one_node_are_kept_apart_by_isolation_alone)
{
    set_up();
    radios[1].node = 0;
    radios[1].bearer = 1;
    radios[0].power_dbm = 22.0;
    radios[0].antenna.gain_dbi = 5.0;
    radios[0].feeder_loss_db = 2.0;
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    SpateLink link;
    ck_assert(spate_links_budget(links, 0, 1, &link, NULL));
    ck_assert_double_eq_tol(link.received_dbm, -18.0, 1e-12);
}
END_TEST

START_TEST(pairs_of_two_groups_may_have_a_model_of_their_own)
{
    set_up();
    static bool masts[MANY] = {true, true}, gardens[MANY] = {[2] = true};
    SpateBetween between[] = {
        {masts,
         masts,
         {.kind = SPATE_PATH_LOG_DISTANCE,
          .exponent = 2.0,
          .extra_loss_db = 7.0,
          .intercept_at_m = 1.0,
          .intercept_loss_db = NAN},
         {.sigma_db = 2.0, .shared = 1.0}},
        {masts, gardens, {.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = 1.0}, {0}},
    };
    propagation[0].shadowing = (SpateShadowing){.sigma_db = 6.0, .shared = 1.0};
    propagation[0].between = between;
    propagation[0].n_between = 2;
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    SpateLink link;
    ck_assert(spate_links_budget(links, 0, 1, &link, NULL));
    ck_assert_double_eq_tol(link.loss_db, 91.21817773 + 7.0, 1e-6);
    ck_assert_double_eq(link.shadowing_sigma_db, 2.0);
    ck_assert(spate_links_budget(links, 2, 1, &link, NULL));
    ck_assert_double_eq_tol(link.loss_db, 91.21817773 + 1.0, 1e-6);
    ck_assert_double_eq(spate_links_shadowing_db(links, 1, 2, SEED, 0), 0.0);
    ck_assert(spate_links_budget(links, 3, 4, &link, NULL));
    ck_assert_double_eq_tol(link.loss_db, 91.21817773, 1e-6);
    /* Wholly shared, sigma 6: L_ab = 6 (s_a + s_b) / sqrt 2, so L_03 + L_14 - L_34 is that of nodes
     * 0 and 1; as masts they have a sigma of 2. */
    double all_db = spate_links_shadowing_db(links, 0, 3, SEED, 0) +
                    spate_links_shadowing_db(links, 1, 4, SEED, 0) -
                    spate_links_shadowing_db(links, 3, 4, SEED, 0);
    ck_assert_double_eq_tol(spate_links_shadowing_db(links, 0, 1, SEED, 0), all_db / 3.0, 1e-9);
}
END_TEST

static void
assert_same_link(const SpateLink *link, const SpateLink *expected)
{
    ck_assert_double_eq(link->distance_m, expected->distance_m);
    ck_assert_double_eq(link->loss_db, expected->loss_db);
    ck_assert_double_eq(link->received_dbm, expected->received_dbm);
    ck_assert_double_eq(link->shadowing_sigma_db, expected->shadowing_sigma_db);
    ck_assert(link->is_given == expected->is_given);
}

START_TEST(a_radio_that_is_carried_somewhere_has_the_budget_that_it_would_have_there)
{
    set_up();
    static bool masts[MANY] = {true}, walkers[MANY] = {[1] = true};
    SpateBetween between[] = {
        {masts, walkers, {.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = 7.0}, {0}}};
    propagation[0].between = between;
    propagation[0].n_between = 1;
    radios[0].antenna = (SpateAntenna){
        .gain_dbi = 12.0, .azimuth_deg = 60.0, .beamwidth_deg = 60.0, .front_to_back_db = 25.0};
    radios[0].power_dbm = 22.0;
    radios[1].power_dbm = 14.0;
    radios[1].feeder_loss_db = 1.5;
    nodes[0].site_loss_db = 2.0;
    nodes[1].site_loss_db = 3.0;
    SpateGivenLoss given = {.from_node = 0, .to_node = 1, .bearer = -1, .loss_db = 1.0};
    g_autoptr(SpateLinks) before = links_with(&given, 1);
    SpateStation mast = spate_links_station(before, 0), walker = spate_links_station(before, 1);
    walker.position = (SpatePosition){.x_m = 300.0, .y_m = 400.0, .height_m = 1.5};
    SpateLink there, back, expected;
    ck_assert(spate_links_budget_between(before, &mast, &walker, &there, &back, NULL));

    nodes[1].position = walker.position;
    ck_assert(spate_links_budget(before, 0, 1, &expected, NULL) && expected.is_given);
    g_autoptr(SpateLinks) after = links_with(NULL, 0);
    ck_assert(spate_links_budget(after, 0, 1, &expected, NULL) && !expected.is_given);
    assert_same_link(&there, &expected);
    ck_assert(spate_links_budget(after, 1, 0, &expected, NULL));
    assert_same_link(&back, &expected);
    ck_assert_double_eq_tol(there.received_dbm - back.received_dbm, 8.0, 1e-9);
}
END_TEST

START_TEST(shadowing_has_its_sigma_and_is_the_same_both_ways_and_on_all_bearers)
{
    set_up();
    propagation[0].shadowing = (SpateShadowing){.sigma_db = 6.0, .shared = 0.5, .redraw = true};
    propagation[1].shadowing = (SpateShadowing){.sigma_db = 3.0, .shared = 0.5, .redraw = true};
    radios[2].bearer = 1; /* of nodes 0 and 1, on the other bearer */
    radios[2].node = 0;
    radios[3].bearer = 1;
    radios[3].node = 1;
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    double sum = 0, squares = 0;
    const uint32_t n = 20000;
    for (uint32_t r = 0; r < n; r++) {
        double there = spate_links_shadowing_db(links, 0, 1, SEED, r);
        ck_assert_double_eq(there, spate_links_shadowing_db(links, 1, 0, SEED, r));
        if (r < 100)
            ck_assert_double_eq_tol(there, 2.0 * spate_links_shadowing_db(links, 2, 3, SEED, r),
                                    1e-12);
        sum += there;
        squares += there * there;
    }
    /* The mean within 4 standard errors, the variance of n normal values too (chi-square). */
    ck_assert_double_eq_tol(sum / n, 0.0, 4.0 * 6.0 / sqrt(n));
    ck_assert_double_eq_tol(squares / n, 36.0, 4.0 * 36.0 * sqrt(2.0 / n));
}
END_TEST

START_TEST(draws_for_many_pairs_are_those_for_each)
{
    set_up();
    propagation[0].shadowing = (SpateShadowing){.sigma_db = 6.0, .shared = 0.3, .redraw = true};
    propagation[1].shadowing = (SpateShadowing){.sigma_db = 3.0, .shared = 0.7};
    for (uint32_t i = 1; i < MANY; i += 2)
        radios[i].bearer = 1;
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    g_autoptr(SpateShadowDraws) draws = spate_links_draw_shadowing(links, SEED, 7);
    for (uint32_t a = 0; a < MANY; a++)
        for (uint32_t b = 0; b < MANY; b++)
            ck_assert_double_eq(spate_links_shadowing_with(links, draws, a, b),
                                spate_links_shadowing_db(links, a, b, SEED, 7));
    ck_assert_double_eq(spate_links_shadowing_db(links, 0, 0, SEED, 7), 0.0);
}
END_TEST

START_TEST(what_may_raise_a_level_is_told_without_the_draw)
{
    set_up();
    propagation[0].shadowing = (SpateShadowing){.sigma_db = 6.0, .shared = 0.3, .redraw = true};
    propagation[1].shadowing = (SpateShadowing){.sigma_db = 3.0, .shared = 1.0};
    for (uint32_t i = 1; i < MANY; i += 2)
        radios[i].bearer = 1;
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    g_autoptr(SpateShadowDraws) draws = spate_links_draw_shadowing(links, SEED, 7);
    /* What no two nodes raise by themselves: the draw for the pair decides, to a sixteenth. */
    const double much_db = 18.0;
    uint32_t n_much = 0;
    for (uint32_t a = 0; a < MANY; a++)
        for (uint32_t b = 0; b < MANY; b++) {
            if (a == b)
                continue;
            uint32_t bearer = a % 2;
            double raised_db = -spate_links_shadowing_with(links, draws, a, b);
            ck_assert_double_le(raised_db, spate_shadow_draws_highest_db(links, draws, bearer));
            ck_assert(spate_shadow_draws_may_raise(links, draws, bearer, a, b, raised_db));
            bool may_be_much = spate_shadow_draws_may_raise(links, draws, bearer, a, b, much_db);
            ck_assert(!may_be_much || raised_db >= much_db - 6.0 / 16.0);
            n_much += may_be_much;
        }
    ck_assert_uint_gt(n_much, 5);
    propagation[0].shadowing.sigma_db = 0.0;
    ck_assert(spate_shadow_draws_may_raise(links, draws, 0, 1, 2, 0.0));
    ck_assert(!spate_shadow_draws_may_raise(links, draws, 0, 1, 2, 0.1));
}
END_TEST

START_TEST(shadowing_belongs_to_the_names_of_the_nodes)
{
    set_up();
    propagation[0].shadowing = (SpateShadowing){.sigma_db = 6.0, .shared = 0.5, .redraw = true};
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    double before_db = spate_links_shadowing_db(links, 3, 8, SEED, 2);
    SpateNodeSite third = nodes[3];
    nodes[3] = nodes[150];
    nodes[150] = third;
    g_autoptr(SpateLinks) renumbered = links_with(NULL, 0);
    ck_assert_double_eq(spate_links_shadowing_db(renumbered, 150, 8, SEED, 2), before_db);
    ck_assert(spate_links_shadowing_db(renumbered, 3, 8, SEED, 2) != before_db);
}
END_TEST

START_TEST(a_bad_place_is_bad_towards_everyone)
{
    /* Pairs that share a node are correlated by rho / 2, pairs that share none not at all. */
    set_up();
    propagation[0].shadowing = (SpateShadowing){.sigma_db = 1.0, .shared = 0.8, .redraw = true};
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    double shared = 0, apart = 0;
    const uint32_t n = 20000;
    for (uint32_t r = 0; r < n; r++) {
        g_autoptr(SpateShadowDraws) draws = spate_links_draw_shadowing(links, SEED, r);
        double first = spate_links_shadowing_with(links, draws, 0, 1);
        shared += first * spate_links_shadowing_with(links, draws, 0, 2);
        apart += first * spate_links_shadowing_with(links, draws, 3, 4);
    }
    ck_assert_double_eq_tol(shared / n, 0.4, 5.0 / sqrt(n));
    ck_assert_double_eq_tol(apart / n, 0.0, 5.0 / sqrt(n));
}
END_TEST

START_TEST(shadowing_that_is_drawn_once_stays)
{
    set_up();
    propagation[0].shadowing = (SpateShadowing){.sigma_db = 6.0, .shared = 0.5, .redraw = false};
    g_autoptr(SpateLinks) links = links_with(NULL, 0);
    ck_assert_double_eq(spate_links_shadowing_db(links, 0, 1, SEED, 0),
                        spate_links_shadowing_db(links, 0, 1, SEED, 9));
    ck_assert(spate_links_shadowing_db(links, 0, 1, SEED, 0) !=
              spate_links_shadowing_db(links, 0, 1, SEED + 1, 0));
    ck_assert(!spate_links_redraw(links));
    propagation[0].shadowing.redraw = true;
    ck_assert(spate_links_redraw(links));
    ck_assert(spate_links_shadowing_db(links, 0, 1, SEED, 0) !=
              spate_links_shadowing_db(links, 0, 1, SEED, 9));
    /* one of the exceptions is enough */
    static bool everyone[MANY];
    SpateBetween between = {everyone, everyone, {SPATE_PATH_FREE_SPACE}, {1.0, 0.5, true}};
    propagation[0].shadowing.redraw = false;
    propagation[1].between = &between;
    propagation[1].n_between = 1;
    ck_assert(spate_links_redraw(links));
    between.shadowing.sigma_db = 0.0;
    ck_assert(!spate_links_redraw(links));
}
END_TEST

START_TEST(outage_under_shadowing_is_the_normal_tail)
{
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "shadowing-outage") != 0)
            continue;
        set_up();
        double margin_db = reference_input(rows, i, "margin_db");
        double p = reference_number(rows, i, "value");
        propagation[0].shadowing = (SpateShadowing){
            .sigma_db = reference_input(rows, i, "sigma_db"), .shared = 0.5, .redraw = true};
        g_autoptr(SpateLinks) links = links_with(NULL, 0);
        int below = 0;
        const int n = 20000;
        for (int r = 0; r < n; r++)
            below += spate_links_shadowing_db(links, 0, 1, SEED, (uint32_t)r) > margin_db;
        ck_assert_double_eq_tol((double)below / n, p, 4.5 * sqrt(p * (1.0 - p) / n) + 1e-4);
    }
}
END_TEST

CHECK_MAIN("links", a_budget_by_hand, sectors_face_the_other_end,
           between_bearers_the_loss_is_that_of_the_sender,
           where_a_model_does_not_hold_there_is_no_budget, erp_is_eirp_less_a_dipole,
           a_given_loss_stands_in_place_of_path_site_and_shadowing,
           radios_of_one_node_are_kept_apart_by_isolation_alone,
           pairs_of_two_groups_may_have_a_model_of_their_own,
           a_radio_that_is_carried_somewhere_has_the_budget_that_it_would_have_there,
           shadowing_has_its_sigma_and_is_the_same_both_ways_and_on_all_bearers,
           draws_for_many_pairs_are_those_for_each, what_may_raise_a_level_is_told_without_the_draw,
           shadowing_belongs_to_the_names_of_the_nodes, a_bad_place_is_bad_towards_everyone,
           shadowing_that_is_drawn_once_stays, outage_under_shadowing_is_the_normal_tail)
