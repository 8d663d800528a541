/* detail-form.c - the details of a result by tables */
#include "report/result/detail-form.h"

#include "report/result/result-form.h"
#include "report/result/shared-forms.h"
#include <math.h>

/* Digits of shares and airtimes. */
#define SHARE .absence = SPATE_OR_NULL, .digits = 4
#define STEPS .n_at = offsetof(SpateTimelineForm, n_steps), .n_size = sizeof(uint32_t), .digits = 4
#define NODE  .of = SPATE_THING_NODE
#define RADIO .of = SPATE_THING_RADIO

/* ---- the ways of messages -------------------------------------------------------------------- */

static void
append_replays(GString *text, gconstpointer data)
{
    const struct SpateReplays *replays = data;
    g_string_append_c(text, '[');
    for (guint i = 0; i < replays->n; i++) {
        g_string_append(text, i > 0 ? ",\n     " : "\n     ");
        spate_detail_append_replay(text, replays->traces[i]);
    }
    g_string_append_c(text, ']');
}

/* ---- a variant ------------------------------------------------------------------------------- */

static const SpateMember BEARER[] = {
    {"name", SPATE_CELL_TEXT, offsetof(SpateBearerForm, name)},
    {"kind", SPATE_CELL_TEXT, offsetof(SpateBearerForm, kind)},
    {"frequency_hz", SPATE_CELL_NUMBER, offsetof(SpateBearerForm, frequency_hz)},
    {"sensitivity_dbm", SPATE_CELL_NUMBER, offsetof(SpateBearerForm, sensitivity_dbm),
     .tenths = true},
};
static const SpateMember CROSSING[] = {
    {"name", SPATE_CELL_TEXT, offsetof(SpateCrossingForm, name)},
    {"from", SPATE_CELL_WHOLE, offsetof(SpateCrossingForm, from), .of = SPATE_THING_BEARER},
    {"to", SPATE_CELL_WHOLE, offsetof(SpateCrossingForm, to), .of = SPATE_THING_BEARER},
};
static const SpateMember BRIDGE[] = {
    {"name", SPATE_CELL_TEXT, offsetof(SpateBridgeForm, name), .of = SPATE_THING_BRIDGE},
    {"node", SPATE_CELL_WHOLE, offsetof(SpateBridgeForm, node), NODE},
    {"crossings", SPATE_CELL_LIST, SPATE_LIST(SpateBridgeForm, crossings, n_crossings),
     SPATE_OF(SpateCrossingForm, CROSSING)},
};
static const SpateMember POINT[] = {
    {"east", SPATE_CELL_NUMBER, offsetof(SpatePosition, east), .digits = 9},
    {"north", SPATE_CELL_NUMBER, offsetof(SpatePosition, north), .digits = 9},
};
static const SpateMember MOVES[] = {
    {"along", SPATE_CELL_LINES, SPATE_LIST(SpateWayForm, along, n_points),
     SPATE_OF(SpatePosition, POINT), .item = "point"},
    {"legs_m", SPATE_CELL_NUMBERS, SPATE_LIST(SpateWayForm, legs_m, n_points), .digits = 7},
    {"step_m", SPATE_CELL_NUMBER, offsetof(SpateWayForm, step_m)},
    {"speed_m_per_s", SPATE_CELL_NUMBER, offsetof(SpateWayForm, speed_m_per_s)},
    {"from_s", SPATE_CELL_SECONDS, offsetof(SpateWayForm, from_ns)},
    {"back", SPATE_CELL_FLAG, offsetof(SpateWayForm, back)},
};
/* Nine digits tell decimetres. */
#define IN_PLANE SPATE_OR_ABSENT, .given = SPATE_GIVEN(SpateNodeForm, in_plane), .tenths = true
#define ON_EARTH SPATE_OR_ABSENT, .given = SPATE_GIVEN(SpateNodeForm, at.is_geographic), .digits = 9
static const SpateMember NODES[] = {
    {"name", SPATE_CELL_TEXT, offsetof(SpateNodeForm, name), NODE},
    {"label", SPATE_CELL_TEXT, offsetof(SpateNodeForm, label), SPATE_OR_ABSENT},
    {"x_m", SPATE_CELL_NUMBER, offsetof(SpateNodeForm, at.x_m), IN_PLANE},
    {"y_m", SPATE_CELL_NUMBER, offsetof(SpateNodeForm, at.y_m), IN_PLANE},
    {"lat", SPATE_CELL_NUMBER, offsetof(SpateNodeForm, at.latitude_deg), ON_EARTH, .least = -90,
     .most = 90},
    {"lon", SPATE_CELL_NUMBER, offsetof(SpateNodeForm, at.longitude_deg), ON_EARTH, .least = -180,
     .most = 180},
    {"height_m", SPATE_CELL_NUMBER, offsetof(SpateNodeForm, at.height_m), .tenths = true},
    {"moves", SPATE_CELL_POINTED, offsetof(SpateNodeForm, moves), SPATE_OR_ABSENT,
     SPATE_OF(SpateWayForm, MOVES)},
    {"relays", SPATE_CELL_FLAG, offsetof(SpateNodeForm, relays)},
    {"bridge", SPATE_CELL_FLAG, offsetof(SpateNodeForm, is_bridge)},
    {"source_of", SPATE_CELL_TEXTS, offsetof(SpateNodeForm, source_of)},
    {"radios", SPATE_CELL_WHOLES, SPATE_LIST(SpateNodeForm, radios, n_radios), RADIO},
};
static const SpateMember RADIOS[] = {
    {"node", SPATE_CELL_WHOLE, offsetof(SpateRadio, node), NODE},
    {"bearer", SPATE_CELL_WHOLE, offsetof(SpateRadio, bearer), .of = SPATE_THING_BEARER},
};
static const SpateMember LINKS[] = {
    {"from_radio", SPATE_CELL_WHOLE, offsetof(SpateDetailLink, from), RADIO},
    {"to_radio", SPATE_CELL_WHOLE, offsetof(SpateDetailLink, to), RADIO},
    {"margin_db", SPATE_CELL_NUMBER, offsetof(SpateDetailLink, margin_db), SPATE_OR_NULL,
     .tenths = true},
    {"margin_back_db", SPATE_CELL_NUMBER, offsetof(SpateDetailLink, margin_back_db), SPATE_OR_NULL,
     .tenths = true},
};
static const SpateMember LINKS_LEFT[] = {
    {"left_out", SPATE_CELL_LARGE, offsetof(SpateVariantForm, its.n_links_left)},
};
static const SpateMember NODE_MEASURES[] = {
    {"node", SPATE_CELL_INDEX, NODE},
    {"delivery", SPATE_CELL_NUMBER, offsetof(SpateNodeMeasuresForm, to.share), SHARE},
    {"low", SPATE_CELL_NUMBER, offsetof(SpateNodeMeasuresForm, to.ci95.low), SHARE},
    {"high", SPATE_CELL_NUMBER, offsetof(SpateNodeMeasuresForm, to.ci95.high), SHARE},
    {"pairs", SPATE_CELL_LARGE, offsetof(SpateNodeMeasuresForm, to.n_pairs)},
    {"from_delivery", SPATE_CELL_NUMBER, offsetof(SpateNodeMeasuresForm, from.share), SHARE},
    {"from_low", SPATE_CELL_NUMBER, offsetof(SpateNodeMeasuresForm, from.ci95.low), SHARE},
    {"from_high", SPATE_CELL_NUMBER, offsetof(SpateNodeMeasuresForm, from.ci95.high), SHARE},
    {"from_pairs", SPATE_CELL_LARGE, offsetof(SpateNodeMeasuresForm, from.n_pairs)},
};
static const SpateMember RADIO_MEASURES[] = {
    {"radio", SPATE_CELL_INDEX, RADIO},
    {"sending", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, sending), SHARE},
    {"low", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, ci95.low), SHARE},
    {"high", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, ci95.high), SHARE},
    {"audible_per_hour", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, audible_per_hour), SHARE},
    {"received", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, received), SHARE},
    {"lost_collision", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, lost_collision), SHARE},
    {"lost_busy", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, lost_busy), SHARE},
    {"lost_sending", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, lost_sending), SHARE},
    {"lost_blocked", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, lost_blocked), SHARE},
    {"redundant", SPATE_CELL_NUMBER, offsetof(SpateDetailRadio, redundant), SHARE},
    {"transmissions_per_hour", SPATE_CELL_NUMBER,
     offsetof(SpateDetailRadio, transmissions_per_hour), SHARE},
};
static const SpateMember SLEEPERS[] = {
    {"radio", SPATE_CELL_WHOLE, offsetof(SpateSleeperForm, radio), RADIO},
    {"lost_asleep", SPATE_CELL_NUMBER, offsetof(SpateSleeperForm, lost_asleep), SHARE},
};
static const SpateMember DISTURBERS[] = {
    {"receiver_radio", SPATE_CELL_WHOLE, offsetof(SpateDetailDisturber, receiver), RADIO},
    {"sender_radio", SPATE_CELL_WHOLE, offsetof(SpateDetailDisturber, sender), SPATE_OR_NULL,
     RADIO},
    {"blame", SPATE_CELL_WORD, offsetof(SpateDetailDisturber, blame), SPATE_IS_BLAME},
    {"per_hour", SPATE_CELL_NUMBER, offsetof(SpateDetailDisturber, per_hour), SHARE},
    {"share", SPATE_CELL_NUMBER, offsetof(SpateDetailDisturber, share), SHARE},
    {"collision", SPATE_CELL_NUMBER, offsetof(SpateDetailDisturber, collision), SHARE},
    {"busy", SPATE_CELL_NUMBER, offsetof(SpateDetailDisturber, busy), SHARE},
    {"blocked", SPATE_CELL_NUMBER, offsetof(SpateDetailDisturber, blocked), SHARE},
};
static const SpateMember DISTURBERS_LEFT[] = {
    {"left_out", SPATE_CELL_LARGE, offsetof(SpateVariantForm, its.n_disturbers_left)},
};
static const SpateMember LINE[] = {
    {"bearer", SPATE_CELL_WHOLE, offsetof(SpateTimelineForm, bearer), .of = SPATE_THING_BEARER},
    {"traffic", SPATE_CELL_TEXT, offsetof(SpateTimelineForm, traffic), SPATE_OR_NULL},
    {"mean", SPATE_CELL_NUMBERS, offsetof(SpateTimelineForm, mean), STEPS},
    {"low", SPATE_CELL_NUMBERS, offsetof(SpateTimelineForm, low), SPATE_OR_ABSENT, STEPS},
    {"high", SPATE_CELL_NUMBERS, offsetof(SpateTimelineForm, high), SPATE_OR_ABSENT, STEPS},
};
static const SpateMember TIMELINE[] = {
    {"rows", SPATE_CELL_LIST, SPATE_LIST(SpateVariantForm, timeline, n_lines),
     SPATE_OF(SpateTimelineForm, LINE), .each = "\n     ", .beside = true, .item = "row"},
};
static const SpateMember BIN[] = {
    {"hops", SPATE_CELL_WHOLE, offsetof(SpateBinForm, hops), .most = 999},
    {"bin", SPATE_CELL_WHOLE, offsetof(SpateBinForm, bin), .most = 999},
    {"n", SPATE_CELL_LARGE, offsetof(SpateBinForm, n)},
};
static const SpateMember LATENCY[] = {
    {"traffic", SPATE_CELL_TEXT, offsetof(SpateLatencyForm, traffic)},
    {"bins", SPATE_CELL_LINES, SPATE_LIST(SpateLatencyForm, bins, n_bins),
     SPATE_OF(SpateBinForm, BIN), .item = "bin"},
};

#define OWN_LINE            .line = "\n    "
#define ITEMS(items, count) SPATE_LIST(SpateVariantForm, items, count), OWN_LINE
static const SpateMember VARIANT[] = {
    {"name", SPATE_CELL_TEXT, offsetof(SpateVariantForm, name)},
    {"summary", SPATE_CELL_TEXT, offsetof(SpateVariantForm, summary), SPATE_OR_NULL},
    {"bearers", SPATE_CELL_LIST, ITEMS(bearers, n_bearers), SPATE_OF(SpateBearerForm, BEARER),
     .lists = SPATE_THING_BEARER, .item = "bearer"},
    {"bridges", SPATE_CELL_LIST, ITEMS(bridges, n_bridges), SPATE_OF(SpateBridgeForm, BRIDGE),
     .item = "bridge"},
    {"random_places", SPATE_CELL_FLAG, offsetof(SpateVariantForm, random_places), OWN_LINE},
    {"nodes", SPATE_CELL_LIST, ITEMS(nodes, n_nodes), SPATE_OF(SpateNodeForm, NODES),
     .each = "\n     ", .lists = SPATE_THING_NODE, .item = "node"},
    {"radios", SPATE_CELL_ROWS, ITEMS(radios, n_radios), SPATE_OF(SpateRadio, RADIOS),
     .lists = SPATE_THING_RADIO, .item = "radio"},
    {"links", SPATE_CELL_ROWS, ITEMS(links, n_links), SPATE_OF(SpateDetailLink, LINKS),
     .rest = &(const SpateForm)SPATE_FORM(SpateVariantForm, LINKS_LEFT), .item = "link"},
    {"node_measures", SPATE_CELL_ROWS, ITEMS(node_measures, n_nodes),
     SPATE_OF(SpateNodeMeasuresForm, NODE_MEASURES), .item = "measures of node"},
    {"radio_measures", SPATE_CELL_ROWS, ITEMS(its.radios, n_radios),
     SPATE_OF(SpateDetailRadio, RADIO_MEASURES), .item = "measures of radio"},
    {"sleepers", SPATE_CELL_ROWS, ITEMS(sleepers, n_sleepers), .absence = SPATE_OR_ABSENT,
     SPATE_OF(SpateSleeperForm, SLEEPERS), .item = "radio that sleeps"},
    {"disturbers", SPATE_CELL_ROWS, ITEMS(disturbers, n_disturbers),
     SPATE_OF(SpateDetailDisturber, DISTURBERS),
     .rest = &(const SpateForm)SPATE_FORM(SpateVariantForm, DISTURBERS_LEFT), .item = "disturber"},
    {"timeline", SPATE_CELL_OBJECT, SPATE_OF(SpateVariantForm, TIMELINE), OWN_LINE},
    {"latency", SPATE_CELL_LIST, ITEMS(latency, n_traffics), SPATE_OF(SpateLatencyForm, LATENCY),
     .each = "\n     ", .beside = true, .item = "latency"},
    {"replay", SPATE_CELL_LIST, offsetof(SpateVariantForm, replay), .form = &SPATE_REPLAY_FORM,
     OWN_LINE, .append = append_replays, .of = SPATE_THING_MESSAGE, .holes = true,
     .item = "replay"},
    {"coverage", SPATE_CELL_POINTED, offsetof(SpateVariantForm, coverage), SPATE_OR_ABSENT,
     .form = &SPATE_COVERAGE_FORM, OWN_LINE},
};
const SpateForm SPATE_DETAIL_VARIANT_FORM = SPATE_FORM(SpateVariantForm, VARIANT);

/* ---- the whole ------------------------------------------------------------------------------- */

static const char *const FORMS[] = {"metres", "degrees"};
static const char *const CHOICES[] = {
    [SPATE_CHOSEN_REACHED_ALL] = "reached-all",
    [SPATE_CHOSEN_MISSED_SOME] = "missed-some",
    [SPATE_CHOSEN_FIRST] = "first",
};

static const SpateMember LEFT_OUT[] = {
    {"what", SPATE_CELL_TEXT, offsetof(SpateLeftOut, what)},
    {"effect", SPATE_CELL_TEXT, offsetof(SpateLeftOut, effect)},
};
static const SpateMember PLACES[] = {
    {"form", SPATE_CELL_FLAG, offsetof(SpateDetailForm, in_degrees), SPATE_WORDS(FORMS)},
    {"blurred_m", SPATE_CELL_NUMBER, offsetof(SpateDetailForm, blurred_m), SPATE_OR_NULL},
    {"anonymous", SPATE_CELL_FLAG, offsetof(SpateDetailForm, is_anonymous)},
};
static const SpateMember BINS[] = {
    {"per_decade", SPATE_CELL_WHOLE, offsetof(SpateDetailForm, per_decade)},
    {"first_s", SPATE_CELL_NUMBER, offsetof(SpateDetailForm, first_s)},
};
static const SpateMember MESSAGE[] = {
    {"traffic", SPATE_CELL_TEXT, offsetof(SpateMessageForm, its.traffic)},
    {"origin", SPATE_CELL_TEXT, offsetof(SpateMessageForm, its.origin), NODE},
    {"offer", SPATE_CELL_LARGE, offsetof(SpateMessageForm, its.offer)},
    {"replication", SPATE_CELL_WHOLE, offsetof(SpateMessageForm, replication)},
    {"offered_s", SPATE_CELL_SECONDS, offsetof(SpateMessageForm, its.offered_ns)},
    {"chosen", SPATE_CELL_WORD, offsetof(SpateMessageForm, its.why), SPATE_WORDS(CHOICES)},
};

#define HEAD_LINE .line = "\n  "
static const SpateMember DETAIL[] = {
    {"format", SPATE_CELL_FIXED, .fixed = "spate-detail/1"},
    {"text", SPATE_CELL_TEXT, offsetof(SpateDetailForm, text), SPATE_OR_NULL, HEAD_LINE},
    {"settings", SPATE_CELL_TEXTS, offsetof(SpateDetailForm, settings), HEAD_LINE},
    {"left_out", SPATE_CELL_LIST, SPATE_LIST(SpateDetailForm, left_out, n_left_out),
     SPATE_OF(SpateLeftOut, LEFT_OUT), HEAD_LINE, .each = "\n   ", .item = "left out"},
    {"places", SPATE_CELL_OBJECT, SPATE_OF(SpateDetailForm, PLACES), HEAD_LINE},
    {"latency_bins", SPATE_CELL_OBJECT, SPATE_OF(SpateDetailForm, BINS), HEAD_LINE},
    {"timeline_step_s", SPATE_CELL_SECONDS, offsetof(SpateDetailForm, step_ns), HEAD_LINE},
    {"messages", SPATE_CELL_LIST, SPATE_LIST(SpateDetailForm, messages, n_messages),
     SPATE_OF(SpateMessageForm, MESSAGE), HEAD_LINE, .each = "\n   ", .lists = SPATE_THING_MESSAGE,
     .item = "message"},
    {"relief", SPATE_CELL_POINTED, offsetof(SpateDetailForm, relief), SPATE_OR_ABSENT,
     .form = &SPATE_RELIEF_FORM, HEAD_LINE},
    {"variants", SPATE_CELL_LIST, SPATE_LIST(SpateDetailForm, variants, n_variants),
     .form = &SPATE_DETAIL_VARIANT_FORM, HEAD_LINE, .each = "\n   ", .item = "variant"},
};
const SpateForm SPATE_DETAIL_FORM = SPATE_FORM(SpateDetailForm, DETAIL);

/* ---- checking -------------------------------------------------------------------------------- */

static guint
count(JsonObject *object, const char *key)
{
    return json_array_get_length(json_object_get_array_member(object, key));
}

/* Whether the way of a node on the earth stays on it. */
static bool
is_on_earth(JsonObject *node)
{
    JsonArray *along =
        json_object_has_member(node, "moves")
            ? json_object_get_array_member(json_object_get_object_member(node, "moves"), "along")
            : NULL;
    for (guint i = 0; along != NULL && i < json_array_get_length(along); i++) {
        JsonArray *point = json_array_get_array_element(along, i);
        if (fabs(json_array_get_double_element(point, 0)) > 180.0 ||
            fabs(json_array_get_double_element(point, 1)) > 90.0)
            return false;
    }
    return true;
}

/* Nodes have places of one form. */
static char *
place_fault(JsonObject *variant, guint number, bool in_degrees)
{
    static const char *const keys[2][2] = {{"x_m", "y_m"}, {"lat", "lon"}};
    JsonArray *nodes = json_object_get_array_member(variant, "nodes");
    for (guint i = 0; i < json_array_get_length(nodes); i++) {
        JsonObject *node = json_array_get_object_element(nodes, i);
        for (int k = 0; k < 2; k++) {
            const char *wanted = keys[in_degrees][k], *other = keys[!in_degrees][k];
            if (!json_object_has_member(node, wanted) || json_object_has_member(node, other))
                return g_strdup_printf("its details, variant %u, node %u: '%s' is missing, or "
                                       "'%s' is there too",
                                       number, i, wanted, other);
        }
        if (in_degrees && !is_on_earth(node))
            return g_strdup_printf("its details, variant %u, node %u: 'along' leaves the earth",
                                   number, i);
    }
    return NULL;
}

static char *
line_fault(JsonObject *variant, guint number)
{
    JsonArray *rows =
        json_object_get_array_member(json_object_get_object_member(variant, "timeline"), "rows");
    for (guint i = 0; i < json_array_get_length(rows); i++) {
        JsonObject *row = json_array_get_object_element(rows, i);
        if (json_object_get_null_member(row, "traffic") &&
            !(json_object_has_member(row, "low") && json_object_has_member(row, "high")))
            return g_strdup_printf("its details, variant %u, row %u: 'low' or 'high' is missing",
                                   number, i);
    }
    return NULL;
}

/* What the tables do not tell: places are of the form that is said, a row of all traffics has its
 * interval, layers have all their cells. */
static char *
other_fault(JsonObject *result, JsonObject *detail)
{
    JsonObject *places = json_object_get_object_member(detail, "places");
    bool in_degrees = g_str_equal(json_object_get_string_member(places, "form"), "degrees");
    if (count(detail, "variants") != count(result, "variants"))
        return g_strdup("its details do not match its variants");
    char *fault = spate_detail_relief_fault(detail, in_degrees);
    if (fault != NULL)
        return fault;
    JsonArray *variants = json_object_get_array_member(detail, "variants");
    for (guint v = 0; v < json_array_get_length(variants); v++) {
        JsonObject *variant = json_array_get_object_element(variants, v);
        fault = place_fault(variant, v, in_degrees);
        if (fault == NULL)
            fault = line_fault(variant, v);
        if (fault == NULL)
            fault = spate_detail_coverage_fault(variant, v, in_degrees);
        if (fault != NULL)
            return fault;
    }
    return NULL;
}

/* Of a result, what its own form passes over. */
static const SpateMember BESIDE[] = {
    {"doubts", SPATE_CELL_LIST, .absence = SPATE_OR_ABSENT, .form = &SPATE_RESULT_DRAWN,
     .item = "doubt"},
    {"detail", SPATE_CELL_OBJECT, .absence = SPATE_OR_ABSENT, .form = &SPATE_DETAIL_FORM,
     .item = "its details"},
};
static const SpateForm BESIDE_FORM = SPATE_FORM(char, BESIDE);

char *
spate_detail_fault(JsonObject *result)
{
    g_autoptr(JsonNode) root = json_node_new(JSON_NODE_OBJECT);
    json_node_set_object(root, result);
    char *fault = spate_form_read(&BESIDE_FORM, root, NULL);
    if (fault != NULL || !json_object_has_member(result, "detail"))
        return fault;
    return other_fault(result, json_object_get_object_member(result, "detail"));
}

SpatePosition
spate_detail_node_place(JsonObject *node)
{
    SpatePosition at = {.is_geographic = json_object_has_member(node, "lat"),
                        .height_m = json_object_get_double_member(node, "height_m")};
    at.east = json_object_get_double_member(node, at.is_geographic ? "lon" : "x_m");
    at.north = json_object_get_double_member(node, at.is_geographic ? "lat" : "y_m");
    return at;
}
