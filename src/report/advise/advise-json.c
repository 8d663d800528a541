/* advise-json.c - which traffic a bridge should hold back, for programs */
#include "report/advise/advise-words.h"

#include "report/check/check-words.h"
#include "report/result/shared-forms.h"
#include <math.h>

/* ---- of what it is made ---------------------------------------------------------------------- */

static const char *const ANSWERS[] = {
    [SPATE_ADVISE_NOTHING_EXPECTED] = "nothing-expected",
    [SPATE_ADVISE_MET_ALREADY] = "met-already",
    [SPATE_ADVISE_FOUND] = "found",
    [SPATE_ADVISE_UNSURE] = "unsure",
    [SPATE_ADVISE_NOT_CONFIRMED] = "not-confirmed",
    [SPATE_ADVISE_NONE] = "none",
    [SPATE_ADVISE_OPEN] = "open",
};

static const char *const LEFT_OUT[] = {
    [SPATE_ADVISE_NOT_LEFT_OUT] = NULL,
    [SPATE_ADVISE_COSTS_LITTLE] = "costs-little",
    [SPATE_ADVISE_OTHERS_COST_MORE] = "others-cost-more",
    [SPATE_ADVISE_LOSES] = "people-lose",
};

/* A stream, a traffic of which nothing crosses, or a price. */
typedef struct {
    const char *kind, *bridge, *crossing, *from, *to, *traffic, *measure, *unit;
    bool is_chosen;
    SpateAdviseStream stream; /* its estimates are NAN without */
    SpateAdvisePrice price;   /* likewise */
} Row;

static const SpateMember STREAM[] = {
    {"bridge", SPATE_CELL_TEXT, offsetof(Row, bridge)},
    {"crossing", SPATE_CELL_TEXT, offsetof(Row, crossing)},
    {"from", SPATE_CELL_TEXT, offsetof(Row, from)},
    {"to", SPATE_CELL_TEXT, offsetof(Row, to)},
    {"traffic", SPATE_CELL_TEXT, offsetof(Row, traffic)},
    {"source", SPATE_CELL_TEXT, offsetof(Row, stream.source), SPATE_OR_NULL},
    {"people", SPATE_CELL_FLAG, offsetof(Row, stream.is_peoples)},
    {"chosen", SPATE_CELL_FLAG, offsetof(Row, is_chosen)},
    {"left_out", SPATE_CELL_WORD, offsetof(Row, stream.left_out), SPATE_OR_NULL,
     SPATE_WORDS(LEFT_OUT)},
    SPATE_ESTIMATE_MEMBER("messages_per_hour", Row, stream.per_hour),
    SPATE_ESTIMATE_MEMBER("load_share", Row, stream.load_share),
    SPATE_ESTIMATE_MEMBER("collision_share", Row, stream.collision_share),
    SPATE_ESTIMATE_MEMBER("gain", Row, stream.gain),
    {"gain_replications", SPATE_CELL_WHOLE, offsetof(Row, stream.n_gain)},
    {"gain_level", SPATE_CELL_NUMBER, offsetof(Row, stream.gain_level), SPATE_OR_NULL},
};

static const SpateMember NOTHING[] = {
    {"bridge", SPATE_CELL_TEXT, offsetof(Row, bridge)},
    {"crossing", SPATE_CELL_TEXT, offsetof(Row, crossing)},
    {"traffic", SPATE_CELL_TEXT, offsetof(Row, traffic)},
};

static const SpateMember PRICE[] = {
    {"traffic", SPATE_CELL_TEXT, offsetof(Row, traffic)},
    {"held_back", SPATE_CELL_FLAG, offsetof(Row, is_chosen)},
    {"measure", SPATE_CELL_TEXT, offsetof(Row, measure)},
    {"unit", SPATE_CELL_TEXT, offsetof(Row, unit)},
    SPATE_ESTIMATE_MEMBER("before", Row, price.before),
    SPATE_ESTIMATE_MEMBER("after", Row, price.after),
    SPATE_ESTIMATE_MEMBER("change", Row, price.change),
};

/* Of CSV: streams and prices; an estimate is NAME of the mean, NAME_low, NAME_high. */
#define CELLS(name, member)                                                                        \
    {name, SPATE_CELL_NUMBER, offsetof(Row, member.mean)},                                         \
    {                                                                                              \
        name, SPATE_CELL_INTERVAL, offsetof(Row, member.ci95)                                      \
    }
static const SpateMember LINE[] = {
    {"kind", SPATE_CELL_TEXT, offsetof(Row, kind)},
    {"bridge", SPATE_CELL_TEXT, offsetof(Row, bridge)},
    {"crossing", SPATE_CELL_TEXT, offsetof(Row, crossing)},
    {"traffic", SPATE_CELL_TEXT, offsetof(Row, traffic)},
    {"source", SPATE_CELL_TEXT, offsetof(Row, stream.source)},
    {"people", SPATE_CELL_FLAG, offsetof(Row, stream.is_peoples)},
    {"chosen", SPATE_CELL_FLAG, offsetof(Row, is_chosen)},
    CELLS("messages_per_hour", stream.per_hour),
    CELLS("load_share", stream.load_share),
    CELLS("collision_share", stream.collision_share),
    CELLS("gain", stream.gain),
    {"measure", SPATE_CELL_TEXT, offsetof(Row, measure)},
    CELLS("before", price.before),
    CELLS("after", price.after),
    CELLS("change", price.change),
    {"gain_replications", SPATE_CELL_WHOLE, offsetof(Row, stream.n_gain), .of = SPATE_THING_ELSE},
    {"gain_level", SPATE_CELL_NUMBER, offsetof(Row, stream.gain_level)},
};
static const SpateForm LINE_FORM = SPATE_FORM(Row, LINE);

typedef struct {
    const char *title;
    SpateExpectVerdict kind;
    SpateEstimate measured;
    const SpateDoubtVerdict *doubt;
} Verdict;

static const SpateMember VERDICT[] = {
    {"expectation", SPATE_CELL_TEXT, offsetof(Verdict, title)},
    {"verdict", SPATE_CELL_WORD, offsetof(Verdict, kind), SPATE_IS_VERDICT},
    SPATE_ESTIMATE_MEMBER("measured", Verdict, measured),
    {"doubt", SPATE_CELL_POINTED, offsetof(Verdict, doubt), SPATE_OR_ABSENT,
     .form = &SPATE_DOUBT_FORM},
};

typedef struct {
    SpateAdviceHead head;
    SpatePeopleForm people;
    SpateAdvice its;
    Row *streams, *nothing, *prices; /* prices NULL: none */
    Verdict *as_it_is, *with_rules;
    size_t n_streams, n_nothing, n_prices, n_as_it_is, n_with_rules;
    bool is_confirmed;
    uint32_t first, n_fresh; /* of the replications that confirmed; from 1 */
} Document;

static const SpateMember CONFIRMATION[] = {
    {"searched", SPATE_CELL_WHOLE, offsetof(Document, its.n_searched)},
    {"first", SPATE_CELL_WHOLE, offsetof(Document, first)},
    {"replications", SPATE_CELL_WHOLE, offsetof(Document, n_fresh)},
    {"refuted", SPATE_CELL_WHOLE, offsetof(Document, its.n_refuted)},
};

#define ITEMS(items, type, members)                                                                \
    SPATE_LIST(Document, items, n_##items), SPATE_OF(type, members), .line = "\n "

static const SpateMember DOCUMENT[] = {
    {NULL, SPATE_CELL_PARTS, offsetof(Document, head), .form = &SPATE_ADVICE_HEAD_FORM},
    {"people", SPATE_CELL_OBJECT, offsetof(Document, people), .form = &SPATE_PEOPLE_FORM,
     .line = "\n "},
    {"streams", SPATE_CELL_LIST, ITEMS(streams, Row, STREAM), .each = "\n  "},
    {"nothing_crosses", SPATE_CELL_LIST, ITEMS(nothing, Row, NOTHING)},
    {"answer", SPATE_CELL_WORD, offsetof(Document, its.answer), SPATE_WORDS(ANSWERS)},
    {"sets_tried", SPATE_CELL_WHOLE, offsetof(Document, its.n_sets_tried)},
    {"smallest", SPATE_CELL_FLAG, offsetof(Document, its.is_smallest)},
    {"passes_one_of", SPATE_CELL_WHOLE, offsetof(Document, its.one_of)},
    {"rules", SPATE_CELL_TEXT, offsetof(Document, its.rules), SPATE_OR_NULL},
    {"as_it_is", SPATE_CELL_LIST, ITEMS(as_it_is, Verdict, VERDICT)},
    {"with_rules", SPATE_CELL_LIST, ITEMS(with_rules, Verdict, VERDICT)},
    {"confirmation", SPATE_CELL_OBJECT, SPATE_OF(Document, CONFIRMATION), .line = "\n ",
     .given = SPATE_GIVEN(Document, is_confirmed)},
    {"prices", SPATE_CELL_LIST, ITEMS(prices, Row, PRICE), .each = "\n  ",
     .absence = SPATE_OR_NULL},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

/* ---- filling it ------------------------------------------------------------------------------ */

#define NO_VALUE                                                                                   \
    {                                                                                              \
        NAN, {NAN, NAN}, 0                                                                         \
    }

static Row
row_of(const SpateAdvice *advice, const char *kind, uint32_t traffic)
{
    return (Row){
        .kind = kind,
        .traffic = advice->scenario->traffics[traffic].name,
        .stream = {.per_hour = NO_VALUE,
                   .load_share = NO_VALUE,
                   .collision_share = NO_VALUE,
                   .gain = NO_VALUE,
                   .n_gain = SPATE_NO_THING,
                   .gain_level = NAN},
        .price = {.before = NO_VALUE, .after = NO_VALUE, .change = NO_VALUE},
    };
}

static void
fill_crossing(Row *row, const SpateAdvice *advice, const SpateCrossingGroup *crossing)
{
    row->bridge = spate_advise_bridge(advice, crossing);
    row->crossing = crossing->name;
    row->from = advice->scenario->bearers[crossing->from_bearer].name;
    row->to = advice->scenario->bearers[crossing->to_bearer].name;
}

static Row
stream_row(const SpateAdvice *advice, guint number)
{
    const SpateAdviseStream *stream = spate_advise_stream(advice, number);
    Row row = row_of(advice, "stream", stream->traffic);
    fill_crossing(&row, advice, spate_advise_crossing(advice, stream));
    row.stream = *stream;
    row.is_chosen = spate_advise_is_chosen(advice, number);
    return row;
}

static Row
price_row(const SpateAdvice *advice, guint number)
{
    const SpateAdvisePrice *price = &g_array_index(advice->prices, SpateAdvisePrice, number);
    const SpateMeasureInfo *info = spate_measure_info(price->measure);
    Row row = row_of(advice, "price", price->traffic);
    row.measure = info->name;
    row.unit = spate_unit_name(info->unit);
    row.stream.is_peoples = advice->people.is_named[price->traffic];
    row.is_chosen = spate_advise_treats(advice, price->traffic);
    row.price = *price;
    return row;
}

static void
fill_nothing(Document *document, const SpateAdvice *advice, GPtrArray *scratch)
{
    guint n_groups = advice->index.groups->len;
    uint32_t n_traffics = advice->index.n_traffics;
    document->nothing = spate_scratch(scratch, g_new(Row, (gsize)n_groups * n_traffics + 1));
    for (guint group = 0; group < n_groups; group++)
        for (uint32_t k = 0; k < n_traffics; k++) {
            if (spate_advise_crosses(advice, group, k))
                continue;
            Row *row = &document->nothing[document->n_nothing++];
            *row = row_of(advice, NULL, k);
            fill_crossing(row, advice,
                          &g_array_index(advice->index.groups, SpateCrossingGroup, group));
        }
}

static Verdict *
verdicts_of(const SpateCheck *check, size_t *n, GPtrArray *scratch)
{
    *n = check != NULL ? check->n_points : 0;
    Verdict *verdicts = spate_scratch(scratch, g_new(Verdict, *n + 1));
    for (size_t i = 0; i < *n; i++) {
        const SpateCheckPoint *point = &check->points[i];
        const SpateJudgement *judgement = &point->judgement;
        GString *title = g_string_new(NULL);
        spate_check_append_title(title, point);
        verdicts[i] = (Verdict){spate_scratch(scratch, g_string_free(title, FALSE)),
                                judgement->kind,
                                {judgement->mean, judgement->ci95, judgement->n},
                                point->doubt};
    }
    return verdicts;
}

void
spate_advise_append_json(GString *text, const SpateAdvice *advice)
{
    g_autoptr(GPtrArray) scratch = g_ptr_array_new_with_free_func(g_free);
    const SpateCheck *verified = advice->verified;
    Document document = {
        .head = spate_advice_head("bridges", advice->scenario, advice->variant,
                                  advice->n_replications, advice->interrupted),
        .people = spate_people_form(&advice->people, &advice->delivery),
        .its = *advice,
        .streams = spate_scratch(scratch, g_new(Row, advice->streams->len + 1)),
        .n_streams = advice->streams->len,
        .n_prices = advice->prices != NULL ? advice->prices->len : 0,
        .is_confirmed = verified != NULL,
        .first = advice->first_fresh + 1,
        .n_fresh = verified != NULL ? verified->n_replications : 0,
    };
    spate_scratch(scratch, document.people.traffics);
    for (guint i = 0; i < document.n_streams; i++)
        document.streams[i] = stream_row(advice, i);
    if (advice->prices != NULL)
        document.prices = spate_scratch(scratch, g_new(Row, document.n_prices + 1));
    for (guint i = 0; i < document.n_prices; i++)
        document.prices[i] = price_row(advice, i);
    fill_nothing(&document, advice, scratch);
    document.as_it_is = verdicts_of(advice->as_it_is, &document.n_as_it_is, scratch);
    document.with_rules = verdicts_of(verified, &document.n_with_rules, scratch);
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
}

void
spate_advise_append_csv(GString *text, const SpateAdvice *advice)
{
    spate_form_append_csv_head(text, &LINE_FORM);
    for (guint i = 0; i < advice->streams->len; i++) {
        const Row row = stream_row(advice, i);
        spate_form_append_csv(text, &LINE_FORM, &row);
    }
    for (guint i = 0; advice->prices != NULL && i < advice->prices->len; i++) {
        const Row row = price_row(advice, i);
        spate_form_append_csv(text, &LINE_FORM, &row);
    }
}
