/* relays-report.c - which relay is worth its mast, and which outage costs most, as text */
#include "report/advise/advise-report.h"

#include "report/advise/advise-words.h"
#include "report/result/shared-forms.h"
#include "report/words/columns.h"
#include "report/words/left-out.h"

static SpateAdviceHead
head_of(const SpateRelayRanking *ranking)
{
    return spate_advice_head("relays", ranking->scenario, ranking->variant, ranking->n_replications,
                             ranking->interrupted);
}

/* ---- for people ------------------------------------------------------------------------------ */

static void
add_relay(SpateColumns *columns, const SpateRelayRanking *ranking, const SpateRelayWorth *worth)
{
    const SpateScenario *scenario = ranking->scenario;
    g_autofree char *so =
        spate_judged_verdict(&worth->loss, "is missed", "delivers better without it");
    spate_columns_add(columns, scenario->nodes[worth->node].name);
    spate_columns_take(columns, spate_judged_text(&worth->loss));
    spate_columns_take(columns, spate_judged_p_text(&worth->loss));
    spate_columns_take(columns, g_strdup_printf("%s%s", so, worth->is_bridge ? " (bridge)" : ""));
    spate_columns_take(columns, spate_effect_is_told(&worth->loss)
                                    ? spate_loser_text(scenario, &worth->loser)
                                    : g_strdup(""));
    spate_columns_end_line(columns);
}

/* "hill", or "hills (3)" of a group of three. */
static char *
outage_text(const SpateOutageCost *cost)
{
    return cost->n_nodes == 1 ? g_strdup(cost->name)
                              : g_strdup_printf("%s (%u)", cost->name, cost->n_nodes);
}

static void
add_outage(SpateColumns *columns, const SpateRelayRanking *ranking, size_t number)
{
    const SpateOutageCost *cost = &ranking->outages[number];
    spate_columns_take(columns, outage_text(cost));
    spate_columns_take(columns, spate_judged_text(&cost->loss));
    spate_columns_take(columns, spate_judged_p_text(&cost->loss));
    spate_columns_take(
        columns, spate_judged_verdict(&cost->loss, "costs delivery", "delivers better with it"));
    spate_columns_take(
        columns, number == 0 ? g_strdup("")
                             : spate_behind_text(&cost->behind, cost[-1].name, "costs less than"));
    spate_columns_take(columns, spate_effect_is_told(&cost->loss)
                                    ? spate_loser_text(ranking->scenario, &cost->loser)
                                    : g_strdup(""));
    spate_columns_end_line(columns);
}

static void
append_outages(GString *text, const SpateRelayRanking *ranking)
{
    static const char *const HEADS[] = {
        "outage", "costs, points", "p", "so", "than the one above", "loses most", NULL};
    if (ranking->n_outages == 0)
        return;
    g_string_append(
        text, "\noutage: all of one name is left out, while others come as written; it costs what "
              "arrives more without it\n\n");
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    spate_columns_add_heads(columns, HEADS);
    for (size_t i = 0; i < ranking->n_outages; i++)
        add_outage(columns, ranking, i);
    spate_columns_append(text, columns, 0);
    g_string_append_printf(text,
                           "\np and intervals of outages are those of all %zu together, as above; "
                           "so are the comparisons with the one above\n",
                           ranking->n_outages);
}

static void
append_relays(GString *text, const SpateRelayRanking *ranking)
{
    static const char *const HEADS[] = {"silent", "loses, points", "p", "so", "loses most", NULL};
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
}

static void
append_table(GString *text, const SpateRelayRanking *ranking)
{
    const SpateAdviceHead head = head_of(ranking);
    spate_advice_append_head(text, &head);
    spate_people_append(text, &ranking->people, &ranking->delivery, "all");
    append_relays(text, ranking);
    append_outages(text, ranking);
    if (ranking->n_relays == 0)
        return;
    spate_append_left_out(text);
    g_string_append_c(text, '\n');
}

/* ---- for programs ---------------------------------------------------------------------------- */

typedef struct {
    const char *kind, *node; /* node: or group */
    bool is_bridge;
    uint32_t n_nodes, n_entries;
    SpateToldForm loss, behind;
    bool has_behind;
    SpateLoserForm loser;
} Line;

#define LOSS_MEMBERS                                                                               \
    SPATE_ESTIMATE_MEMBER("loss", Line, loss.own),                                                 \
        {NULL, SPATE_CELL_PARTS, offsetof(Line, loss), .form = &SPATE_TOLD_FORM},                  \
    {                                                                                              \
        "loses_most", SPATE_CELL_OBJECT, offsetof(Line, loser),                                    \
            .form = &SPATE_LOSER_FORM, .given = SPATE_GIVEN(Line, loser.is_given)                  \
    }

static const SpateMember RELAY[] = {
    {"node", SPATE_CELL_TEXT, offsetof(Line, node)},
    {"bridge", SPATE_CELL_FLAG, offsetof(Line, is_bridge)},
    LOSS_MEMBERS,
};

static const SpateMember OUTAGE[] = {
    {"node", SPATE_CELL_TEXT, offsetof(Line, node)},
    {"nodes", SPATE_CELL_WHOLE, offsetof(Line, n_nodes)},
    {"entries", SPATE_CELL_WHOLE, offsetof(Line, n_entries)},
    LOSS_MEMBERS,
    {"behind", SPATE_CELL_OBJECT, offsetof(Line, behind), .form = &SPATE_BEHIND_FORM,
     .given = SPATE_GIVEN(Line, has_behind)},
};

static const SpateMember LINE[] = {
    {"kind", SPATE_CELL_TEXT, offsetof(Line, kind)},
    {"node", SPATE_CELL_TEXT, offsetof(Line, node)},
    {"bridge", SPATE_CELL_FLAG, offsetof(Line, is_bridge)},
    {"loss", SPATE_CELL_NUMBER, offsetof(Line, loss.own.mean)},
    {"low", SPATE_CELL_NUMBER, offsetof(Line, loss.own.ci95.low)},
    {"high", SPATE_CELL_NUMBER, offsetof(Line, loss.own.ci95.high)},
    {"p_holm", SPATE_CELL_NUMBER, offsetof(Line, loss.p)},
    {"distinguishable", SPATE_CELL_FLAG, offsetof(Line, loss.is_told)},
};
static const SpateForm LINE_FORM = SPATE_FORM(Line, LINE);

typedef struct {
    SpateAdviceHead head;
    SpatePeopleForm people;
    Line *relays, *outages;
    size_t n_relays, n_outages;
} Document;

static const SpateMember DOCUMENT[] = {
    {NULL, SPATE_CELL_PARTS, offsetof(Document, head), .form = &SPATE_ADVICE_HEAD_FORM},
    {"people", SPATE_CELL_OBJECT, offsetof(Document, people), .form = &SPATE_PEOPLE_FORM,
     .line = "\n "},
    {"relays", SPATE_CELL_LIST, SPATE_LIST(Document, relays, n_relays), SPATE_OF(Line, RELAY),
     .line = "\n ", .each = "\n  "},
    {"outages", SPATE_CELL_LIST, SPATE_LIST(Document, outages, n_outages), SPATE_OF(Line, OUTAGE),
     .line = "\n ", .each = "\n  "},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

static Line
relay_line(const SpateRelayRanking *ranking, size_t number)
{
    const SpateRelayWorth *worth = &ranking->relays[number];
    return (Line){.kind = "relay",
                  .node = ranking->scenario->nodes[worth->node].name,
                  .is_bridge = worth->is_bridge,
                  .loss = spate_told_form(&worth->loss),
                  .loser = spate_loser_form(ranking->scenario, &worth->loser)};
}

static Line
outage_line(const SpateRelayRanking *ranking, size_t number)
{
    const SpateOutageCost *cost = &ranking->outages[number];
    return (Line){.kind = "outage",
                  .node = cost->name,
                  .n_nodes = cost->n_nodes,
                  .n_entries = cost->n_entries,
                  .loss = spate_told_form(&cost->loss),
                  .behind = spate_told_form(&cost->behind),
                  .has_behind = number > 0,
                  .loser = spate_loser_form(ranking->scenario, &cost->loser)};
}

static void
append_json(GString *text, const SpateRelayRanking *ranking)
{
    g_autofree Line *relays = g_new(Line, ranking->n_relays + 1);
    g_autofree Line *outages = g_new(Line, ranking->n_outages + 1);
    Document document = {.head = head_of(ranking),
                         .people = spate_people_form(&ranking->people, &ranking->delivery),
                         .relays = relays,
                         .n_relays = ranking->n_relays,
                         .outages = outages,
                         .n_outages = ranking->n_outages};
    for (size_t i = 0; i < ranking->n_relays; i++)
        relays[i] = relay_line(ranking, i);
    for (size_t i = 0; i < ranking->n_outages; i++)
        outages[i] = outage_line(ranking, i);
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
    g_free(document.people.traffics);
}

static void
append_csv(GString *text, const SpateRelayRanking *ranking)
{
    spate_form_append_csv_head(text, &LINE_FORM);
    for (size_t i = 0; i < ranking->n_relays; i++) {
        const Line line = relay_line(ranking, i);
        spate_form_append_csv(text, &LINE_FORM, &line);
    }
    for (size_t i = 0; i < ranking->n_outages; i++) {
        const Line line = outage_line(ranking, i);
        spate_form_append_csv(text, &LINE_FORM, &line);
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
