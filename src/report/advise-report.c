/* advise-report.c - which traffic a bridge should hold back, as text */
#include "report/advise-report.h"

#include "report/advise-words.h"
#include "report/check-words.h"
#include "report/columns.h"
#include "report/csv-text.h"
#include "report/doubt-words.h"
#include "report/json-text.h"
#include "report/numbers.h"
#include <string.h>

static const char *
answer_word(SpateAdviseAnswer answer)
{
    switch (answer) {
    case SPATE_ADVISE_NOTHING_EXPECTED:
        return "nothing-expected";
    case SPATE_ADVISE_MET_ALREADY:
        return "met-already";
    case SPATE_ADVISE_FOUND:
        return "found";
    case SPATE_ADVISE_UNSURE:
        return "unsure";
    case SPATE_ADVISE_NONE:
        return "none";
    case SPATE_ADVISE_OPEN:
        return "open";
    }
    g_assert_not_reached();
}

/* "soil-moisture from soil"; free with g_free(). */
static char *
name_of(const SpateAdvice *advice, const SpateAdviseStream *stream)
{
    const char *traffic = advice->scenario->traffics[stream->traffic].name;
    return stream->source != NULL ? g_strdup_printf("%s from %s", traffic, stream->source)
                                  : g_strdup(traffic);
}

static const char *
bridge_of(const SpateAdvice *advice, const SpateCrossingGroup *crossing)
{
    return advice->scenario->bridge_names[crossing->bridge];
}

static const char *
bearer_of(const SpateAdvice *advice, uint32_t bearer)
{
    return advice->scenario->bearers[bearer].name;
}

static bool
is_chosen(const SpateAdvice *advice, guint stream)
{
    for (guint i = 0; advice->chosen != NULL && i < advice->chosen->len; i++)
        if (g_array_index(advice->chosen, guint, i) == stream)
            return true;
    return false;
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
    spate_columns_take(columns, name_of(advice, stream));
    spate_columns_take(columns, spate_number_fixed(stream->per_hour.mean,
                                                   spate_decimals_for(stream->per_hour.mean)));
    spate_columns_take(columns, spate_estimate_percent(&stream->load_share, FALSE));
    spate_columns_take(columns, spate_estimate_percent(&stream->collision_share, FALSE));
    if (stream->is_tried)
        spate_columns_take(columns, spate_estimate_percent(&stream->gain, TRUE));
    else
        spate_columns_add(columns, stream->is_peoples ? "people's" : "not tried");
    spate_columns_end_line(columns);
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
    g_string_append_printf(text, "\n%s, %s: from %s to %s\n", bridge_of(advice, crossing),
                           crossing->name, bearer_of(advice, crossing->from_bearer),
                           bearer_of(advice, crossing->to_bearer));
    if (n > 0)
        spate_columns_append(text, columns, 2);
    else
        g_string_append(text, "  nothing crosses\n");
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
        guint number = g_array_index(advice->chosen, guint, i);
        const SpateAdviseStream *stream = spate_advise_stream(advice, number);
        const SpateCrossingGroup *crossing = spate_advise_crossing(advice, stream);
        g_autofree char *name = name_of(advice, stream);
        g_string_append_printf(text, "\n  %s at %s, %s", name, bridge_of(advice, crossing),
                               crossing->name);
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

static void
append_found(GString *text, const SpateAdvice *advice)
{
    const char *smallest =
        advice->is_smallest ? "no smaller set does" : "none of them can be left out";
    if (advice->answer == SPATE_ADVISE_FOUND)
        g_string_append_printf(
            text, "meets all expectations (%u sets tried; %s): ", advice->n_sets_tried, smallest);
    else
        g_string_append_printf(
            text, "likely, but not for sure, meets all (%u sets tried): ", advice->n_sets_tried);
    append_treatment(text, advice);
    append_rules(text, advice);
    g_string_append(text, "\nwith these rules, as check judges them:\n");
    append_verdicts(text, advice->verified);
}

static void
append_answer(GString *text, const SpateAdvice *advice)
{
    g_string_append_c(text, '\n');
    switch (advice->answer) {
    case SPATE_ADVISE_NOTHING_EXPECTED:
        g_string_append_printf(text,
                               "nothing is expected of %s: say under 'expect' what must "
                               "hold, for a set to hold back\n",
                               advice->variant);
        return;
    case SPATE_ADVISE_MET_ALREADY:
        g_string_append(text, "all expectations are met as it is: nothing need be held back\n");
        append_verdicts(text, advice->as_it_is);
        return;
    case SPATE_ADVISE_FOUND:
    case SPATE_ADVISE_UNSURE:
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
                        "every traffic of another class than what is held back");
    g_string_append(text, "load and collisions: share of those on the bearer that it comes to\n");
    for (guint i = 0; i < advice->index.groups->len; i++)
        append_crossing(text, advice, i);
    if (advice->index.groups->len == 0)
        g_string_append(text, "\nthere is no bridge\n");
    append_answer(text, advice);
}

/* ---- for programs ---------------------------------------------------------------------------- */

static void
append_json_stream(GString *text, const SpateAdvice *advice, guint number)
{
    const SpateAdviseStream *stream = spate_advise_stream(advice, number);
    const SpateCrossingGroup *crossing = spate_advise_crossing(advice, stream);
    const struct {
        const char *key;
        const SpateEstimate *estimate;
    } estimates[] = {{"messages_per_hour", &stream->per_hour},
                     {"load_share", &stream->load_share},
                     {"collision_share", &stream->collision_share},
                     {"gain", &stream->gain}};
    g_string_append(text, "  {\"bridge\": ");
    spate_append_json_string(text, bridge_of(advice, crossing));
    spate_append_json_member(text, "crossing", crossing->name);
    spate_append_json_member(text, "from", bearer_of(advice, crossing->from_bearer));
    spate_append_json_member(text, "to", bearer_of(advice, crossing->to_bearer));
    spate_append_json_member(text, "traffic", advice->scenario->traffics[stream->traffic].name);
    spate_append_json_member(text, "source", stream->source);
    g_string_append_printf(text, ", \"people\": %s, \"chosen\": %s",
                           stream->is_peoples ? "true" : "false",
                           is_chosen(advice, number) ? "true" : "false");
    for (size_t i = 0; i < G_N_ELEMENTS(estimates); i++) {
        g_string_append_printf(text, ", \"%s\": ", estimates[i].key);
        spate_estimate_append_json(text, estimates[i].estimate);
    }
    g_string_append_c(text, '}');
}

static void
append_json_verdicts(GString *text, const char *key, const SpateCheck *check)
{
    g_string_append_printf(text, ",\n \"%s\": [", key);
    for (size_t i = 0; check != NULL && i < check->n_points; i++) {
        const SpateCheckPoint *point = &check->points[i];
        g_autoptr(GString) title = g_string_new(NULL);
        spate_check_append_title(title, point);
        g_string_append(text, i > 0 ? ", {\"expectation\": " : "{\"expectation\": ");
        spate_append_json_string(text, title->str);
        spate_append_json_member(text, "verdict", spate_check_verdict_word(&point->judgement));
        const SpateEstimate measured = {point->judgement.mean, point->judgement.ci95,
                                        point->judgement.n};
        g_string_append(text, ", \"measured\": ");
        spate_estimate_append_json(text, &measured);
        spate_doubt_append_json(text, point->doubt);
        g_string_append_c(text, '}');
    }
    g_string_append_c(text, ']');
}

static void
append_json(GString *text, const SpateAdvice *advice)
{
    spate_advise_append_json_head(text, "bridges", advice->scenario, advice->variant,
                                  advice->n_replications, advice->interrupted);
    spate_people_append_json(text, &advice->people, &advice->delivery);
    g_string_append(text, ",\n \"streams\": [");
    for (guint i = 0; i < advice->streams->len; i++) {
        g_string_append(text, i > 0 ? ",\n" : "\n");
        append_json_stream(text, advice, i);
    }
    g_string_append_c(text, ']');
    spate_append_json_member(text, "answer", answer_word(advice->answer));
    g_string_append_printf(text, ", \"sets_tried\": %u, \"smallest\": %s", advice->n_sets_tried,
                           advice->is_smallest ? "true" : "false");
    g_string_append_printf(text, ", \"passes_one_of\": %u", advice->one_of);
    spate_append_json_member(text, "rules", advice->rules);
    append_json_verdicts(text, "as_it_is", advice->as_it_is);
    append_json_verdicts(text, "with_rules", advice->verified);
    g_string_append(text, "}\n");
}

static void
append_csv(GString *text, const SpateAdvice *advice)
{
    g_string_append(text, "kind,bridge,crossing,traffic,source,people,chosen");
    static const char *const NAMES[] = {"messages_per_hour", "load_share", "collision_share",
                                        "gain"};
    for (size_t i = 0; i < G_N_ELEMENTS(NAMES); i++)
        g_string_append_printf(text, ",%s,%s_low,%s_high", NAMES[i], NAMES[i], NAMES[i]);
    g_string_append_c(text, '\n');
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        const SpateCrossingGroup *crossing = spate_advise_crossing(advice, stream);
        g_string_append(text, "stream");
        spate_append_csv_field(text, bridge_of(advice, crossing));
        spate_append_csv_field(text, crossing->name);
        spate_append_csv_field(text, advice->scenario->traffics[stream->traffic].name);
        spate_append_csv_field(text, stream->source);
        g_string_append(text, stream->is_peoples ? ",yes" : ",no");
        g_string_append(text, is_chosen(advice, i) ? ",yes" : ",no");
        spate_append_csv_estimate(text, &stream->per_hour);
        spate_append_csv_estimate(text, &stream->load_share);
        spate_append_csv_estimate(text, &stream->collision_share);
        spate_append_csv_estimate(text, &stream->gain);
        g_string_append_c(text, '\n');
    }
}

void
spate_advise_report_append(GString *text, const SpateAdvice *advice, SpateFormat format)
{
    switch (format) {
    case SPATE_FORMAT_TABLE:
        append_table(text, advice);
        break;
    case SPATE_FORMAT_JSON:
        append_json(text, advice);
        break;
    case SPATE_FORMAT_CSV:
        append_csv(text, advice);
        break;
    }
}
