/* advise-json.c - which traffic a bridge should hold back, for programs */
#include "report/advise/advise-json.h"

#include "document/csv-text.h"
#include "document/json-text.h"
#include "report/advise/advise-price-report.h"
#include "report/advise/advise-words.h"
#include "report/check/check-words.h"
#include "report/words/doubt-words.h"

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
    case SPATE_ADVISE_NOT_CONFIRMED:
        return "not-confirmed";
    case SPATE_ADVISE_NONE:
        return "none";
    case SPATE_ADVISE_OPEN:
        return "open";
    }
    g_assert_not_reached();
}

static const char *
left_out_word(SpateAdviseLeftOut left_out)
{
    switch (left_out) {
    case SPATE_ADVISE_NOT_LEFT_OUT:
        return NULL;
    case SPATE_ADVISE_COSTS_LITTLE:
        return "costs-little";
    case SPATE_ADVISE_OTHERS_COST_MORE:
        return "others-cost-more";
    case SPATE_ADVISE_LOSES:
        return "people-lose";
    }
    g_assert_not_reached();
}

static const char *
bearer_of(const SpateAdvice *advice, uint32_t bearer)
{
    return advice->scenario->bearers[bearer].name;
}

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
    spate_append_json_string(text, spate_advise_bridge(advice, crossing));
    spate_append_json_member(text, "crossing", crossing->name);
    spate_append_json_member(text, "from", bearer_of(advice, crossing->from_bearer));
    spate_append_json_member(text, "to", bearer_of(advice, crossing->to_bearer));
    spate_append_json_member(text, "traffic", advice->scenario->traffics[stream->traffic].name);
    spate_append_json_member(text, "source", stream->source);
    g_string_append_printf(text, ", \"people\": %s, \"chosen\": %s",
                           stream->is_peoples ? "true" : "false",
                           spate_advise_is_chosen(advice, number) ? "true" : "false");
    spate_append_json_member(text, "left_out", left_out_word(stream->left_out));
    for (size_t i = 0; i < G_N_ELEMENTS(estimates); i++) {
        g_string_append_printf(text, ", \"%s\": ", estimates[i].key);
        spate_estimate_append_json(text, estimates[i].estimate);
    }
    g_string_append_c(text, '}');
}

static void
append_json_nothing(GString *text, const SpateAdvice *advice)
{
    const char *separator = "";
    g_string_append(text, ",\n \"nothing_crosses\": [");
    for (guint group = 0; group < advice->index.groups->len; group++) {
        const SpateCrossingGroup *crossing =
            &g_array_index(advice->index.groups, SpateCrossingGroup, group);
        for (uint32_t k = 0; k < advice->index.n_traffics; k++) {
            if (spate_advise_crosses(advice, group, k))
                continue;
            g_string_append_printf(text, "%s{\"bridge\": ", separator);
            spate_append_json_string(text, spate_advise_bridge(advice, crossing));
            spate_append_json_member(text, "crossing", crossing->name);
            spate_append_json_member(text, "traffic", advice->scenario->traffics[k].name);
            g_string_append_c(text, '}');
            separator = ", ";
        }
    }
    g_string_append_c(text, ']');
}

static void
append_json_confirmation(GString *text, const SpateAdvice *advice)
{
    g_string_append(text, ",\n \"confirmation\": ");
    if (advice->verified == NULL)
        g_string_append(text, "null");
    else
        g_string_append_printf(
            text, "{\"searched\": %u, \"first\": %u, \"replications\": %u, \"refuted\": %u}",
            advice->n_searched, advice->first_fresh + 1, advice->verified->n_replications,
            advice->n_refuted);
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

void
spate_advise_append_json(GString *text, const SpateAdvice *advice)
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
    append_json_nothing(text, advice);
    spate_append_json_member(text, "answer", answer_word(advice->answer));
    g_string_append_printf(text, ", \"sets_tried\": %u, \"smallest\": %s", advice->n_sets_tried,
                           advice->is_smallest ? "true" : "false");
    g_string_append_printf(text, ", \"passes_one_of\": %u", advice->one_of);
    spate_append_json_member(text, "rules", advice->rules);
    append_json_verdicts(text, "as_it_is", advice->as_it_is);
    append_json_verdicts(text, "with_rules", advice->verified);
    append_json_confirmation(text, advice);
    spate_advise_append_json_prices(text, advice);
    g_string_append(text, "}\n");
}

void
spate_advise_append_csv(GString *text, const SpateAdvice *advice)
{
    g_string_append(text, "kind,bridge,crossing,traffic,source,people,chosen");
    static const char *const NAMES[] = {"messages_per_hour", "load_share", "collision_share",
                                        "gain"};
    for (size_t i = 0; i < G_N_ELEMENTS(NAMES); i++)
        g_string_append_printf(text, ",%s,%s_low,%s_high", NAMES[i], NAMES[i], NAMES[i]);
    spate_advise_append_csv_price_head(text);
    g_string_append_c(text, '\n');
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        const SpateCrossingGroup *crossing = spate_advise_crossing(advice, stream);
        g_string_append(text, "stream");
        spate_append_csv_field(text, spate_advise_bridge(advice, crossing));
        spate_append_csv_field(text, crossing->name);
        spate_append_csv_field(text, advice->scenario->traffics[stream->traffic].name);
        spate_append_csv_field(text, stream->source);
        g_string_append(text, stream->is_peoples ? ",yes" : ",no");
        g_string_append(text, spate_advise_is_chosen(advice, i) ? ",yes" : ",no");
        spate_append_csv_estimate(text, &stream->per_hour);
        spate_append_csv_estimate(text, &stream->load_share);
        spate_append_csv_estimate(text, &stream->collision_share);
        spate_append_csv_estimate(text, &stream->gain);
        spate_advise_append_csv_no_price(text);
        g_string_append_c(text, '\n');
    }
    spate_advise_append_csv_prices(text, advice);
}
