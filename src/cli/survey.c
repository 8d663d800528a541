/* survey.c - whose radio is carried about, and where: of `coverage`, and of the layer of a page */
#include "cli/cli.h"

#define NEAREST_M            0.1
#define FARTHEST_M           1e6
#define LARGEST_COORDINATE_M 21e6 /* as in a scenario */
#define HIGHEST_M            20e3

bool
cli_survey_lengths(SpateCoveragePlan *plan, const CliOptions *options)
{
    return cli_option_quantity(options, "cell", SPATE_DIM_LENGTH, NEAREST_M, FARTHEST_M,
                               &plan->cell_m) &&
           cli_option_quantity(options, "height", SPATE_DIM_LENGTH, 0.0, HIGHEST_M,
                               &plan->height_m) &&
           cli_option_quantity(options, "margin", SPATE_DIM_LENGTH, 0.0, FARTHEST_M,
                               &plan->margin_m);
}

/* ---- the area -------------------------------------------------------------------------------- */

/* A bare number, or one with its unit. */
static bool
read_edge(const char *text, bool is_geographic, bool is_y, double *edge)
{
    double most = !is_geographic ? LARGEST_COORDINATE_M : is_y ? 90.0 : 180.0;
    SpateDimension dimension = is_geographic ? SPATE_DIM_DEGREES : SPATE_DIM_LENGTH;
    const SpateRange range = {-most, most};
    g_autofree char *trimmed = g_strstrip(g_strdup(text));
    g_autofree char *bare = spate_quantity_parse(trimmed, SPATE_DIM_NUMBER, range, edge);
    g_autofree char *wrong =
        bare != NULL ? spate_quantity_parse(trimmed, dimension, range, edge) : NULL;
    if (wrong != NULL)
        cli_complain(CLI_USAGE, "--area: %s", wrong);
    return wrong == NULL;
}

static CliStatus
read_area(SpateArea *area, const CliOptions *options)
{
    const char *text = cli_option_text(options, "area");
    if (text == NULL)
        return CLI_DONE;
    bool is_geographic = area->is_geographic;
    g_auto(GStrv) parts = g_strsplit(text, ",", -1);
    if (g_strv_length(parts) != 4)
        return cli_complain(CLI_USAGE, "--area: '%s' is not %s", text,
                            is_geographic ? "LON0,LAT0,LON1,LAT1, as in 9.90,50.10,9.95,50.13"
                                          : "X0,Y0,X1,Y1, as in -500,0,1500,800");
    double *const edges[] = {&area->west, &area->south, &area->east, &area->north};
    for (size_t i = 0; i < G_N_ELEMENTS(edges); i++)
        if (!read_edge(parts[i], is_geographic, i % 2 == 1, edges[i]))
            return CLI_USAGE;
    /* It may reach across the 180th meridian, the shorter way around. */
    if (is_geographic && area->west - area->east > 180.0)
        area->east += 360.0;
    if (area->east > area->west && area->north > area->south)
        return CLI_DONE;
    return cli_complain(CLI_USAGE, "--area: '%s' has its corners reversed: first %s, then %s", text,
                        is_geographic ? "the least longitude and latitude" : "the least x and y",
                        "the largest");
}

/* ---- what is carried ------------------------------------------------------------------------- */

/* Of the nodes with a radio, on that bearer if one is named, the first by name that does not relay;
 * where all do, the first. */
static CliStatus
choose_node(const SpateScenario *scenario, const char *bearer, uint32_t *node)
{
    uint32_t number = bearer != NULL ? cli_find_bearer(scenario, bearer) : UINT32_MAX;
    if (bearer != NULL && number == UINT32_MAX)
        return CLI_USAGE;
    *node = UINT32_MAX;
    for (uint32_t i = scenario->n_nodes; i-- > 0;) {
        const SpateScenarioNode *its = &scenario->nodes[i];
        bool has_radio =
            bearer != NULL ? spate_scenario_radio(its, number) != NULL : its->n_radios > 0;
        if (has_radio && (*node == UINT32_MAX || !spate_scenario_node_relays(its) ||
                          spate_scenario_node_relays(&scenario->nodes[*node])))
            *node = i;
    }
    if (*node != UINT32_MAX)
        return CLI_DONE;
    return cli_complain(CLI_USAGE, "--coverage: no node has a radio%s%s to be carried about",
                        bearer != NULL ? " on " : "", bearer != NULL ? bearer : "");
}

static CliStatus
find_node(const SpateScenario *scenario, const char *name, uint32_t *node)
{
    uint32_t group = spate_scenario_find_group(scenario, name);
    if (group != UINT32_MAX && scenario->groups[group].n_members > 0 &&
        spate_scenario_find_node(scenario, name) == UINT32_MAX)
        return cli_complain(CLI_USAGE,
                            "--radio: '%s' is a group; name one of its nodes, as in '%s'", name,
                            scenario->nodes[scenario->groups[group].members[0]].name);
    *node = cli_find_node(scenario, "radio", name);
    return *node != UINT32_MAX ? CLI_DONE : CLI_USAGE;
}

static CliStatus
find_bearer(const SpateScenario *scenario, uint32_t node, const char *name, uint32_t *bearer)
{
    const SpateScenarioNode *carried = &scenario->nodes[node];
    *bearer = UINT32_MAX;
    if (carried->n_radios == 0)
        return cli_complain(CLI_USAGE, "--radio: '%s' has no radio", carried->name);
    if (name == NULL)
        return CLI_DONE;
    *bearer = spate_scenario_find_bearer(scenario, name);
    if (*bearer != UINT32_MAX && spate_scenario_radio(carried, *bearer) != NULL)
        return CLI_DONE;
    g_autofree const char **names = g_new0(const char *, carried->n_radios + 1u);
    for (uint32_t i = 0; i < carried->n_radios; i++)
        names[i] = scenario->bearers[carried->radios[i].bearer].name;
    g_autofree char *all = g_strjoinv(", ", (char **)(uintptr_t)names);
    g_autofree char *what = g_strdup_printf("--bearer: '%s' has no radio on", carried->name);
    g_autofree char *instead = g_strdup_printf("; it has on %s", all);
    return cli_complain_unknown(what, name, names, instead);
}

static SpateArea
area_of_nodes(const SpateWorld *world)
{
    uint32_t n = spate_world_plan(world)->n_nodes;
    g_autofree SpatePosition *places = g_new(SpatePosition, n);
    for (uint32_t i = 0; i < n; i++)
        places[i] = spate_world_position(world, i, 0);
    return spate_area_around(places, n);
}

CliStatus
cli_survey_area(SpateCoveragePlan *plan, const CliOptions *options)
{
    plan->area = area_of_nodes(plan->world);
    return read_area(&plan->area, options);
}

CliStatus
cli_survey_radio(SpateCoveragePlan *plan, const SpateScenario *scenario, const CliOptions *options)
{
    const char *name = cli_option_text(options, "radio");
    const char *bearer = cli_option_text(options, "bearer");
    CliStatus status = name != NULL ? find_node(scenario, name, &plan->node)
                                    : choose_node(scenario, bearer, &plan->node);
    return status == CLI_DONE ? find_bearer(scenario, plan->node, bearer, &plan->bearer) : status;
}
