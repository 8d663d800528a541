/* size-report.h - which values meet all expectations, as text
 *
 * The table begins with the answer: the smallest and the largest value that meet all, what binds on
 * each side, and where it is not sure; then the curve of each expectation.  JSON: spate-size/1,
 * docs/result-format.md.
 */
#pragma once

#include "report/report.h"
#include "study/judge/size.h"

/* The text ends with a newline. */
void spate_size_report_append(GString *text, const SpateSize *size, SpateFormat format);
