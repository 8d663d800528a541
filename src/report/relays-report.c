/* relays-report.c - which relay is worth its mast, as text */
#include "report/advise-report.h"

#include "report/advise-words.h"
#include "report/columns.h"
#include "report/csv-text.h"
#include "report/json-text.h"
#include "report/left-out.h"
#include "report/numbers.h"

static bool
is_distinct(const SpateRelayWorth *worth)
{
    return worth->p < SPATE_RELAY_RISK;
}

static const char *
verdict(const SpateRelayWorth *worth)
{
    if (!is_distinct(worth))
        return "not distinguishable from zero";
    return worth->loss.mean > 0.0 ? "is missed" : "delivers better without it";
}

static void
add_relay(SpateColumns *columns, const SpateRelayRanking *ranking, const SpateRelayWorth *worth)
{
    spate_columns_add(columns, ranking->scenario->nodes[worth->node].name);
    spate_columns_take(columns, spate_estimate_percent(&worth->loss, TRUE));
    spate_columns_take(columns,
                       worth->p < 0.0001 ? g_strdup("< 0.0001") : spate_number_fixed(worth->p, 4));
    spate_columns_take(
        columns, g_strdup_printf("%s%s", verdict(worth), worth->is_bridge ? " (bridge)" : ""));
    spate_columns_end_line(columns);
}

static void
append_table(GString *text, const SpateRelayRanking *ranking)
{
    spate_advise_append_head(text, ranking->scenario, ranking->variant, ranking->n_replications,
                             ranking->interrupted);
    spate_people_append(text, &ranking->people, &ranking->delivery, "all");
    g_string_append(text, "silent: it relays on no bearer and nothing crosses it; what it offers "
                          "itself it still sends\n\n");
    g_autoptr(SpateColumns) columns = spate_columns_new();
    static const char *const HEADS[] = {"silent", "loses, points", "p", "so"};
    for (size_t i = 0; i < G_N_ELEMENTS(HEADS); i++)
        spate_columns_add(columns, HEADS[i]);
    spate_columns_end_line(columns);
    for (size_t i = 0; i < ranking->n_relays; i++)
        add_relay(columns, ranking, &ranking->relays[i]);
    if (ranking->n_relays > 0)
        spate_columns_append(text, columns, 0);
    else
        g_string_append(text, ranking->interrupted ? "interrupted before all were tried\n"
                                                   : "no node relays\n");
    if (ranking->n_relays == 0)
        return;
    g_string_append_printf(text,
                           "\np is adjusted for all %zu (Holm): at most 5 %% risk in all of "
                           "telling any apart from zero that is not\n",
                           ranking->n_relays);
    spate_append_left_out(text);
    g_string_append_c(text, '\n');
}

static void
append_json(GString *text, const SpateRelayRanking *ranking)
{
    spate_advise_append_json_head(text, "relays", ranking->scenario, ranking->variant,
                                  ranking->n_replications, ranking->interrupted);
    spate_people_append_json(text, &ranking->people, &ranking->delivery);
    g_string_append(text, ",\n \"relays\": [");
    for (size_t i = 0; i < ranking->n_relays; i++) {
        const SpateRelayWorth *worth = &ranking->relays[i];
        g_string_append(text, i > 0 ? ",\n  {\"node\": " : "\n  {\"node\": ");
        spate_append_json_string(text, ranking->scenario->nodes[worth->node].name);
        g_string_append_printf(text,
                               ", \"bridge\": %s, \"loss\": ", worth->is_bridge ? "true" : "false");
        spate_estimate_append_json(text, &worth->loss);
        g_string_append(text, ", \"p_holm\": ");
        spate_append_number(text, worth->p);
        g_string_append_printf(text, ", \"distinguishable\": %s}",
                               is_distinct(worth) ? "true" : "false");
    }
    g_string_append(text, "]}\n");
}

static void
append_csv(GString *text, const SpateRelayRanking *ranking)
{
    g_string_append(text, "kind,node,bridge,loss,low,high,p_holm,distinguishable\n");
    for (size_t i = 0; i < ranking->n_relays; i++) {
        const SpateRelayWorth *worth = &ranking->relays[i];
        g_string_append(text, "relay");
        spate_append_csv_field(text, ranking->scenario->nodes[worth->node].name);
        g_string_append(text, worth->is_bridge ? ",yes" : ",no");
        spate_append_csv_estimate(text, &worth->loss);
        g_string_append_c(text, ',');
        spate_append_number(text, worth->p);
        g_string_append(text, is_distinct(worth) ? ",yes\n" : ",no\n");
    }
}

void
spate_relays_report_append(GString *text, const SpateRelayRanking *ranking, SpateFormat format)
{
    switch (format) {
    case SPATE_FORMAT_TABLE:
        append_table(text, ranking);
        break;
    case SPATE_FORMAT_JSON:
        append_json(text, ranking);
        break;
    case SPATE_FORMAT_CSV:
        append_csv(text, ranking);
        break;
    }
}
