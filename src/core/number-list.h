/* number-list.h - numbers one after the other, for inner loops
 *
 * Appending is a store, where a GArray calls two functions.  Starts as zeros; allocates only while
 * it grows, and never gives back before spate_number_list_free().
 */
#pragma once

#include <glib.h>
#include <stdint.h>

typedef struct {
    uint32_t *at;
    uint32_t n, room;
} SpateNumberList;

/* Makes room for so many more. */
static inline void
spate_number_list_reserve(SpateNumberList *list, uint32_t n_more)
{
    if (G_UNLIKELY(list->room - list->n < n_more)) {
        g_assert(list->room <= UINT32_MAX / 2 && n_more <= UINT32_MAX / 2);
        list->room = MAX(MAX(2 * list->room, list->n + n_more), 16);
        list->at = g_renew(uint32_t, list->at, list->room);
    }
}

static inline void
spate_number_list_append(SpateNumberList *list, uint32_t number)
{
    spate_number_list_reserve(list, 1);
    list->at[list->n++] = number;
}

static inline void
spate_number_list_free(SpateNumberList *list)
{
    g_free(list->at);
    *list = (SpateNumberList){NULL, 0, 0};
}
