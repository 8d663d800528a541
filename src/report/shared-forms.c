/* shared-forms.c - what several documents are made of */
#include "report/shared-forms.h"

#define SCENARIO(member) offsetof(SpateScenarioForm, member)
static const SpateMember SCENARIO[] = {
    {"title", SPATE_CELL_TEXT, SCENARIO(title), SPATE_OR_EMPTY},
    {"sha256", SPATE_CELL_TEXT, SCENARIO(sha256)},
};
const SpateForm SPATE_SCENARIO_FORM = SPATE_FORM(SpateScenarioForm, SCENARIO);

#define ESTIMATE(member) offsetof(SpateEstimate, member)
static const SpateMember ESTIMATE[] = {
    {"mean", SPATE_CELL_NUMBER, ESTIMATE(mean), SPATE_OR_NULL},
    {"ci95", SPATE_CELL_INTERVAL, ESTIMATE(ci95)},
    {"n", SPATE_CELL_WHOLE, ESTIMATE(n)},
};
const SpateForm SPATE_ESTIMATE_FORM = SPATE_FORM(SpateEstimate, ESTIMATE);

/* ---- what hangs on what is in doubt ---------------------------------------------------------- */

static const char *const SIDES[] = {"above", "below"};

#define EFFECT(member) offsetof(SpateDoubtEffect, member)
static const SpateMember FLIPS[] = {
    {"holds", SPATE_CELL_FLAG, EFFECT(holds_below), SPATE_WORDS(SIDES)},
    {"from", SPATE_CELL_NUMBER, EFFECT(from)},
    {"to", SPATE_CELL_NUMBER, EFFECT(to)},
    {"wrong", SPATE_CELL_WHOLE, EFFECT(n_wrong)},
};
static const SpateForm FLIPS_FORM = SPATE_FORM(SpateDoubtEffect, FLIPS);

static const SpateMember EFFECT[] = {
    {"path", SPATE_CELL_TEXT, EFFECT(path)},
    {"unit", SPATE_CELL_TEXT, EFFECT(unit)},
    {"rank_correlation", SPATE_CELL_NUMBER, EFFECT(correlation), SPATE_OR_NULL},
    {"p_holm", SPATE_CELL_NUMBER, EFFECT(p), SPATE_OR_NULL},
    {"flips", SPATE_CELL_OBJECT, .absence = SPATE_OR_NULL, .form = &FLIPS_FORM,
     .given = SPATE_GIVEN(SpateDoubtEffect, flips)},
};
static const SpateForm EFFECT_FORM = SPATE_FORM(SpateDoubtEffect, EFFECT);

#define DOUBT(member) offsetof(SpateDoubtVerdict, member)
static const SpateMember DOUBT[] = {
    {"held", SPATE_CELL_WHOLE, DOUBT(n_held)},
    {"n", SPATE_CELL_WHOLE, DOUBT(n)},
    {"ci95", SPATE_CELL_INTERVAL, DOUBT(ci95)},
    {"inputs", SPATE_CELL_LIST, SPATE_LIST(SpateDoubtVerdict, effects, n_effects),
     .form = &EFFECT_FORM},
};
const SpateForm SPATE_DOUBT_FORM = SPATE_FORM(SpateDoubtVerdict, DOUBT);
