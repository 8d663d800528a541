/* advise-price-report.h - what every traffic loses or gains by advice, as text */
#pragma once

#include "study/advise/advise.h"
#include <glib.h>

void spate_advise_append_prices(GString *text, const SpateAdvice *advice);
/* ", \"prices\": [...]"; null where there are none. */
void spate_advise_append_json_prices(GString *text, const SpateAdvice *advice);
/* The columns that they add to those of streams, of a head or empty; and lines of their own. */
void spate_advise_append_csv_price_head(GString *text);
void spate_advise_append_csv_no_price(GString *text);
void spate_advise_append_csv_prices(GString *text, const SpateAdvice *advice);
