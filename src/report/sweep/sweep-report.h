/* sweep-report.h - what a store holds, as text
 *
 * Point by point, in the order of the design, whatever the order in which runs were
 * finished: stores with the same content are the same bytes.  docs/store.md describes the formats.
 */
#pragma once

#include "report/report.h"
#include "study/sweep/store.h"

bool spate_sweep_report(SpateStore *store, SpateFormat format, SpateTextSink sink, gpointer user,
                        GError **error);
/* The part of it that is for people: a block for each measure, a line for each point. */
bool spate_sweep_table(SpateStore *store, SpateTextSink sink, gpointer user, GError **error);
/* What a point sets at a path; NULL where it leaves the scenario as it is. */
const char *spate_sweep_value(const SpateStorePoint *point, const char *path);
