/* palette.h - colours, shapes and dashes that readers can tell apart
 *
 * Colours are those that people with any common colour vision tell apart: M. Okabe and K. Ito,
 * "Color Universal Design", 2008, in the order of the report's page; the yellow is left out (it is
 * hardly seen on white paper), a grey is added.  Nothing is shown by colour alone: a variant has a
 * shape and a dash too, and an outcome a pattern, which survive a copying machine.
 */
#pragma once

#include <glib.h>

/* Of the n-th variant, from 0; they begin again at the end, shapes and dashes at other variants
 * than colours. */
const char *spate_palette_colour(size_t n);
/* As in stroke-dasharray; "none" for the first. */
const char *spate_palette_dash(size_t n);
/* The shape of a variant around a place, in its colour. */
void spate_palette_append_mark(GString *svg, size_t n, double x, double y);
