/* proj.h - PROJ, loaded at the first place on the globe
 *
 * PROJ brings some forty libraries with it, and loading them takes longer than what most commands
 * have to do: who plans on a plane does without.  What we call of it is called through
 * spate_proj(). PROJ's own documentation holds for each function.
 */
#pragma once

#include <geodesic.h>
#include <proj.h>

#define SPATE_PROJ_FUNCTIONS(X)                                                                    \
    X(geod_direct)                                                                                 \
    X(geod_init)                                                                                   \
    X(geod_inverse)                                                                                \
    X(proj_context_create)                                                                         \
    X(proj_context_destroy)                                                                        \
    X(proj_create_crs_to_crs)                                                                      \
    X(proj_destroy)                                                                                \
    X(proj_log_level)                                                                              \
    X(proj_normalize_for_visualization)                                                            \
    X(proj_trans)

#define SPATE_PROJ_MEMBER(function) __typeof__(function) *function;
typedef struct {
    SPATE_PROJ_FUNCTIONS(SPATE_PROJ_MEMBER)
} SpateProj;
#undef SPATE_PROJ_MEMBER

/* Aborts where PROJ cannot be loaded: it is a library that this program needs.  May be called from
 * several threads. */
const SpateProj *spate_proj(void);
