/* doubt-words.c - in how many draws a verdict holds, as text */
#include "report/words/doubt-words.h"

#include "document/numbers.h"
#include <math.h>

static void
append_value(GString *text, double value, const char *unit)
{
    spate_append_number(text, rint(value * 1e9) / 1e9);
    if (unit[0] != '\0')
        g_string_append_printf(text, " %s", unit);
}

void
spate_doubt_append_effect(GString *text, const SpateDoubtEffect *effect)
{
    g_string_append_printf(text, "%s as %s rises (rank correlation ",
                           effect->correlation > 0.0 ? "rises" : "falls", effect->path);
    spate_append_fixed(text, effect->correlation, 2, TRUE);
    g_string_append_c(text, ')');
}

/* "flips as x rises: holds up to 3.12, not from 3.16 on; 1 of 20 draws says otherwise" */
static void
append_flip(GString *text, const SpateDoubtEffect *effect, uint32_t n)
{
    g_string_append_printf(text, "flips as %s rises: %s up to ", effect->path,
                           effect->holds_below ? "holds" : "does not hold");
    append_value(text, effect->from, effect->unit);
    g_string_append(text, effect->holds_below ? ", not from " : ", holds from ");
    append_value(text, effect->to, effect->unit);
    g_string_append(text, " on");
    if (effect->n_wrong > 0)
        g_string_append_printf(text, "; %u of %u draws %s otherwise", effect->n_wrong, n,
                               effect->n_wrong == 1 ? "says" : "say");
}

static void
append_count(GString *text, const SpateDoubtVerdict *verdict)
{
    g_string_append(text, "holds in ");
    if (verdict->n_held == verdict->n)
        g_string_append(text, "all ");
    else
        g_string_append_printf(text, "%u of ", verdict->n_held);
    g_string_append_printf(text, "%u draw%s", verdict->n, verdict->n == 1 ? "" : "s");
    if (isnan(verdict->ci95.low))
        return;
    double low = 100.0 * verdict->ci95.low, high = 100.0 * verdict->ci95.high;
    int decimals = spate_decimals_to_tell(low, high, 0);
    g_string_append(text, " (95 % interval ");
    spate_append_fixed(text, low, decimals, FALSE);
    g_string_append(text, " % to ");
    spate_append_fixed(text, high, decimals, FALSE);
    g_string_append(text, " % of all)");
}

void
spate_doubt_append(GString *text, const SpateDoubtVerdict *verdict, const char *indent)
{
    if (verdict == NULL)
        return;
    bool is_any = false;
    g_string_append(text, indent);
    append_count(text, verdict);
    g_string_append_c(text, '\n');
    for (uint32_t i = 0; i < verdict->n_effects; i++) {
        const SpateDoubtEffect *effect = &verdict->effects[i];
        if (effect->is_detectable) {
            g_string_append(text, indent);
            spate_doubt_append_effect(text, effect);
            g_string_append_c(text, '\n');
        }
        if (effect->flips) {
            g_string_append(text, indent);
            append_flip(text, effect, verdict->n);
            g_string_append_c(text, '\n');
        }
        is_any = is_any || effect->is_detectable || effect->flips;
    }
    if (verdict->n < SPATE_LEAST_DRAWS)
        g_string_append_printf(text, "%sat least %d draws are needed to tell which input matters\n",
                               indent, SPATE_LEAST_DRAWS);
    else if (!is_any)
        g_string_append_printf(text, "%sno single uncertain input has a detectable effect\n",
                               indent);
}
