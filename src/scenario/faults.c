/* faults.c - what is wrong with a file, all of it, each at its place */
#include "scenario/faults.h"

#include <string.h>

#define MOST_SHOWN 50
#define INDENT     "    "
/* A longer line is cut to this many characters about the caret. */
#define SHOWN_WIDTH  76
#define BEFORE_CARET 38

G_DEFINE_QUARK(spate - scenario - error - quark, spate_scenario_error)

typedef struct {
    SpatePlace place;
    bool is_warning;
    char *text, *context, *hint;
    guint order; /* in which it was noted */
} Fault;

typedef struct {
    char *name, *text;
} Text;

struct SpateFaults {
    GArray *texts;  /* Text */
    GArray *faults; /* Fault, by place */
    GHashTable *known;
    char *context;
    size_t n_faults, n_warnings, n_noted;
};

static void
fault_clear(gpointer data)
{
    Fault *fault = data;
    g_free(fault->text);
    g_free(fault->context);
    g_free(fault->hint);
}

static void
text_clear(gpointer data)
{
    Text *text = data;
    g_free(text->name);
    g_free(text->text);
}

SpateFaults *
spate_faults_new(void)
{
    SpateFaults *faults = g_new0(SpateFaults, 1);
    faults->texts = g_array_new(FALSE, FALSE, sizeof(Text));
    g_array_set_clear_func(faults->texts, text_clear);
    faults->faults = g_array_new(FALSE, FALSE, sizeof(Fault));
    g_array_set_clear_func(faults->faults, fault_clear);
    faults->known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    return faults;
}

void
spate_faults_free(SpateFaults *faults)
{
    if (faults == NULL)
        return;
    g_array_unref(faults->texts);
    g_array_unref(faults->faults);
    g_hash_table_unref(faults->known);
    g_free(faults->context);
    g_free(faults);
}

int
spate_faults_add_text(SpateFaults *faults, const char *name, const char *text)
{
    Text entry = {g_strdup(name), g_strdup(text)};
    g_array_append_val(faults->texts, entry);
    return (int)faults->texts->len - 1;
}

void
spate_faults_set_context(SpateFaults *faults, const char *context)
{
    g_free(faults->context);
    faults->context = g_strdup(context);
}

static void
note(SpateFaults *faults, SpatePlace place, bool is_warning, const char *hint, char *text)
{
    if (!is_warning)
        faults->n_noted++;
    char *key =
        g_strdup_printf("%d:%d:%d:%d:%s", is_warning, place.origin, place.line, place.column, text);
    if (!g_hash_table_add(faults->known, key)) {
        g_free(text);
        return;
    }
    Fault fault = {
        .place = place,
        .is_warning = is_warning,
        .text = text,
        .context = g_strdup(faults->context),
        .hint = g_strdup(hint),
        .order = faults->faults->len,
    };
    g_array_append_val(faults->faults, fault);
    if (is_warning)
        faults->n_warnings++;
    else
        faults->n_faults++;
}

void
spate_faults_note(SpateFaults *faults, SpatePlace place, const char *hint, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    note(faults, place, false, hint, g_strdup_vprintf(format, arguments));
    va_end(arguments);
}

void
spate_faults_warn(SpateFaults *faults, SpatePlace place, const char *hint, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    note(faults, place, true, hint, g_strdup_vprintf(format, arguments));
    va_end(arguments);
}

size_t
spate_faults_count(const SpateFaults *faults)
{
    return faults->n_faults;
}

size_t
spate_faults_noted(const SpateFaults *faults)
{
    return faults->n_noted;
}

size_t
spate_faults_count_warnings(const SpateFaults *faults)
{
    return faults->n_warnings;
}

/* What a terminal could take for a command becomes a replacement mark; tabs become spaces. */
static void
append_harmless(GString *out, const char *from, const char *end)
{
    while (from < end && *from != '\0') {
        gunichar c = g_utf8_get_char_validated(from, end - from);
        if (c == (gunichar)-1 || c == (gunichar)-2) {
            g_string_append(out, "\xEF\xBF\xBD");
            from++;
            continue;
        }
        if (c == '\t')
            g_string_append_c(out, ' ');
        else if (g_unichar_iscntrl(c) || g_unichar_type(c) == G_UNICODE_FORMAT)
            g_string_append(out, "\xEF\xBF\xBD");
        else
            g_string_append_unichar(out, c);
        from = g_utf8_next_char(from);
    }
}

/* The line of the text, or NULL. */
static const char *
find_line(const char *text, int line, size_t *length)
{
    for (int i = 1; i < line; i++) {
        text = strchr(text, '\n');
        if (text == NULL)
            return NULL;
        text++;
    }
    *length = strcspn(text, "\n");
    return text;
}

static void
append_line_and_caret(GString *out, const char *text, SpatePlace place)
{
    size_t length = 0;
    const char *line = find_line(text, place.line, &length);
    if (line == NULL || place.column < 1)
        return;
    g_autoptr(GString) whole = g_string_new(NULL);
    append_harmless(whole, line, line + length);
    glong n = g_utf8_strlen(whole->str, -1), caret = MIN((glong)place.column - 1, n);
    glong first = n > SHOWN_WIDTH ? MAX(0, caret - BEFORE_CARET) : 0;
    glong last = MIN(n, first + SHOWN_WIDTH);
    g_autofree char *shown = g_utf8_substring(whole->str, first, last);
    g_string_append_printf(out, INDENT "%s%s%s\n", first > 0 ? "..." : "", shown,
                           last < n ? "..." : "");
    g_string_append_printf(out, INDENT "%*s^\n", (int)(caret - first + (first > 0 ? 3 : 0)), "");
}

static void
append_fault(GString *out, const SpateFaults *faults, const Fault *fault)
{
    const Text *text = NULL;
    if (fault->place.origin >= 0 && (guint)fault->place.origin < faults->texts->len)
        text = &g_array_index(faults->texts, Text, fault->place.origin);
    g_string_append(out, text != NULL ? text->name : "?");
    if (fault->place.line > 0)
        g_string_append_printf(out, ":%d:%d", fault->place.line, fault->place.column);
    g_string_append(out, fault->is_warning ? ": warning: " : ": ");
    append_harmless(out, fault->text, fault->text + strlen(fault->text));
    if (fault->context != NULL)
        g_string_append_printf(out, " (%s)", fault->context);
    g_string_append_c(out, '\n');
    if (text != NULL && fault->place.line > 0)
        append_line_and_caret(out, text->text, fault->place);
    if (fault->hint != NULL && fault->hint[0] != '\0') {
        g_string_append(out, INDENT);
        append_harmless(out, fault->hint, fault->hint + strlen(fault->hint));
        g_string_append_c(out, '\n');
    }
}

static int
compare_faults(gconstpointer a, gconstpointer b)
{
    const Fault *first = *(const Fault *const *)a, *second = *(const Fault *const *)b;
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
        Fault *fault = &g_array_index(faults->faults, Fault, i);
        if (fault->is_warning == warnings)
            g_ptr_array_add(sorted, fault);
    }
    g_ptr_array_sort(sorted, compare_faults);
    GString *out = g_string_new(NULL);
    for (guint i = 0; i < sorted->len && i < MOST_SHOWN; i++)
        append_fault(out, faults, g_ptr_array_index(sorted, i));
    if (count > MOST_SHOWN)
        g_string_append_printf(out, "... and %zu more\n", count - MOST_SHOWN);
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

#define LONGEST_WORD 64

/* Edits (insert, drop, change, swap of neighbours) from one word to another: F. J. Damerau, CACM
 * 7(3), 1964, in the form that edits no place twice. */
static size_t
edit_distance(const char *a, const char *b)
{
    size_t n = strlen(a), m = strlen(b);
    size_t rows[3][LONGEST_WORD + 1];
    size_t *before = rows[0], *previous = rows[1], *current = rows[2];
    for (size_t j = 0; j <= m; j++)
        previous[j] = j;
    for (size_t i = 1; i <= n; i++) {
        current[0] = i;
        for (size_t j = 1; j <= m; j++) {
            size_t change = previous[j - 1] + (a[i - 1] != b[j - 1]);
            current[j] = MIN(change, MIN(previous[j], current[j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                current[j] = MIN(current[j], before[j - 2] + 1);
        }
        size_t *oldest = before;
        before = previous;
        previous = current;
        current = oldest;
    }
    return previous[m];
}

const char *
spate_nearest_word(const char *word, const char *const *candidates)
{
    const char *nearest = NULL;
    size_t length = strlen(word), least = MAX(1, length / 3) + 1;
    if (length == 0 || length > LONGEST_WORD)
        return NULL;
    for (size_t i = 0; candidates[i] != NULL; i++) {
        if (strlen(candidates[i]) > LONGEST_WORD)
            continue;
        size_t distance = edit_distance(word, candidates[i]);
        if (distance < least) {
            least = distance;
            nearest = candidates[i];
        }
    }
    return nearest;
}
