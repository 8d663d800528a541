/* library.h - a shared library that is loaded when it is needed */
#pragma once

#include <stddef.h>

/* Loads it and finds functions in it: `table` takes the address of each of the n names, in their
 * order, as a struct of n pointers to functions.  NULL if all are there; else what is missing,
 * which the caller frees. */
char *spate_library_load(const char *file, const char *const *names, void *table, size_t n);
