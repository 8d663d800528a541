/* test-random.c - the generator against its published answers, the draws against their laws
 *
 * Known answers: the vectors that come with Random123 (J. K. Salmon et al., SC11, 2011), and those
 * of the FNV hash (G. Fowler, L. C. Noll, K.-P. Vo); from memory.  Distribution functions are those
 * of GSL.  Streams are fixed, so a test of a law passes always or never; its bounds are those that
 * a right generator keeps but once in a thousand seeds or less.
 */
#include "core/random.h"
#include "support/check-main.h"

#include <glib.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

#define N_DRAWS 20000

typedef double (*Draw)(SpateRandom *random);
typedef double (*Law)(double x); /* the distribution function */

START_TEST(philox_gives_the_published_words)
{
    static const struct {
        uint32_t counter[4], key[2], words[4];
    } ANSWERS[] = {
        {{0, 0, 0, 0}, {0, 0}, {0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}},
        {{0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff},
         {0xffffffff, 0xffffffff},
         {0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}},
        /* digits of pi */
        {{0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344},
         {0xa4093822, 0x299f31d0},
         {0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(ANSWERS); i++) {
        uint32_t out[4];
        spate_philox4x32(ANSWERS[i].counter, ANSWERS[i].key, out);
        for (int w = 0; w < 4; w++)
            ck_assert_uint_eq(out[w], ANSWERS[i].words[w]);
    }
}
END_TEST

START_TEST(a_draw_is_the_generator_at_its_entity_and_number)
{
    /* The answer for pi: the number is the low half of the counter, the entity the high one. */
    uint64_t key = UINT64_C(0x299f31d0a4093822), entity = UINT64_C(0x0370734413198a2e),
             n = UINT64_C(0x85a308d3243f6a88);
    ck_assert_uint_eq(spate_random_u64_at(key, entity, n), UINT64_C(0x94fdccebd16cfe09));

    SpateRandom stream = spate_random_stream(key, entity);
    for (uint64_t i = 0; i < 10; i++) {
        SpateRandom copy = stream;
        uint64_t draw = spate_random_u64(&stream);
        ck_assert_uint_eq(draw, spate_random_u64_at(key, entity, i));
        ck_assert_uint_eq(draw, spate_random_u64(&copy));
    }
}
END_TEST

START_TEST(keys_differ_by_seed_replication_and_purpose)
{
    uint64_t keys[] = {
        spate_random_key(1, 0, SPATE_FOR_TEST), spate_random_key(2, 0, SPATE_FOR_TEST),
        spate_random_key(1, 1, SPATE_FOR_TEST), spate_random_key(1, 0, SPATE_FOR_FADING)};
    for (size_t i = 0; i < G_N_ELEMENTS(keys); i++)
        for (size_t j = 0; j < i; j++)
            ck_assert_uint_ne(keys[i], keys[j]);
    ck_assert_uint_eq(keys[0], spate_random_key(1, 0, SPATE_FOR_TEST));
}
END_TEST

/* What SplitMix64's finaliser undoes: x ^ (x >> s) and products with an odd number. */
static uint64_t
undo_shift(uint64_t y, int s)
{
    uint64_t x = y;
    for (int done = s; done < 64; done += s)
        x = y ^ (x >> s);
    return x;
}

static uint64_t
undo_product(uint64_t y, uint64_t odd)
{
    uint64_t inverse = odd; /* Newton: each step doubles the bits that are right */
    for (int i = 0; i < 6; i++)
        inverse *= 2 - odd * inverse;
    return y * inverse;
}

static uint64_t
unmix(uint64_t y)
{
    uint64_t x = undo_product(undo_shift(y, 31), UINT64_C(0x94D049BB133111EB));
    return undo_shift(undo_product(undo_shift(x, 27), UINT64_C(0xBF58476D1CE4E5B9)), 30);
}

START_TEST(a_name_has_its_published_hash_and_then_is_mixed)
{
    ck_assert_uint_eq(unmix(spate_hash_name("")), UINT64_C(0xcbf29ce484222325));
    ck_assert_uint_eq(unmix(spate_hash_name("a")), UINT64_C(0xaf63dc4c8601ec8c));
    ck_assert_uint_eq(unmix(spate_hash_name("foobar")), UINT64_C(0x85944171f73967e8));
    /* Golden: results depend on these, on every machine. */
    ck_assert_uint_eq(spate_hash_name(""), UINT64_C(0xf52a15e9a9b5e89b));
    ck_assert_uint_eq(spate_hash_name("a"), UINT64_C(0x02c0bdbf481420f8));
    ck_assert_uint_eq(spate_hash_combine(1, 2), UINT64_C(0x081a5c1377856b73));
    ck_assert_uint_ne(spate_hash_combine(1, 2), spate_hash_combine(2, 1));
    ck_assert_uint_ne(spate_hash_combine(0, 0), 0);
}
END_TEST

static int
compare_doubles(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

/* The largest distance between the law and what the sorted values say (Kolmogorov, Smirnov). */
static double
distance(const double *sorted, size_t n, Law law)
{
    double most = 0.0;
    for (size_t i = 0; i < n; i++) {
        double p = law(sorted[i]);
        most = fmax(most, fmax((double)(i + 1) / (double)n - p, p - (double)i / (double)n));
    }
    return most;
}

static void
check_law(Draw draw, Law law, double mean, double variance, double fourth_moment)
{
    g_autofree double *values = g_new(double, N_DRAWS);
    SpateRandom random = spate_random_stream(spate_random_key(7, 0, SPATE_FOR_TEST), 3);
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < N_DRAWS; i++) {
        values[i] = draw(&random);
        sum += values[i];
        squares += (values[i] - mean) * (values[i] - mean);
    }
    /* four standard errors of each moment */
    ck_assert_double_le(fabs(sum / N_DRAWS - mean), 4.0 * sqrt(variance / N_DRAWS));
    ck_assert_double_le(fabs(squares / N_DRAWS - variance),
                        4.0 * sqrt((fourth_moment - variance * variance) / N_DRAWS));
    qsort(values, N_DRAWS, sizeof values[0], compare_doubles);
    /* 1.95 / sqrt(n) is exceeded once in a thousand times. */
    ck_assert_double_le(distance(values, N_DRAWS, law), 1.95 / sqrt(N_DRAWS));
}

static double
uniform_law(double x)
{
    return gsl_cdf_flat_P(x, 0.0, 1.0);
}

static double
exponential_law(double x)
{
    return gsl_cdf_exponential_P(x, 1.0);
}

/* Of mean 1: the scale is the inverse of the shape. */
static double
gamma_half_law(double x)
{
    return gsl_cdf_gamma_P(x, 0.5, 2.0);
}

static double
gamma_three_law(double x)
{
    return gsl_cdf_gamma_P(x, 3.0, 1.0 / 3.0);
}

static double
draw_gamma_half(SpateRandom *random)
{
    return spate_random_gamma(random, 0.5);
}

static double
draw_gamma_three(SpateRandom *random)
{
    return spate_random_gamma(random, 3.0);
}

START_TEST(draws_keep_to_their_laws)
{
    /* mean, variance and fourth central moment: textbook; gamma of shape k and mean 1 has
     * 1/k and 3/k^2 + 6/k^3 */
    check_law(spate_random_unit, uniform_law, 0.5, 1.0 / 12.0, 1.0 / 80.0);
    check_law(spate_random_exponential, exponential_law, 1.0, 1.0, 9.0);
    check_law(spate_random_normal, gsl_cdf_ugaussian_P, 0.0, 1.0, 3.0);
    check_law(draw_gamma_half, gamma_half_law, 1.0, 2.0, 60.0);
    check_law(draw_gamma_three, gamma_three_law, 1.0, 1.0 / 3.0, 1.0 / 3.0 + 2.0 / 9.0);
}
END_TEST

START_TEST(a_unit_draw_is_never_one)
{
    SpateRandom random = spate_random_stream(1, 1);
    for (int i = 0; i < N_DRAWS; i++) {
        SpateRandom copy = random;
        double unit = spate_random_unit(&random);
        ck_assert(unit >= 0.0 && unit < 1.0);
        ck_assert(unit == floor(ldexp(unit, 53)) * 0x1p-53);
        ck_assert_double_le(fabs(unit - ldexp((double)spate_random_u64(&copy), -64)), 0x1p-52);
    }
}
END_TEST

START_TEST(below_is_without_bias)
{
    /* 2^64 words scaled to 3 * 2^62 values, or reduced by a remainder, give a third of the
     * values twice as often as the others: those divisible by 3, or the lowest. */
    const uint64_t n = UINT64_C(3) << 62;
    SpateRandom random = spate_random_stream(2, 1);
    uint64_t counts[3] = {0}, residues[3] = {0};
    for (int i = 0; i < N_DRAWS; i++) {
        uint64_t draw = spate_random_below(&random, n);
        ck_assert_uint_lt(draw, n);
        counts[draw >> 62]++;
        residues[draw % 3]++;
    }
    double expected = N_DRAWS / 3.0, chi_counts = 0.0, chi_residues = 0.0;
    for (int i = 0; i < 3; i++) {
        chi_counts += pow((double)counts[i] - expected, 2.0) / expected;
        chi_residues += pow((double)residues[i] - expected, 2.0) / expected;
    }
    ck_assert_double_le(gsl_cdf_chisq_P(chi_counts, 2.0), 0.999);
    ck_assert_double_le(gsl_cdf_chisq_P(chi_residues, 2.0), 0.999);
    for (int i = 0; i < 100; i++)
        ck_assert_uint_eq(spate_random_below(&random, 1), 0);
}
END_TEST

START_TEST(a_wait_reaches_both_of_its_ends)
{
    SpateRandom random = spate_random_stream(3, 1);
    unsigned counts[4] = {0};
    for (int i = 0; i < 4000; i++) {
        int64_t wait_ns = spate_random_wait_ns(&random, 3);
        ck_assert(wait_ns >= 0 && wait_ns <= 3);
        counts[wait_ns]++;
    }
    double chi = 0.0;
    for (int i = 0; i < 4; i++)
        chi += pow(counts[i] - 1000.0, 2.0) / 1000.0;
    ck_assert_double_le(gsl_cdf_chisq_P(chi, 3.0), 0.999);
    ck_assert_int_eq(spate_random_wait_ns(&random, 0), 0);
    ck_assert_int_ge(spate_random_wait_ns(&random, INT64_MAX), 0);
}
END_TEST

START_TEST(neighbouring_streams_do_not_resemble)
{
    /* The correlation of n pairs of independent draws has a standard error of 1/sqrt(n). */
    SpateRandom a = spate_random_stream(spate_random_key(1, 0, SPATE_FOR_TEST), 5);
    SpateRandom b = spate_random_stream(spate_random_key(1, 0, SPATE_FOR_TEST), 6);
    double sum = 0.0;
    for (int i = 0; i < N_DRAWS; i++)
        sum += 12.0 * (spate_random_unit(&a) - 0.5) * (spate_random_unit(&b) - 0.5);
    ck_assert_double_le(fabs(sum / N_DRAWS), 4.0 / sqrt(N_DRAWS));
}
END_TEST

START_TEST(a_draw_is_below_its_bound_or_not_without_being_drawn)
{
    uint64_t key = spate_random_key(1, 0, SPATE_FOR_TEST);
    for (uint64_t entity = 0; entity < 20000; entity++) {
        SpateRandom random = spate_random_stream(key, entity);
        double normal = spate_random_normal(&random);
        double value = 0.25 * (double)(entity % 32) - 4.0;
        ck_assert_int_eq(
            spate_random_normal_is_below(key, entity, spate_random_normal_bound(value)),
            normal < value);
        ck_assert(
            spate_random_normal_is_below(key, entity, spate_random_normal_bound(normal + 1e-9)));
    }
    /* The lowest and the highest of 2^52 equal parts of (0, 1). */
    ck_assert_double_gt(gsl_cdf_ugaussian_Pinv(0x1p-53), -SPATE_RANDOM_HIGHEST_NORMAL);
    ck_assert_double_lt(gsl_cdf_ugaussian_Pinv(1.0 - 0x1p-53), SPATE_RANDOM_HIGHEST_NORMAL);
}
END_TEST

CHECK_MAIN("random", philox_gives_the_published_words,
           a_draw_is_the_generator_at_its_entity_and_number,
           keys_differ_by_seed_replication_and_purpose,
           a_name_has_its_published_hash_and_then_is_mixed, draws_keep_to_their_laws,
           a_unit_draw_is_never_one, below_is_without_bias, a_wait_reaches_both_of_its_ends,
           neighbouring_streams_do_not_resemble,
           a_draw_is_below_its_bound_or_not_without_being_drawn)
