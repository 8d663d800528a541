/* run-words.c - what was run, for people */
#include "report/words/run-words.h"

#include "core/time.h"
#include "document/numbers.h"
#include "scenario/layout.h"

/* In hours or minutes where these are whole. */
static void
append_duration(GString *text, int64_t ns)
{
    bool is_hours = ns > 0 && ns % SPATE_NS_PER_HOUR == 0;
    bool is_minutes = ns > 0 && ns % SPATE_NS_PER_MIN == 0;
    int64_t unit_ns = is_hours ? SPATE_NS_PER_HOUR : is_minutes ? SPATE_NS_PER_MIN : SPATE_NS_PER_S;
    spate_append_number(text, (double)ns / (double)unit_ns);
    g_string_append(text, is_hours ? " h" : is_minutes ? " min" : " s");
}

void
spate_append_run_words(GString *text, const SpateResult *result)
{
    g_string_append_printf(text, "%u replication%s of ", result->n_replications,
                           result->n_replications == 1 ? "" : "s");
    append_duration(text, result->duration_ns);
    if (result->warm_up_ns > 0) {
        g_string_append(text, ", counted after ");
        append_duration(text, result->warm_up_ns);
    }
    g_string_append_printf(text, ", seed %" G_GUINT64_FORMAT, (guint64)result->seed);
    spate_append_layout_words(text, result->one_layout);
}

void
spate_append_layout_words(GString *text, bool one_layout)
{
    if (one_layout)
        g_string_append(text, ", " SPATE_ONE_LAYOUT_WORDS);
}
