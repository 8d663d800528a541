/* check-main.h - the main function of a test program: one suite of sentences */
#pragma once

#include <check.h>
#include <stdio.h>
#include <stdlib.h>

/* The exit status of a program that runs this suite; frees it. */
static inline int
run_suite(Suite *suite)
{
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

/* set_up and tear_down stand around each sentence; NULL: nothing does. */
static inline int
run_sentences_within(const char *name, const TTest *const *tests, size_t n, SFun set_up,
                     SFun tear_down)
{
    Suite *suite = suite_create(name);
    TCase *sentences = tcase_create(name);
    tcase_set_timeout(sentences, 300);
    if (set_up != NULL)
        tcase_add_checked_fixture(sentences, set_up, tear_down);
    for (size_t i = 0; i < n; i++)
        tcase_add_test(sentences, tests[i]);
    suite_add_tcase(suite, sentences);
    return run_suite(suite);
}

static inline int
run_sentences(const char *name, const TTest *const *tests, size_t n)
{
    return run_sentences_within(name, tests, n, NULL, NULL);
}

#define CHECK_MAIN_WITHIN(name, set_up, tear_down, ...)                                            \
    int main(void)                                                                                 \
    {                                                                                              \
        const TTest *const tests[] = {__VA_ARGS__};                                                \
        return run_sentences_within(name, tests, sizeof tests / sizeof tests[0], set_up,           \
                                    tear_down);                                                    \
    }

#define CHECK_MAIN(name, ...) CHECK_MAIN_WITHIN(name, NULL, NULL, __VA_ARGS__)
