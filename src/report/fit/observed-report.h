/* observed-report.h - measured levels beside those that a scenario predicts, as text */
#pragma once

#include "report/report.h"
#include "study/fit/observed.h"

void spate_observed_append(GString *text, const SpateObserved *observed, SpateFormat format);
