/* allocations.c - how often memory was asked for */
#include "support/allocations.h"

#include <stdlib.h>

static uint64_t n_allocations;

#ifdef __has_feature
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer) ||                         \
    __has_feature(memory_sanitizer)
#define HAS_SANITIZER 1
#endif
#endif

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__) && !defined(HAS_SANITIZER)

/* The names under which glibc keeps its own. */
extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t n, size_t size);
extern void *__libc_realloc(void *old, size_t size);
extern void *__libc_memalign(size_t alignment, size_t size);

void *
malloc(size_t size)
{
    n_allocations++;
    return __libc_malloc(size);
}

void *
calloc(size_t n, size_t size)
{
    n_allocations++;
    return __libc_calloc(n, size);
}

void *
realloc(void *old, size_t size)
{
    n_allocations++;
    return __libc_realloc(old, size);
}

void *
aligned_alloc(size_t alignment, size_t size)
{
    n_allocations++;
    return __libc_memalign(alignment, size);
}

#endif

bool
allocations_are_counted(void)
{
    uint64_t before = n_allocations;
    void *volatile probe = malloc(1);
    free(probe);
    return n_allocations > before;
}

uint64_t
allocations_so_far(void)
{
    return n_allocations;
}
