/* allocations.h - how often memory was asked for
 *
 * A program that links allocations.c has its own malloc in front of the C library's, and it
 * counts.  Under a sanitizer or valgrind, whose own malloc goes first, there is nothing to count:
 * allocations_are_counted() says so, and the number stays as it is.
 */
#pragma once

#include <stdbool.h>
#include <stdint.h>

bool allocations_are_counted(void);
/* Calls since the program began that may have given new memory. */
uint64_t allocations_so_far(void);
