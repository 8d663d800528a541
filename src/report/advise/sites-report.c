/* sites-report.c - which candidates to build, as text */
#include "report/advise/advise-report.h"

#include "report/advise/advise-words.h"
#include "report/result/shared-forms.h"
#include "report/words/columns.h"
#include "report/words/left-out.h"
#include <string.h>

static SpateAdviceHead
head_of(const SpateSiteRanking *ranking)
{
    return spate_advice_head("sites", ranking->scenario, ranking->variant, ranking->n_replications,
                             ranking->interrupted);
}

static const char *
name_of(const SpateSiteRanking *ranking, uint32_t site)
{
    return ranking->scenario->sites[site].name;
}

/* ---- for people ------------------------------------------------------------------------------ */

/* "valley +1.2 [+1.0, +1.4]": where the load changes; free with g_free(). */
static char *
load_text(const SpateScenario *scenario, const SpateSiteChange *change)
{
    GString *text = g_string_new(NULL);
    for (uint32_t i = 0; i < scenario->n_bearers; i++) {
        const SpateEstimate *load = &change->loads[i];
        if (load->n == 0 || load->mean == 0.0)
            continue;
        g_autofree char *grown = spate_estimate_percent(load, true);
        g_string_append_printf(text, "%s%s %s", text->len > 0 ? ", " : "",
                               scenario->bearers[i].name, grown);
    }
    return g_string_free(text, FALSE);
}

static void
add_site(SpateColumns *columns, const SpateSiteRanking *ranking, size_t number)
{
    const SpateSiteWorth *worth = &ranking->sites[number];
    spate_columns_add(columns, name_of(ranking, worth->site));
    spate_columns_take(columns, spate_judged_text(&worth->gain));
    spate_columns_take(columns, spate_judged_p_text(&worth->gain));
    spate_columns_take(columns, spate_judged_verdict(&worth->gain, "wins", "harms"));
    spate_columns_take(columns, number == 0 ? g_strdup("")
                                            : spate_behind_text(&worth->behind,
                                                                name_of(ranking, worth[-1].site),
                                                                "wins less than"));
    spate_columns_take(columns, load_text(ranking->scenario, &worth->change));
    spate_columns_take(columns, spate_loser_text(ranking->scenario, &worth->change.loser));
    spate_columns_end_line(columns);
}

static void
append_ranking(GString *text, const SpateSiteRanking *ranking)
{
    static const char *const HEADS[] = {
        "site",         "wins, points", "p", "so", "than the one above",
        "load, points", "loses most",   NULL};
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    spate_columns_add_heads(columns, HEADS);
    for (size_t i = 0; i < ranking->n_sites; i++)
        add_site(columns, ranking, i);
    spate_columns_append(text, columns, 0);
    g_string_append_printf(
        text,
        "\np and intervals are those of all %zu together (Holm): at most 5 %% risk in all that one "
        "that makes no\ndifference is said to win or to harm; so are the comparisons with the one "
        "above. \"load\": time on air of all\nradios, in percent of the time; \"loses most\": of "
        "single traffics; each with its own 95 %% interval\n",
        ranking->n_sites);
}

#define MOST_TIES 3

/* What could have been built instead, as far as these replications tell; free with g_free(). */
static char *
ties_text(const SpateSiteRanking *ranking, const SpateSiteStep *step)
{
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < step->ties->len && i < MOST_TIES; i++) {
        const SpateSiteTie *tie = &g_array_index(step->ties, SpateSiteTie, i);
        g_autofree char *more = spate_more_text(tie->more);
        g_string_append_printf(text, "%s%s (%s)", i > 0 ? ", " : "", name_of(ranking, tie->site),
                               more);
    }
    if (step->ties->len > MOST_TIES)
        g_string_append_printf(text, " and %u more", step->ties->len - MOST_TIES);
    return g_string_free(text, FALSE);
}

static void
append_end(GString *text, const SpateSiteRanking *ranking)
{
    switch (ranking->end) {
    case SPATE_SITES_ALL_BUILT:
        g_string_append(text, "all candidates are built\n");
        break;
    case SPATE_SITES_NOT_TOLD: {
        g_autofree char *gain = spate_judged_text(&ranking->next.gain);
        g_autofree char *so = spate_judged_verdict(&ranking->next.gain, "wins", "it harms");
        g_string_append_printf(text,
                               "it ends there: the best of the rest, %s, is not sure to win "
                               "anything more: %s (%s)\n",
                               name_of(ranking, ranking->next.site), gain, so);
        break;
    }
    case SPATE_SITES_ENOUGH:
        g_string_append_printf(text, "it ends there: at most %d steps are made\n",
                               SPATE_SITES_MOST_STEPS);
        break;
    case SPATE_SITES_NONE:
        break;
    case SPATE_SITES_OPEN:
        g_string_append(text, "interrupted before the next one was found\n");
        break;
    }
}

/* Sites that win only together are missed by one step at a time. */
static void
append_together(GString *text, const SpateSiteRanking *ranking)
{
    const SpateJudgedEffect *together = &ranking->together;
    if (ranking->end != SPATE_SITES_NOT_TOLD || together->own.n == 0 ||
        !spate_effect_is_told(together) || together->own.mean <= 0.0)
        return;
    g_autofree char *gain = spate_judged_text(together);
    g_string_append_printf(text,
                           "all that are left win something at once, built together: %s points; "
                           "some help only with others\n",
                           gain);
}

static void
append_steps(GString *text, const SpateSiteRanking *ranking)
{
    static const char *const HEADS[] = {
        "built",      "wins, points",           "arrives, %", "load, points",
        "loses most", "not told apart from it", NULL};
    g_string_append(text, "\none after the other, each beside those before it:\n");
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    spate_columns_add_heads(columns, HEADS);
    for (size_t i = 0; i < ranking->n_steps; i++) {
        const SpateSiteStep *step = &ranking->steps[i];
        spate_columns_add(columns, name_of(ranking, step->site));
        spate_columns_take(columns, spate_judged_text(&step->gain));
        spate_columns_take(columns, spate_estimate_percent(&step->change.delivery, false));
        spate_columns_take(columns, load_text(ranking->scenario, &step->change));
        spate_columns_take(columns, spate_loser_text(ranking->scenario, &step->change.loser));
        spate_columns_take(columns, ties_text(ranking, step));
        spate_columns_end_line(columns);
    }
    if (ranking->n_steps > 0)
        spate_columns_append(text, columns, 0);
    append_end(text, ranking);
    append_together(text, ranking);
}

static bool
is_variant(const SpateScenario *scenario, const char *name)
{
    for (uint32_t i = 0; i < scenario->n_variants; i++)
        if (strcmp(scenario->variants[i].name, name) == 0)
            return true;
    return false;
}

static void
append_lines(GString *text, const char *lines, const char *indent)
{
    g_auto(GStrv) each = g_strsplit(lines, "\n", -1);
    for (size_t i = 0; each[i] != NULL; i++)
        if (each[i][0] != '\0')
            g_string_append_printf(text, "%s%s\n", indent, each[i]);
}

/* A variant starts from the base: what was found for another one goes into that. */
static void
append_choice(GString *text, const SpateSiteRanking *ranking)
{
    if (ranking->set == NULL)
        return;
    if (strcmp(ranking->variant, "base") != 0) {
        g_string_append_printf(text, "\nthe choice, to paste below 'set:' of variant %s:\n\n",
                               ranking->variant);
        append_lines(text, ranking->set, "      ");
        return;
    }
    g_autofree char *name = g_strdup("built");
    for (int i = 2; is_variant(ranking->scenario, name); i++) {
        g_free(name);
        name = g_strdup_printf("built-%d", i);
    }
    g_string_append_printf(text, "\nthe choice, to paste below 'variants:':\n\n  %s:\n    set:\n",
                           name);
    append_lines(text, ranking->set, "      ");
}

static void
append_joins(GString *text, const SpateSiteRanking *ranking)
{
    const SpateScenario *scenario = ranking->scenario;
    g_autoptr(GString) names = g_string_new(NULL);
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        if (ranking->joins[i])
            g_string_append_printf(names, "%s%s", names->len > 0 ? ", " : "",
                                   scenario->traffics[i].name);
    if (names->len > 0)
        g_string_append_printf(text,
                               "sites are sources or recipients of %s too, once they are built: "
                               "not counted here, but by the other commands\n",
                               names->str);
}

static void
append_table(GString *text, const SpateSiteRanking *ranking)
{
    const SpateAdviceHead head = head_of(ranking);
    spate_advice_append_head(text, &head);
    spate_people_append(text, &ranking->people, &ranking->delivery, "all");
    g_string_append(text,
                    "site: built alone, beside what is there; it carries for others and sends "
                    "nothing of its own\n");
    append_joins(text, ranking);
    g_string_append_c(text, '\n');
    if (ranking->n_sites == 0) {
        g_string_append(text, ranking->interrupted ? "interrupted before all were tried\n"
                                                   : "no node is a candidate (candidate: yes)\n");
        return;
    }
    append_ranking(text, ranking);
    append_steps(text, ranking);
    append_choice(text, ranking);
    g_string_append_c(text, '\n');
    spate_append_left_out(text);
    g_string_append_c(text, '\n');
}

/* ---- for programs ---------------------------------------------------------------------------- */

typedef struct {
    const char *bearer;
    SpateEstimate change;
} Load;

typedef struct {
    const char *node;
    uint32_t more; /* SPATE_NO_THING: they look the same, or too many */
} Tie;

typedef struct {
    const char *kind, *node;
    SpateToldForm gain, behind;
    SpateEstimate delivery;
    bool has_behind;
    Load *loads;
    Tie *ties;
    uint32_t n_loads, n_ties;
    SpateLoserForm loser;
} Line;

static const SpateMember LOAD[] = {
    {"bearer", SPATE_CELL_TEXT, offsetof(Load, bearer)},
    SPATE_ESTIMATE_MEMBER("change", Load, change),
};

static const SpateMember TIE[] = {
    {"node", SPATE_CELL_TEXT, offsetof(Tie, node)},
    {"more", SPATE_CELL_WHOLE, offsetof(Tie, more), SPATE_OR_NULL},
};

#define NODE_AND_GAIN                                                                              \
    {"node", SPATE_CELL_TEXT, offsetof(Line, node)}, SPATE_ESTIMATE_MEMBER("gain", Line, gain.own)
#define TOLD_MEMBERS                                                                               \
    {                                                                                              \
        NULL, SPATE_CELL_PARTS, offsetof(Line, gain), .form = &SPATE_TOLD_FORM                     \
    }
#define CHANGE_MEMBERS                                                                             \
    {"load", SPATE_CELL_LIST, SPATE_LIST(Line, loads, n_loads), SPATE_OF(Load, LOAD)},             \
    {                                                                                              \
        "loses_most", SPATE_CELL_OBJECT, offsetof(Line, loser),                                    \
            .form = &SPATE_LOSER_FORM, .given = SPATE_GIVEN(Line, loser.is_given)                  \
    }

static const SpateMember SITE[] = {
    NODE_AND_GAIN,
    TOLD_MEMBERS,
    {"behind", SPATE_CELL_OBJECT, offsetof(Line, behind), .form = &SPATE_BEHIND_FORM,
     .given = SPATE_GIVEN(Line, has_behind)},
    CHANGE_MEMBERS,
};

static const SpateMember STEP[] = {
    NODE_AND_GAIN,
    SPATE_ESTIMATE_MEMBER("delivery", Line, delivery),
    TOLD_MEMBERS,
    CHANGE_MEMBERS,
    {"ties", SPATE_CELL_LIST, SPATE_LIST(Line, ties, n_ties), SPATE_OF(Tie, TIE)},
};

static const SpateMember TOGETHER[] = {
    SPATE_ESTIMATE_MEMBER("gain", SpateToldForm, own),
    {NULL, SPATE_CELL_PARTS, 0, .form = &SPATE_TOLD_FORM},
};

static const SpateMember CSV_LINE[] = {
    {"kind", SPATE_CELL_TEXT, offsetof(Line, kind)},
    {"node", SPATE_CELL_TEXT, offsetof(Line, node)},
    {"gain", SPATE_CELL_NUMBER, offsetof(Line, gain.own.mean)},
    {"low", SPATE_CELL_NUMBER, offsetof(Line, gain.own.ci95.low)},
    {"high", SPATE_CELL_NUMBER, offsetof(Line, gain.own.ci95.high)},
    {"p_holm", SPATE_CELL_NUMBER, offsetof(Line, gain.p)},
    {"distinguishable", SPATE_CELL_FLAG, offsetof(Line, gain.is_told)},
    {"delivery", SPATE_CELL_NUMBER, offsetof(Line, delivery.mean)},
};
static const SpateForm CSV_FORM = SPATE_FORM(Line, CSV_LINE);

static const char *const ENDS[] = {
    [SPATE_SITES_ALL_BUILT] = "all-built", [SPATE_SITES_NOT_TOLD] = "not-told",
    [SPATE_SITES_ENOUGH] = "enough",       [SPATE_SITES_NONE] = "no-candidates",
    [SPATE_SITES_OPEN] = "interrupted",
};

typedef struct {
    SpateAdviceHead head;
    SpatePeopleForm people;
    Line *sites, *steps, next;
    size_t n_sites, n_steps;
    int end;
    bool has_next, has_together;
    SpateToldForm together;
    const char **joins;
    const char *set;
} Document;

static const SpateMember DOCUMENT[] = {
    {NULL, SPATE_CELL_PARTS, offsetof(Document, head), .form = &SPATE_ADVICE_HEAD_FORM},
    {"people", SPATE_CELL_OBJECT, offsetof(Document, people), .form = &SPATE_PEOPLE_FORM,
     .line = "\n "},
    {"joins", SPATE_CELL_TEXTS, offsetof(Document, joins)},
    {"sites", SPATE_CELL_LIST, SPATE_LIST(Document, sites, n_sites), SPATE_OF(Line, SITE),
     .line = "\n ", .each = "\n  "},
    {"greedy", SPATE_CELL_LIST, SPATE_LIST(Document, steps, n_steps), SPATE_OF(Line, STEP),
     .line = "\n ", .each = "\n  "},
    {"end", SPATE_CELL_WORD, offsetof(Document, end), SPATE_WORDS(ENDS), .line = "\n "},
    {"next", SPATE_CELL_OBJECT, offsetof(Document, next), SPATE_OF(Line, STEP),
     .given = SPATE_GIVEN(Document, has_next)},
    {"together", SPATE_CELL_OBJECT, offsetof(Document, together), SPATE_OF(SpateToldForm, TOGETHER),
     .given = SPATE_GIVEN(Document, has_together)},
    {"set", SPATE_CELL_TEXT, offsetof(Document, set), SPATE_OR_NULL, .line = "\n "},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

static void
clear_line(Line *line)
{
    g_free(line->loads);
    g_free(line->ties);
}

/* Clear it. */
static Line
line_of(const SpateSiteRanking *ranking, const char *kind, uint32_t site,
        const SpateJudgedEffect *gain, const SpateSiteChange *change)
{
    const SpateScenario *scenario = ranking->scenario;
    Line line = {.kind = kind,
                 .node = name_of(ranking, site),
                 .gain = spate_told_form(gain),
                 .delivery = change->delivery,
                 .loser = spate_loser_form(scenario, &change->loser),
                 .loads = g_new(Load, scenario->n_bearers + 1u),
                 .n_loads = scenario->n_bearers};
    for (uint32_t i = 0; i < scenario->n_bearers; i++)
        line.loads[i] = (Load){scenario->bearers[i].name, change->loads[i]};
    return line;
}

static Line
site_line(const SpateSiteRanking *ranking, size_t number)
{
    const SpateSiteWorth *worth = &ranking->sites[number];
    Line line = line_of(ranking, "site", worth->site, &worth->gain, &worth->change);
    line.behind = spate_told_form(&worth->behind);
    line.has_behind = number > 0;
    return line;
}

static Line
step_line(const SpateSiteRanking *ranking, const SpateSiteStep *step)
{
    Line line = line_of(ranking, "greedy", step->site, &step->gain, &step->change);
    line.n_ties = step->ties->len;
    line.ties = g_new(Tie, step->ties->len + 1u);
    for (guint i = 0; i < step->ties->len; i++) {
        const SpateSiteTie *tie = &g_array_index(step->ties, SpateSiteTie, i);
        line.ties[i] = (Tie){name_of(ranking, tie->site),
                             tie->more == SPATE_MORE_NEVER ? SPATE_NO_THING : tie->more};
    }
    return line;
}

/* Ends with NULL; free with g_free(). */
static const char **
joins_of(const SpateSiteRanking *ranking)
{
    const SpateScenario *scenario = ranking->scenario;
    const char **joins = g_new0(const char *, scenario->n_traffics + 1u);
    for (uint32_t i = 0, n = 0; i < scenario->n_traffics; i++)
        if (ranking->joins[i])
            joins[n++] = scenario->traffics[i].name;
    return joins;
}

static void
append_json(GString *text, const SpateSiteRanking *ranking)
{
    g_autofree Line *sites = g_new(Line, ranking->n_sites + 1);
    g_autofree Line *steps = g_new(Line, ranking->n_steps + 1);
    g_autofree const char **joins = joins_of(ranking);
    Document document = {.head = head_of(ranking),
                         .people = spate_people_form(&ranking->people, &ranking->delivery),
                         .sites = sites,
                         .n_sites = ranking->n_sites,
                         .steps = steps,
                         .n_steps = ranking->n_steps,
                         .end = (int)ranking->end,
                         .has_next = ranking->end == SPATE_SITES_NOT_TOLD,
                         .has_together = ranking->together.own.n > 0,
                         .together = spate_told_form(&ranking->together),
                         .joins = joins,
                         .set = ranking->set};
    for (size_t i = 0; i < ranking->n_sites; i++)
        sites[i] = site_line(ranking, i);
    for (size_t i = 0; i < ranking->n_steps; i++)
        steps[i] = step_line(ranking, &ranking->steps[i]);
    if (document.has_next)
        document.next = step_line(ranking, &ranking->next);
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
    for (size_t i = 0; i < ranking->n_sites; i++)
        clear_line(&sites[i]);
    for (size_t i = 0; i < ranking->n_steps; i++)
        clear_line(&steps[i]);
    clear_line(&document.next);
    g_free(document.people.traffics);
}

static void
append_line(GString *text, Line line)
{
    spate_form_append_csv(text, &CSV_FORM, &line);
    clear_line(&line);
}

static void
append_csv(GString *text, const SpateSiteRanking *ranking)
{
    spate_form_append_csv_head(text, &CSV_FORM);
    for (size_t i = 0; i < ranking->n_sites; i++)
        append_line(text, site_line(ranking, i));
    for (size_t i = 0; i < ranking->n_steps; i++)
        append_line(text, step_line(ranking, &ranking->steps[i]));
}

void
spate_sites_report_append(GString *text, const SpateSiteRanking *ranking, SpateFormat format)
{
    static void (*const FORMATS[])(GString *, const SpateSiteRanking *) = {
        [SPATE_FORMAT_TABLE] = append_table,
        [SPATE_FORMAT_JSON] = append_json,
        [SPATE_FORMAT_CSV] = append_csv,
    };
    FORMATS[format](text, ranking);
}
