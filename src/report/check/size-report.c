/* size-report.c - which values meet all expectations, as text */
#include "report/check/size-report.h"

#include "core/shown-text.h"
#include "report/check/check-words.h"
#include "report/result/shared-forms.h"
#include "report/words/doubt-words.h"
#include "report/words/run-words.h"
#include <math.h>

static const char *const ANSWERS[] = {
    [SPATE_SIZE_MEETS] = "meets",
    [SPATE_SIZE_FAILS] = "fails",
    [SPATE_SIZE_UNSURE] = "unsure",
    [SPATE_SIZE_OPEN] = "open",
};

/* ---- for people ------------------------------------------------------------------------------ */

/* "measured 87 % (...)" */
static void
append_finding(GString *text, const SpateSize *size, const SpateSizePoint *point,
               size_t expectation)
{
    SpateCheck check = *size->words;
    SpateCheckPoint judged = check.points[expectation];
    judged.judgement = point->verdicts[expectation].judgement;
    judged.doubt = point->verdicts[expectation].doubt;
    check.n_replications = point->n_replications;
    spate_check_append_finding(text, &check, &judged);
}

/* The end of a band that lies on the side of those that meet; the upper one without any. */
static const SpateSizePoint *
nearest_end(const SpateSize *size, size_t number)
{
    const SpateSizeBand *band = &size->bands[number];
    bool after_good = false;
    for (size_t i = 0; i < number; i++)
        after_good = after_good || size->bands[i].answer == SPATE_SIZE_MEETS;
    return &size->points[after_good ? band->first : band->last];
}

static void
append_band(GString *text, const SpateSize *size, size_t number)
{
    static const char *const HEADS[] = {[SPATE_SIZE_MEETS] = "meets all expectations: ",
                                        [SPATE_SIZE_FAILS] = "fails: ",
                                        [SPATE_SIZE_UNSURE] = "uncertain: ",
                                        [SPATE_SIZE_OPEN] = "not judged: "};
    const SpateSizeBand *band = &size->bands[number];
    g_string_append(text, HEADS[band->answer]);
    g_string_append(text, size->points[band->first].text);
    if (band->last > band->first)
        g_string_append_printf(text, " to %s", size->points[band->last].text);
    if (band->answer == SPATE_SIZE_FAILS || band->answer == SPATE_SIZE_UNSURE) {
        const SpateSizePoint *end = nearest_end(size, number);
        size_t binding = spate_size_binding(size, end);
        g_string_append_printf(text, "; at %s: ", end->text);
        if (binding < size->words->n_points) {
            spate_check_append_title(text, &size->words->points[binding]);
            g_string_append(text, "\n    ");
            append_finding(text, size, end, binding);
        }
    }
    g_string_append_c(text, '\n');
}

/* Of those that meet all; NULL where none does. */
static void
find_ends(const SpateSize *size, const SpateSizePoint **smallest, const SpateSizePoint **largest)
{
    *smallest = *largest = NULL;
    for (size_t i = 0; i < size->n_points; i++) {
        if (size->points[i].answer != SPATE_SIZE_MEETS)
            continue;
        *smallest = *smallest == NULL ? &size->points[i] : *smallest;
        *largest = &size->points[i];
    }
}

static void
append_curve(GString *text, const SpateSize *size, size_t expectation)
{
    g_string_append_c(text, '\n');
    spate_check_append_title(text, &size->words->points[expectation]);
    g_string_append_c(text, '\n');
    for (size_t i = 0; i < size->n_points; i++) {
        const SpateSizePoint *point = &size->points[i];
        const SpateSizeVerdict *verdict = &point->verdicts[expectation];
        g_string_append_printf(text, "  %8s  %-9s ", point->text,
                               spate_check_verdict_word(&verdict->judgement));
        append_finding(text, size, point, expectation);
        g_string_append_c(text, '\n');
        spate_doubt_append(text, verdict->doubt, "                      ");
    }
}

static void
append_table(GString *text, const SpateSize *size)
{
    const SpateScenario *base = size->words->base;
    const SpateSizePoint *smallest, *largest;
    const char *so_far = size->interrupted ? " so far" : "";
    if (base->title != NULL) {
        spate_append_shown_line(text, base->title);
        g_string_append_c(text, '\n');
    }
    g_string_append_printf(text, "%s: %zu values tried", size->vary, size->n_points);
    spate_append_layout_words(text, spate_check_is_of_one_layout(size->words));
    g_string_append(text, size->interrupted ? " (interrupted)\n\n" : "\n\n");
    find_ends(size, &smallest, &largest);
    if (smallest == NULL)
        g_string_append(text, "no value tried is certain to meet every expectation\n");
    else
        g_string_append_printf(text, "the smallest that meets all%s: %s; the largest%s: %s\n",
                               so_far, smallest->text, so_far, largest->text);
    for (size_t i = 0; i < size->n_bands; i++)
        append_band(text, size, i);
    g_string_append(text, "(values between agreeing neighbours were skipped)\n");
    for (size_t i = 0; i < size->words->n_points; i++)
        append_curve(text, size, i);
}

/* ---- for programs ---------------------------------------------------------------------------- */

static const SpateMember VERDICT[] = {
    {"expectation", SPATE_CELL_INDEX},
    {"verdict", SPATE_CELL_WORD, offsetof(SpateSizeVerdict, judgement.kind), SPATE_IS_VERDICT},
    {"mean", SPATE_CELL_NUMBER, offsetof(SpateSizeVerdict, judgement.mean), SPATE_OR_NULL},
    {"ci95", SPATE_CELL_INTERVAL, offsetof(SpateSizeVerdict, judgement.ci95)},
    {"looks", SPATE_CELL_WHOLE, offsetof(SpateSizeVerdict, judgement.n_looks), SPATE_OR_ABSENT,
     .none = 1},
    {"doubt", SPATE_CELL_POINTED, offsetof(SpateSizeVerdict, doubt), SPATE_OR_ABSENT,
     .form = &SPATE_DOUBT_FORM},
};

static const SpateMember POINT[] = {
    {"value", SPATE_CELL_NUMBER, offsetof(SpateSizePoint, value)},
    {"setting", SPATE_CELL_TEXT, offsetof(SpateSizePoint, text)},
    {"answer", SPATE_CELL_WORD, offsetof(SpateSizePoint, answer), SPATE_WORDS(ANSWERS)},
    {"replications", SPATE_CELL_WHOLE, offsetof(SpateSizePoint, n_replications)},
    {"expectations", SPATE_CELL_LIST, SPATE_LIST(SpateSizePoint, verdicts, n_verdicts),
     SPATE_OF(SpateSizeVerdict, VERDICT)},
};

typedef struct {
    double from, to;
    SpateSizeAnswer answer;
    uint32_t binding; /* SPATE_NO_THING: none is */
} Band;

static const SpateMember BAND[] = {
    {"from", SPATE_CELL_NUMBER, offsetof(Band, from)},
    {"to", SPATE_CELL_NUMBER, offsetof(Band, to)},
    {"answer", SPATE_CELL_WORD, offsetof(Band, answer), SPATE_WORDS(ANSWERS)},
    {"binding", SPATE_CELL_WHOLE, offsetof(Band, binding), SPATE_OR_ABSENT, .of = SPATE_THING_ELSE},
};

typedef struct {
    SpateSize size;
    const SpateScenario *base;
    double smallest, largest;
    bool one_layout;
    char **expectations;
    Band *bands;
} Document;

static const SpateMember DOCUMENT[] = {
    {"format", SPATE_CELL_FIXED, .fixed = "spate-size/1"},
    {"version", SPATE_CELL_FIXED, .fixed = SPATE_VERSION},
    {"scenario", SPATE_CELL_POINTED, offsetof(Document, base), .form = &SPATE_SCENARIO_FORM,
     .line = "\n "},
    {NULL, SPATE_CELL_JOINED, offsetof(Document, base), .form = &SPATE_SEED_FORM},
    {"vary", SPATE_CELL_TEXT, offsetof(Document, size.vary)},
    {"unit", SPATE_CELL_TEXT, offsetof(Document, size.unit)},
    {"smallest", SPATE_CELL_NUMBER, offsetof(Document, smallest), SPATE_OR_NULL},
    {"largest", SPATE_CELL_NUMBER, offsetof(Document, largest), SPATE_OR_NULL},
    {"interrupted", SPATE_CELL_FLAG, offsetof(Document, size.interrupted), SPATE_OR_ABSENT},
    {"one_layout", SPATE_CELL_FLAG, offsetof(Document, one_layout), SPATE_OR_ABSENT},
    {"expectations", SPATE_CELL_TEXTS, offsetof(Document, expectations), .line = "\n "},
    {"bands", SPATE_CELL_LIST, SPATE_LIST(Document, bands, size.n_bands), SPATE_OF(Band, BAND),
     .line = "\n "},
    {"points", SPATE_CELL_LIST, SPATE_LIST(Document, size.points, size.n_points),
     SPATE_OF(SpateSizePoint, POINT), .line = "\n ", .each = "\n  "},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

static void
append_json(GString *text, const SpateSize *size)
{
    g_autoptr(GPtrArray) scratch = g_ptr_array_new_with_free_func(g_free);
    const SpateSizePoint *smallest, *largest;
    find_ends(size, &smallest, &largest);
    Document document = {
        .size = *size,
        .base = size->words->base,
        .smallest = smallest != NULL ? smallest->value : NAN,
        .largest = largest != NULL ? largest->value : NAN,
        .one_layout = spate_check_is_of_one_layout(size->words),
        .expectations = spate_scratch(scratch, g_new0(char *, size->words->n_points + 1)),
        .bands = spate_scratch(scratch, g_new(Band, size->n_bands + 1)),
    };
    for (size_t i = 0; i < size->words->n_points; i++) {
        GString *title = g_string_new(NULL);
        spate_check_append_title(title, &size->words->points[i]);
        document.expectations[i] = spate_scratch(scratch, g_string_free(title, FALSE));
    }
    for (size_t i = 0; i < size->n_bands; i++) {
        const SpateSizeBand *its = &size->bands[i];
        bool binds = its->answer == SPATE_SIZE_FAILS || its->answer == SPATE_SIZE_UNSURE;
        document.bands[i] = (Band){
            size->points[its->first].value, size->points[its->last].value, its->answer,
            binds ? (uint32_t)spate_size_binding(size, nearest_end(size, i)) : SPATE_NO_THING};
    }
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
}

typedef struct {
    SpateSizePoint point;
    uint32_t expectation;
    SpateJudgement its;
} Line;

static const SpateMember LINE[] = {
    {"value", SPATE_CELL_NUMBER, offsetof(Line, point.value)},
    {"answer", SPATE_CELL_WORD, offsetof(Line, point.answer), SPATE_WORDS(ANSWERS)},
    {"replications", SPATE_CELL_WHOLE, offsetof(Line, point.n_replications)},
    {"expectation", SPATE_CELL_WHOLE, offsetof(Line, expectation)},
    {"verdict", SPATE_CELL_WORD, offsetof(Line, its.kind), SPATE_IS_VERDICT},
    {"mean", SPATE_CELL_NUMBER, offsetof(Line, its.mean)},
    {"low", SPATE_CELL_NUMBER, offsetof(Line, its.ci95.low)},
    {"high", SPATE_CELL_NUMBER, offsetof(Line, its.ci95.high)},
};
static const SpateForm LINE_FORM = SPATE_FORM(Line, LINE);

static void
append_csv(GString *text, const SpateSize *size)
{
    spate_form_append_csv_head(text, &LINE_FORM);
    for (size_t i = 0; i < size->n_points; i++)
        for (uint32_t k = 0; k < size->words->n_points; k++) {
            const SpateSizePoint *point = &size->points[i];
            const Line line = {*point, k, point->verdicts[k].judgement};
            spate_form_append_csv(text, &LINE_FORM, &line);
        }
}

void
spate_size_report_append(GString *text, const SpateSize *size, SpateFormat format)
{
    static void (*const FORMATS[])(GString *, const SpateSize *) = {
        [SPATE_FORMAT_TABLE] = append_table,
        [SPATE_FORMAT_JSON] = append_json,
        [SPATE_FORMAT_CSV] = append_csv,
    };
    FORMATS[format](text, size);
}
