/* faults-text.c - faults as the text that is shown for them */
#include "scenario/text/characters.h"
#include "scenario/text/faults-private.h"

#include <string.h>

#define MOST_SHOWN 50
/* Of faults that repeat, so many lines are named. */
#define MOST_LINES 5
#define INDENT     "    "
/* A longer line is cut to this many characters about the caret. */
#define SHOWN_WIDTH  76
#define BEFORE_CARET 38

#define REPLACEMENT "\xEF\xBF\xBD"

/* ---- one fault ------------------------------------------------------------------------------- */

/* The text with what a terminal could take for a command replaced by a mark, and spaces for tabs.
 */
static char *
harmless(const char *from, const char *end)
{
    GString *out = g_string_new(NULL);
    while (from < end) {
        gunichar c = g_utf8_get_char_validated(from, end - from);
        if (c == (gunichar)-1 || c == (gunichar)-2) {
            g_string_append(out, REPLACEMENT);
            from++;
            continue;
        }
        if (c == '\t')
            g_string_append_c(out, ' ');
        else if (g_unichar_iscntrl(c) || g_unichar_type(c) == G_UNICODE_FORMAT)
            g_string_append(out, REPLACEMENT);
        else
            g_string_append_unichar(out, c);
        from = g_utf8_next_char(from);
    }
    return g_string_free(out, FALSE);
}

static void
append_harmless(GString *out, const char *text)
{
    g_autofree char *shown = harmless(text, text + strlen(text));
    g_string_append(out, shown);
}

/* How many columns of a terminal it takes. */
static int
width_of(const char *text)
{
    int width = 0;
    for (const char *c = text; *c != '\0'; c = g_utf8_next_char(c)) {
        gunichar character = g_utf8_get_char(c);
        if (!g_unichar_iszerowidth(character))
            width += g_unichar_iswide(character) ? 2 : 1;
    }
    return width;
}

/* Lines of the texts, one after the other: faults are shown in the order of their places, so no
 * text is searched twice. */
typedef struct {
    int origin, line;
    const char *at, *end; /* the line and the end of its text; NULL before the first */
} Cursor;

/* False if there is no such line. */
static bool
find_line(Cursor *cursor, const SpateFaultText *text, SpatePlace place)
{
    if (cursor->at == NULL || cursor->origin != place.origin)
        *cursor = (Cursor){place.origin, 1, text->text, text->text + text->length};
    while (cursor->line < place.line && cursor->at < cursor->end) {
        size_t length = spate_line_break_bytes(cursor->at, cursor->end);
        cursor->at += MAX(1, length);
        cursor->line += length > 0;
    }
    return cursor->line == place.line;
}

static void
append_line_and_caret(GString *out, const Cursor *cursor, int column)
{
    const char *line = cursor->at, *end = line;
    while (end < cursor->end && spate_line_break_bytes(end, cursor->end) == 0)
        end++;
    const char *caret = spate_step_forward(line, end, column - 1);
    bool fits = spate_step_forward(line, end, SHOWN_WIDTH) == end;
    const char *first = fits ? line : spate_step_back(caret, line, BEFORE_CARET);
    const char *last = spate_step_forward(first, end, SHOWN_WIDTH);

    g_autofree char *before = harmless(first, caret), *after = harmless(caret, last);
    g_string_append_printf(out, INDENT "%s%s%s%s\n", first > line ? "..." : "", before, after,
                           last < end ? "..." : "");
    g_string_append_printf(out, INDENT "%*s^\n", width_of(before) + (first > line ? 3 : 0), "");
}

static void
append_fault(GString *out, const SpateFaults *faults, const SpateFault *fault, Cursor *cursor)
{
    const SpateFaultText *text = NULL;
    if (fault->place.origin >= 0 && (guint)fault->place.origin < faults->texts->len)
        text = &g_array_index(faults->texts, SpateFaultText, fault->place.origin);
    append_harmless(out, text != NULL ? text->name : "?");
    bool is_map = text != NULL && text->is_map;
    if (fault->place.line > 0 && is_map)
        g_string_append_printf(out, ": feature %d", fault->place.line);
    else if (fault->place.line > 0)
        g_string_append_printf(out, ":%d:%d", fault->place.line, fault->place.column);
    g_string_append(out, fault->is_warning ? ": warning: " : ": ");
    append_harmless(out, fault->text);
    if (fault->context != NULL) {
        g_string_append(out, " (");
        append_harmless(out, fault->context);
        g_string_append_c(out, ')');
    }
    g_string_append_c(out, '\n');
    if (text != NULL && !is_map && fault->place.line > 0 && find_line(cursor, text, fault->place))
        append_line_and_caret(out, cursor, fault->place.column);
    if (fault->hint != NULL && fault->hint[0] != '\0') {
        g_string_append(out, INDENT);
        append_harmless(out, fault->hint);
        g_string_append_c(out, '\n');
    }
}

/* ---- faults alike ---------------------------------------------------------------------------- */

/* Faults of one text with the same words: the first is shown, the others are counted. */
typedef struct {
    const SpateFault *first;
    guint n_more, n_lines;
    int last_line;
    GString *lines; /* of the others: "12, 15" */
} Alike;

static void
alike_free(gpointer data)
{
    Alike *alike = data;
    g_string_free(alike->lines, TRUE);
    g_free(alike);
}

static void
add_alike(Alike *alike, const SpateFault *fault)
{
    int line = fault->place.line;
    alike->n_more++;
    if (line <= 0 || line == alike->last_line)
        return;
    alike->last_line = line;
    alike->n_lines++;
    if (alike->n_lines <= MOST_LINES)
        g_string_append_printf(alike->lines, "%s%d", alike->n_lines > 1 ? ", " : "", line);
}

/* A column of numbers is wrong in the same way, each with its own ("'12' has no unit"). */
static char *
key_of(const SpateFaults *faults, const SpateFault *fault)
{
    guint origin = (guint)fault->place.origin;
    bool is_of_table = origin < faults->texts->len &&
                       g_array_index(faults->texts, SpateFaultText, origin).is_table;
    const char *words = fault->text, *end = words[0] == '\'' ? strchr(words + 1, '\'') : NULL;
    bool is_any_number = is_of_table && end != NULL && end > words + 1 &&
                         strspn(words + 1, "+-.,0123456789") == (size_t)(end - words - 1);
    return g_strdup_printf("%u\n%s\n%s\n%s", origin, is_any_number ? end : words,
                           fault->context != NULL ? fault->context : "",
                           fault->hint != NULL && !is_any_number ? fault->hint : "");
}

/* Of faults in the order of their places: the groups (Alike) in the order of their first. */
static GPtrArray *
group_alike(const SpateFaults *faults, const GPtrArray *sorted)
{
    GPtrArray *groups = g_ptr_array_new_with_free_func(alike_free);
    g_autoptr(GHashTable) by_words = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    for (guint i = 0; i < sorted->len; i++) {
        const SpateFault *fault = g_ptr_array_index(sorted, i);
        char *words = key_of(faults, fault);
        Alike *alike = g_hash_table_lookup(by_words, words);
        if (alike != NULL) {
            add_alike(alike, fault);
            g_free(words);
            continue;
        }
        alike = g_new0(Alike, 1);
        alike->first = fault;
        alike->last_line = fault->place.line;
        alike->lines = g_string_new(NULL);
        g_hash_table_insert(by_words, words, alike);
        g_ptr_array_add(groups, alike);
    }
    return groups;
}

static void
append_more_alike(GString *out, const SpateFaults *faults, const Alike *alike)
{
    if (alike->n_more == 0)
        return;
    guint origin = (guint)alike->first->place.origin;
    bool is_map =
        origin < faults->texts->len && g_array_index(faults->texts, SpateFaultText, origin).is_map;
    g_string_append_printf(out, INDENT "and %u more like it", alike->n_more);
    if (alike->n_lines > 0)
        g_string_append_printf(out, ": %s%s %s%s", is_map ? "feature" : "line",
                               alike->n_lines > 1 ? "s" : "", alike->lines->str,
                               alike->n_lines > MOST_LINES ? ", ..." : "");
    else if (alike->first->place.line > 0)
        g_string_append(out, " in this line");
    g_string_append_c(out, '\n');
}

/* ---- all of them ----------------------------------------------------------------------------- */

static int
compare_faults(gconstpointer a, gconstpointer b)
{
    const SpateFault *first = *(const SpateFault *const *)a,
                     *second = *(const SpateFault *const *)b;
    if (first->place.origin != second->place.origin)
        return first->place.origin < second->place.origin ? -1 : 1;
    if (first->place.line != second->place.line)
        return first->place.line < second->place.line ? -1 : 1;
    if (first->place.column != second->place.column)
        return first->place.column < second->place.column ? -1 : 1;
    return first->order < second->order ? -1 : 1;
}

static char *
text_of(const SpateFaults *faults, bool warnings, size_t count)
{
    g_autoptr(GPtrArray) sorted = g_ptr_array_new();
    for (guint i = 0; i < faults->faults->len; i++) {
        SpateFault *fault = &g_array_index(faults->faults, SpateFault, i);
        if (fault->is_warning == warnings)
            g_ptr_array_add(sorted, fault);
    }
    g_ptr_array_sort(sorted, compare_faults);
    GString *out = g_string_new(NULL);
    Cursor cursor = {0};
    g_autoptr(GPtrArray) groups = group_alike(faults, sorted);
    size_t n_shown = 0;
    for (guint i = 0; i < groups->len && i < MOST_SHOWN; i++) {
        const Alike *alike = g_ptr_array_index(groups, i);
        append_fault(out, faults, alike->first, &cursor);
        append_more_alike(out, faults, alike);
        n_shown += 1 + alike->n_more;
    }
    if (count > n_shown)
        g_string_append_printf(out, "... and %zu more\n", count - n_shown);
    return g_string_free(out, FALSE);
}

bool
spate_faults_raise(const SpateFaults *faults, GError **error)
{
    if (faults->n_faults == 0)
        return false;
    g_autofree char *text = text_of(faults, false, faults->n_faults);
    g_set_error_literal(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD, text);
    return true;
}

char *
spate_faults_warnings_text(const SpateFaults *faults)
{
    return text_of(faults, true, faults->n_warnings);
}
