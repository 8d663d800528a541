/* shrink.h - the smallest scenario that still shows a difference
 *
 * Takes one thing after the other out of an outline - a node wherever it is named, a traffic, a
 * bearer, a rule, a single setting - and halves what is a time, for as long as the judge still
 * finds a difference.  What the reader of scenarios refuses shows none.
 */
#pragma once

#include "oracle/outline.h"

/* The difference as a sentence, to be freed with g_free(); NULL: none, or not a scenario. */
typedef char *(*ShrinkJudge)(const Outline *outline, gpointer user);

/* The outline must show a difference.  Free with outline_free(). */
Outline *shrink(const Outline *outline, ShrinkJudge judge, gpointer user);
