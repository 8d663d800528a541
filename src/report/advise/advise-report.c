/* advise-report.c - which traffic a bridge should hold back, as text */
#include "report/advise/advise-report.h"

#include "document/numbers.h"
#include "report/advise/advise-words.h"
#include "report/check/check-words.h"
#include "report/words/columns.h"
#include "report/words/doubt-words.h"
#include <math.h>
#include <string.h>

/* "soil-moisture from soil"; free with g_free(). */
static char *
name_of(const SpateAdvice *advice, const SpateAdviseStream *stream)
{
    const char *traffic = advice->scenario->traffics[stream->traffic].name;
    return stream->source != NULL ? g_strdup_printf("%s from %s", traffic, stream->source)
                                  : g_strdup(traffic);
}

/* ---- streams --------------------------------------------------------------------------------- */

/* A stream that was tried no further than the first look; NULL if there is none. */
static const SpateAdviseStream *
given_up(const SpateAdvice *advice)
{
    for (guint i = 0; i < advice->streams->len; i++)
        if (spate_advise_stream(advice, i)->is_hopeless)
            return spate_advise_stream(advice, i);
    return NULL;
}

static void
add_stream(SpateColumns *columns, const SpateAdvice *advice, const SpateAdviseStream *stream)
{
    g_autofree char *name = name_of(advice, stream);
    spate_columns_take(columns,
                       g_strdup_printf("%s%s", name, stream->is_peoples ? " (people's)" : ""));
    spate_columns_take(columns, spate_number_text(stream->per_hour.mean));
    spate_columns_take(columns, spate_estimate_percent(&stream->load_share, false));
    spate_columns_take(columns, spate_estimate_percent(&stream->collision_share, false));
    g_autofree char *gain =
        stream->is_tried ? spate_estimate_percent(&stream->gain, true) : g_strdup("not tried");
    const char *mark = !given_up(advice) ? "" : stream->is_hopeless ? " ~" : "  ";
    spate_columns_take(columns, g_strconcat(gain, mark, NULL));
    spate_columns_end_line(columns);
}

static void
append_crossing(GString *text, const SpateAdvice *advice, guint group)
{
    const char *const heads[] = {"stream",
                                 "messages per hour",
                                 "load, %",
                                 "collisions, %",
                                 given_up(advice) ? "holding it back wins, points  "
                                                  : "holding it back wins, points",
                                 NULL};
    const SpateCrossingGroup *crossing =
        &g_array_index(advice->index.groups, SpateCrossingGroup, group);
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    guint n = 0;
    spate_columns_add_heads(columns, heads);
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        if (stream->group != group)
            continue;
        add_stream(columns, advice, stream);
        n++;
    }
    g_string_append_printf(text, "\n%s, %s: from %s to %s\n", spate_advise_bridge(advice, crossing),
                           crossing->name, advice->scenario->bearers[crossing->from_bearer].name,
                           advice->scenario->bearers[crossing->to_bearer].name);
    if (n == 0) {
        g_string_append(text, "  nothing crosses\n");
        return;
    }
    spate_columns_append(text, columns, 2);
    const char *separator = "  nothing crosses from: ";
    for (uint32_t k = 0; k < advice->index.n_traffics; k++) {
        if (spate_advise_crosses(advice, group, k))
            continue;
        g_string_append_printf(text, "%s%s", separator, advice->scenario->traffics[k].name);
        separator = ", ";
    }
    if (separator[0] == ',')
        g_string_append_c(text, '\n');
}

/* What the mark says. */
static void
append_given_up(GString *text, const SpateAdvice *advice)
{
    const SpateAdviseStream *stream = given_up(advice);
    if (stream == NULL)
        return;
    const SpateShown shown = {100.0, 1, false};
    g_autofree char *level = spate_figure_text(stream->gain_level, shown);
    g_string_append_printf(
        text,
        "\n~ tried in the first %u replications only, which show that it wins or "
        "loses less than %g points [%s %% intervals]\n",
        stream->n_gain, 100.0 * SPATE_ADVISE_WORTH, level);
}

/* After an interruption gains may be of fewer replications than costs. */
static void
append_unfinished(GString *text, const SpateAdvice *advice)
{
    uint32_t least = advice->n_replications;
    bool is_tried = false;
    for (guint i = 0; advice->interrupted && i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        if (!stream->is_tried || stream->is_hopeless)
            continue;
        is_tried = true;
        least = MIN(least, stream->n_gain);
    }
    if (is_tried && least > 0 && least < advice->n_replications)
        g_string_append_printf(text, "\nstreams were tried in %u replications or more so far\n",
                               least);
}

/* "soil-moisture at bridge-upper, up"; free with g_free(). */
static char *
place_of(const SpateAdvice *advice, guint number)
{
    const SpateAdviseStream *stream = spate_advise_stream(advice, number);
    const SpateCrossingGroup *crossing = spate_advise_crossing(advice, stream);
    g_autofree char *name = name_of(advice, stream);
    return g_strdup_printf("%s at %s, %s", name, spate_advise_bridge(advice, crossing),
                           crossing->name);
}

/* What is in none of the sets, and why. */
static void
append_left_out(GString *text, const SpateAdvice *advice)
{
    static const char *const REASONS[] = {
        [SPATE_ADVISE_COSTS_LITTLE] =
            "not tried, because all these together cost the far side under 2 %: ",
        [SPATE_ADVISE_OTHERS_COST_MORE] = "not tried, because those tried cost more: ",
        [SPATE_ADVISE_LOSES] = "in no set, because people's delivery gets worse with it: ",
    };
    const char *before = "\n";
    for (guint why = SPATE_ADVISE_COSTS_LITTLE; why < G_N_ELEMENTS(REASONS); why++) {
        guint n = 0;
        for (guint i = 0; i < advice->streams->len; i++) {
            if (spate_advise_stream(advice, i)->left_out != why)
                continue;
            g_autofree char *place = place_of(advice, i);
            g_string_append_printf(text, "%s%s%s", before, n++ == 0 ? REASONS[why] : "; ", place);
            before = "";
        }
        g_string_append(text, n > 0 ? "\n" : "");
    }
}

/* ---- the answer ------------------------------------------------------------------------------ */

static void
append_verdicts(GString *text, const SpateCheck *check)
{
    for (size_t i = 0; i < check->n_points; i++) {
        const SpateCheckPoint *point = &check->points[i];
        g_string_append_printf(text, "  %s: ", spate_check_verdict_word(&point->judgement));
        spate_check_append_title(text, point);
        g_string_append(text, "\n      ");
        spate_check_append_finding(text, check, point);
        g_string_append_c(text, '\n');
        spate_doubt_append(text, point->doubt, "      ");
    }
}

/* How the chosen streams are treated, and which these are. */
static void
append_set(GString *text, const SpateAdvice *advice)
{
    if (advice->one_of == 0)
        g_string_append(text, "hold back");
    else if (advice->gentle == SPATE_ADVISE_LIMIT)
        g_string_append_printf(text, "limit to 1/%u of what passes now", advice->one_of);
    else
        g_string_append_printf(text, "let pass one message in %u of", advice->one_of);
    for (guint i = 0; i < advice->chosen->len; i++) {
        g_autofree char *place = place_of(advice, g_array_index(advice->chosen, guint, i));
        g_string_append_printf(text, "\n  %s", place);
    }
    g_string_append_c(text, '\n');
}

static const char *
smallest_words(const SpateAdvice *advice)
{
    if (!advice->is_smallest)
        return "none of them can be left out";
    for (guint i = 0; i < advice->streams->len; i++)
        if (spate_advise_stream(advice, i)->left_out == SPATE_ADVISE_LOSES)
            return "no smaller set that people can spare does";
    return "no smaller set does";
}

/* ---- the price ------------------------------------------------------------------------------- */

bool
spate_advise_treats(const SpateAdvice *advice, uint32_t traffic)
{
    for (guint i = 0; i < advice->chosen->len; i++) {
        guint stream = g_array_index(advice->chosen, guint, i);
        if (spate_advise_stream(advice, stream)->traffic == traffic)
            return true;
    }
    return false;
}

/* "talk (thinned)": the traffic, and what is done to it; free with g_free(). */
static char *
treated_name(const SpateAdvice *advice, uint32_t traffic)
{
    const char *treatment = advice->one_of == 0                    ? " (held back)"
                            : advice->gentle == SPATE_ADVISE_LIMIT ? " (limited)"
                                                                   : " (thinned)";
    return g_strconcat(advice->scenario->traffics[traffic].name,
                       spate_advise_treats(advice, traffic) ? treatment : NULL, NULL);
}

static void
add_price(SpateColumns *columns, const SpateAdvisePrice *price)
{
    const SpateMeasureInfo *info = spate_measure_info(price->measure);
    bool is_percent = info->unit == SPATE_UNIT_RATIO;
    double largest = fmax(price->before.mean, price->after.mean);
    SpateShown shown = {is_percent ? 100.0 : 1.0, is_percent ? 1 : spate_decimals_for(largest),
                        false};
    SpateInterval ci95 = price->change.ci95;
    spate_columns_take(columns, g_strdup_printf("%s, %s", info->name,
                                                is_percent ? "%" : spate_unit_name(info->unit)));
    spate_columns_take(columns, spate_figure_text(price->before.mean, shown));
    spate_columns_take(columns, spate_figure_text(price->after.mean, shown));
    shown.sign = true;
    g_autofree char *change = spate_estimate_text(&price->change, shown);
    spate_columns_take(columns,
                       g_strconcat(change, ci95.low > 0.0 || ci95.high < 0.0 ? " *" : "  ", NULL));
    spate_columns_end_line(columns);
}

static void
append_prices(GString *text, const SpateAdvice *advice)
{
    static const char *const HEADS[] = {
        "traffic", "measure", "as it is", "with the rules", "change [95 % interval]  ", NULL};
    if (advice->prices == NULL)
        return;
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    spate_columns_add_heads(columns, HEADS);
    const SpateAdvisePrice *prices = (const SpateAdvisePrice *)(void *)advice->prices->data;
    for (guint i = 0; i < advice->prices->len; i++) {
        bool is_first = i == 0 || prices[i - 1].traffic != prices[i].traffic;
        spate_columns_take(columns,
                           is_first ? treated_name(advice, prices[i].traffic) : g_strdup(""));
        add_price(columns, &prices[i]);
    }
    g_string_append(text,
                    "\nthe price: what each traffic loses or gains with these rules, on the same "
                    "replications, paired\n(* the interval excludes 0; each interval alone: about "
                    "one in twenty misleads where nothing changes;\nlatency is that of "
                    "what arrives)\n");
    spate_columns_append(text, columns, 2);
}

/* ---- the whole ------------------------------------------------------------------------------- */

/* After the words that say how sure it is. */
static void
append_found(GString *text, const SpateAdvice *advice)
{
    append_set(text, advice);
    g_string_append_printf(
        text, "judged on replications %u to %u, which the search (1 to %u) did not use\n",
        advice->first_fresh + 1, advice->first_fresh + advice->verified->n_replications,
        advice->n_searched);
    const char *separator = "also met all in the search, but not confirmed by fresh replications: "
                            "one message in ";
    for (guint i = 0; i < advice->n_refuted && i < advice->treatments->len; i++) {
        uint32_t one_of = g_array_index(advice->treatments, uint32_t, i);
        if (one_of == 0)
            continue;
        g_string_append_printf(text, "%s%u", separator, one_of);
        separator = ", ";
    }
    if (separator[0] == ',')
        g_string_append_c(text, '\n');
    g_string_append_printf(text,
                           "\n# rules of each crossing, as a whole: under bridges in the file, or "
                           "under a variant's set\n%s",
                           advice->rules);
    g_string_append(text, "\nwith these rules, on those replications:\n");
    append_verdicts(text, advice->verified);
    append_prices(text, advice);
}

/* The variants apart from this one of which something is expected, in the order of the file. */
static void
append_other_variants(GString *text, const SpateAdvice *advice)
{
    const SpateScenario *scenario = advice->scenario;
    g_autoptr(GPtrArray) others = g_ptr_array_new();
    for (uint32_t i = 0; i < scenario->n_expectations; i++) {
        const char *variant = scenario->expectations[i].variant;
        variant = variant != NULL ? variant : "base";
        if (strcmp(variant, advice->variant) != 0 &&
            !g_ptr_array_find_with_equal_func(others, variant, g_str_equal, NULL))
            g_ptr_array_add(others, (gpointer)variant);
    }
    for (guint i = 0; i < others->len; i++)
        g_string_append_printf(text, "%s --variant %s",
                               i == 0 ? "other variants have expectations too:" : ",",
                               (const char *)others->pdata[i]);
    if (others->len > 0)
        g_string_append_c(text, '\n');
}

static void
append_answer(GString *text, const SpateAdvice *advice)
{
    g_string_append_c(text, '\n');
    switch (advice->answer) {
    case SPATE_ADVISE_NOTHING_EXPECTED:
        g_string_append_printf(
            text,
            "%s has no expectations: add some under 'expect' to search for a set to hold back\n",
            advice->variant);
        append_other_variants(text, advice);
        return;
    case SPATE_ADVISE_MET_ALREADY:
        g_string_append(text, "all expectations are met already: nothing needs to be held back\n");
        append_verdicts(text, advice->as_it_is);
        append_other_variants(text, advice);
        return;
    case SPATE_ADVISE_FOUND:
        g_string_append_printf(text,
                               "meets all expectations (%u sets tried; %s): ", advice->n_sets_tried,
                               smallest_words(advice));
        append_found(text, advice);
        return;
    case SPATE_ADVISE_UNSURE:
        g_string_append_printf(
            text, "likely, but not certain, to meet all (%u sets tried): ", advice->n_sets_tried);
        append_found(text, advice);
        return;
    case SPATE_ADVISE_NOT_CONFIRMED:
        g_string_append_printf(text,
                               "not confirmed: the best of %u sets in the search, but it does not "
                               "meet all on fresh replications: ",
                               advice->n_sets_tried);
        append_found(text, advice);
        return;
    case SPATE_ADVISE_NONE:
        g_string_append_printf(text,
                               "no set to hold back meets all expectations (%u sets tried); "
                               "as it is:\n",
                               advice->n_sets_tried);
        append_verdicts(text, advice->as_it_is);
        return;
    case SPATE_ADVISE_OPEN:
        g_string_append(text, "interrupted before an answer was found\n");
        return;
    }
}

static void
append_table(GString *text, const SpateAdvice *advice)
{
    const SpateAdviceHead head = spate_advice_head("bridges", advice->scenario, advice->variant,
                                                   advice->n_replications, advice->interrupted);
    spate_advice_append_head(text, &head);
    spate_people_append(text, &advice->people, &advice->delivery,
                        "all traffic of other classes than what is held back");
    g_string_append(text, "load and collisions: share of the bearer it crosses to\n");
    for (guint i = 0; i < advice->index.groups->len; i++)
        append_crossing(text, advice, i);
    if (advice->index.groups->len == 0)
        g_string_append(text, "\nthere are no bridges\n");
    append_given_up(text, advice);
    append_unfinished(text, advice);
    append_left_out(text, advice);
    append_answer(text, advice);
}

void
spate_advise_report_append(GString *text, const SpateAdvice *advice, SpateFormat format)
{
    static void (*const FORMATS[])(GString *, const SpateAdvice *) = {
        [SPATE_FORMAT_TABLE] = append_table,
        [SPATE_FORMAT_JSON] = spate_advise_append_json,
        [SPATE_FORMAT_CSV] = spate_advise_append_csv,
    };
    FORMATS[format](text, advice);
}
