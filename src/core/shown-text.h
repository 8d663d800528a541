/* shown-text.h - text that is safe to show on a terminal
 *
 * Titles, file names and settings may hold any character.  A terminal takes some of them for
 * commands (ECMA-48), others turn the direction of writing, so that a line reads as something that
 * it is not (Unicode Standard Annex 9).  Each of these is replaced by U+FFFD, one for one, so that
 * columns stay aligned.
 */
#pragma once

#include <glib.h>

/* Whether the character is a control (U+0000 to 1F, 7F to 9F), ends a line (U+2028, 2029), or sets
 * the direction of writing (U+061C, 200E, 200F, 202A to 202E, 2066 to 2069). */
gboolean spate_is_unsafe_character(gunichar character);

/* Appends the text with each unsafe character, and each byte that is not UTF-8, replaced.  Line
 * feeds and tabs are kept. */
void spate_append_shown(GString *into, const char *text, gsize length);
/* The same for text that must stay on its line: line feeds and tabs are replaced too. */
void spate_append_shown_line(GString *into, const char *text);
/* Free with g_free(). */
char *spate_shown_line(const char *text);
