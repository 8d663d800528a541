/* huge-pages.h - memory of which much is used, here and there
 *
 * With pages of some kilobytes a processor spends more on finding where such memory lies than on
 * fetching it, and the kernel more on handing it out than the program on filling it.
 */
#pragma once

#include <glib.h>
#include <stdint.h>
#include <sys/mman.h>
#include <unistd.h>

/* Asks for it; where that is not to be had, nothing happens. */
static inline void
spate_ask_for_huge_pages(void *memory, size_t bytes)
{
#ifdef MADV_HUGEPAGE
    uintptr_t page = (uintptr_t)sysconf(_SC_PAGESIZE), address = (uintptr_t)memory;
    uintptr_t to_next_page = (page - address % page) % page;
    if (bytes > to_next_page)
        madvise((char *)memory + to_next_page, bytes - to_next_page, MADV_HUGEPAGE);
#endif
}
