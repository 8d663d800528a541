/* result-form.c - spate-result/1 by tables */
#include "report/result/result-form.h"

#include "report/result/detail-form.h"

static const char *
measure_word(int measure)
{
    return spate_measure_info((SpateMeasure)measure)->name;
}

static const char *
unit_word(int measure)
{
    return spate_unit_name(spate_measure_info((SpateMeasure)measure)->unit);
}

#define MEASURE_WORD .word = measure_word, .n_words = SPATE_N_MEASURES
#define UNIT_WORD    .word = unit_word, .n_words = SPATE_N_MEASURES, .derived = true

static const SpateMember NAMES[] = {
    {"measure", SPATE_CELL_WORD, offsetof(SpateResultRow, measure), MEASURE_WORD},
    {"traffic", SPATE_CELL_TEXT, offsetof(SpateResultRow, traffic), SPATE_OR_ABSENT},
    {"bearer", SPATE_CELL_TEXT, offsetof(SpateResultRow, bearer), SPATE_OR_ABSENT},
    {"node", SPATE_CELL_TEXT, offsetof(SpateResultRow, node), SPATE_OR_ABSENT,
     .of = SPATE_THING_NODE},
    {"bridge", SPATE_CELL_TEXT, offsetof(SpateResultRow, bridge), SPATE_OR_ABSENT,
     .of = SPATE_THING_BRIDGE},
    {"to", SPATE_CELL_TEXT, offsetof(SpateResultRow, to), SPATE_OR_ABSENT, .of = SPATE_THING_NODE},
};
static const SpateForm NAMES_FORM = SPATE_FORM(SpateResultRow, NAMES);

static const SpateMember SUMMARY[] = {
    {"mean", SPATE_CELL_NUMBER, offsetof(SpateResultRow, mean), SPATE_OR_NULL},
    {"ci95", SPATE_CELL_INTERVAL, offsetof(SpateResultRow, ci95)},
    {"n", SPATE_CELL_WHOLE, offsetof(SpateResultRow, n)},
};
static const SpateForm SUMMARY_FORM = SPATE_FORM(SpateResultRow, SUMMARY);

static const SpateMember COLUMNS[] = {
    {NULL, SPATE_CELL_PARTS, .form = &NAMES_FORM},
    {"unit", SPATE_CELL_WORD, offsetof(SpateResultRow, measure), UNIT_WORD},
    {NULL, SPATE_CELL_PARTS, .form = &SUMMARY_FORM},
};
const SpateForm SPATE_RESULT_COLUMNS = SPATE_FORM(SpateResultRow, COLUMNS);

static const SpateMember MEASURED[] = {
    {NULL, SPATE_CELL_PARTS, .form = &SPATE_RESULT_COLUMNS},
    {"values", SPATE_CELL_NUMBERS, offsetof(SpateResultRow, values)},
};
const SpateForm SPATE_RESULT_ROW = SPATE_FORM(SpateResultRow, MEASURED);

static const SpateMember VARIANT[] = {
    {"name", SPATE_CELL_TEXT, offsetof(SpateResultVariant, name)},
    {"measures", SPATE_CELL_LIST, SPATE_LIST(SpateResultVariant, rows, n_rows),
     .form = &SPATE_RESULT_ROW, .each = "\n    ", .item = "measure"},
};
static const SpateForm VARIANT_FORM = SPATE_FORM(SpateResultVariant, VARIANT);

static const SpateMember DIFFERENCE[] = {
    {"variant", SPATE_CELL_TEXT, offsetof(SpateDifferenceForm, variant)},
    {"versus", SPATE_CELL_TEXT, offsetof(SpateDifferenceForm, versus)},
    {NULL, SPATE_CELL_PARTS, offsetof(SpateDifferenceForm, row), .form = &NAMES_FORM},
    {NULL, SPATE_CELL_PARTS, offsetof(SpateDifferenceForm, row), .form = &SUMMARY_FORM},
};
static const SpateForm DIFFERENCE_FORM = SPATE_FORM(SpateDifferenceForm, DIFFERENCE);

static const SpateMember DRAWN[] = {
    {"path", SPATE_CELL_TEXT, offsetof(SpateDrawnForm, drawn.path)},
    {"unit", SPATE_CELL_TEXT, offsetof(SpateDrawnForm, drawn.unit)},
    {"low", SPATE_CELL_NUMBER, offsetof(SpateDrawnForm, drawn.low)},
    {"high", SPATE_CELL_NUMBER, offsetof(SpateDrawnForm, drawn.high)},
    {"variants", SPATE_CELL_TEXTS, offsetof(SpateDrawnForm, variants)},
    {"values", SPATE_CELL_NUMBERS, offsetof(SpateDrawnForm, drawn.values)},
};
const SpateForm SPATE_RESULT_DRAWN = SPATE_FORM(SpateDrawnForm, DRAWN);

static void
append_detail(GString *text, gconstpointer detail)
{
    spate_detail_append_json(text, detail);
}

#define RESULT_LIST(items, n, its_form)                                                            \
    SPATE_LIST(SpateResultForm, items, n), .form = &(its_form), .line = "\n ", .each = "\n  "

static const SpateMember SCENARIO[] = {
    {"title", SPATE_CELL_TEXT, offsetof(SpateResultForm, result.title), SPATE_OR_EMPTY},
    {"sha256", SPATE_CELL_TEXT, offsetof(SpateResultForm, result.sha256)},
};

static const SpateMember RESULT[] = {
    {"format", SPATE_CELL_FIXED, .fixed = "spate-result/1"},
    {"command", SPATE_CELL_TEXT, offsetof(SpateResultForm, result.command)},
    {"version", SPATE_CELL_FIXED, .fixed = SPATE_VERSION, .unread = true},
    {"scenario", SPATE_CELL_OBJECT, SPATE_OF(SpateResultForm, SCENARIO), .line = "\n "},
    {"seed", SPATE_CELL_LARGE, offsetof(SpateResultForm, result.seed)},
    {"replications", SPATE_CELL_WHOLE, offsetof(SpateResultForm, result.n_replications),
     .most = 1e9},
    {"duration_s", SPATE_CELL_SECONDS, offsetof(SpateResultForm, result.duration_ns)},
    {"warm_up_s", SPATE_CELL_SECONDS, offsetof(SpateResultForm, result.warm_up_ns)},
    {"interrupted", SPATE_CELL_FLAG, offsetof(SpateResultForm, result.interrupted),
     SPATE_OR_ABSENT},
    {"one_layout", SPATE_CELL_FLAG, offsetof(SpateResultForm, result.one_layout), SPATE_OR_ABSENT},
    {"doubts", SPATE_CELL_LIST, RESULT_LIST(drawn, n_drawn, SPATE_RESULT_DRAWN),
     .absence = SPATE_OR_ABSENT, .unread = true},
    {"variants", SPATE_CELL_LIST, RESULT_LIST(result.variants, result.n_variants, VARIANT_FORM),
     .item = "variant"},
    {"differences", SPATE_CELL_LIST, RESULT_LIST(differences, n_differences, DIFFERENCE_FORM),
     .item = "difference"},
    {"detail", SPATE_CELL_OTHER, offsetof(SpateResultForm, detail), SPATE_OR_ABSENT,
     .form = &SPATE_DETAIL_FORM, .append = append_detail, .line = "\n ", .unread = true},
};
const SpateForm SPATE_RESULT_FORM = {RESULT, G_N_ELEMENTS(RESULT), sizeof(SpateResultForm),
                                     offsetof(SpateResultForm, result.n_replications)};

SpateDifferenceForm
spate_difference_form(const SpateDifference *difference)
{
    SpateDifferenceForm form = {(char *)difference->variant, (char *)difference->versus,
                                *difference->row};
    form.row.mean = difference->mean;
    form.row.ci95 = difference->ci95;
    form.row.n = difference->n;
    return form;
}
