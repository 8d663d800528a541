/* run-words.c - what was run, for people */
#include "report/words/run-words.h"

#include "core/time.h"
#include "document/numbers.h"
#include "scenario/layout.h"

static void
append_duration(GString *text, int64_t ns)
{
    static const struct {
        int64_t ns;
        const char *unit;
    } UNITS[] = {{SPATE_NS_PER_HOUR, "h"}, {SPATE_NS_PER_MIN, "min"}};
    for (size_t i = 0; i < G_N_ELEMENTS(UNITS); i++) {
        if (ns > 0 && ns % UNITS[i].ns == 0) {
            int64_t count = ns / UNITS[i].ns;
            spate_append_number(text, (double)count);
            g_string_append_printf(text, " %s", UNITS[i].unit);
            return;
        }
    }
    spate_append_number(text, (double)ns / (double)SPATE_NS_PER_S);
    g_string_append(text, " s");
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
