/* faults.c - notes what is wrong with a file, all of it, each at its place */
#include "scenario/text/characters.h"
#include "scenario/text/faults-private.h"

#include <string.h>

/* More are counted, but not kept. */
#define MOST_KEPT 10000
/* What is said may quote a value of any length: a longer text keeps its two ends. */
#define LONGEST_TEXT 300
#define SHOWN_HEAD   200
#define SHOWN_TAIL   80

#define BYTE_ORDER_MARK "\xEF\xBB\xBF"

G_DEFINE_QUARK(spate - scenario - error - quark, spate_scenario_error)

static void
fault_clear(gpointer data)
{
    SpateFault *fault = data;
    g_free(fault->text);
    g_free(fault->context);
    g_free(fault->hint);
}

static void
text_clear(gpointer data)
{
    SpateFaultText *text = data;
    g_free(text->name);
    g_free(text->text);
}

SpateFaults *
spate_faults_new(void)
{
    SpateFaults *faults = g_new0(SpateFaults, 1);
    faults->texts = g_array_new(FALSE, FALSE, sizeof(SpateFaultText));
    g_array_set_clear_func(faults->texts, text_clear);
    faults->faults = g_array_new(FALSE, FALSE, sizeof(SpateFault));
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
add_text(SpateFaults *faults, const char *name, const char *text, bool is_table, bool is_map)
{
    /* Copied whole first: of a literal that is shorter, the compiler sees no mark to go past. */
    g_autofree char *whole = g_strdup(text);
    const char *body =
        g_str_has_prefix(whole, BYTE_ORDER_MARK) ? whole + strlen(BYTE_ORDER_MARK) : whole;
    SpateFaultText entry = {g_strdup(name), g_strdup(body), strlen(body), is_table, is_map};
    g_array_append_val(faults->texts, entry);
    return (int)faults->texts->len - 1;
}

int
spate_faults_add_text(SpateFaults *faults, const char *name, const char *text)
{
    return add_text(faults, name, text, false, false);
}

int
spate_faults_add_table(SpateFaults *faults, const char *name, const char *text)
{
    return add_text(faults, name, text, true, false);
}

int
spate_faults_add_map(SpateFaults *faults, const char *name)
{
    return add_text(faults, name, "", true, true);
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
        const SpateFaultText *text = &g_array_index(others->texts, SpateFaultText, i);
        add_text(faults, text->name, text->text, text->is_table, text->is_map);
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

SpatePlace
spate_place_of_byte(const char *text, size_t offset, int origin)
{
    SpatePlace place = {origin, 1, 1};
    const char *end = text + offset;
    for (const char *c = text; c < end;) {
        size_t length = spate_line_break_bytes(c, end);
        if (length > 0) {
            place.line++;
            place.column = 1;
            c += length;
        } else {
            place.column++;
            c = spate_step_forward(c, end, 1);
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
    if (spate_step_forward(text, end, LONGEST_TEXT) == end)
        return text;
    g_autofree char *head =
        g_strndup(text, (gsize)(spate_step_forward(text, end, SHOWN_HEAD) - text));
    char *shown = g_strdup_printf("%s ... %s", head, spate_step_back(end, text, SHOWN_TAIL));
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
    SpateFault fault = {
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
        const SpateFault *fault = &g_array_index(others->faults, SpateFault, i);
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
