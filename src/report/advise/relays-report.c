/* relays-report.c - which relay is worth its mast, as text */
#include "report/advise/advise-report.h"

#include "document/csv-text.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/advise/advise-words.h"
#include "report/words/columns.h"
#include "report/words/left-out.h"

static bool
is_distinct(const SpateRelayWorth *worth)
{
    return worth->p < SPATE_RELAY_RISK;
}

/* Free with g_free(). */
static char *
verdict(const SpateRelayWorth *worth)
{
    if (is_distinct(worth))
        return g_strdup(worth->loss.mean > 0.0 ? "is missed" : "delivers better without it");
    if (worth->loss.n == 0)
        return g_strdup("no value to judge by");
    if (worth->more == SPATE_MORE_NEVER)
        return g_strdup("no difference");
    if (worth->more == SPATE_MORE_MANY)
        return g_strdup_printf("undecided, more than %d more replications", SPATE_MORE_MOST);
    return g_strdup_printf("undecided, about %u more replication%s", worth->more,
                           worth->more == 1 ? "" : "s");
}

/* "talk +21.6 [+4.7, +38.5]", where the relay is missed.  Free with g_free(). */
static char *
loser(const SpateRelayRanking *ranking, const SpateRelayWorth *worth)
{
    if (!is_distinct(worth) || worth->loser_loss.n == 0)
        return g_strdup("");
    g_autofree char *loss = spate_estimate_percent(&worth->loser_loss, TRUE);
    return g_strdup_printf("%s %s", ranking->scenario->traffics[worth->loser].name, loss);
}

static void
add_relay(SpateColumns *columns, const SpateRelayRanking *ranking, const SpateRelayWorth *worth)
{
    spate_columns_add(columns, ranking->scenario->nodes[worth->node].name);
    const SpateEstimate tested = {worth->loss.mean, worth->tested, worth->loss.n};
    g_autofree char *so = verdict(worth);
    spate_columns_take(columns, spate_estimate_percent(&tested, TRUE));
    spate_columns_take(columns,
                       worth->p < 0.0001 ? g_strdup("< 0.0001") : spate_number_fixed(worth->p, 4));
    spate_columns_take(columns, g_strdup_printf("%s%s", so, worth->is_bridge ? " (bridge)" : ""));
    spate_columns_take(columns, loser(ranking, worth));
    spate_columns_end_line(columns);
}

static void
append_table(GString *text, const SpateRelayRanking *ranking)
{
    spate_advise_append_head(text, ranking->scenario, ranking->variant, ranking->n_replications,
                             ranking->interrupted);
    spate_people_append(text, &ranking->people, &ranking->delivery, "all");
    g_string_append(text, "silent: it relays on no bearer and nothing crosses it; it still sends "
                          "its own messages\n\n");
    g_autoptr(SpateColumns) columns = spate_columns_new();
    static const char *const HEADS[] = {"silent", "loses, points", "p", "so", "loses most"};
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
    g_string_append_printf(
        text,
        "\np and intervals are those of all %zu together (Holm): at most 5 %% risk "
        "in all that one that makes no\ndifference is called missed or harmful; an "
        "interval excludes 0 exactly where p is below 5 %%.\n\"loses most\": of single "
        "traffics, with its own 95 %% interval\n",
        ranking->n_relays);
    spate_append_left_out(text);
    g_string_append_c(text, '\n');
}

static void
append_json_more(GString *text, const SpateRelayWorth *worth)
{
    g_string_append(text, ", \"more\": ");
    if (is_distinct(worth) || worth->more == SPATE_MORE_NEVER || worth->more == SPATE_MORE_MANY)
        g_string_append(text, "null");
    else
        g_string_append_printf(text, "%u", worth->more);
}

static void
append_json_loser(GString *text, const SpateRelayRanking *ranking, const SpateRelayWorth *worth)
{
    g_string_append(text, ", \"loses_most\": ");
    if (worth->loser_loss.n == 0) {
        g_string_append(text, "null");
        return;
    }
    g_string_append(text, "{\"traffic\": ");
    spate_append_json_string(text, ranking->scenario->traffics[worth->loser].name);
    g_string_append(text, ", \"loss\": ");
    spate_estimate_append_json(text, &worth->loser_loss);
    g_string_append_c(text, '}');
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
        g_string_append_printf(text, ", \"distinguishable\": %s, \"interval_holm\": ",
                               is_distinct(worth) ? "true" : "false");
        spate_append_json_interval(text, worth->tested);
        append_json_more(text, worth);
        append_json_loser(text, ranking, worth);
        g_string_append_c(text, '}');
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
