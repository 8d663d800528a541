/* ascending.h - finding a number in a list that ascends */
#pragma once

#include <stddef.h>
#include <stdint.h>

/* The place of a number among n that ascend, each `stride` bytes after the one before; n if it is
 * not among them. */
static inline uint32_t
spate_ascending_find_at(const void *first, size_t stride, uint32_t n, uint32_t number)
{
    const char *bytes = first;
    uint32_t low = 0, high = n;
    /* Often they follow each other without a gap. */
    if (n > 0) {
        uint32_t place = number - *(const uint32_t *)first;
        if (place < n && *(const uint32_t *)(const void *)(bytes + place * stride) == number)
            return place;
    }
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (*(const uint32_t *)(const void *)(bytes + middle * stride) < number)
            low = middle + 1;
        else
            high = middle;
    }
    return low < n && *(const uint32_t *)(const void *)(bytes + low * stride) == number ? low : n;
}

static inline uint32_t
spate_ascending_find(const uint32_t *numbers, uint32_t n, uint32_t number)
{
    return spate_ascending_find_at(numbers, sizeof *numbers, n, number);
}
