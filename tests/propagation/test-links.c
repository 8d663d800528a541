/* test-links.c - link budgets by hand, shadowing and fading by their statistics */
#include "core/random.h"
#include "propagation/links.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <gsl/gsl_cdf.h>
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
         * - 91.218 - 3 dB (a wall at the far end) + 6 dBi - 0.5 dB feeder = -73.718 dBm. */
        set_up();
        radios[0].power_dbm = 14.0;
        radios[0].feeder_loss_db = 1.0;
        radios[0].antenna.gain_dbi = 2.0;
        radios[1].antenna.gain_dbi = 6.0;
        radios[1].feeder_loss_db = 0.5;
        nodes[1].site_loss_db = 3.0;
        g_autoptr(SpateLinks) links = links_with(NULL, 0);
        SpateLink link;
        ck_assert(spate_links_budget(links, 0, 1, &link, NULL));
        ck_assert_double_eq_tol(link.distance_m, 1000.0, 1e-9);
        ck_assert_double_eq_tol(link.loss_db, 91.21817773, 1e-6);
        ck_assert_double_eq_tol(link.received_dbm, -73.71817773, 1e-6);
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
                                  {.from_node = 2, .to_node = 3, .bearer = -1, .loss_db = 90.0}};
        g_autoptr(SpateLinks) links = links_with(given, 3);
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
             {0}},
            {masts, gardens, {.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = 1.0}, {0}},
        };
        propagation[0].between = between;
        propagation[0].n_between = 2;
        g_autoptr(SpateLinks) links = links_with(NULL, 0);
        SpateLink link;
        ck_assert(spate_links_budget(links, 0, 1, &link, NULL));
        ck_assert_double_eq_tol(link.loss_db, 91.21817773 + 7.0, 1e-6);
        ck_assert(spate_links_budget(links, 2, 1, &link, NULL));
        ck_assert_double_eq_tol(link.loss_db, 91.21817773 + 1.0, 1e-6);
        ck_assert(spate_links_budget(links, 3, 4, &link, NULL));
        ck_assert_double_eq_tol(link.loss_db, 91.21817773, 1e-6);
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
        propagation[0].shadowing =
            (SpateShadowing){.sigma_db = 6.0, .shared = 0.5, .redraw = false};
        g_autoptr(SpateLinks) links = links_with(NULL, 0);
        ck_assert_double_eq(spate_links_shadowing_db(links, 0, 1, SEED, 0),
                            spate_links_shadowing_db(links, 0, 1, SEED, 9));
        ck_assert(spate_links_shadowing_db(links, 0, 1, SEED, 0) !=
                  spate_links_shadowing_db(links, 0, 1, SEED + 1, 0));
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

/* Share of draws below a level, over many. */
static double
share_below(const SpateFading *fading, double level, int n)
{
    int below = 0;
    for (int i = 0; i < n; i++)
        below += spate_fading_gain(fading, SEED, (uint64_t)i) < level;
    return (double)below / n;
}

START_TEST(rayleigh_outage_is_the_closed_form)
    {
        /* P(below) = 1 - exp(-10^(-margin/10)) */
        g_autoptr(Reference) rows = reference_read("propagation.csv");
        SpateFading fading = {.kind = SPATE_FADING_RAYLEIGH};
        for (guint i = 0; i < rows->rows->len; i++) {
            if (strcmp(reference_text(rows, i, "model"), "rayleigh-outage") != 0)
                continue;
            double level = pow(10.0, -reference_input(rows, i, "margin_db") / 10.0);
            double p = reference_number(rows, i, "value");
            const int n = 100000;
            ck_assert_double_eq_tol(share_below(&fading, level, n), p,
                                    4.5 * sqrt(p * (1.0 - p) / n) + 1e-5);
        }
    }
END_TEST

START_TEST(every_fading_has_mean_1_and_its_own_spread)
    {
        /* Variances of the power: Rayleigh 1; Rician (1 + 2K) / (1 + K)^2, K = 4 for 6.02 dB: 0.36;
         * Nakagami 1 / m. */
        static const struct {
            SpateFading fading;
            double variance;
        } cases[] = {
            {{.kind = SPATE_FADING_RAYLEIGH}, 1.0},
            {{.kind = SPATE_FADING_RICIAN, .rician_k_db = 6.0206}, 0.36},
            {{.kind = SPATE_FADING_NAKAGAMI, .nakagami_m = 3.0}, 1.0 / 3.0},
            {{.kind = SPATE_FADING_NAKAGAMI, .nakagami_m = 0.5}, 2.0},
        };
        const int n = 200000;
        for (size_t c = 0; c < G_N_ELEMENTS(cases); c++) {
            double sum = 0, squares = 0;
            for (int i = 0; i < n; i++) {
                double gain = spate_fading_gain(&cases[c].fading, SEED, (uint64_t)i);
                sum += gain;
                squares += gain * gain;
            }
            double mean = sum / n, variance = squares / n - mean * mean;
            ck_assert_double_eq_tol(mean, 1.0, 5.0 * sqrt(cases[c].variance / n));
            ck_assert_double_eq_tol(variance, cases[c].variance, 0.05 * cases[c].variance);
            ck_assert_double_gt(spate_fading_highest_gain(&cases[c].fading), 3.0);
        }
    }
END_TEST

START_TEST(nakagami_follows_the_gamma_distribution)
    {
        SpateFading fading = {.kind = SPATE_FADING_NAKAGAMI, .nakagami_m = 0.7};
        for (double level = 0.1; level < 3.0; level += 0.4) {
            double p = gsl_cdf_gamma_P(level, 0.7, 1.0 / 0.7);
            ck_assert_double_eq_tol(share_below(&fading, level, 100000), p, 0.007);
        }
    }
END_TEST

CHECK_MAIN("links", a_budget_by_hand, a_given_loss_stands_in_place_of_path_site_and_shadowing,
           radios_of_one_node_are_kept_apart_by_isolation_alone,
           pairs_of_two_groups_may_have_a_model_of_their_own,
           shadowing_has_its_sigma_and_is_the_same_both_ways_and_on_all_bearers,
           a_bad_place_is_bad_towards_everyone, shadowing_that_is_drawn_once_stays,
           outage_under_shadowing_is_the_normal_tail, rayleigh_outage_is_the_closed_form,
           every_fading_has_mean_1_and_its_own_spread, nakagami_follows_the_gamma_distribution)
