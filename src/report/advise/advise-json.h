/* advise-json.h - which traffic a bridge should hold back, for programs: JSON and CSV */
#pragma once

#include "study/advise/advise.h"
#include <glib.h>

void spate_advise_append_json(GString *text, const SpateAdvice *advice);
void spate_advise_append_csv(GString *text, const SpateAdvice *advice);
