/* relays-report.c - which relay is worth its mast, as text */
#include "report/advise/advise-report.h"

#include "report/advise/advise-words.h"
#include "report/result/shared-forms.h"
#include "report/words/columns.h"
#include "report/words/left-out.h"

static bool
is_distinct(const SpateRelayWorth *worth)
{
    return worth->p < SPATE_RELAY_RISK;
}

static SpateAdviceHead
head_of(const SpateRelayRanking *ranking)
{
    return spate_advice_head("relays", ranking->scenario, ranking->variant, ranking->n_replications,
                             ranking->interrupted);
}

/* ---- for people ------------------------------------------------------------------------------ */

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
    g_autofree char *loss = spate_estimate_percent(&worth->loser_loss, true);
    return g_strdup_printf("%s %s", ranking->scenario->traffics[worth->loser].name, loss);
}

static void
add_relay(SpateColumns *columns, const SpateRelayRanking *ranking, const SpateRelayWorth *worth)
{
    const SpateEstimate tested = {worth->loss.mean, worth->tested, worth->loss.n};
    g_autofree char *so = verdict(worth);
    spate_columns_add(columns, ranking->scenario->nodes[worth->node].name);
    spate_columns_take(columns, spate_estimate_percent(&tested, true));
    spate_columns_take(columns, worth->p < 0.0001
                                    ? g_strdup("< 0.0001")
                                    : spate_figure_text(worth->p, (SpateShown){1.0, 4, false}));
    spate_columns_take(columns, g_strdup_printf("%s%s", so, worth->is_bridge ? " (bridge)" : ""));
    spate_columns_take(columns, loser(ranking, worth));
    spate_columns_end_line(columns);
}

static void
append_table(GString *text, const SpateRelayRanking *ranking)
{
    static const char *const HEADS[] = {"silent", "loses, points", "p", "so", "loses most", NULL};
    const SpateAdviceHead head = head_of(ranking);
    spate_advice_append_head(text, &head);
    spate_people_append(text, &ranking->people, &ranking->delivery, "all");
    g_string_append(text, "silent: it relays on no bearer and nothing crosses it; it still sends "
                          "its own messages\n\n");
    if (ranking->n_relays == 0) {
        g_string_append(text, ranking->interrupted ? "interrupted before all were tried\n"
                                                   : "no node relays\n");
        return;
    }
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    spate_columns_add_heads(columns, HEADS);
    for (size_t i = 0; i < ranking->n_relays; i++)
        add_relay(columns, ranking, &ranking->relays[i]);
    spate_columns_append(text, columns, 0);
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

/* ---- for programs ---------------------------------------------------------------------------- */

typedef struct {
    SpateRelayWorth its;
    const char *node, *traffic; /* traffic: that loses most */
    bool is_distinct, has_loser;
    uint32_t more; /* SPATE_NO_THING: there is nothing to decide, or too much */
} Relay;

static const SpateMember LOSES_MOST[] = {
    {"traffic", SPATE_CELL_TEXT, offsetof(Relay, traffic)},
    SPATE_ESTIMATE_MEMBER("loss", Relay, its.loser_loss),
};

static const SpateMember RELAY[] = {
    {"node", SPATE_CELL_TEXT, offsetof(Relay, node)},
    {"bridge", SPATE_CELL_FLAG, offsetof(Relay, its.is_bridge)},
    SPATE_ESTIMATE_MEMBER("loss", Relay, its.loss),
    {"p_holm", SPATE_CELL_NUMBER, offsetof(Relay, its.p)},
    {"distinguishable", SPATE_CELL_FLAG, offsetof(Relay, is_distinct)},
    {"interval_holm", SPATE_CELL_INTERVAL, offsetof(Relay, its.tested)},
    {"more", SPATE_CELL_WHOLE, offsetof(Relay, more), SPATE_OR_NULL},
    {"loses_most", SPATE_CELL_OBJECT, SPATE_OF(Relay, LOSES_MOST),
     .given = SPATE_GIVEN(Relay, has_loser)},
};

static const SpateMember LINE[] = {
    {"kind", SPATE_CELL_FIXED, .fixed = "relay"},
    {"node", SPATE_CELL_TEXT, offsetof(Relay, node)},
    {"bridge", SPATE_CELL_FLAG, offsetof(Relay, its.is_bridge)},
    {"loss", SPATE_CELL_NUMBER, offsetof(Relay, its.loss.mean)},
    {"low", SPATE_CELL_NUMBER, offsetof(Relay, its.loss.ci95.low)},
    {"high", SPATE_CELL_NUMBER, offsetof(Relay, its.loss.ci95.high)},
    {"p_holm", SPATE_CELL_NUMBER, offsetof(Relay, its.p)},
    {"distinguishable", SPATE_CELL_FLAG, offsetof(Relay, is_distinct)},
};
static const SpateForm LINE_FORM = SPATE_FORM(Relay, LINE);

typedef struct {
    SpateAdviceHead head;
    SpatePeopleForm people;
    Relay *relays;
    size_t n_relays;
} Document;

static const SpateMember DOCUMENT[] = {
    {NULL, SPATE_CELL_PARTS, offsetof(Document, head), .form = &SPATE_ADVICE_HEAD_FORM},
    {"people", SPATE_CELL_OBJECT, offsetof(Document, people), .form = &SPATE_PEOPLE_FORM,
     .line = "\n "},
    {"relays", SPATE_CELL_LIST, SPATE_LIST(Document, relays, n_relays), SPATE_OF(Relay, RELAY),
     .line = "\n ", .each = "\n  "},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

static Relay
relay_of(const SpateRelayRanking *ranking, size_t number)
{
    const SpateRelayWorth *worth = &ranking->relays[number];
    bool is_open = !is_distinct(worth) && worth->more != SPATE_MORE_NEVER;
    bool has_loser = worth->loser_loss.n > 0;
    return (Relay){.its = *worth,
                   .node = ranking->scenario->nodes[worth->node].name,
                   .traffic = has_loser ? ranking->scenario->traffics[worth->loser].name : NULL,
                   .is_distinct = is_distinct(worth),
                   .has_loser = has_loser,
                   .more = is_open ? worth->more : SPATE_NO_THING};
}

static void
append_json(GString *text, const SpateRelayRanking *ranking)
{
    Document document = {.head = head_of(ranking),
                         .people = spate_people_form(&ranking->people, &ranking->delivery),
                         .relays = g_new(Relay, ranking->n_relays + 1),
                         .n_relays = ranking->n_relays};
    for (size_t i = 0; i < ranking->n_relays; i++)
        document.relays[i] = relay_of(ranking, i);
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
    g_free(document.people.traffics);
    g_free(document.relays);
}

static void
append_csv(GString *text, const SpateRelayRanking *ranking)
{
    spate_form_append_csv_head(text, &LINE_FORM);
    for (size_t i = 0; i < ranking->n_relays; i++) {
        const Relay relay = relay_of(ranking, i);
        spate_form_append_csv(text, &LINE_FORM, &relay);
    }
}

void
spate_relays_report_append(GString *text, const SpateRelayRanking *ranking, SpateFormat format)
{
    static void (*const FORMATS[])(GString *, const SpateRelayRanking *) = {
        [SPATE_FORMAT_TABLE] = append_table,
        [SPATE_FORMAT_JSON] = append_json,
        [SPATE_FORMAT_CSV] = append_csv,
    };
    FORMATS[format](text, ranking);
}
