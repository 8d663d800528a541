/* links-profile.c - spate links --profile A B: the ground between two nodes */
#include "cli/cli.h"

#include "report/profile/profile-report.h"
#include "scenario/world/world.h"
#include <math.h>
#include <string.h>

/* UINT32_MAX with a complaint. */
/* That of --bearer, or the lowest in frequency that both have.  UINT32_MAX with a complaint. */
static uint32_t
find_bearer(const CliOptions *options, const SpateScenario *scenario, uint32_t from, uint32_t to)
{
    const char *name = cli_option_text(options, "bearer");
    uint32_t found = UINT32_MAX;
    if (name != NULL)
        return cli_find_bearer(scenario, name);
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        if (spate_scenario_radio(&scenario->nodes[from], b) != NULL &&
            spate_scenario_radio(&scenario->nodes[to], b) != NULL &&
            (found == UINT32_MAX || scenario->bearers[b].radio.modulation.centre_hz <
                                        scenario->bearers[found].radio.modulation.centre_hz))
            found = b;
    if (found == UINT32_MAX)
        cli_complain(CLI_USAGE,
                     "--profile: '%s' and '%s' have no bearer in common; name one with --bearer",
                     scenario->nodes[from].name, scenario->nodes[to].name);
    return found;
}

/* NAN where one of them has no radio on the bearer. */
static double
loss_db(const SpateWorld *world, uint32_t from, uint32_t to, uint32_t bearer)
{
    const SpatePlan *plan = spate_world_plan(world);
    g_autoptr(SpateLinks) links = spate_world_links(world, 0);
    const uint32_t ends[2] = {from, to};
    uint32_t radios[2] = {UINT32_MAX, UINT32_MAX};
    for (size_t i = 0; i < 2; i++)
        for (uint32_t k = 0; k < plan->nodes[ends[i]].n_radios; k++) {
            uint32_t radio = plan->nodes[ends[i]].first_radio + k;
            if (plan->radios[radio].bearer == bearer)
                radios[i] = radio;
        }
    SpateLink link;
    bool is_known = radios[0] != UINT32_MAX && radios[1] != UINT32_MAX &&
                    spate_links_budget(links, radios[0], radios[1], &link, NULL);
    return is_known ? link.loss_db : NAN;
}

static CliStatus
write_report(const CliOptions *options, const SpateProfileReport *report)
{
    g_autoptr(GString) svg = g_string_new(NULL), text = g_string_new(NULL);
    if (options->plots.n > 0)
        spate_profile_append_plot(svg, report);
    CliStatus status = cli_plots_write_one(options, svg);
    if (status != CLI_DONE)
        return status;
    SpateTableStyle style = cli_terminal_style(options->output);
    switch (options->format) {
    case SPATE_FORMAT_JSON:
        spate_profile_append_json(text, report);
        break;
    case SPATE_FORMAT_CSV:
        spate_profile_append_csv(text, report);
        break;
    case SPATE_FORMAT_TABLE:
        spate_profile_append_table(text, report, &style);
        break;
    }
    return cli_output_result(options, text);
}

CliStatus
cli_links_profile(const CliOptions *options, const SpateWorld *world, char *const *ends)
{
    const SpateScenario *scenario = spate_world_scenario(world);
    uint32_t from = cli_find_node(scenario, "profile", ends[0]);
    uint32_t to = from != UINT32_MAX ? cli_find_node(scenario, "profile", ends[1]) : UINT32_MAX;
    if (to == UINT32_MAX)
        return CLI_USAGE;
    if (from == to)
        return cli_complain(CLI_USAGE, "--profile: '%s' is one node; name two", ends[0]);
    uint32_t bearer = find_bearer(options, scenario, from, to);
    if (bearer == UINT32_MAX)
        return CLI_USAGE;
    SpatePosition a = spate_world_position(world, from, 0), b = spate_world_position(world, to, 0);
    SpateProfileReport report = {
        .from = scenario->nodes[from].name,
        .to = scenario->nodes[to].name,
        .bearer = scenario->bearers[bearer].name,
        .frequency_hz = (double)scenario->bearers[bearer].radio.modulation.centre_hz,
        .distance_m = spate_ground_distance_m(a, b),
        .loss_db = loss_db(world, from, to, bearer),
        .has_terrain = scenario->terrain != NULL,
    };
    g_autoptr(GError) error = NULL;
    g_autoptr(GArray) points =
        spate_path_points(scenario->terrain, a, b, report.frequency_hz, &error);
    if (points == NULL)
        return cli_complain(CLI_USAGE, "%s: from '%s' to '%s': %s", options->arguments[0],
                            report.from, report.to, error->message);
    report.points = points;
    return write_report(options, &report);
}
