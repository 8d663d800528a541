/* shared-forms.c - what several documents are made of */
#include "report/result/shared-forms.h"

static const SpateMember SCENARIO[] = {
    {"title", SPATE_CELL_TEXT, offsetof(SpateScenario, title), SPATE_OR_EMPTY},
    {"sha256", SPATE_CELL_TEXT, offsetof(SpateScenario, sha256)},
};
const SpateForm SPATE_SCENARIO_FORM = SPATE_FORM(SpateScenario, SCENARIO);

static const SpateMember SEED[] = {
    {"seed", SPATE_CELL_LARGE, offsetof(SpateScenario, seed)},
};
const SpateForm SPATE_SEED_FORM = SPATE_FORM(SpateScenario, SEED);

const char *const SPATE_VERDICT_WORDS[] = {
    [SPATE_VERDICT_PASS] = "pass",
    [SPATE_VERDICT_FAIL] = "fail",
    [SPATE_VERDICT_UNDECIDED] = "undecided",
};

const char *const SPATE_BLAME_WORDS[] = {
    [SPATE_BLAME_OWN_RADIO] = "own-radio",
    [SPATE_BLAME_NEIGHBOUR] = "neighbour",
    [SPATE_BLAME_MESH] = "mesh",
    [SPATE_BLAME_AMBIENT] = "ambient",
};

static const SpateMember JUDGED[] = {
    {"mean", SPATE_CELL_NUMBER, offsetof(SpateJudgement, mean), SPATE_OR_NULL},
    {"ci95", SPATE_CELL_INTERVAL, offsetof(SpateJudgement, ci95)},
    {"n", SPATE_CELL_WHOLE, offsetof(SpateJudgement, n)},
    {"looks", SPATE_CELL_WHOLE, offsetof(SpateJudgement, n_looks), SPATE_OR_ABSENT, .none = 1},
    {"more", SPATE_CELL_WHOLE, offsetof(SpateJudgement, more), SPATE_OR_NULL},
};
const SpateForm SPATE_JUDGED_FORM = SPATE_FORM(SpateJudgement, JUDGED);

static const SpateMember ESTIMATE[] = {
    {"mean", SPATE_CELL_NUMBER, offsetof(SpateEstimate, mean), SPATE_OR_NULL},
    {"ci95", SPATE_CELL_INTERVAL, offsetof(SpateEstimate, ci95)},
    {"n", SPATE_CELL_WHOLE, offsetof(SpateEstimate, n)},
};
const SpateForm SPATE_ESTIMATE_FORM = SPATE_FORM(SpateEstimate, ESTIMATE);

static const char *const SIDES[] = {"above", "below"};

static const SpateMember FLIPS[] = {
    {"holds", SPATE_CELL_FLAG, offsetof(SpateDoubtEffect, holds_below), SPATE_WORDS(SIDES)},
    {"from", SPATE_CELL_NUMBER, offsetof(SpateDoubtEffect, from)},
    {"to", SPATE_CELL_NUMBER, offsetof(SpateDoubtEffect, to)},
    {"wrong", SPATE_CELL_WHOLE, offsetof(SpateDoubtEffect, n_wrong)},
};

static const SpateMember EFFECT[] = {
    {"path", SPATE_CELL_TEXT, offsetof(SpateDoubtEffect, path)},
    {"unit", SPATE_CELL_TEXT, offsetof(SpateDoubtEffect, unit)},
    {"rank_correlation", SPATE_CELL_NUMBER, offsetof(SpateDoubtEffect, correlation), SPATE_OR_NULL},
    {"p_holm", SPATE_CELL_NUMBER, offsetof(SpateDoubtEffect, p), SPATE_OR_NULL},
    {"flips", SPATE_CELL_OBJECT, .absence = SPATE_OR_NULL, SPATE_OF(SpateDoubtEffect, FLIPS),
     .given = SPATE_GIVEN(SpateDoubtEffect, flips)},
};

static const SpateMember DOUBT[] = {
    {"held", SPATE_CELL_WHOLE, offsetof(SpateDoubtVerdict, n_held)},
    {"n", SPATE_CELL_WHOLE, offsetof(SpateDoubtVerdict, n)},
    {"ci95", SPATE_CELL_INTERVAL, offsetof(SpateDoubtVerdict, ci95)},
    {"inputs", SPATE_CELL_LIST, SPATE_LIST(SpateDoubtVerdict, effects, n_effects),
     SPATE_OF(SpateDoubtEffect, EFFECT)},
};
const SpateForm SPATE_DOUBT_FORM = SPATE_FORM(SpateDoubtVerdict, DOUBT);
