/* check-json.c - verdicts as JSON: spate-check/1, docs/result-format.md */
#include "report/check/check-words.h"
#include "report/check/explanation-words.h"
#include "report/result/result-form.h"
#include "report/result/shared-forms.h"

/* ---- of what it is made ---------------------------------------------------------------------- */

static const SpateMember BOUND[] = {
    {"value", SPATE_CELL_NUMBER, offsetof(SpateExpectBound, value)},
    {"relative", SPATE_CELL_FLAG, offsetof(SpateExpectBound, is_relative)},
};
static const SpateForm BOUND_FORM = SPATE_FORM(SpateExpectBound, BOUND);

/* Replication and offer are counted from 1. */
static const SpateMember BROKEN[] = {
    {"replication", SPATE_CELL_WHOLE, offsetof(SpateCheckPoint, replication)},
    {"origin", SPATE_CELL_TEXT, offsetof(SpateCheckPoint, origin)},
    {"offer", SPATE_CELL_LARGE, offsetof(SpateCheckPoint, broken.first.offer)},
    {"message", SPATE_CELL_WHOLE, offsetof(SpateCheckPoint, broken.first_number)},
    {"offered_s", SPATE_CELL_SECONDS, offsetof(SpateCheckPoint, broken.offered_ns)},
    {"at_s", SPATE_CELL_SECONDS, offsetof(SpateCheckPoint, broken.at_ns), SPATE_OR_NULL},
};

static const SpateMember MESSAGES[] = {
    {"messages", SPATE_CELL_LARGE, offsetof(SpateCheckPoint, n_messages)},
    {"broken", SPATE_CELL_LARGE, offsetof(SpateCheckPoint, n_broken)},
    {"too_late", SPATE_CELL_LARGE, offsetof(SpateCheckPoint, n_too_late)},
    {"first_broken", SPATE_CELL_OBJECT, .absence = SPATE_OR_ABSENT,
     SPATE_OF(SpateCheckPoint, BROKEN), .given = SPATE_GIVEN(SpateCheckPoint, is_broken)},
};

typedef struct {
    SpateCheckPoint point;
    SpateExpectation expected;
    uint32_t line; /* 0: none */
    const char *title, *measure, *unit, *finding, *explanation;
    bool has_time, has_share, is_of_messages, passes, since_passes;
} Point;

static const SpateMember SINCE[] = {
    {"verdict", SPATE_CELL_WORD, offsetof(Point, point.since.kind), SPATE_IS_VERDICT},
    {"ok", SPATE_CELL_FLAG, offsetof(Point, since_passes)},
    {NULL, SPATE_CELL_PARTS, offsetof(Point, point.since), .form = &SPATE_JUDGED_FORM},
};

#define POINT_IF(member) .absence = SPATE_OR_ABSENT, .given = SPATE_GIVEN(Point, member)

static const char *const KINDS[] = {
    [SPATE_EXPECT_VALUE] = "value",       [SPATE_EXPECT_CHANGE] = "change",
    [SPATE_EXPECT_REACHES] = "reaches",   [SPATE_EXPECT_NEVER_REACHES] = "never-reaches",
    [SPATE_EXPECT_NEVER_ON] = "never-on",
};

static const SpateMember POINT[] = {
    {"line", SPATE_CELL_WHOLE, offsetof(Point, line), SPATE_OR_NULL},
    {"expectation", SPATE_CELL_TEXT, offsetof(Point, title)},
    {"kind", SPATE_CELL_WORD, offsetof(Point, expected.kind), SPATE_WORDS(KINDS)},
    {"variant", SPATE_CELL_TEXT, offsetof(Point, expected.variant), SPATE_OR_ABSENT},
    {"versus", SPATE_CELL_TEXT, offsetof(Point, expected.versus), SPATE_OR_ABSENT},
    {"measure", SPATE_CELL_TEXT, offsetof(Point, measure), SPATE_OR_ABSENT},
    {"traffic", SPATE_CELL_TEXT, offsetof(Point, expected.traffic), SPATE_OR_ABSENT},
    {"to", SPATE_CELL_TEXT, offsetof(Point, expected.to), SPATE_OR_ABSENT},
    {"bearer", SPATE_CELL_TEXT, offsetof(Point, expected.bearer), SPATE_OR_ABSENT},
    {"node", SPATE_CELL_TEXT, offsetof(Point, expected.node), SPATE_OR_ABSENT},
    {"bridge", SPATE_CELL_TEXT, offsetof(Point, expected.bridge), SPATE_OR_ABSENT},
    {"from", SPATE_CELL_TEXT, offsetof(Point, expected.from), SPATE_OR_ABSENT},
    {"unit", SPATE_CELL_TEXT, offsetof(Point, unit), SPATE_OR_ABSENT},
    {"at_least", SPATE_CELL_OBJECT, offsetof(Point, expected.at_least), .form = &BOUND_FORM,
     POINT_IF(expected.at_least.is_given)},
    {"at_most", SPATE_CELL_OBJECT, offsetof(Point, expected.at_most), .form = &BOUND_FORM,
     POINT_IF(expected.at_most.is_given)},
    {"within_s", SPATE_CELL_SECONDS, offsetof(Point, expected.within_ns), POINT_IF(has_time)},
    {"in_at_least", SPATE_CELL_NUMBER, offsetof(Point, expected.in_at_least), POINT_IF(has_share)},
    {"verdict", SPATE_CELL_WORD, offsetof(Point, point.judgement.kind), SPATE_IS_VERDICT},
    {"ok", SPATE_CELL_FLAG, offsetof(Point, passes)},
    {NULL, SPATE_CELL_PARTS, offsetof(Point, point.judgement), .form = &SPATE_JUDGED_FORM},
    {NULL, SPATE_CELL_PARTS, offsetof(Point, point), SPATE_OF(SpateCheckPoint, MESSAGES),
     POINT_IF(is_of_messages)},
    {"since", SPATE_CELL_OBJECT, SPATE_OF(Point, SINCE), POINT_IF(point.has_since)},
    {"doubt", SPATE_CELL_POINTED, offsetof(Point, point.doubt), SPATE_OR_ABSENT,
     .form = &SPATE_DOUBT_FORM},
    {"finding", SPATE_CELL_TEXT, offsetof(Point, finding)},
    {"explanation", SPATE_CELL_TEXT, offsetof(Point, explanation), SPATE_OR_ABSENT},
};

static const SpateMember DIFFERENCE[] = {
    {"variant", SPATE_CELL_TEXT, offsetof(SpateDifferenceForm, variant)},
    {NULL, SPATE_CELL_PARTS, offsetof(SpateDifferenceForm, row), .form = &SPATE_RESULT_COLUMNS},
};

static const char *const TIMES[] = {"now", "before"};

static const SpateMember UNCOMPARED[] = {
    {"what", SPATE_CELL_TEXT, offsetof(SpateUncompared, what)},
    {"name", SPATE_CELL_TEXT, offsetof(SpateUncompared, name)},
    {"in", SPATE_CELL_FLAG, offsetof(SpateUncompared, is_gone), SPATE_WORDS(TIMES)},
};

typedef struct {
    const char *name;
    const SpateScenario *base;
    uint32_t n_replications;
    bool one_layout;
    Point *points;
    size_t n_points;
    SpateDifferenceForm *differences; /* NULL: without an earlier result */
    size_t n_differences;
    const SpateUncompared *uncompared; /* likewise */
    size_t n_uncompared;
} File;

static const SpateMember FILES[] = {
    {"file", SPATE_CELL_TEXT, offsetof(File, name)},
    {NULL, SPATE_CELL_JOINED, offsetof(File, base), .form = &SPATE_SCENARIO_FORM},
    {NULL, SPATE_CELL_JOINED, offsetof(File, base), .form = &SPATE_SEED_FORM},
    {"replications", SPATE_CELL_WHOLE, offsetof(File, n_replications)},
    {"one_layout", SPATE_CELL_FLAG, offsetof(File, one_layout), SPATE_OR_ABSENT},
    {"expectations", SPATE_CELL_LIST, SPATE_LIST(File, points, n_points), SPATE_OF(Point, POINT),
     .each = "\n    "},
    {"differences", SPATE_CELL_LIST, SPATE_LIST(File, differences, n_differences),
     .absence = SPATE_OR_ABSENT, SPATE_OF(SpateDifferenceForm, DIFFERENCE), .each = "\n    "},
    {"uncompared", SPATE_CELL_LIST, SPATE_LIST(File, uncompared, n_uncompared),
     .absence = SPATE_OR_ABSENT, SPATE_OF(SpateUncompared, UNCOMPARED)},
};

typedef struct {
    SpateCheckReport report;
    SpateCheckCounts counts;
    File *files;
} Document;

static const SpateMember DOCUMENT[] = {
    {"format", SPATE_CELL_FIXED, .fixed = "spate-check/1"},
    {"version", SPATE_CELL_FIXED, .fixed = SPATE_VERSION},
    {"strict", SPATE_CELL_FLAG, offsetof(Document, report.is_strict)},
    {"passed", SPATE_CELL_LARGE, offsetof(Document, counts.n_passed)},
    {"failed", SPATE_CELL_LARGE, offsetof(Document, counts.n_failed)},
    {"undecided", SPATE_CELL_LARGE, offsetof(Document, counts.n_undecided)},
    {"against", SPATE_CELL_TEXT, offsetof(Document, report.before), SPATE_OR_ABSENT},
    {"interrupted", SPATE_CELL_FLAG, offsetof(Document, report.is_interrupted), SPATE_OR_ABSENT},
    {"files", SPATE_CELL_LIST, SPATE_LIST(Document, files, report.n_checks), SPATE_OF(File, FILES),
     .line = "\n ", .each = "\n  "},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

/* ---- filling it ------------------------------------------------------------------------------ */

static Point
point_of(const SpateCheckReport *report, const SpateCheck *check, const SpateCheckPoint *its,
         GPtrArray *scratch)
{
    GString *title = g_string_new(NULL), *finding = g_string_new(NULL);
    const SpateMeasureInfo *measure = its->expectation->measure;
    spate_check_append_title(title, its);
    spate_check_append_finding(finding, check, its);
    Point point = {.point = *its,
                   .expected = *its->expectation,
                   .line = (uint32_t)MAX(spate_check_line(its), 0),
                   .title = spate_scratch(scratch, g_string_free(title, FALSE)),
                   .finding = spate_scratch(scratch, g_string_free(finding, FALSE)),
                   .explanation = spate_scratch(scratch, spate_explanation_text(its->explanation)),
                   .measure = measure != NULL ? measure->name : NULL,
                   .unit = measure != NULL ? spate_unit_name(measure->unit) : NULL,
                   .has_time = its->expectation->kind == SPATE_EXPECT_REACHES,
                   .has_share = measure == NULL && !its->expectation->at_least.is_given,
                   .is_of_messages = measure == NULL,
                   .passes = spate_judgement_passes(&its->judgement, report->is_strict),
                   .since_passes = spate_judgement_passes(&its->since, report->is_strict)};
    point.point.replication++;
    point.point.broken.first.offer++;
    return point;
}

static void
fill_file(File *file, const SpateCheckReport *report, size_t number, GPtrArray *scratch)
{
    const SpateCheck *check = report->checks[number];
    *file = (File){.name = report->names[number],
                   .base = check->base,
                   .n_replications = check->n_replications,
                   .one_layout = spate_check_is_of_one_layout(check),
                   .points = spate_scratch(scratch, g_new(Point, check->n_points + 1)),
                   .n_points = spate_check_is_judged(check) ? check->n_points : 0,
                   .uncompared = spate_elements(check->uncompared),
                   .n_uncompared = check->uncompared != NULL ? check->uncompared->len : 0};
    for (size_t i = 0; i < file->n_points; i++)
        file->points[i] = point_of(report, check, &check->points[i], scratch);
    if (check->differences == NULL)
        return;
    file->n_differences = check->differences->len;
    file->differences = spate_scratch(scratch, g_new(SpateDifferenceForm, file->n_differences + 1));
    for (guint i = 0; i < check->differences->len; i++)
        file->differences[i] =
            spate_difference_form(&g_array_index(check->differences, SpateDifference, i));
}

void
spate_check_report_json(GString *text, const SpateCheckReport *report)
{
    g_autoptr(GPtrArray) scratch = g_ptr_array_new_with_free_func(g_free);
    Document document = {.report = *report,
                         .counts = spate_check_count(report),
                         .files = spate_scratch(scratch, g_new(File, report->n_checks + 1))};
    for (size_t i = 0; i < report->n_checks; i++)
        fill_file(&document.files[i], report, i, scratch);
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
}
