/* form-csv.c - structs as lines of CSV */
#include "document/form-private.h"

#include "core/statistics.h"
#include "document/csv-text.h"
#include "document/numbers.h"
#include <math.h>

/* The comma between two cells. */
static void
part(GString *text, bool *is_first)
{
    if (!*is_first)
        g_string_append_c(text, ',');
    *is_first = false;
}

static void
append_number(GString *text, bool *is_first, double value)
{
    part(text, is_first);
    if (!isnan(value))
        spate_append_number(text, value);
}

static void append_cells(GString *text, const SpateForm *form, const void *data, bool *is_first);

static void
append_cell(GString *text, const SpateMember *member, const void *data, bool *is_first)
{
    const void *at = spate_member_at(member, data);
    bool is_given = member->given == 0 || *((const bool *)data + member->given - 1);
    switch (member->cell) {
    case SPATE_CELL_TEXT:
    case SPATE_CELL_FIXED:
    case SPATE_CELL_WORD:
        part(text, is_first);
        spate_append_csv_cell(text, spate_member_text(member, data));
        return;
    case SPATE_CELL_FLAG:
        part(text, is_first);
        g_string_append(text, !is_given ? "" : *(const bool *)at ? "yes" : "no");
        return;
    case SPATE_CELL_WHOLE:
    case SPATE_CELL_LARGE:
    case SPATE_CELL_NUMBER:
    case SPATE_CELL_SECONDS:
        append_number(text, is_first, is_given ? spate_member_number(member, data) : NAN);
        return;
    case SPATE_CELL_INTERVAL:
        append_number(text, is_first, ((const SpateInterval *)at)->low);
        append_number(text, is_first, ((const SpateInterval *)at)->high);
        return;
    case SPATE_CELL_PARTS:
    case SPATE_CELL_JOINED:
    case SPATE_CELL_OBJECT:
        append_cells(text, member->form, spate_member_parts(member, data), is_first);
        return;
    case SPATE_CELL_SINCE:
    case SPATE_CELL_INDEX:
    case SPATE_CELL_TEXTS:
    case SPATE_CELL_WHOLES:
    case SPATE_CELL_NUMBERS:
    case SPATE_CELL_POINTED:
    case SPATE_CELL_LIST:
    case SPATE_CELL_LINES:
    case SPATE_CELL_ROWS:
    case SPATE_CELL_OTHER:
        break;
    }
    g_assert_not_reached();
}

static void
append_cells(GString *text, const SpateForm *form, const void *data, bool *is_first)
{
    for (size_t i = 0; i < form->n_members; i++)
        append_cell(text, &form->members[i], data, is_first);
}

static bool
begins_line(const GString *text)
{
    return text->len == 0 || text->str[text->len - 1] == '\n';
}

void
spate_form_append_csv(GString *text, const SpateForm *form, const void *data)
{
    bool is_first = begins_line(text);
    append_cells(text, form, data, &is_first);
    g_string_append_c(text, '\n');
}

static void
append_head(GString *text, const SpateForm *form, bool *is_first)
{
    for (size_t i = 0; i < form->n_members; i++) {
        const SpateMember *member = &form->members[i];
        if (member->form != NULL) {
            append_head(text, member->form, is_first);
            continue;
        }
        part(text, is_first);
        if (member->cell == SPATE_CELL_INTERVAL)
            g_string_append_printf(text, "%s_low,%s_high", member->key, member->key);
        else
            g_string_append(text, member->key);
    }
}

void
spate_form_append_csv_head(GString *text, const SpateForm *form)
{
    bool is_first = begins_line(text);
    append_head(text, form, &is_first);
    g_string_append_c(text, '\n');
}
