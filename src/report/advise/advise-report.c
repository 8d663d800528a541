/* advise-report.c - which traffic a bridge should hold back, as text */
#include "report/advise/advise-report.h"

#include "document/numbers.h"
#include "report/advise/advise-json.h"
#include "report/advise/advise-price-report.h"
#include "report/advise/advise-words.h"
#include "report/check/check-words.h"
#include "report/words/columns.h"
#include "report/words/doubt-words.h"
#include <string.h>

/* "soil-moisture from soil"; free with g_free(). */
static char *
name_of(const SpateAdvice *advice, const SpateAdviseStream *stream)
{
    const char *traffic = advice->scenario->traffics[stream->traffic].name;
    return stream->source != NULL ? g_strdup_printf("%s from %s", traffic, stream->source)
                                  : g_strdup(traffic);
}

static const char *
bearer_of(const SpateAdvice *advice, uint32_t bearer)
{
    return advice->scenario->bearers[bearer].name;
}

/* ---- streams, for people --------------------------------------------------------------------- */

static void
add_head(SpateColumns *columns)
{
    static const char *const HEADS[] = {"stream", "messages per hour", "load, %", "collisions, %",
                                        "holding it back wins, points"};
    for (size_t i = 0; i < G_N_ELEMENTS(HEADS); i++)
        spate_columns_add(columns, HEADS[i]);
    spate_columns_end_line(columns);
}

static void
add_stream(SpateColumns *columns, const SpateAdvice *advice, const SpateAdviseStream *stream)
{
    g_autofree char *name = name_of(advice, stream);
    spate_columns_take(columns,
                       g_strdup_printf("%s%s", name, stream->is_peoples ? " (people's)" : ""));
    spate_columns_take(columns, spate_number_fixed(stream->per_hour.mean,
                                                   spate_decimals_for(stream->per_hour.mean)));
    spate_columns_take(columns, spate_estimate_percent(&stream->load_share, FALSE));
    spate_columns_take(columns, spate_estimate_percent(&stream->collision_share, FALSE));
    if (stream->is_tried)
        spate_columns_take(columns, spate_estimate_percent(&stream->gain, TRUE));
    else
        spate_columns_add(columns, "not tried");
    spate_columns_end_line(columns);
}

/* Traffics of which nothing crosses here: there is nothing to hold back. */
static void
append_nothing_of(GString *text, const SpateAdvice *advice, guint group)
{
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

static void
append_crossing(GString *text, const SpateAdvice *advice, guint group)
{
    const SpateCrossingGroup *crossing =
        &g_array_index(advice->index.groups, SpateCrossingGroup, group);
    g_autoptr(SpateColumns) columns = spate_columns_new();
    guint n = 0;
    add_head(columns);
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        if (stream->group != group)
            continue;
        add_stream(columns, advice, stream);
        n++;
    }
    g_string_append_printf(text, "\n%s, %s: from %s to %s\n", spate_advise_bridge(advice, crossing),
                           crossing->name, bearer_of(advice, crossing->from_bearer),
                           bearer_of(advice, crossing->to_bearer));
    if (n > 0) {
        spate_columns_append(text, columns, 2);
        append_nothing_of(text, advice, group);
    } else {
        g_string_append(text, "  nothing crosses\n");
    }
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

static void
append_left_out_for(GString *text, const SpateAdvice *advice, SpateAdviseLeftOut why,
                    const char *because)
{
    guint n = 0;
    for (guint i = 0; i < advice->streams->len; i++) {
        if (spate_advise_stream(advice, i)->left_out != why)
            continue;
        g_autofree char *place = place_of(advice, i);
        g_string_append_printf(text, "%s%s", n == 0 ? because : "; ", place);
        n++;
    }
    if (n > 0)
        g_string_append_c(text, '\n');
}

/* What is in none of the sets, and why. */
static void
append_left_out(GString *text, const SpateAdvice *advice)
{
    g_autoptr(GString) lines = g_string_new(NULL);
    append_left_out_for(lines, advice, SPATE_ADVISE_COSTS_LITTLE,
                        "not tried, because all these together cost the far side under 2 %: ");
    append_left_out_for(lines, advice, SPATE_ADVISE_OTHERS_COST_MORE,
                        "not tried, because those tried cost more: ");
    append_left_out_for(lines, advice, SPATE_ADVISE_LOSES,
                        "in no set, because people's delivery gets worse with it: ");
    if (lines->len > 0)
        g_string_append_printf(text, "\n%s", lines->str);
}

/* ---- the answer, for people ------------------------------------------------------------------ */

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

static void
append_set(GString *text, const SpateAdvice *advice)
{
    for (guint i = 0; i < advice->chosen->len; i++) {
        g_autofree char *place = place_of(advice, g_array_index(advice->chosen, guint, i));
        g_string_append_printf(text, "\n  %s", place);
    }
    g_string_append_c(text, '\n');
}

static void
append_treatment(GString *text, const SpateAdvice *advice)
{
    if (advice->one_of == 0)
        g_string_append(text, "hold back");
    else if (advice->gentle == SPATE_ADVISE_LIMIT)
        g_string_append_printf(text, "limit to 1/%u of what passes now", advice->one_of);
    else
        g_string_append_printf(text, "let pass one message in %u of", advice->one_of);
    append_set(text, advice);
}

/* The lists, under the `set` of a variant or, without their paths, under `rules`. */
static void
append_rules(GString *text, const SpateAdvice *advice)
{
    g_string_append(text, "\n# rules of each crossing, as a whole: under bridges in the file, or "
                          "under a variant's set\n");
    g_string_append(text, advice->rules);
}

static bool
any_loses(const SpateAdvice *advice)
{
    for (guint i = 0; i < advice->streams->len; i++)
        if (spate_advise_stream(advice, i)->left_out == SPATE_ADVISE_LOSES)
            return true;
    return false;
}

static const char *
smallest_words(const SpateAdvice *advice)
{
    if (!advice->is_smallest)
        return "none of them can be left out";
    return any_loses(advice) ? "no smaller set that people can spare does" : "no smaller set does";
}

/* Where it was judged: not where it was found. */
static void
append_fresh(GString *text, const SpateAdvice *advice)
{
    uint32_t last = advice->first_fresh + advice->verified->n_replications;
    g_string_append_printf(text, "replications %u to %u, which the search (1 to %u) did not use",
                           advice->first_fresh + 1, last, advice->n_searched);
}

static void
append_refuted(GString *text, const SpateAdvice *advice)
{
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
}

static void
append_found(GString *text, const SpateAdvice *advice)
{
    switch (advice->answer) {
    case SPATE_ADVISE_FOUND:
        g_string_append_printf(text,
                               "meets all expectations (%u sets tried; %s): ", advice->n_sets_tried,
                               smallest_words(advice));
        break;
    case SPATE_ADVISE_UNSURE:
        g_string_append_printf(
            text, "likely, but not certain, to meet all (%u sets tried): ", advice->n_sets_tried);
        break;
    case SPATE_ADVISE_NOT_CONFIRMED:
        g_string_append_printf(text,
                               "not confirmed: the best of %u sets in the search, but it does not "
                               "meet all on fresh replications: ",
                               advice->n_sets_tried);
        break;
    case SPATE_ADVISE_NOTHING_EXPECTED:
    case SPATE_ADVISE_MET_ALREADY:
    case SPATE_ADVISE_NONE:
    case SPATE_ADVISE_OPEN:
        g_assert_not_reached();
    }
    append_treatment(text, advice);
    g_string_append(text, "judged on ");
    append_fresh(text, advice);
    g_string_append_c(text, '\n');
    append_refuted(text, advice);
    append_rules(text, advice);
    g_string_append(text, "\nwith these rules, on those replications:\n");
    append_verdicts(text, advice->verified);
    spate_advise_append_prices(text, advice);
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
    case SPATE_ADVISE_UNSURE:
    case SPATE_ADVISE_NOT_CONFIRMED:
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
    spate_advise_append_head(text, advice->scenario, advice->variant, advice->n_replications,
                             advice->interrupted);
    spate_people_append(text, &advice->people, &advice->delivery,
                        "all traffic of other classes than what is held back");
    g_string_append(text, "load and collisions: share of the bearer it crosses to\n");
    for (guint i = 0; i < advice->index.groups->len; i++)
        append_crossing(text, advice, i);
    if (advice->index.groups->len == 0)
        g_string_append(text, "\nthere are no bridges\n");
    append_left_out(text, advice);
    append_answer(text, advice);
}

void
spate_advise_report_append(GString *text, const SpateAdvice *advice, SpateFormat format)
{
    switch (format) {
    case SPATE_FORMAT_TABLE:
        append_table(text, advice);
        break;
    case SPATE_FORMAT_JSON:
        spate_advise_append_json(text, advice);
        break;
    case SPATE_FORMAT_CSV:
        spate_advise_append_csv(text, advice);
        break;
    }
}
