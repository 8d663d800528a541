/* test-pictures.c - scales with round numbers, and what is drawn with characters
 *
 * The expected pictures follow from the scales by hand: a character is two halves wide, and a value
 * stands at the half nearest to its place between the first and the last.
 */
#include "report/table/picture.h"

#include "support/check-main.h"
#include <check.h>
#include <glib.h>
#include <math.h>

static char *
ticks_of(const SpateScale *scale)
{
    GString *text = g_string_new(NULL);
    for (size_t i = 0; i < scale->n_ticks; i++) {
        g_string_append(text, i > 0 ? " " : "");
        spate_scale_append_tick(text, scale, i);
    }
    return g_string_free(text, FALSE);
}

static void
check_linear(double low, double high, unsigned about, const char *wanted)
{
    const SpateScale scale = spate_scale_linear(low, high, about);
    g_autofree char *ticks = ticks_of(&scale);
    ck_assert_str_eq(ticks, wanted);
    ck_assert_double_eq(scale.low, scale.ticks[0]);
    ck_assert_double_eq(scale.high, scale.ticks[scale.n_ticks - 1]);
}

START_TEST(ticks_lie_at_round_numbers_around_what_is_shown)
{
    check_linear(0, 100, 5, "0 20 40 60 80 100");
    check_linear(0, 100, 10, "0 10 20 30 40 50 60 70 80 90 100");
    check_linear(84.7, 98.5, 5, "80 85 90 95 100");
    check_linear(0.3, 0.7, 5, "0.3 0.4 0.5 0.6 0.7");
    check_linear(0.00263, 0.00271, 5, "0.00262 0.00264 0.00266 0.00268 0.00270 0.00272");
    check_linear(-0.083, 0.41, 5, "-0.1 0.0 0.1 0.2 0.3 0.4 0.5");
    check_linear(1234, 98765, 4, "0 50000 100000");
    check_linear(-30, -10, 2, "-30 -20 -10");
}
END_TEST

START_TEST(a_single_value_has_a_scale_around_it)
{
    check_linear(0, 0, 5, "0.0 0.2 0.4 0.6 0.8 1.0");
    check_linear(5, 5, 4, "4.5 5.0 5.5");
}
END_TEST

START_TEST(any_range_is_held_by_few_ticks_of_one_step)
{
    g_autoptr(GRand) rand = g_rand_new_with_seed(11);
    for (int i = 0; i < 20000; i++) {
        double size = pow(10, g_rand_double_range(rand, -12, 12));
        double low = g_rand_double_range(rand, -1, 1) * size;
        double high = low + g_rand_double_range(rand, 1e-3, 1) * size;
        unsigned about = (unsigned)g_rand_int_range(rand, 1, 21);
        const SpateScale scale = spate_scale_linear(low, high, about);
        double step = scale.ticks[1] - scale.ticks[0];
        ck_assert(scale.low <= low + 1e-8 * step && scale.high >= high - 1e-8 * step);
        ck_assert(low - scale.low < step && scale.high - high < step);
        ck_assert_uint_ge(scale.n_ticks, 2);
        ck_assert_uint_le(scale.n_ticks, about + 2);
        for (size_t k = 1; k < scale.n_ticks; k++)
            ck_assert_double_eq_tol(scale.ticks[k] - scale.ticks[k - 1], step, 1e-6 * step);
    }
}
END_TEST

START_TEST(what_no_result_holds_does_no_harm)
{
    static const double ODD[] = {-1.7e308, -1e300, -5e-324, 0, 5e-324, 1e-300, 1, 1.7e308};
    for (size_t a = 0; a < G_N_ELEMENTS(ODD); a++)
        for (size_t b = a; b < G_N_ELEMENTS(ODD); b++) {
            const SpateScale scale = spate_scale_linear(ODD[a], ODD[b], 5);
            ck_assert(isfinite(scale.low) && isfinite(scale.high) && scale.low < scale.high);
            double place = spate_scale_place(&scale, ODD[b]);
            ck_assert(place >= 0 && place <= 1);
        }
    const SpateScale scale = spate_scale_log(5e-324, 1.7e308);
    ck_assert(isfinite(scale.low) && scale.low > 0 && scale.low < scale.high);
}
END_TEST

START_TEST(a_logarithmic_scale_goes_from_decade_to_decade)
{
    const SpateScale scale = spate_scale_log(0.02, 7);
    g_autofree char *ticks = ticks_of(&scale);
    ck_assert_str_eq(ticks, "0.01 0.1 1 10");
    ck_assert_double_eq_tol(spate_scale_place(&scale, 0.1), 1.0 / 3, 1e-12);
    ck_assert_double_eq_tol(spate_scale_place(&scale, sqrt(10)), 2.5 / 3, 1e-12);
    const SpateScale exact = spate_scale_log(0.001, 1000);
    ck_assert_double_eq(exact.low, 0.001);
    ck_assert_double_eq(exact.high, 1000);
    const SpateScale one = spate_scale_log(10, 10);
    ck_assert_double_eq(one.low, 10);
    ck_assert_double_eq(one.high, 100);
}
END_TEST

START_TEST(values_beyond_the_ends_stand_at_them)
{
    const SpateScale scale = spate_scale_linear(0, 10, 5);
    ck_assert_double_eq(spate_scale_place(&scale, -1), 0);
    ck_assert_double_eq(spate_scale_place(&scale, 2.5), 0.25);
    ck_assert_double_eq(spate_scale_place(&scale, 11), 1);
}
END_TEST

/* ---- characters ------------------------------------------------------------------------------ */

static void
check_bar(double mean, double low, double high, bool zero, bool is_ascii, const char *wanted)
{
    /* 10 characters are 20 halves: 0 to 19 */
    const SpateScale scale = {.low = -9, .high = 10};
    const SpatePictureStyle style = {.width = 10, .is_ascii = is_ascii};
    g_autoptr(GString) text = g_string_new(">");
    spate_picture_append_interval(text, mean, (SpateInterval){low, high}, &scale, zero, style);
    ck_assert_str_eq(text->str, wanted);
}

START_TEST(bars_end_at_halves_of_a_character)
{
    check_bar(2, -1, 5, false, false, ">    ─●─╴");
    check_bar(2, 0, 6, false, false, ">    ╶●──");
    check_bar(-9, -9, -9, false, false, ">●");
    check_bar(10, 1, 10, false, false, ">     ────●");
    check_bar(2, -1, 5, false, true, ">    -o--");
}
END_TEST

START_TEST(a_line_at_zero_is_crossed_or_not)
{
    check_bar(6, 3, 9, true, false, ">    │ ─●─╴");
    check_bar(6, -5, 9, true, false, ">  ──┼──●─╴");
    check_bar(6, 0, 9, true, false, ">    ├──●─╴");
    check_bar(-6, -8, -1, true, false, ">╶●──┤");
    check_bar(0, -1, 1, true, false, ">    ●╴");
    check_bar(6, 3, 9, true, true, ">    | -o--");
    check_bar(6, -5, 9, true, true, ">  --+--o--");
}
END_TEST

START_TEST(what_has_no_interval_is_a_mark_and_what_has_no_mean_is_nothing)
{
    check_bar(2, NAN, NAN, false, false, ">     ●");
    check_bar(2, NAN, NAN, true, false, ">    │●");
    check_bar(NAN, NAN, NAN, true, false, ">");
}
END_TEST

START_TEST(the_ends_of_a_scale_stand_at_the_ends_if_there_is_room)
{
    const SpateScale scale = spate_scale_linear(-0.1, 0.3, 5);
    g_autoptr(GString) wide = g_string_new(NULL), narrow = g_string_new(NULL);
    spate_picture_append_ends(wide, &scale, (SpatePictureStyle){.width = 8});
    spate_picture_append_ends(narrow, &scale, (SpatePictureStyle){.width = 7});
    ck_assert_str_eq(wide->str, "-0.1 0.3");
    ck_assert_str_eq(narrow->str, "");
}
END_TEST

START_TEST(heights_are_shares_and_nothing_that_is_there_vanishes)
{
    const uint64_t counts[] = {0, 1, 50, 100, 101, 800, 0};
    const SpatePictureStyle utf8 = {.width = 7}, ascii = {.width = 7, .is_ascii = true};
    g_autoptr(GString) blocks = g_string_new(NULL), signs = g_string_new(NULL);
    spate_picture_append_heights(blocks, counts, 800, utf8);
    spate_picture_append_heights(signs, counts, 800, ascii);
    ck_assert_str_eq(blocks->str, " ▁▁▁▂█");
    ck_assert_str_eq(signs->str, " ...:@");
}
END_TEST

CHECK_MAIN("pictures", ticks_lie_at_round_numbers_around_what_is_shown,
           a_single_value_has_a_scale_around_it, any_range_is_held_by_few_ticks_of_one_step,
           what_no_result_holds_does_no_harm, a_logarithmic_scale_goes_from_decade_to_decade,
           values_beyond_the_ends_stand_at_them, bars_end_at_halves_of_a_character,
           a_line_at_zero_is_crossed_or_not,
           what_has_no_interval_is_a_mark_and_what_has_no_mean_is_nothing,
           the_ends_of_a_scale_stand_at_the_ends_if_there_is_room,
           heights_are_shares_and_nothing_that_is_there_vanishes)
