/* advise-words.c - what the reports of advice share */
#include "report/advise/advise-words.h"

#include "core/shown-text.h"
#include "core/time.h"
#include "document/numbers.h"
#include "report/result/shared-forms.h"
#include "report/words/run-words.h"
#include "scenario/layout.h"
#include <math.h>
#include <string.h>

char *
spate_estimate_text(const SpateEstimate *estimate, SpateShown shown)
{
    shown = spate_shown_for(shown, estimate->ci95);
    g_autofree char *mean = spate_figure_text(estimate->mean, shown);
    g_autofree char *interval = spate_interval_text(estimate->ci95, shown);
    return g_strjoin(" ", mean, interval, NULL);
}

char *
spate_estimate_percent(const SpateEstimate *estimate, bool sign)
{
    return spate_estimate_text(estimate, (SpateShown){100.0, 1, sign});
}

char *
spate_number_text(double value)
{
    return spate_figure_text(value, (SpateShown){1.0, spate_decimals_for(value), false});
}

static const SpateMember HEAD[] = {
    {"format", SPATE_CELL_FIXED, .fixed = "spate-advice/1"},
    {"advice", SPATE_CELL_TEXT, offsetof(SpateAdviceHead, kind)},
    {"version", SPATE_CELL_FIXED, .fixed = SPATE_VERSION},
    {"scenario", SPATE_CELL_POINTED, offsetof(SpateAdviceHead, scenario),
     .form = &SPATE_SCENARIO_FORM, .line = "\n "},
    {NULL, SPATE_CELL_JOINED, offsetof(SpateAdviceHead, scenario), .form = &SPATE_SEED_FORM},
    {"variant", SPATE_CELL_TEXT, offsetof(SpateAdviceHead, variant)},
    {"replications", SPATE_CELL_WHOLE, offsetof(SpateAdviceHead, n_replications)},
    {"interrupted", SPATE_CELL_FLAG, offsetof(SpateAdviceHead, is_interrupted), SPATE_OR_ABSENT},
    {"one_layout", SPATE_CELL_FLAG, offsetof(SpateAdviceHead, one_layout), SPATE_OR_ABSENT},
};
const SpateForm SPATE_ADVICE_HEAD_FORM = SPATE_FORM(SpateAdviceHead, HEAD);

SpateAdviceHead
spate_advice_head(const char *kind, const SpateScenario *scenario, const char *variant,
                  uint32_t n_replications, bool is_interrupted)
{
    bool one_layout = spate_scenario_holds_layout(scenario);
    return (SpateAdviceHead){kind, scenario, variant, n_replications, is_interrupted, one_layout};
}

void
spate_advice_append_head(GString *text, const SpateAdviceHead *head)
{
    double seconds = (double)head->scenario->duration_ns / (double)SPATE_NS_PER_S;
    bool is_hours = seconds >= 3600.0, is_minutes = seconds >= 60.0;
    double unit = is_hours ? 3600.0 : is_minutes ? 60.0 : 1.0;
    if (head->scenario->title != NULL) {
        spate_append_shown_line(text, head->scenario->title);
        g_string_append_c(text, '\n');
    }
    if (strcmp(head->variant, "base") != 0)
        g_string_append_printf(text, "variant %s: ", head->variant);
    g_string_append_printf(text, "%u replication%s of ", head->n_replications,
                           head->n_replications == 1 ? "" : "s");
    spate_append_number(text, rint(seconds / unit * 100.0) / 100.0);
    g_string_append_printf(text, " %s, seed %" G_GUINT64_FORMAT,
                           is_hours     ? "h"
                           : is_minutes ? "min"
                                        : "s",
                           (guint64)head->scenario->seed);
    spate_append_layout_words(text, head->one_layout);
    g_string_append_printf(text, "%s; [95 %% intervals]\n",
                           head->is_interrupted ? " (interrupted)" : "");
}

static const SpateMember PEOPLE[] = {
    {"traffics", SPATE_CELL_TEXTS, offsetof(SpatePeopleForm, traffics), SPATE_OR_NULL},
    SPATE_ESTIMATE_MEMBER("delivery", SpatePeopleForm, delivery),
};
const SpateForm SPATE_PEOPLE_FORM = SPATE_FORM(SpatePeopleForm, PEOPLE);

SpatePeopleForm
spate_people_form(const SpatePeople *people, const SpateEstimate *delivery)
{
    const SpateScenario *scenario = people->scenario;
    SpatePeopleForm form = {.delivery = *delivery};
    if (people->any_named)
        form.traffics = g_new0(const char *, scenario->n_traffics + 1);
    const char **end = form.traffics;
    for (uint32_t i = 0; people->any_named && i < scenario->n_traffics; i++)
        if (people->is_named[i])
            *end++ = scenario->traffics[i].name;
    return form;
}

void
spate_people_append(GString *text, const SpatePeople *people, const SpateEstimate *delivery,
                    const char *otherwise)
{
    g_autofree const char **names = spate_people_form(people, delivery).traffics;
    g_autofree char *listed = names != NULL ? g_strjoinv(", ", (char **)names) : NULL;
    g_autofree char *arrives = spate_estimate_percent(delivery, false);
    g_string_append_printf(text, "people's traffic: %s%s\n", names != NULL ? listed : otherwise,
                           names != NULL ? " (what expectations of delivery name)" : "");
    g_string_append_printf(text, "%s arrives, %%: %s (in time where it has a deadline)\n",
                           names != NULL ? "of it" : "of all traffic", arrives);
}

/* ---- effects that are judged together ------------------------------------------------------- */

char *
spate_judged_text(const SpateJudgedEffect *effect)
{
    const SpateEstimate tested = {effect->own.mean, effect->tested, effect->own.n};
    return spate_estimate_percent(&tested, true);
}

char *
spate_judged_p_text(const SpateJudgedEffect *effect)
{
    return effect->p < 0.0001 ? g_strdup("< 0.0001")
                              : spate_figure_text(effect->p, (SpateShown){1.0, 4, false});
}

char *
spate_more_text(uint32_t more)
{
    if (more == SPATE_MORE_NEVER)
        return g_strdup("no difference");
    if (more == SPATE_MORE_MANY)
        return g_strdup_printf("more than %d more replications", SPATE_MORE_MOST);
    return g_strdup_printf("about %u more replication%s", more, more == 1 ? "" : "s");
}

char *
spate_judged_verdict(const SpateJudgedEffect *effect, const char *above, const char *below)
{
    if (spate_effect_is_told(effect))
        return g_strdup(effect->own.mean > 0.0 ? above : below);
    if (effect->own.n == 0)
        return g_strdup("no value to judge by");
    g_autofree char *more = spate_more_text(effect->more);
    return effect->more == SPATE_MORE_NEVER ? g_steal_pointer(&more)
                                            : g_strdup_printf("undecided, %s", more);
}

char *
spate_loser_text(const SpateScenario *scenario, const SpateAdviseLoser *loser)
{
    if (loser->loss.n == 0)
        return g_strdup("");
    g_autofree char *loss = spate_estimate_percent(&loser->loss, true);
    return g_strdup_printf("%s %s", scenario->traffics[loser->traffic].name, loss);
}

char *
spate_behind_text(const SpateJudgedEffect *behind, const char *before, const char *apart)
{
    if (spate_effect_is_told(behind))
        return g_strdup_printf("%s %s", apart, before);
    g_autofree char *more = spate_more_text(behind->more);
    return g_strdup_printf("not told apart from %s: %s", before, more);
}

static const SpateMember TOLD[] = {
    {"p_holm", SPATE_CELL_NUMBER, offsetof(SpateToldForm, p)},
    {"distinguishable", SPATE_CELL_FLAG, offsetof(SpateToldForm, is_told)},
    {"interval_holm", SPATE_CELL_INTERVAL, offsetof(SpateToldForm, tested)},
    {"more", SPATE_CELL_WHOLE, offsetof(SpateToldForm, more), SPATE_OR_NULL},
};
const SpateForm SPATE_TOLD_FORM = SPATE_FORM(SpateToldForm, TOLD);

static const SpateMember BEHIND[] = {
    SPATE_ESTIMATE_MEMBER("difference", SpateToldForm, own),
    {NULL, SPATE_CELL_PARTS, 0, .form = &SPATE_TOLD_FORM},
};
const SpateForm SPATE_BEHIND_FORM = SPATE_FORM(SpateToldForm, BEHIND);

SpateToldForm
spate_told_form(const SpateJudgedEffect *effect)
{
    bool is_told = spate_effect_is_told(effect);
    bool is_open = !is_told && effect->more != SPATE_MORE_NEVER;
    return (SpateToldForm){effect->own, effect->tested, effect->p, is_told,
                           is_open ? effect->more : SPATE_NO_THING};
}

static const SpateMember LOSER[] = {
    {"traffic", SPATE_CELL_TEXT, offsetof(SpateLoserForm, traffic)},
    SPATE_ESTIMATE_MEMBER("loss", SpateLoserForm, loss),
};
const SpateForm SPATE_LOSER_FORM = SPATE_FORM(SpateLoserForm, LOSER);

SpateLoserForm
spate_loser_form(const SpateScenario *scenario, const SpateAdviseLoser *loser)
{
    bool is_given = loser->loss.n > 0;
    return (SpateLoserForm){is_given ? scenario->traffics[loser->traffic].name : NULL, loser->loss,
                            is_given};
}
