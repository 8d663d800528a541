/* check-main.h - runs one suite of sentences */
#pragma once

#include <check.h>
#include <stdlib.h>

static inline int
run_suite(Suite *suite)
{
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
