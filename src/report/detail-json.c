/* detail-json.c - the details of a result as JSON
 *
 * Rows are lists whose columns are named beside them: a page of three hundred nodes stays small.
 */
#include "report/detail-report.h"

#include "core/time.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/event-words.h"
#include "report/left-out.h"
#include "scenario/layout.h"
#include <math.h>
#include <string.h>

/* Digits of shares and airtimes. */
#define DIGITS 4

void
spate_append_rounded(GString *text, double value, int digits)
{
    char format[16], buffer[G_ASCII_DTOSTR_BUF_SIZE];
    g_snprintf(format, sizeof format, "%%.%dg", digits);
    g_ascii_formatd(buffer, sizeof buffer, format, value);
    spate_append_number(text, isnan(value) ? value : g_ascii_strtod(buffer, NULL));
}

/* ", 0.9812" */
static void
add_rounded(GString *text, double value)
{
    g_string_append(text, ", ");
    spate_append_rounded(text, value, DIGITS);
}

/* To a tenth. */
static void
add_tenths(GString *text, double value)
{
    g_string_append(text, ", ");
    spate_append_number(text, isnan(value) ? value : rint(value * 10.0) / 10.0);
}

static void
append_member(GString *text, const char *key, const char *value)
{
    g_string_append_printf(text, "\"%s\": ", key);
    if (value != NULL)
        spate_append_json_string(text, value);
    else
        g_string_append(text, "null");
}

static void
begin_rows(GString *text, const char *key, const char *columns)
{
    g_string_append_printf(text, ",\n    \"%s\": {\"columns\": [%s], \"rows\": [", key, columns);
}

/* ---- who stands where ------------------------------------------------------------------------ */

static void
append_bearers(GString *text, const SpateDetailVariant *variant)
{
    const SpatePlan *plan = spate_world_plan(variant->shown);
    g_string_append(text, ",\n    \"bearers\": [");
    for (uint32_t i = 0; i < plan->n_bearers; i++) {
        const SpateBearer *bearer = &plan->bearers[i];
        g_string_append(text, i > 0 ? ", {" : "{");
        append_member(text, "name", plan->bearer_names[i]);
        g_string_append(text, ", ");
        append_member(text, "kind", bearer->modulation.kind->name);
        g_string_append(text, ", \"frequency_hz\": ");
        spate_append_number(text, (double)bearer->modulation.centre_hz);
        g_string_append(text, ", \"sensitivity_dbm\": ");
        spate_append_number(text, rint(10.0 * spate_bearer_sensitivity_dbm(bearer)) / 10.0);
        g_string_append_c(text, '}');
    }
    g_string_append_c(text, ']');
}

static void
append_crossings(GString *text, const SpatePlan *plan, uint32_t bridge, uint32_t node)
{
    const char *between = "";
    for (uint32_t i = 0; i < plan->n_crossings; i++) {
        const SpateCrossing *crossing = &plan->crossings[i];
        if (crossing->bridge != bridge || crossing->node != node)
            continue;
        g_string_append_printf(text, "%s{", between);
        append_member(text, "name", crossing->name);
        g_string_append_printf(text, ", \"from\": %u, \"to\": %u}", crossing->from_bearer,
                               plan->radios[crossing->to_radio].bearer);
        between = ", ";
    }
}

/* An entry of `bridges:` that is a group is a bridge at each of its nodes. */
static void
append_bridges(GString *text, const SpateDetailVariant *variant)
{
    const SpatePlan *plan = spate_world_plan(variant->shown);
    const char *between = "";
    g_string_append(text, ",\n    \"bridges\": [");
    for (uint32_t i = 0; i < plan->n_crossings; i++) {
        const SpateCrossing *crossing = &plan->crossings[i];
        if (i > 0 && plan->crossings[i - 1].node == crossing->node)
            continue;
        g_string_append_printf(text, "%s{", between);
        append_member(text, "name", plan->bridge_names[crossing->bridge]);
        g_string_append_printf(text, ", \"node\": %u, \"crossings\": [", crossing->node);
        append_crossings(text, plan, crossing->bridge, crossing->node);
        g_string_append(text, "]}");
        between = ", ";
    }
    g_string_append_c(text, ']');
}

static bool
has_crossing(const SpatePlan *plan, uint32_t node)
{
    for (uint32_t i = 0; i < plan->n_crossings; i++)
        if (plan->crossings[i].node == node)
            return true;
    return false;
}

static void
append_sources(GString *text, const SpateScenario *scenario, uint32_t node)
{
    const char *between = "";
    for (uint32_t t = 0; t < scenario->n_traffics; t++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[t];
        for (uint32_t i = 0; i < traffic->n_sources; i++) {
            if (traffic->sources[i] != node)
                continue;
            g_string_append(text, between);
            spate_append_json_string(text, traffic->name);
            between = ", ";
        }
    }
}

static void
append_node(GString *text, const SpateDetailVariant *variant, uint32_t node)
{
    const SpatePlan *plan = spate_world_plan(variant->shown);
    SpatePosition at = spate_world_position(variant->shown, node, 0);
    bool relays = false;
    for (uint32_t i = 0; i < plan->nodes[node].n_radios; i++)
        relays = relays || plan->radios[plan->nodes[node].first_radio + i].relays;
    g_string_append(text, "{");
    append_member(text, "name", plan->nodes[node].name);
    const char *label = spate_world_scenario(variant->shown)->nodes[node].label;
    if (label != NULL) {
        g_string_append(text, ", ");
        append_member(text, "label", label);
    }
    g_string_append(text, ", \"x_m\": ");
    spate_append_number(text, rint(at.x_m * 10.0) / 10.0);
    g_string_append(text, ", \"y_m\": ");
    spate_append_number(text, rint(at.y_m * 10.0) / 10.0);
    g_string_append(text, ", \"height_m\": ");
    spate_append_number(text, rint(at.height_m * 10.0) / 10.0);
    g_string_append_printf(text, ", \"relays\": %s, \"bridge\": %s, \"source_of\": [",
                           relays ? "true" : "false", has_crossing(plan, node) ? "true" : "false");
    append_sources(text, spate_world_scenario(variant->shown), node);
    g_string_append(text, "], \"radios\": [");
    for (uint32_t i = 0; i < plan->nodes[node].n_radios; i++)
        g_string_append_printf(text, "%s%u", i > 0 ? ", " : "", plan->nodes[node].first_radio + i);
    g_string_append(text, "]}");
}

static void
append_nodes(GString *text, const SpateDetailVariant *variant)
{
    const SpatePlan *plan = spate_world_plan(variant->shown);
    bool are_random = spate_scenario_redraws_places(spate_world_scenario(variant->shown));
    g_string_append_printf(text, ",\n    \"random_places\": %s,\n    \"nodes\": [",
                           are_random ? "true" : "false");
    for (uint32_t i = 0; i < plan->n_nodes; i++) {
        g_string_append(text, i > 0 ? ",\n     " : "\n     ");
        append_node(text, variant, i);
    }
    g_string_append_c(text, ']');
    begin_rows(text, "radios", "\"node\", \"bearer\"");
    for (uint32_t i = 0; i < plan->n_radios; i++)
        g_string_append_printf(text, "%s[%u, %u]", i > 0 ? ", " : "", plan->radios[i].node,
                               plan->radios[i].bearer);
    g_string_append(text, "]}");
}

/* ---- what each of them gets ------------------------------------------------------------------ */

static void
append_links(GString *text, const SpateDetailVariant *variant)
{
    begin_rows(text, "links", "\"from_radio\", \"to_radio\", \"margin_db\", \"margin_back_db\"");
    for (guint i = 0; i < variant->links->len; i++) {
        const SpateDetailLink *link = &g_array_index(variant->links, SpateDetailLink, i);
        g_string_append_printf(text, "%s[%u, %u", i > 0 ? ", " : "", link->from, link->to);
        add_tenths(text, link->margin_db);
        add_tenths(text, link->margin_back_db);
        g_string_append_c(text, ']');
    }
    g_string_append_printf(text, "], \"left_out\": %" G_GUINT64_FORMAT "}",
                           (guint64)variant->n_links_left);
}

static void
add_share(GString *text, const SpateDetailShare *share)
{
    add_rounded(text, share->share);
    add_rounded(text, share->ci95.low);
    add_rounded(text, share->ci95.high);
    g_string_append_printf(text, ", %" G_GUINT64_FORMAT, (guint64)share->n_pairs);
}

static void
append_node_measures(GString *text, const SpateDetailVariant *variant)
{
    begin_rows(text, "node_measures",
               "\"node\", \"delivery\", \"low\", \"high\", \"pairs\", \"from_delivery\", "
               "\"from_low\", \"from_high\", \"from_pairs\"");
    for (uint32_t i = 0; i < spate_world_plan(variant->shown)->n_nodes; i++) {
        g_string_append_printf(text, "%s[%u", i > 0 ? ", " : "", i);
        add_share(text, &variant->to_node[i]);
        add_share(text, &variant->from_node[i]);
        g_string_append_c(text, ']');
    }
    g_string_append(text, "]}");
}

static void
append_radio_measures(GString *text, const SpateDetailVariant *variant)
{
    begin_rows(text, "radio_measures",
               "\"radio\", \"sending\", \"low\", \"high\", \"audible_per_hour\", \"received\", "
               "\"lost_collision\", \"lost_busy\", \"lost_sending\", \"lost_blocked\", "
               "\"redundant\", \"transmissions_per_hour\"");
    for (uint32_t i = 0; i < spate_world_plan(variant->shown)->n_radios; i++) {
        const SpateDetailRadio *radio = &variant->radios[i];
        const double values[] = {radio->sending,
                                 radio->ci95.low,
                                 radio->ci95.high,
                                 radio->audible_per_hour,
                                 radio->received,
                                 radio->lost_collision,
                                 radio->lost_busy,
                                 radio->lost_sending,
                                 radio->lost_blocked,
                                 radio->redundant,
                                 radio->transmissions_per_hour};
        g_string_append_printf(text, "%s[%u", i > 0 ? ", " : "", i);
        for (size_t k = 0; k < G_N_ELEMENTS(values); k++)
            add_rounded(text, values[k]);
        g_string_append_c(text, ']');
    }
    g_string_append(text, "]}");
}

static void
append_disturbers(GString *text, const SpateDetailVariant *variant)
{
    uint32_t n_radios = spate_world_plan(variant->shown)->n_radios;
    begin_rows(text, "disturbers",
               "\"receiver_radio\", \"sender_radio\", \"blame\", \"per_hour\", \"share\", "
               "\"collision\", \"busy\", \"blocked\"");
    for (guint i = 0; i < variant->disturbers->len; i++) {
        const SpateDetailDisturber *its =
            &g_array_index(variant->disturbers, SpateDetailDisturber, i);
        g_string_append_printf(text, "%s[%u, ", i > 0 ? ", " : "", its->receiver);
        if (its->sender < n_radios)
            g_string_append_printf(text, "%u, ", its->sender);
        else
            g_string_append(text, "null, ");
        spate_append_json_string(text, spate_blame_word(its->blame));
        const double values[] = {its->per_hour, its->share, its->collision, its->busy,
                                 its->blocked};
        for (size_t k = 0; k < G_N_ELEMENTS(values); k++)
            add_rounded(text, values[k]);
        g_string_append_c(text, ']');
    }
    g_string_append_printf(text, "], \"left_out\": %" G_GUINT64_FORMAT "}",
                           (guint64)variant->n_disturbers_left);
}

/* ---- over time ------------------------------------------------------------------------------- */

static void
append_steps(GString *text, const char *key, const double *values)
{
    g_string_append_printf(text, ", \"%s\": [", key);
    for (uint32_t i = 0; i < SPATE_DETAIL_STEPS; i++) {
        g_string_append(text, i > 0 ? ", " : "");
        spate_append_rounded(text, values[i], DIGITS);
    }
    g_string_append_c(text, ']');
}

static bool
is_ever(const double *values)
{
    for (uint32_t i = 0; i < SPATE_DETAIL_STEPS; i++)
        if (values[i] > 0.0)
            return true;
    return false;
}

/* Of each bearer all traffics together, then those that are ever on it. */
static void
append_timeline(GString *text, const SpateDetailVariant *variant)
{
    const SpatePlan *plan = spate_world_plan(variant->shown);
    g_string_append(text, ",\n    \"timeline\": {\"rows\": [");
    for (uint32_t b = 0; b < plan->n_bearers; b++) {
        const SpateDetailTimeline *all = &variant->timeline[b];
        g_string_append_printf(text, "%s{\"bearer\": %u, \"traffic\": null",
                               b > 0 ? ",\n     " : "", b);
        append_steps(text, "mean", all->mean);
        append_steps(text, "low", all->low);
        append_steps(text, "high", all->high);
        g_string_append_c(text, '}');
        for (uint32_t t = 0; t < plan->n_traffics; t++) {
            const double *its =
                &variant->airtime[((size_t)b * plan->n_traffics + t) * SPATE_DETAIL_STEPS];
            if (!is_ever(its))
                continue;
            g_string_append_printf(text, ",\n     {\"bearer\": %u, ", b);
            append_member(text, "traffic", plan->traffics[t].name);
            append_steps(text, "mean", its);
            g_string_append_c(text, '}');
        }
    }
    g_string_append(text, "]}");
}

static void
append_latency_of(GString *text, const uint64_t *counts)
{
    const char *between = "";
    for (uint32_t hops = 0; hops < SPATE_DETAIL_HOPS; hops++) {
        for (uint32_t bin = 0; bin < SPATE_LATENCY_BINS; bin++) {
            uint64_t n = counts[(size_t)hops * SPATE_LATENCY_BINS + bin];
            if (n == 0)
                continue;
            g_string_append_printf(text, "%s[%u, %u, %" G_GUINT64_FORMAT "]", between, hops + 1,
                                   bin, (guint64)n);
            between = ", ";
        }
    }
}

static void
append_latency(GString *text, const SpateDetailVariant *variant)
{
    const SpatePlan *plan = spate_world_plan(variant->shown);
    g_string_append(text, ",\n    \"latency\": [");
    for (uint32_t t = 0; t < plan->n_traffics; t++) {
        size_t at = (size_t)t * SPATE_DETAIL_HOPS * SPATE_LATENCY_BINS;
        g_string_append(text, t > 0 ? ",\n     {" : "{");
        append_member(text, "traffic", plan->traffics[t].name);
        g_string_append(text, ", \"bins\": [");
        append_latency_of(text, &variant->latency[at]);
        g_string_append(text, "]}");
    }
    g_string_append_c(text, ']');
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void
append_variant(GString *text, const SpateDetailReport *report, size_t number)
{
    const SpateDetail *detail = report->detail;
    const SpateDetailVariant *variant = &detail->variants[number];
    g_string_append(text, "   {");
    append_member(text, "name", report->result->variants[number].name);
    g_string_append(text, ", ");
    append_member(text, "summary", report->result->variants[number].summary);
    append_bearers(text, variant);
    append_bridges(text, variant);
    append_nodes(text, variant);
    append_links(text, variant);
    append_node_measures(text, variant);
    append_radio_measures(text, variant);
    append_disturbers(text, variant);
    append_timeline(text, variant);
    append_latency(text, variant);
    g_string_append(text, ",\n    \"replay\": [");
    for (guint i = 0; i < detail->messages->len; i++) {
        g_string_append(text, i > 0 ? ",\n     " : "\n     ");
        spate_detail_append_replay(text, variant->replay[i]);
    }
    g_string_append(text, "]}");
}

static void
append_messages(GString *text, const SpateDetail *detail)
{
    static const char *const CHOICES[] = {
        [SPATE_CHOSEN_REACHED_ALL] = "reached-all",
        [SPATE_CHOSEN_MISSED_SOME] = "missed-some",
        [SPATE_CHOSEN_FIRST] = "first",
    };
    g_string_append(text, ",\n  \"messages\": [");
    for (guint i = 0; i < detail->messages->len; i++) {
        const SpateDetailMessage *message = &g_array_index(detail->messages, SpateDetailMessage, i);
        g_string_append(text, i > 0 ? ",\n   {" : "\n   {");
        append_member(text, "traffic", message->traffic);
        g_string_append(text, ", ");
        append_member(text, "origin", message->origin);
        g_string_append_printf(text, ", \"offer\": %" G_GUINT64_FORMAT ", \"replication\": 1",
                               (guint64)message->offer + 1);
        g_string_append(text, ", \"offered_s\": ");
        spate_append_number(text, (double)message->offered_ns / (double)SPATE_NS_PER_S);
        g_string_append(text, ", ");
        append_member(text, "chosen", CHOICES[message->choice]);
        g_string_append_c(text, '}');
    }
    g_string_append_c(text, ']');
}

static void
append_settings(GString *text, const SpateDetailReport *report)
{
    g_string_append(text, ",\n  \"settings\": [");
    for (size_t i = 0; i < report->n_settings; i++) {
        g_autofree char *setting =
            g_strdup_printf("%s=%s", report->settings[i].path, report->settings[i].value);
        g_string_append(text, i > 0 ? ", " : "");
        spate_append_json_string(text, setting);
    }
    g_string_append_c(text, ']');
}

static void
append_left_out(GString *text)
{
    g_string_append(text, ",\n  \"left_out\": [");
    for (size_t i = 0; SPATE_LEFT_OUT[i].what != NULL; i++) {
        g_string_append(text, i > 0 ? ",\n   {" : "\n   {");
        append_member(text, "what", SPATE_LEFT_OUT[i].what);
        g_string_append(text, ", ");
        append_member(text, "effect", SPATE_LEFT_OUT[i].effect);
        g_string_append_c(text, '}');
    }
    g_string_append_c(text, ']');
}

static void
append_places(GString *text, const SpateScenario *scenario)
{
    g_string_append_printf(text, ",\n  \"places\": {\"form\": \"%s\", \"origin\": ",
                           scenario->is_geographic ? "degrees" : "metres");
    if (scenario->is_geographic) {
        g_string_append_c(text, '[');
        spate_append_number(text, scenario->origin_lat_deg);
        g_string_append(text, ", ");
        spate_append_number(text, scenario->origin_lon_deg);
        g_string_append_c(text, ']');
    } else {
        g_string_append(text, "null");
    }
    g_string_append(text, ", \"blurred_m\": null, \"anonymous\": false}");
}

void
spate_detail_append_json(GString *text, const SpateDetailReport *report)
{
    const SpateDetail *detail = report->detail;
    bool is_short =
        strlen(report->text) <= SPATE_DETAIL_TEXT_BYTES && g_utf8_validate(report->text, -1, NULL);
    g_string_append(text, "{\"format\": \"spate-detail/1\",\n  ");
    append_member(text, "text", is_short ? report->text : NULL);
    append_settings(text, report);
    append_left_out(text);
    append_places(text, spate_world_scenario(detail->variants[0].shown));
    g_string_append_printf(text, ",\n  \"latency_bins\": {\"per_decade\": %d, \"first_s\": 0.001}",
                           SPATE_LATENCY_PER_DECADE);
    g_string_append(text, ",\n  \"timeline_step_s\": ");
    spate_append_number(text, (double)detail->step_ns / (double)SPATE_NS_PER_S);
    append_messages(text, detail);
    g_string_append(text, ",\n  \"variants\": [\n");
    for (size_t v = 0; v < detail->n_variants; v++) {
        g_string_append(text, v > 0 ? ",\n" : "");
        append_variant(text, report, v);
    }
    g_string_append(text, "]}");
}
