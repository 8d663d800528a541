/* test-number-list.c - numbers one after the other */
#include "core/number-list.h"
#include "support/check-main.h"

START_TEST(numbers_stay_as_they_were_appended_while_the_list_grows)
{
    SpateNumberList list = {0};

    for (uint32_t i = 0; i < 1000; i++)
        spate_number_list_append(&list, 7 * i);

    ck_assert_uint_eq(list.n, 1000);
    for (uint32_t i = 0; i < 1000; i++)
        ck_assert_uint_eq(list.at[i], 7 * i);
    spate_number_list_free(&list);
}
END_TEST

START_TEST(a_list_that_was_emptied_needs_no_more_room)
{
    SpateNumberList list = {0};
    for (uint32_t i = 0; i < 100; i++)
        spate_number_list_append(&list, i);
    const uint32_t *before = list.at;

    list.n = 0;
    for (uint32_t i = 0; i < 100; i++)
        spate_number_list_append(&list, 100 - i);

    ck_assert_ptr_eq(list.at, before);
    ck_assert_uint_eq(list.n, 100);
    ck_assert_uint_eq(list.at[99], 1);
    spate_number_list_free(&list);
}
END_TEST

CHECK_MAIN("number-list", numbers_stay_as_they_were_appended_while_the_list_grows,
           a_list_that_was_emptied_needs_no_more_room)
