/* form-write.c - structs as JSON */
#include "document/form-private.h"

#include "core/statistics.h"
#include "core/time.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include <math.h>
#include <string.h>

typedef struct {
    GString *text;
    uint32_t n_values; /* of lists that have no count of their own */
    size_t index;      /* of the element that is being written */
} Writer;

static void append_members(Writer *writer, const SpateForm *form, const void *data, bool *is_first);
static void append_cell(Writer *writer, const SpateMember *member, const void *data);

static double
rounded(const SpateMember *member, double value)
{
    if (isnan(value) || (member->digits == 0 && !member->tenths))
        return value;
    if (member->tenths)
        return rint(value * 10.0) / 10.0;
    char format[16], buffer[G_ASCII_DTOSTR_BUF_SIZE];
    g_snprintf(format, sizeof format, "%%.%dg", member->digits);
    g_ascii_formatd(buffer, sizeof buffer, format, value);
    return g_ascii_strtod(buffer, NULL);
}

double
spate_member_number(const SpateMember *member, const void *data)
{
    const void *at = spate_member_at(member, data);
    if (member->cell == SPATE_CELL_WHOLE)
        return (double)*(const uint32_t *)at;
    if (member->cell == SPATE_CELL_LARGE)
        return (double)*(const uint64_t *)at;
    if (member->cell == SPATE_CELL_NUMBER)
        return rounded(member, *(const double *)at);
    g_assert(member->cell == SPATE_CELL_SECONDS);
    int64_t ns = *(const int64_t *)at;
    return ns < 0 && member->absence != SPATE_ALWAYS ? NAN : (double)ns / (double)SPATE_NS_PER_S;
}

const char *
spate_member_word(const SpateMember *member, int value)
{
    g_assert(value >= 0 && value < member->n_words);
    return member->words != NULL ? member->words[value] : member->word(value);
}

const char *
spate_member_text(const SpateMember *member, const void *data)
{
    const void *at = spate_member_at(member, data);
    if (member->cell == SPATE_CELL_FIXED)
        return member->fixed;
    if (member->cell == SPATE_CELL_WORD)
        return spate_member_word(member, *(const int *)at);
    const char *text = *(const char *const *)at;
    return text == NULL && member->absence == SPATE_OR_EMPTY ? "" : text;
}

static bool
is_none(const SpateMember *member, const void *data)
{
    const void *at = spate_member_at(member, data);
    if (member->given != 0)
        return !*((const bool *)data + member->given - 1);
    if (member->absence == SPATE_ALWAYS)
        return false;
    switch (member->cell) {
    case SPATE_CELL_TEXT:
    case SPATE_CELL_WORD:
        return spate_member_text(member, data) == NULL;
    case SPATE_CELL_WHOLE:
        return *(const uint32_t *)at == SPATE_NO_THING ||
               (member->of == SPATE_THING_NONE && *(const uint32_t *)at <= member->none);
    case SPATE_CELL_LARGE:
        return *(const uint64_t *)at == 0;
    case SPATE_CELL_NUMBER:
        return isnan(*(const double *)at);
    case SPATE_CELL_SECONDS:
        return *(const int64_t *)at < 0;
    case SPATE_CELL_INTERVAL:
        return isnan(((const SpateInterval *)at)->low);
    case SPATE_CELL_FLAG:
        return !*(const bool *)at;
    case SPATE_CELL_TEXTS:
    case SPATE_CELL_WHOLES:
    case SPATE_CELL_NUMBERS:
    case SPATE_CELL_JOINED:
    case SPATE_CELL_POINTED:
    case SPATE_CELL_LIST:
    case SPATE_CELL_LINES:
    case SPATE_CELL_ROWS:
    case SPATE_CELL_OTHER:
        return *(const void *const *)at == NULL;
    case SPATE_CELL_FIXED:
    case SPATE_CELL_SINCE:
    case SPATE_CELL_INDEX:
    case SPATE_CELL_PARTS:
    case SPATE_CELL_OBJECT:
        return false;
    }
    g_assert_not_reached();
}

/* ---- lists ----------------------------------------------------------------------------------- */

static void
append_object(Writer *writer, const SpateForm *form, const void *data)
{
    bool is_first = true;
    g_string_append_c(writer->text, '{');
    append_members(writer, form, data, &is_first);
    g_string_append_c(writer->text, '}');
}

static void
append_row(Writer *writer, const SpateForm *form, const void *data)
{
    for (size_t i = 0; i < form->n_members; i++) {
        g_string_append(writer->text, i > 0 ? ", " : "[");
        append_cell(writer, &form->members[i], data);
    }
    g_string_append_c(writer->text, ']');
}

static void
append_element(Writer *writer, const SpateMember *member, const void *items, size_t number)
{
    if (member->cell == SPATE_CELL_TEXTS)
        spate_append_json_string(writer->text, ((const char *const *)items)[number]);
    else if (member->cell == SPATE_CELL_WHOLES)
        g_string_append_printf(writer->text, "%u", ((const uint32_t *)items)[number]);
    else if (member->cell == SPATE_CELL_NUMBERS)
        spate_append_number(writer->text, rounded(member, ((const double *)items)[number]));
    else if (member->cell == SPATE_CELL_LIST)
        append_object(writer, member->form, (const char *)items + number * member->form->size);
    else
        append_row(writer, member->form, (const char *)items + number * member->form->size);
}

static void
append_list(Writer *writer, const SpateMember *member, const void *data)
{
    const void *items = *(const void *const *)spate_member_at(member, data);
    const void *count = (const char *)data + member->n_at;
    uint64_t n = member->cell == SPATE_CELL_TEXTS     ? g_strv_length((char **)items)
                 : member->n_size == 0                ? writer->n_values
                 : member->n_size == sizeof(uint32_t) ? *(const uint32_t *)count
                                                      : *(const uint64_t *)count;
    g_string_append_c(writer->text, '[');
    for (size_t i = 0; i < n; i++) {
        bool is_alone = i == 0 && member->beside;
        const char *each = member->each != NULL ? member->each : i > 0 ? " " : "";
        g_string_append_printf(writer->text, "%s%s", i > 0 ? "," : "", is_alone ? "" : each);
        writer->index = i;
        append_element(writer, member, items, i);
    }
    g_string_append_c(writer->text, ']');
}

static void
append_rows(Writer *writer, const SpateMember *member, const void *data)
{
    g_string_append(writer->text, "{\"columns\": [");
    for (size_t i = 0; i < member->form->n_members; i++)
        g_string_append_printf(writer->text, "%s\"%s\"", i > 0 ? ", " : "",
                               member->form->members[i].key);
    g_string_append(writer->text, "], \"rows\": ");
    append_list(writer, member, data);
    bool is_first = false;
    if (member->rest != NULL)
        append_members(writer, member->rest, data, &is_first);
    g_string_append_c(writer->text, '}');
}

/* ---- cells ----------------------------------------------------------------------------------- */

static void
append_cell(Writer *writer, const SpateMember *member, const void *data)
{
    GString *text = writer->text;
    const void *at = spate_member_at(member, data);
    if (is_none(member, data)) {
        g_string_append(text, "null");
        return;
    }
    if (member->append != NULL) {
        member->append(text, *(const void *const *)at);
        return;
    }
    switch (member->cell) {
    case SPATE_CELL_TEXT:
    case SPATE_CELL_FIXED:
    case SPATE_CELL_WORD:
        spate_append_json_string(text, spate_member_text(member, data));
        return;
    case SPATE_CELL_LARGE: /* a double may not hold it */
        g_string_append_printf(text, "%" G_GUINT64_FORMAT, (guint64) * (const uint64_t *)at);
        return;
    case SPATE_CELL_SINCE:
        g_string_append_printf(text, "%" G_GINT64_FORMAT, (gint64) * (const int64_t *)at);
        return;
    case SPATE_CELL_INDEX:
        g_string_append_printf(text, "%zu", writer->index);
        return;
    case SPATE_CELL_WHOLE:
    case SPATE_CELL_NUMBER:
    case SPATE_CELL_SECONDS:
        spate_append_number(text, spate_member_number(member, data));
        return;
    case SPATE_CELL_FLAG:
        if (member->words != NULL)
            spate_append_json_string(text, member->words[*(const bool *)at]);
        else
            g_string_append(text, *(const bool *)at ? "true" : "false");
        return;
    case SPATE_CELL_INTERVAL: {
        const SpateInterval *interval = at;
        spate_append_json_interval(
            text, (SpateInterval){rounded(member, interval->low), rounded(member, interval->high)});
        return;
    }
    case SPATE_CELL_OBJECT:
        append_object(writer, member->form, at);
        return;
    case SPATE_CELL_POINTED:
        append_object(writer, member->form, *(const void *const *)at);
        return;
    case SPATE_CELL_TEXTS:
    case SPATE_CELL_WHOLES:
    case SPATE_CELL_NUMBERS:
    case SPATE_CELL_LIST:
    case SPATE_CELL_LINES:
        append_list(writer, member, data);
        return;
    case SPATE_CELL_ROWS:
        append_rows(writer, member, data);
        return;
    case SPATE_CELL_OTHER:
    case SPATE_CELL_PARTS:
    case SPATE_CELL_JOINED:
        break;
    }
    g_assert_not_reached();
}

static void
append_members(Writer *writer, const SpateForm *form, const void *data, bool *is_first)
{
    for (size_t i = 0; i < form->n_members; i++) {
        const SpateMember *member = &form->members[i];
        if (member->absence == SPATE_OR_ABSENT && is_none(member, data))
            continue;
        if (member->cell == SPATE_CELL_PARTS || member->cell == SPATE_CELL_JOINED) {
            append_members(writer, member->form, spate_member_parts(member, data), is_first);
            continue;
        }
        if (!*is_first)
            g_string_append_printf(writer->text, ",%s", member->line != NULL ? member->line : " ");
        g_string_append_printf(writer->text, "\"%s\": ", member->key);
        append_cell(writer, member, data);
        *is_first = false;
    }
}

void
spate_form_append(GString *text, const SpateForm *form, const void *data)
{
    Writer writer = {.text = text};
    if (form->n_at > 0)
        writer.n_values = *(const uint32_t *)(const void *)((const char *)data + form->n_at);
    append_object(&writer, form, data);
}
