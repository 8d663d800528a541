/* faults.c - what is wrong with a file, all of it, each at its place */
#include "scenario/text/faults.h"

#include <string.h>

#define MOST_SHOWN 50
/* Of faults that repeat, so many lines are named. */
#define MOST_LINES 5
/* More are counted, but not kept. */
#define MOST_KEPT 10000
#define INDENT    "    "
/* A longer line is cut to this many characters about the caret. */
#define SHOWN_WIDTH  76
#define BEFORE_CARET 38
/* What is said may quote a value of any length: a longer text keeps its two ends. */
#define LONGEST_TEXT 300
#define SHOWN_HEAD   200
#define SHOWN_TAIL   80

#define BYTE_ORDER_MARK "\xEF\xBB\xBF"
#define REPLACEMENT     "\xEF\xBF\xBD"

G_DEFINE_QUARK(spate - scenario - error - quark, spate_scenario_error)

typedef struct {
    SpatePlace place;
    bool is_warning;
    char *text, *context, *hint;
    guint order; /* in which it was noted */
} Fault;

typedef struct {
    char *name, *text;
    size_t length;
    bool is_table;
} Text;

struct SpateFaults {
    GArray *texts;     /* Text */
    GArray *faults;    /* Fault, as they were noted */
    GHashTable *known; /* their kind, place and words */
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

static int
add_text(SpateFaults *faults, const char *name, const char *text, bool is_table)
{
    const char *body = g_str_has_prefix(text, BYTE_ORDER_MARK) ? text + 3 : text;
    Text entry = {g_strdup(name), g_strdup(body), strlen(body), is_table};
    g_array_append_val(faults->texts, entry);
    return (int)faults->texts->len - 1;
}

int
spate_faults_add_text(SpateFaults *faults, const char *name, const char *text)
{
    return add_text(faults, name, text, false);
}

int
spate_faults_add_table(SpateFaults *faults, const char *name, const char *text)
{
    return add_text(faults, name, text, true);
}

size_t
spate_faults_n_texts(const SpateFaults *faults)
{
    return faults->texts->len;
}

void
spate_faults_add_texts(SpateFaults *faults, const SpateFaults *others)
{
    for (guint i = faults->texts->len; i < others->texts->len; i++) {
        const Text *text = &g_array_index(others->texts, Text, i);
        add_text(faults, text->name, text->text, text->is_table);
    }
}

SpateFaults *
spate_faults_new_like(const SpateFaults *faults)
{
    SpateFaults *like = spate_faults_new();
    spate_faults_add_texts(like, faults);
    return like;
}

void
spate_faults_set_context(SpateFaults *faults, const char *context)
{
    g_free(faults->context);
    faults->context = g_strdup(context);
}

/* ---- characters of a text that may be anything ----------------------------------------------- */

static const char *
next_character(const char *c, const char *end)
{
    c++;
    while (c < end && ((unsigned char)*c & 0xC0) == 0x80)
        c++;
    return c;
}

static const char *
forward(const char *c, const char *end, int n)
{
    while (n-- > 0 && c < end)
        c = next_character(c, end);
    return c;
}

static const char *
backward(const char *c, const char *start, int n)
{
    while (n-- > 0 && c > start) {
        c--;
        while (c > start && ((unsigned char)*c & 0xC0) == 0x80)
            c--;
    }
    return c;
}

/* The bytes of the line break here, 0 if there is none. */
static size_t
break_length(const char *c, const char *end)
{
    size_t left = (size_t)(end - c);
    if (left > 0 && *c == '\n')
        return 1;
    if (left > 0 && *c == '\r')
        return left > 1 && c[1] == '\n' ? 2 : 1;
    if (left > 1 && memcmp(c, "\xC2\x85", 2) == 0)
        return 2;
    if (left > 2 && memcmp(c, "\xE2\x80", 2) == 0 && (c[2] == '\xA8' || c[2] == '\xA9'))
        return 3;
    return 0;
}

SpatePlace
spate_place_of_byte(const char *text, size_t offset, int origin)
{
    SpatePlace place = {origin, 1, 1};
    const char *end = text + offset;
    for (const char *c = text; c < end;) {
        size_t length = break_length(c, end);
        if (length > 0) {
            place.line++;
            place.column = 1;
            c += length;
        } else {
            place.column++;
            c = next_character(c, end);
        }
    }
    return place;
}

/* ---- noting ---------------------------------------------------------------------------------- */

/* Takes the text over. */
static char *
shorten(char *text)
{
    if (text == NULL)
        return NULL;
    const char *end = text + strlen(text);
    if (forward(text, end, LONGEST_TEXT) == end)
        return text;
    g_autofree char *head = g_strndup(text, (gsize)(forward(text, end, SHOWN_HEAD) - text));
    char *shown = g_strdup_printf("%s ... %s", head, backward(end, text, SHOWN_TAIL));
    g_free(text);
    return shown;
}

/* Takes the text over. */
static void
note(SpateFaults *faults, SpatePlace place, bool is_warning, const char *hint, char *text)
{
    if (!is_warning)
        faults->n_noted++;
    text = shorten(text);
    g_autofree char *key =
        g_strdup_printf("%d:%d:%d:%d:%s", is_warning, place.origin, place.line, place.column, text);
    bool is_known = g_hash_table_contains(faults->known, key);
    size_t *count = is_warning ? &faults->n_warnings : &faults->n_faults;
    *count += !is_known;
    if (is_known || faults->faults->len == MOST_KEPT) {
        g_free(text);
        return;
    }
    g_hash_table_add(faults->known, g_steal_pointer(&key));
    Fault fault = {
        .place = place,
        .is_warning = is_warning,
        .text = text,
        .context = shorten(g_strdup(faults->context)),
        .hint = shorten(g_strdup(hint)),
        .order = faults->faults->len,
    };
    g_array_append_val(faults->faults, fault);
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

void
spate_faults_add_warnings(SpateFaults *faults, const SpateFaults *others)
{
    for (guint i = 0; i < others->faults->len; i++) {
        const Fault *fault = &g_array_index(others->faults, Fault, i);
        if (fault->is_warning)
            note(faults, fault->place, true, fault->hint, g_strdup(fault->text));
    }
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

/* ---- showing --------------------------------------------------------------------------------- */

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
find_line(Cursor *cursor, const Text *text, SpatePlace place)
{
    if (cursor->at == NULL || cursor->origin != place.origin)
        *cursor = (Cursor){place.origin, 1, text->text, text->text + text->length};
    while (cursor->line < place.line && cursor->at < cursor->end) {
        size_t length = break_length(cursor->at, cursor->end);
        cursor->at += MAX(1, length);
        cursor->line += length > 0;
    }
    return cursor->line == place.line;
}

static void
append_line_and_caret(GString *out, const Cursor *cursor, int column)
{
    const char *line = cursor->at, *end = line;
    while (end < cursor->end && break_length(end, cursor->end) == 0)
        end++;
    const char *caret = forward(line, end, column - 1);
    bool fits = forward(line, end, SHOWN_WIDTH) == end;
    const char *first = fits ? line : backward(caret, line, BEFORE_CARET);
    const char *last = forward(first, end, SHOWN_WIDTH);

    g_autofree char *before = harmless(first, caret), *after = harmless(caret, last);
    g_string_append_printf(out, INDENT "%s%s%s%s\n", first > line ? "..." : "", before, after,
                           last < end ? "..." : "");
    g_string_append_printf(out, INDENT "%*s^\n", width_of(before) + (first > line ? 3 : 0), "");
}

static void
append_fault(GString *out, const SpateFaults *faults, const Fault *fault, Cursor *cursor)
{
    const Text *text = NULL;
    if (fault->place.origin >= 0 && (guint)fault->place.origin < faults->texts->len)
        text = &g_array_index(faults->texts, Text, fault->place.origin);
    append_harmless(out, text != NULL ? text->name : "?");
    if (fault->place.line > 0)
        g_string_append_printf(out, ":%d:%d", fault->place.line, fault->place.column);
    g_string_append(out, fault->is_warning ? ": warning: " : ": ");
    append_harmless(out, fault->text);
    if (fault->context != NULL) {
        g_string_append(out, " (");
        append_harmless(out, fault->context);
        g_string_append_c(out, ')');
    }
    g_string_append_c(out, '\n');
    if (text != NULL && fault->place.line > 0 && find_line(cursor, text, fault->place))
        append_line_and_caret(out, cursor, fault->place.column);
    if (fault->hint != NULL && fault->hint[0] != '\0') {
        g_string_append(out, INDENT);
        append_harmless(out, fault->hint);
        g_string_append_c(out, '\n');
    }
}

/* Faults of one text with the same words: the first is shown, the others are counted. */
typedef struct {
    const Fault *first;
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
add_alike(Alike *alike, const Fault *fault)
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
key_of(const SpateFaults *faults, const Fault *fault)
{
    guint origin = (guint)fault->place.origin;
    bool is_of_table =
        origin < faults->texts->len && g_array_index(faults->texts, Text, origin).is_table;
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
        const Fault *fault = g_ptr_array_index(sorted, i);
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
append_more_alike(GString *out, const Alike *alike)
{
    if (alike->n_more == 0)
        return;
    g_string_append_printf(out, INDENT "and %u more like it", alike->n_more);
    if (alike->n_lines > 0)
        g_string_append_printf(out, ": %s %s%s", alike->n_lines > 1 ? "lines" : "line",
                               alike->lines->str, alike->n_lines > MOST_LINES ? ", ..." : "");
    else if (alike->first->place.line > 0)
        g_string_append(out, " in this line");
    g_string_append_c(out, '\n');
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
    Cursor cursor = {0};
    g_autoptr(GPtrArray) groups = group_alike(faults, sorted);
    size_t n_shown = 0;
    for (guint i = 0; i < groups->len && i < MOST_SHOWN; i++) {
        const Alike *alike = g_ptr_array_index(groups, i);
        append_fault(out, faults, alike->first, &cursor);
        append_more_alike(out, alike);
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
