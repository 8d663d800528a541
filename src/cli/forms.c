/* forms.c - the one place where text is made safe on its way out
 *
 * What people read must not command their terminal, whatever a title, a file name or a store holds.
 * What programs read stays exact, unless it goes to a terminal.
 */
#include "cli/cli.h"

#include "core/shown-text.h"
#include "document/csv-text.h"
#include "report/words/escapes.h"
#include <string.h>

CliForm
cli_form_of(const CliOptions *options, SpateFormat format)
{
    switch (format) {
    case SPATE_FORMAT_TABLE:
        return CLI_SHOWN;
    case SPATE_FORMAT_JSON:
        return CLI_EXACT;
    case SPATE_FORMAT_CSV:
        return options->csv_text_cells ? CLI_TEXT_CELLS : CLI_EXACT;
    }
    g_assert_not_reached();
}

/* How many bytes of our own escapes begin here; 0 if none do. */
static gsize
escape_length(const char *text, gsize length)
{
    static const char *const OURS[] = {SPATE_BOLD,   SPATE_RED,  SPATE_GREEN,
                                       SPATE_YELLOW, SPATE_CYAN, SPATE_PLAIN};
    for (size_t i = 0; i < G_N_ELEMENTS(OURS); i++) {
        gsize n = strlen(OURS[i]);
        if (n <= length && memcmp(text, OURS[i], n) == 0)
            return n;
    }
    return 0;
}

static void
append_coloured(GString *into, const char *text, gsize length)
{
    const char *end = text + length, *begin = text;
    while (text < end) {
        gsize n = *text == '\033' ? escape_length(text, (gsize)(end - text)) : 0;
        if (n > 0) {
            spate_append_shown(into, begin, (gsize)(text - begin));
            g_string_append_len(into, text, (gssize)n);
            begin = text + n;
        }
        text += MAX(n, 1);
    }
    spate_append_shown(into, begin, (gsize)(end - begin));
}

void
cli_form_append(GString *into, CliForm form, bool is_terminal, const char *text, gsize length)
{
    g_autoptr(GString) cells = g_string_new(NULL);
    if (form == CLI_COLOURED) {
        append_coloured(into, text, length);
        return;
    }
    if (form == CLI_TEXT_CELLS) {
        spate_append_csv_text_cells(cells, text, length);
        text = cells->str;
        length = cells->len;
    }
    if (form == CLI_SHOWN || is_terminal)
        spate_append_shown(into, text, length);
    else
        g_string_append_len(into, text, (gssize)length);
}
