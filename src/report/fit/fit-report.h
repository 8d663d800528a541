/* fit-report.h - a fit to a walk test: for people, for programs, and as a picture of what is left
 */
#pragma once

#include "study/fit/fit.h"

/* With `propagation:` and `doubt:` to paste. */
void spate_fit_append_table(GString *text, const SpateFit *fit);
void spate_fit_append_json(GString *text, const SpateFit *fit);
/* How far each sample is above the law, over its distance: SVG. */
void spate_fit_append_residuals(GString *svg, const SpateFit *fit);
