/* test-units.c - whole-number arithmetic against results worked out by hand */
#include "core/units.h"
#include "support/check-main.h"

#include "core/random.h"
#include <glib.h>

#define ONE (UINT64_C(1) << 32)

START_TEST(a_product_with_a_fraction_is_rounded_half_up)
{
    static const struct {
        uint64_t number, factor_q32, product;
    } EXAMPLES[] = {
        {0, ONE, 0},
        {5, 0, 0},
        {(UINT64_C(1) << 62) - 1, ONE, (UINT64_C(1) << 62) - 1}, /* one changes nothing */
        {1, ONE / 2, 1},                                         /* 0.5 */
        {1, ONE / 2 - 1, 0},                                     /* just below it */
        {3, ONE / 2, 2},                                         /* 1.5 */
        {7, 2 * ONE + ONE / 4, 16},                              /* 15.75 */
        {6, 3 * ONE + ONE / 4, 20},                              /* 19.5 */
        {UINT64_C(1000000000000), ONE * 1000000 + ONE / 8, UINT64_C(1000000125000000000)},
        {UINT64_C(0x123456789abcdef), ONE / 65536, UINT64_C(0x123456789ac)}, /* ...9ab.cdef */
    };
    for (size_t i = 0; i < G_N_ELEMENTS(EXAMPLES); i++)
        ck_assert_uint_eq(spate_mul_q32_round(EXAMPLES[i].number, EXAMPLES[i].factor_q32),
                          EXAMPLES[i].product);
}
END_TEST

/* The definition itself, in 128 bits. */
START_TEST(a_product_with_any_factor_is_the_nearest_whole_number)
{
    for (uint64_t i = 0; i < 100000; i++) {
        uint64_t number = spate_hash_combine(1, i) >> (i % 31 + 2);
        uint64_t factor_q32 = spate_hash_combine(2, i) >> (12 + i % 40);
        spate_uint128 whole = ((spate_uint128)number * factor_q32 + ONE / 2) >> 32;
        if (whole < (UINT64_C(1) << 62))
            ck_assert_uint_eq(spate_mul_q32_round(number, factor_q32), (uint64_t)whole);
    }
}
END_TEST

START_TEST(a_quotient_is_rounded_half_up)
{
    ck_assert_int_eq(spate_mul_div_round(1, 1, 2), 1);
    ck_assert_int_eq(spate_mul_div_round(1, 1, 3), 0);
    ck_assert_int_eq(spate_mul_div_round(10, 7, 4), 18); /* 17.5 */
    ck_assert_int_eq(spate_mul_div_round(INT64_C(4000000000000), 3000000, 7),
                     INT64_C(1714285714285714286)); /* 1714285714285714285.71 */
}
END_TEST

CHECK_MAIN("units", a_product_with_a_fraction_is_rounded_half_up,
           a_product_with_any_factor_is_the_nearest_whole_number, a_quotient_is_rounded_half_up)
