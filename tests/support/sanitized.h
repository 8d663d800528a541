/* sanitized.h - tests of many draws take fewer of them where a sanitizer watches
 *
 * It watches each instruction at several times its price.  Builds without one take all draws,
 * unless they are told otherwise: nothing but the lines that are run matters to those that count
 * them.
 */
#pragma once

#ifndef ONE_DRAW_IN
#if defined(__has_feature)
#define SANITIZER_FEATURE(name) __has_feature(name)
#else
#define SANITIZER_FEATURE(name) 0
#endif

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__) ||                               \
    SANITIZER_FEATURE(address_sanitizer) || SANITIZER_FEATURE(thread_sanitizer)
#define ONE_DRAW_IN 4
#else
#define ONE_DRAW_IN 1
#endif
#endif
