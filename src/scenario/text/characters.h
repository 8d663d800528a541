/* characters.h - steps through a text that may be anything
 *
 * A text that is shown or measured for a fault need not be UTF-8: a byte that begins a character is
 * followed by all that look like its rest, so a step never leaves the text.
 */
#pragma once

#include <stddef.h>

/* As many characters on, or back, but not past the end or the start. */
const char *spate_step_forward(const char *c, const char *end, int n);
const char *spate_step_back(const char *c, const char *start, int n);

/* The bytes of the line break here, 0 if there is none. */
size_t spate_line_break_bytes(const char *c, const char *end);
