/* page.h - a result as one page that anybody opens
 *
 * Page code, styles and the drawing library are part of the program (src/report/page); the page
 * loads nothing, and its content security policy allows nothing else than what is in it.
 */
#pragma once

#include "study/run/result.h"

typedef struct {
    double blur_m; /* 0: places stay */
    gboolean is_anonymous;
    uint64_t seed; /* of both */
} SpatePagePrivacy;

/* The page of a result's JSON, which is checked whole; `name` is the file's name in messages.
 * *has_detail says whether it has more than the measures.  NULL with an error of
 * SPATE_RESULT_ERROR.  Free with g_free(). */
char *spate_page_new(const char *name, const char *json, size_t length,
                     const SpatePagePrivacy *privacy, bool *has_detail, GError **error);
