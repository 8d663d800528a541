/* table-latency.c - how latencies are distributed, for a terminal
 *
 *     latency            |0.1 s     |1 s       |10 s
 *       talk    base            ▁▃▆█▇▅▃▂▁
 *               open             ▂▅▆█▇▇▆▅▄▂▁
 *
 * The bins that were counted are joined so that a decade takes a whole number of characters.
 */
#include "document/numbers.h"
#include "report/table/table-pictures.h"
#include "report/words/escapes.h"
#include <string.h>

#define LEAST_WIDTH 20
#define MOST_WIDTH  80

/* From the start of a decade to the start of another; of bins, and how many make a character. */
typedef struct {
    unsigned first, last, each;
    SpatePictureStyle style;  /* width: of all */
    unsigned names, variants; /* widths of the columns before it */
} Strip;

/* False if nothing was delivered at all, or there is no room for it. */
static bool
fit(Strip *strip, const SpateResult *result, unsigned room)
{
    static const unsigned EACH[] = {1, 2, 4, 5, 10};
    unsigned first, last;
    if (!spate_find_latency_bins(result, &first, &last))
        return false;
    strip->first = first / SPATE_LATENCY_PER_DECADE * SPATE_LATENCY_PER_DECADE;
    strip->last = (last / SPATE_LATENCY_PER_DECADE + 1) * SPATE_LATENCY_PER_DECADE;
    for (size_t i = 0; i < G_N_ELEMENTS(EACH); i++) {
        strip->each = EACH[i];
        strip->style.width = (strip->last - strip->first) / EACH[i];
        if (strip->style.width <= room)
            return true;
    }
    return false;
}

static void
append_blanks_to(GString *line, unsigned width)
{
    int at = (int)g_utf8_strlen(line->str, -1);
    g_string_append_printf(line, "%*s", MAX((int)width - at, 0), "");
}

/* Decades, as far as there is room between them. */
static void
append_axis(GString *text, const Strip *strip, const SpateTableStyle *style)
{
    unsigned indent = strip->names + strip->variants;
    g_autoptr(GString) line = g_string_new("latency");
    append_blanks_to(line, indent);
    for (unsigned bin = strip->first; bin < strip->last; bin += SPATE_LATENCY_PER_DECADE) {
        unsigned at = indent + (bin - strip->first) / strip->each;
        if (line->len > at)
            continue;
        append_blanks_to(line, at);
        double start_s = 1e-3;
        for (unsigned i = 0; i < bin / SPATE_LATENCY_PER_DECADE; i++)
            start_s *= 10.0;
        g_string_append_c(line, '|');
        spate_append_fixed(line, start_s,
                           start_s < 0.005  ? 3
                           : start_s < 0.05 ? 2
                                            : start_s < 0.5,
                           false);
        g_string_append(line, " s ");
    }
    g_string_truncate(line, line->len - 1);
    g_string_append_printf(text, "\n%s%s%s\n", style->colour ? SPATE_BOLD : "", line->str,
                           style->colour ? SPATE_PLAIN : "");
}

/* Characters of a strip, each the sum of its bins; and of all. */
static uint64_t
sum_bins(uint64_t *counts, const Strip *strip, const SpateResultLatency *latency)
{
    uint64_t sum = 0;
    memset(counts, 0, strip->style.width * sizeof *counts);
    for (unsigned bin = strip->first; bin < strip->last && bin < SPATE_LATENCY_BINS; bin++) {
        counts[(bin - strip->first) / strip->each] += latency->bins[bin];
        sum += latency->bins[bin];
    }
    return sum;
}

/* The highest share of any character of the traffic, so that its variants can be compared. */
static double
highest_share(const SpateResult *result, const Strip *strip, const char *traffic)
{
    uint64_t counts[SPATE_LATENCY_BINS + SPATE_LATENCY_PER_DECADE];
    double highest = 0.0;
    for (size_t v = 0; v < result->n_variants; v++) {
        const SpateResultLatency *latency = spate_find_latency(&result->variants[v], traffic);
        uint64_t sum = latency != NULL ? sum_bins(counts, strip, latency) : 0;
        for (unsigned i = 0; sum > 0 && i < strip->style.width; i++)
            highest = MAX(highest, (double)counts[i] / (double)sum);
    }
    return highest;
}

static unsigned
longest_name(const SpateResult *result, bool of_variants)
{
    glong longest = 0;
    for (size_t v = 0; v < result->n_variants; v++) {
        const SpateResultVariant *variant = &result->variants[v];
        if (of_variants)
            longest = MAX(longest, g_utf8_strlen(variant->name, -1));
        for (size_t i = 0; !of_variants && i < variant->n_latencies; i++)
            longest = MAX(longest, g_utf8_strlen(variant->latencies[i].traffic, -1));
    }
    return (unsigned)longest;
}

static void
append_traffic(GString *text, const SpateResult *result, const Strip *strip, const char *traffic,
               bool colour)
{
    uint64_t counts[SPATE_LATENCY_BINS + SPATE_LATENCY_PER_DECADE];
    double highest = highest_share(result, strip, traffic);
    size_t shown = 0;
    for (size_t v = 0; v < result->n_variants; v++) {
        const SpateResultLatency *latency = spate_find_latency(&result->variants[v], traffic);
        if (latency == NULL)
            continue;
        g_autoptr(GString) line = g_string_new("  ");
        g_string_append(line, shown++ == 0 ? traffic : "");
        append_blanks_to(line, strip->names);
        g_string_append(line, result->n_variants > 1 ? result->variants[v].name : "");
        append_blanks_to(line, strip->names + strip->variants);
        uint64_t sum = sum_bins(counts, strip, latency);
        g_string_append(line, colour && sum > 0 ? SPATE_CYAN : "");
        if (sum > 0)
            spate_picture_append_heights(line, counts, highest * (double)sum, strip->style);
        else
            g_string_append(line, "nothing arrived");
        g_string_append(line, colour && sum > 0 ? SPATE_PLAIN : "");
        g_string_append_printf(text, "%s\n", line->str);
    }
}

static int
compare_names(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

void
spate_table_append_latencies(GString *text, const SpateResult *result, const SpateTableStyle *style)
{
    Strip strip = {.style.is_ascii = style->is_ascii,
                   .names = longest_name(result, false) + 4,
                   .variants = result->n_variants > 1 ? longest_name(result, true) + 2 : 0};
    unsigned indent = strip.names + strip.variants;
    if (style->columns < indent + LEAST_WIDTH ||
        !fit(&strip, result, MIN(style->columns - indent, MOST_WIDTH)))
        return;
    append_axis(text, &strip, style);
    g_autoptr(GPtrArray) traffics = g_ptr_array_new();
    for (size_t v = 0; v < result->n_variants; v++)
        for (size_t i = 0; i < result->variants[v].n_latencies; i++) {
            char *name = result->variants[v].latencies[i].traffic;
            if (!g_ptr_array_find_with_equal_func(traffics, name, g_str_equal, NULL))
                g_ptr_array_add(traffics, name);
        }
    g_ptr_array_sort(traffics, compare_names);
    for (guint i = 0; i < traffics->len; i++)
        append_traffic(text, result, &strip, g_ptr_array_index(traffics, i), style->colour);
}
