/* faults.h - what is wrong with a file, all of it, each at its place
 *
 * Reading is tireless: a fault is noted and reading goes on.  The text shown for a
 * fault is
 *
 *     FILE:LINE:COLUMN: what is wrong
 *         the line
 *           ^
 *     what would be right
 *
 * Nothing that a file holds reaches a terminal raw: control characters are shown as a mark, long
 * lines and long values are cut.  The caret is right under tabs and wide characters too.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

/* Where a value is in a text; lines and columns count from 1, columns in
 * characters, not bytes.  `origin` is the number of the text among those that were
 * read (0: the file; others: --set texts and the like), see spate_faults_add_text(). */
typedef struct {
    int origin, line, column;
} SpatePlace;

#define SPATE_SCENARIO_ERROR (spate_scenario_error_quark())
GQuark spate_scenario_error_quark(void);
typedef enum {
    SPATE_SCENARIO_ERROR_BAD,        /* the user's input is wrong */
    SPATE_SCENARIO_ERROR_UNREADABLE, /* the file could not be read */
} SpateScenarioError;

typedef struct SpateFaults SpateFaults;
SpateFaults *spate_faults_new(void);
/* Without faults, but with the texts of another. */
SpateFaults *spate_faults_new_like(const SpateFaults *faults);
void spate_faults_free(SpateFaults *faults);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateFaults, spate_faults_free)

/* Where a byte of a text is.  Lines end where YAML's do: LF, CR, CR LF, and the three that only
 * Unicode knows. */
SpatePlace spate_place_of_byte(const char *text, size_t offset, int origin);

/* Names a text that places refer to; returns its origin: 0 for the first.  Both are copied.  A byte
 * order mark at the start does not count as a character. */
int spate_faults_add_text(SpateFaults *faults, const char *name, const char *text);
/* A table: of its cells that are wrong in the same way but for a number, one is shown. */
int spate_faults_add_table(SpateFaults *faults, const char *name, const char *text);
/* A map, of which nothing is shown: the line of a place in it is the number of a feature ("FILE:
 * feature 3: ..."), 0 the whole. */
int spate_faults_add_map(SpateFaults *faults, const char *name);
/* Those that another, which has the same, was given beyond them. */
void spate_faults_add_texts(SpateFaults *faults, const SpateFaults *others);
size_t spate_faults_n_texts(const SpateFaults *faults);

/* The hint (may be NULL) says what would be right. */
void spate_faults_note(SpateFaults *faults, SpatePlace place, const char *hint, const char *format,
                       ...) G_GNUC_PRINTF(4, 5);
/* The warnings of another that has the same texts. */
void spate_faults_add_warnings(SpateFaults *faults, const SpateFaults *others);
/* A thing to know that does not stop anything. */
void spate_faults_warn(SpateFaults *faults, SpatePlace place, const char *hint, const char *format,
                       ...) G_GNUC_PRINTF(4, 5);

/* What is noted from here on says so ("... (in variant 'open')"); NULL ends it.  Copied.  A fault
 * that was noted before at the same place in the same words, context apart, is not noted again: a
 * file is read once for each variant, and its own faults are to show once. */
void spate_faults_set_context(SpateFaults *faults, const char *context);

size_t spate_faults_count(const SpateFaults *faults);
/* How often a fault was noted, those that were known already included: it grows exactly if
 * something was found to be wrong. */
size_t spate_faults_noted(const SpateFaults *faults);
size_t spate_faults_count_warnings(const SpateFaults *faults);
/* Sets the error to the text of all faults, in the order of the file, at most 50 of them (then how
 * many more); those of one text with the same words are shown once, with the first lines of the
 * others; false without any. */
bool spate_faults_raise(const SpateFaults *faults, GError **error);
/* The text of all warnings (faults apart); "" if none.  Free with g_free(). */
char *spate_faults_warnings_text(const SpateFaults *faults);

/* "did you mean 'hold-back'?": the candidate nearest to `word` by edit distance, capitals apart,
 * the first of several; NULL if none is within a third of its letters (one at least). `candidates`
 * ends with NULL. */
const char *spate_nearest_word(const char *word, const char *const *candidates);
