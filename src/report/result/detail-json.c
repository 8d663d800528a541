/* detail-json.c - the details of a result as JSON
 *
 * Rows are lists whose columns are named beside them: a page of three hundred nodes stays small.
 */
#include "report/result/detail-form.h"

#include "scenario/layout.h"
#include <math.h>
#include <string.h>

/* ---- where nodes are ------------------------------------------------------------------------- */

static void
fill_bearers(SpateVariantForm *form, GPtrArray *scratch)
{
    form->bearers = spate_room(scratch, form->n_bearers, sizeof *form->bearers);
    for (uint32_t i = 0; i < form->n_bearers; i++) {
        const SpateBearer *bearer = &form->plan->bearers[i];
        form->bearers[i] = (SpateBearerForm){
            form->plan->bearer_names[i], bearer->modulation.kind->name,
            (double)bearer->modulation.centre_hz, spate_bearer_sensitivity_dbm(bearer)};
    }
}

/* An entry of `bridges:` that is a group is a bridge at each of its nodes. */
static void
fill_bridges(SpateVariantForm *form, GPtrArray *scratch)
{
    const SpatePlan *plan = form->plan;
    form->bridges = spate_room(scratch, plan->n_crossings, sizeof *form->bridges);
    for (uint32_t i = 0; i < plan->n_crossings; i++) {
        const SpateCrossing *first = &plan->crossings[i];
        if (i > 0 && plan->crossings[i - 1].node == first->node)
            continue;
        SpateCrossingForm *crossings = spate_room(scratch, plan->n_crossings, sizeof *crossings);
        uint32_t n = 0;
        for (uint32_t k = 0; k < plan->n_crossings; k++) {
            const SpateCrossing *its = &plan->crossings[k];
            if (its->bridge == first->bridge && its->node == first->node)
                crossings[n++] = (SpateCrossingForm){its->name, its->from_bearer,
                                                     plan->radios[its->to_radio].bearer};
        }
        form->bridges[form->n_bridges++] =
            (SpateBridgeForm){plan->bridge_names[first->bridge], first->node, crossings, n};
    }
}

/* Names of the traffics that it offers, borrowed. */
static char **
sources(const SpateScenario *scenario, uint32_t node, GPtrArray *scratch)
{
    GPtrArray *names = g_ptr_array_new();
    for (uint32_t t = 0; t < scenario->n_traffics; t++)
        for (uint32_t i = 0; i < scenario->traffics[t].n_sources; i++)
            if (scenario->traffics[t].sources[i] == node)
                g_ptr_array_add(names, scenario->traffics[t].name);
    g_ptr_array_add(names, NULL);
    return spate_scratch(scratch, g_ptr_array_free(names, FALSE));
}

static SpateWayForm *
way_of(const SpateScenario *scenario, uint32_t number, SpatePosition at, GPtrArray *scratch)
{
    const SpateMoves *moves = &scenario->nodes[number].moves;
    if (moves->n_points == 0)
        return NULL;
    SpateWayForm *way = spate_room(scratch, 1, sizeof *way);
    *way = (SpateWayForm){
        .along = spate_room(scratch, moves->n_points, sizeof *way->along),
        .legs_m = spate_room(scratch, moves->n_points, sizeof *way->legs_m),
        .n_points = moves->n_points,
        .step_m = scenario->move_step_m,
        .speed_m_per_s = moves->speed_m_per_s,
        .from_ns = moves->from_ns,
        .back = moves->back,
    };
    for (uint32_t i = 0; i < moves->n_points; i++) {
        SpatePosition point = moves->points[i];
        if (!point.is_geographic) {
            point.x_m = rint(10.0 * point.x_m) / 10.0;
            point.y_m = rint(10.0 * point.y_m) / 10.0;
        }
        way->along[i] = point;
        way->legs_m[i] =
            spate_ground_distance_m(i > 0 ? moves->points[i - 1] : at, moves->points[i]);
    }
    return way;
}

static SpateNodeForm
node_of(const SpateVariantForm *form, uint32_t number, GPtrArray *scratch)
{
    const SpateScenario *scenario = spate_world_scenario(form->its.shown);
    const SpateNode *its = &form->plan->nodes[number];
    SpateNodeForm node = {.name = its->name,
                          .label = scenario->nodes[number].label,
                          .at = spate_world_position(form->its.shown, number, 0),
                          .source_of = sources(scenario, number, scratch),
                          .radios = spate_room(scratch, its->n_radios, sizeof(uint32_t)),
                          .n_radios = its->n_radios};
    node.moves = way_of(scenario, number, node.at, scratch);
    node.in_plane = !node.at.is_geographic;
    for (uint32_t i = 0; i < its->n_radios; i++) {
        node.radios[i] = its->first_radio + i;
        node.relays = node.relays || form->plan->radios[its->first_radio + i].relays;
    }
    for (uint32_t i = 0; i < form->n_bridges; i++)
        node.is_bridge = node.is_bridge || form->bridges[i].node == number;
    return node;
}

static void
fill_nodes(SpateVariantForm *form, GPtrArray *scratch)
{
    form->nodes = spate_room(scratch, form->n_nodes, sizeof *form->nodes);
    form->node_measures = spate_room(scratch, form->n_nodes, sizeof *form->node_measures);
    for (uint32_t i = 0; i < form->n_nodes; i++) {
        form->nodes[i] = node_of(form, i, scratch);
        form->node_measures[i] =
            (SpateNodeMeasuresForm){form->its.to_node[i], form->its.from_node[i]};
    }
}

static void
fill_disturbers(SpateVariantForm *form, GPtrArray *scratch)
{
    form->disturbers = spate_room(scratch, form->n_disturbers, sizeof *form->disturbers);
    for (uint32_t i = 0; i < form->n_disturbers; i++) {
        SpateDetailDisturber *disturber = &form->disturbers[i];
        *disturber = g_array_index(form->its.disturbers, SpateDetailDisturber, i);
        if (disturber->sender >= form->n_radios)
            disturber->sender = SPATE_NO_THING;
    }
}

/* ---- over time ------------------------------------------------------------------------------- */

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
fill_timeline(SpateVariantForm *form, GPtrArray *scratch)
{
    size_t most = (size_t)form->n_bearers * (form->n_traffics + 1);
    form->timeline = spate_room(scratch, most, sizeof *form->timeline);
    for (uint32_t b = 0; b < form->n_bearers; b++) {
        const SpateDetailTimeline *all = &form->its.timeline[b];
        form->timeline[form->n_lines++] =
            (SpateTimelineForm){b, NULL, all->mean, all->low, all->high, SPATE_DETAIL_STEPS};
        for (uint32_t t = 0; t < form->n_traffics; t++) {
            size_t at = ((size_t)b * form->n_traffics + t) * SPATE_DETAIL_STEPS;
            const char *name = form->plan->traffics[t].name;
            if (is_ever(form->its.airtime + at))
                form->timeline[form->n_lines++] = (SpateTimelineForm){
                    b, name, form->its.airtime + at, NULL, NULL, SPATE_DETAIL_STEPS};
        }
    }
}

/* None of where no radio sleeps. */
static void
fill_sleepers(SpateVariantForm *form, GPtrArray *scratch)
{
    for (uint32_t i = 0; i < form->n_radios; i++) {
        if (!spate_listening_sleeps(&form->radios[i].listening))
            continue;
        if (form->sleepers == NULL)
            form->sleepers = spate_room(scratch, form->n_radios, sizeof *form->sleepers);
        form->sleepers[form->n_sleepers++] = (SpateSleeperForm){i, form->its.radios[i].lost_asleep};
    }
}

static void
fill_latency(SpateVariantForm *form, GPtrArray *scratch)
{
    const size_t n_bins = (size_t)SPATE_DETAIL_HOPS * SPATE_LATENCY_BINS;
    form->latency = spate_room(scratch, form->n_traffics, sizeof *form->latency);
    for (uint32_t t = 0; t < form->n_traffics; t++) {
        const uint64_t *counts = form->its.latency + t * n_bins;
        SpateBinForm *bins = spate_room(scratch, n_bins, sizeof *bins);
        SpateLatencyForm *latency = &form->latency[t];
        *latency = (SpateLatencyForm){form->plan->traffics[t].name, bins, 0};
        for (uint32_t i = 0; i < n_bins; i++)
            if (counts[i] > 0)
                bins[latency->n_bins++] =
                    (SpateBinForm){i / SPATE_LATENCY_BINS + 1, i % SPATE_LATENCY_BINS, counts[i]};
    }
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void
fill_variant(SpateVariantForm *form, const SpateDetailReport *report, size_t number,
             GPtrArray *scratch)
{
    const SpateDetailVariant *its = &report->detail->variants[number];
    const SpatePlan *plan = spate_world_plan(its->shown);
    *form = (SpateVariantForm){
        .its = *its,
        .plan = plan,
        .name = report->result->variants[number].name,
        .summary = report->result->variants[number].summary,
        .n_bearers = plan->n_bearers,
        .n_nodes = plan->n_nodes,
        .n_radios = plan->n_radios,
        .n_traffics = plan->n_traffics,
        .n_links = its->links->len,
        .n_disturbers = its->disturbers->len,
        .random_places = spate_scenario_redraws_places(spate_world_scenario(its->shown)),
        .radios = plan->radios,
        .links = spate_elements(its->links),
        .replays = {its->replay, report->detail->messages->len},
        .replay = &form->replays,
    };
    fill_bearers(form, scratch);
    fill_bridges(form, scratch);
    fill_nodes(form, scratch);
    fill_sleepers(form, scratch);
    fill_disturbers(form, scratch);
    fill_timeline(form, scratch);
    fill_latency(form, scratch);
    if (report->coverage != NULL)
        form->coverage = spate_detail_coverage_form(report->coverage[number], scratch);
}

static void
fill_head(SpateDetailForm *form, const SpateDetailReport *report, GPtrArray *scratch)
{
    const SpateScenario *scenario = spate_world_scenario(report->detail->variants[0].shown);
    form->in_degrees = scenario->is_geographic;
    form->settings = spate_room(scratch, report->n_settings, sizeof(char *));
    for (size_t i = 0; i < report->n_settings; i++)
        form->settings[i] = spate_scratch(
            scratch, g_strdup_printf("%s=%s", report->settings[i].path, report->settings[i].value));
    while (SPATE_LEFT_OUT[form->n_left_out].what != NULL)
        form->n_left_out++;
    form->messages = spate_room(scratch, form->n_messages, sizeof *form->messages);
    for (guint i = 0; i < form->n_messages; i++) {
        form->messages[i] =
            (SpateMessageForm){g_array_index(report->detail->messages, SpateDetailMessage, i), 1};
        form->messages[i].its.offer++;
    }
}

void
spate_detail_append_json(GString *text, const SpateDetailReport *report)
{
    g_autoptr(GPtrArray) scratch = g_ptr_array_new_with_free_func(g_free);
    const SpateDetail *detail = report->detail;
    bool is_short =
        strlen(report->text) <= SPATE_DETAIL_TEXT_BYTES && g_utf8_validate(report->text, -1, NULL);
    SpateDetailForm form = {
        .text = is_short ? report->text : NULL,
        .left_out = SPATE_LEFT_OUT,
        .blurred_m = NAN,
        .per_decade = SPATE_LATENCY_PER_DECADE,
        .first_s = 0.001,
        .step_ns = detail->step_ns,
        .n_messages = detail->messages->len,
        .variants = spate_room(scratch, detail->n_variants, sizeof(SpateVariantForm)),
        .n_variants = detail->n_variants,
    };
    if (detail->relief != NULL)
        form.relief = spate_detail_relief_form(detail->relief, scratch);
    fill_head(&form, report, scratch);
    for (size_t v = 0; v < detail->n_variants; v++)
        fill_variant(&form.variants[v], report, v, scratch);
    spate_form_append(text, &SPATE_DETAIL_FORM, &form);
}
