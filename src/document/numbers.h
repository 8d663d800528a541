/* numbers.h - numbers as text, the same on every machine */
#pragma once

#include <glib.h>

/* The shortest decimal that reads back as the same double; whole numbers without a point; "null"
 * for NAN. */
void spate_append_number(GString *text, double value);
/* Digits after the point such that `largest` shows three significant ones; 0 to 6. */
int spate_decimals_for(double largest);
/* As many digits, or as many more as it takes that neither end of an interval which leaves out 0
 * reads as 0; any ends may be NAN. */
int spate_decimals_to_tell(double low, double high, int decimals);
/* Fixed-point; "-" for NAN.  `sign` puts a + before positive ones. */
void spate_append_fixed(GString *text, double value, int decimals, gboolean sign);
