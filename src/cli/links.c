/* links.c - spate links */
#include "cli/links.h"
#include "cli/cli.h"
#include "cli/globe.h"

#include "document/form.h"
#include "document/numbers.h"
#include "report/fit/observed-report.h"
#include "scenario/layout.h"
#include "scenario/text/faults.h"
#include "scenario/text/quantity.h"
#include "scenario/world/world.h"
#include <math.h>
#include <string.h>

static const SpateMember ROW[] = {
    {"from", SPATE_CELL_TEXT, offsetof(CliLink, from)},
    {"to", SPATE_CELL_TEXT, offsetof(CliLink, to)},
    {"bearer", SPATE_CELL_TEXT, offsetof(CliLink, bearer)},
    {"distance_m", SPATE_CELL_NUMBER, offsetof(CliLink, distance_m)},
    {"loss_db", SPATE_CELL_NUMBER, offsetof(CliLink, loss_db)},
    {"received_dbm", SPATE_CELL_NUMBER, offsetof(CliLink, received_dbm)},
    {"margin_db", SPATE_CELL_NUMBER, offsetof(CliLink, margin_db)},
};
const SpateForm CLI_LINK_FORM = SPATE_FORM(CliLink, ROW);

/* Which links are wanted, and what is found out of them. */
typedef struct {
    bool *wanted;        /* by node */
    double above_db;     /* -INFINITY: all */
    GArray *rows;        /* CliLink */
    bool *heard, *hears; /* by node: by or from another one, with a margin of 0 dB or more */
    const SpatePlan *plan;
} Budget;

static void
budget_clear(Budget *budget)
{
    g_free(budget->wanted);
    g_clear_pointer(&budget->rows, g_array_unref);
    g_free(budget->heard);
    g_free(budget->hears);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Budget, budget_clear)

/* Some 200 bytes each, with their text. */
#define MOST_ROWS 20000000

/* ---- which nodes and margins ----------------------------------------------------------------- */

static bool
want_node(const SpateScenario *scenario, const char *name, bool *wanted)
{
    for (uint32_t i = 0; i < scenario->n_groups; i++) {
        const SpateScenarioGroup *group = &scenario->groups[i];
        if (strcmp(group->name, name) != 0)
            continue;
        for (uint32_t k = 0; k < group->n_members; k++)
            wanted[group->members[k]] = true;
        if (group->n_members > 0 || group->n_sites == 0)
            return true;
        cli_complain_unbuilt("node", name, &scenario->sites[group->members[0] - SPATE_FIRST_SITE]);
        return false;
    }
    g_autofree const char **names = g_new0(const char *, scenario->n_groups + 1u);
    for (uint32_t i = 0; i < scenario->n_groups; i++)
        names[i] = scenario->groups[i].name;
    cli_complain_unknown("--node: there is no node or group", name, names, "");
    return false;
}

static bool
choose(Budget *budget, const SpateScenario *scenario, const CliOptions *options)
{
    char *const *names = cli_option_texts(options, "node");
    const char *above = cli_option_text(options, "above");
    budget->wanted = g_new0(bool, scenario->n_nodes + 1u);
    for (uint32_t i = 0; names == NULL && i < scenario->n_nodes; i++)
        budget->wanted[i] = true;
    for (size_t i = 0; names != NULL && names[i] != NULL; i++)
        if (!want_node(scenario, names[i], budget->wanted))
            return false;
    budget->above_db = -INFINITY;
    if (above == NULL)
        return true;
    const SpateRange range = {-1000.0, 1000.0};
    double *into = &budget->above_db;
    g_autofree char *bare = spate_quantity_parse(above, SPATE_DIM_NUMBER, range, into);
    g_autofree char *wrong =
        bare != NULL ? spate_quantity_parse(above, SPATE_DIM_RATIO_DB, range, into) : NULL;
    if (wrong != NULL)
        cli_complain(CLI_USAGE, "--above: %s", wrong);
    return wrong == NULL;
}

/* Rows that all pairs with a wanted node would take. */
static uint64_t
count_rows(const SpateScenario *scenario, const bool *wanted)
{
    g_autofree uint64_t *n_radios = g_new0(uint64_t, scenario->n_bearers + 1u);
    g_autofree uint64_t *n_others = g_new0(uint64_t, scenario->n_bearers + 1u);
    uint64_t n_rows = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        for (uint32_t r = 0; r < scenario->nodes[i].n_radios; r++) {
            uint32_t bearer = scenario->nodes[i].radios[r].bearer;
            n_rows += 2 * (wanted[i] ? n_radios[bearer] : n_radios[bearer] - n_others[bearer]);
            n_radios[bearer]++;
            n_others[bearer] += !wanted[i];
        }
    }
    return n_rows;
}

/* ---- the budget ------------------------------------------------------------------------------ */

static bool
add_row(Budget *budget, const SpateWorld *world, const SpateLinks *links, uint32_t s, uint32_t r,
        GError **error)
{
    const SpatePlan *plan = budget->plan;
    SpateLink link;
    uint32_t b = plan->radios[s].bearer, from = plan->radios[s].node, to = plan->radios[r].node;
    /* Of a pair that the world has no use for. */
    if (!spate_links_budget(links, s, r, &link, error)) {
        g_prefix_error(error, "bearer '%s', from '%s' to '%s': ", plan->bearer_names[b],
                       plan->nodes[from].name, plan->nodes[to].name);
        return false;
    }
    CliLink row = {
        .from = plan->nodes[from].name,
        .to = plan->nodes[to].name,
        .bearer = plan->bearer_names[b],
        .sender = s,
        .receiver = r,
        .distance_m = link.distance_m,
        .loss_db = link.loss_db,
        .received_dbm = link.received_dbm,
        .margin_db = spate_world_margin_db(world, r, link.received_dbm),
    };
    if (from != to && row.margin_db >= 0.0)
        budget->heard[from] = budget->hears[to] = true;
    if (row.margin_db > budget->above_db)
        g_array_append_val(budget->rows, row);
    return true;
}

/* All ordered pairs of radios of one bearer with a wanted node, by bearer, sender, receiver. */
static bool
fill_budget(Budget *budget, const SpateWorld *world, GError **error)
{
    const SpatePlan *plan = spate_world_plan(world);
    g_autoptr(SpateLinks) links = spate_world_links(world, 0);
    g_autofree uint32_t *wanted = g_new(uint32_t, plan->n_radios + 1u);
    uint32_t n_wanted = 0;
    for (uint32_t r = 0; r < plan->n_radios; r++)
        if (budget->wanted[plan->radios[r].node])
            wanted[n_wanted++] = r;
    budget->rows = g_array_new(FALSE, FALSE, sizeof(CliLink));
    budget->heard = g_new0(bool, plan->n_nodes + 1u);
    budget->hears = g_new0(bool, plan->n_nodes + 1u);
    budget->plan = plan;
    for (uint32_t b = 0; b < plan->n_bearers; b++) {
        for (uint32_t s = 0; s < plan->n_radios; s++) {
            if (plan->radios[s].bearer != b)
                continue;
            bool takes_all = budget->wanted[plan->radios[s].node];
            uint32_t n = takes_all ? plan->n_radios : n_wanted;
            for (uint32_t i = 0; i < n; i++) {
                uint32_t r = takes_all ? i : wanted[i];
                if (r != s && plan->radios[r].bearer == b &&
                    !add_row(budget, world, links, s, r, error))
                    return false;
            }
        }
    }
    return true;
}

/* The names of the wanted nodes without the mark; free it, not the names. */
static const char **
names_without(const Budget *budget, const bool *marked)
{
    const char **names = g_new0(const char *, budget->plan->n_nodes + 1u);
    uint32_t n = 0;
    for (uint32_t i = 0; i < budget->plan->n_nodes; i++)
        if (budget->wanted[i] && !marked[i])
            names[n++] = budget->plan->nodes[i].name;
    return names;
}

typedef struct {
    const CliLink *rows;
    uint32_t n_rows;
    const char **unheard, **deaf;
} Document;

static const SpateMember DOCUMENT[] = {
    {"links", SPATE_CELL_LIST, SPATE_LIST(Document, rows, n_rows), .form = &CLI_LINK_FORM,
     .each = "\n"},
    {"heard_by_nobody", SPATE_CELL_TEXTS, offsetof(Document, unheard), .line = "\n"},
    {"hears_nobody", SPATE_CELL_TEXTS, offsetof(Document, deaf), .line = "\n"},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

static void
append_json(GString *text, const Budget *budget)
{
    g_autofree const char **unheard = names_without(budget, budget->heard);
    g_autofree const char **deaf = names_without(budget, budget->hears);
    spate_form_append(text, &DOCUMENT_FORM,
                      &(Document){spate_elements(budget->rows), budget->rows->len, unheard, deaf});
    g_string_append_c(text, '\n');
}

static void
append_cell(GString *text, double value, int width)
{
    g_autoptr(GString) cell = g_string_new(NULL);
    spate_append_fixed(cell, value, 1, false);
    g_string_append_printf(text, "%*s", width, cell->str);
}

static void
append_names(GString *text, const char *heading, const Budget *budget, const bool *marked)
{
    g_autofree const char **names = names_without(budget, marked);
    g_autofree char *all = g_strjoinv(", ", (char **)names);
    g_string_append_printf(text, "%s: %s\n", heading, names[0] != NULL ? all : "none");
}

static void
append_table(GString *text, const SpateScenario *scenario, const Budget *budget)
{
    const GArray *rows = budget->rows;
    if (spate_scenario_redraws_places(scenario))
        g_string_append(text, "random places as drawn in replication 1; each draws them anew\n");
    g_string_append(text, "without shadowing and fading; margin: above the sensitivity of the "
                          "receiver\n");
    size_t name_width = 4, bearer_width = 6;
    for (guint i = 0; i < rows->len; i++) {
        const CliLink *row = &g_array_index(rows, CliLink, i);
        name_width = MAX(name_width, MAX(strlen(row->from), strlen(row->to)));
        bearer_width = MAX(bearer_width, strlen(row->bearer));
    }
    int name = (int)name_width, bearer = (int)bearer_width;
    g_string_append_printf(text, "%-*s  %-*s  %-*s %11s %9s %13s %10s\n", bearer, "bearer", name,
                           "from", name, "to", "distance, m", "loss, dB", "received, dBm",
                           "margin, dB");
    for (guint i = 0; i < rows->len; i++) {
        const CliLink *row = &g_array_index(rows, CliLink, i);
        g_string_append_printf(text, "%-*s  %-*s  %-*s", bearer, row->bearer, name, row->from, name,
                               row->to);
        append_cell(text, row->distance_m, 12);
        append_cell(text, row->loss_db, 10);
        append_cell(text, row->received_dbm, 14);
        append_cell(text, row->margin_db, 11);
        g_string_append_c(text, '\n');
    }
    append_names(text, "\nnodes that nobody hears", budget, budget->heard);
    append_names(text, "nodes that hear nobody", budget, budget->hears);
}

/* --observed: measured levels beside the budget. */
static CliStatus
write_observed(const CliOptions *options, const SpateWorld *world, const char *path)
{
    GError *error = NULL;
    g_autoptr(SpateWalk) walk =
        spate_walk_read(path, SPATE_WALK_OF_NODES, spate_world_scenario(world), &error);
    g_autoptr(SpateObserved) observed = NULL;
    if (walk != NULL)
        observed = spate_observed_new(walk, world, &error);
    if (observed == NULL)
        return cli_complain_error(error);
    g_autoptr(GString) text = g_string_new(NULL);
    spate_observed_append(text, observed, options->format);
    return cli_output_result(options, text);
}

static CliStatus
cli_links(CliOptions *options)
{
    const char *observed = cli_option_text(options, "observed");
    bool is_map = options->is_map;
    if (!cli_cells_check(options))
        return CLI_USAGE;
    char **profile = cli_option_texts(options, "profile");
    if (profile != NULL && g_strv_length(profile) != 2)
        return cli_complain(CLI_USAGE,
                            "--profile takes two nodes, as in --profile ridge gatehouse");
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "links takes one scenario; see spate links --help");
    if (options->variants != NULL && g_strv_length(options->variants) > 1)
        return cli_complain(CLI_USAGE, "links takes one variant at a time");
    if (observed != NULL && is_map)
        return cli_complain(CLI_USAGE, "--observed writes a table, JSON or CSV, not GeoJSON");
    if (observed != NULL &&
        (cli_option_texts(options, "node") != NULL || cli_option_text(options, "above") != NULL))
        return cli_complain(CLI_USAGE, "--observed shows all rows of its table: --node and --above "
                                       "do not go with it");
    if (profile != NULL && (observed != NULL || cli_option_texts(options, "node") != NULL ||
                            cli_option_text(options, "above") != NULL))
        return cli_complain(CLI_USAGE,
                            "--profile shows one path: --observed, --node and --above do "
                            "not go with it");
    if (profile != NULL && is_map)
        return cli_complain(CLI_USAGE,
                            "--profile is written as a table, JSON or CSV, not as a map");
    if (profile == NULL && (options->plots.n > 0 || cli_option_text(options, "bearer") != NULL))
        return cli_complain(CLI_USAGE, "--plot and --bearer go with --profile");
    if (observed != NULL && strcmp(observed, "-") == 0 && strcmp(options->arguments[0], "-") == 0)
        return cli_complain(CLI_USAGE, "--observed: standard input is the scenario already");
    if (observed != NULL)
        cli_places_read("table", observed);
    CliStatus status = cli_places_note(options, "scenario");
    if (status != CLI_DONE)
        return status;
    g_autoptr(SpateScenarioFile) file = cli_scenario_file(options->arguments[0], options, &status);
    if (file == NULL)
        return status;
    g_autoptr(SpateScenario) scenario = cli_scenario(
        file, options->variants != NULL ? options->variants[0] : "base", options, &status);
    g_autoptr(SpateWorld) world = NULL;
    g_auto(Budget) budget = {0};
    if (scenario == NULL)
        return status;
    GError *error = NULL;
    if (profile != NULL) {
        world = spate_world_new(scenario, &error);
        return world != NULL ? cli_links_profile(options, world, profile)
                             : cli_complain_error(error);
    }
    if (observed != NULL) {
        world = spate_world_new(scenario, &error);
        return world != NULL ? write_observed(options, world, observed) : cli_complain_error(error);
    }
    if (!choose(&budget, scenario, options))
        return CLI_USAGE;
    uint64_t n_rows = count_rows(scenario, budget.wanted);
    if (n_rows > MOST_ROWS)
        return cli_complain(CLI_USAGE,
                            "%s: %" G_GUINT64_FORMAT
                            " pairs of radios; at most %d are written: choose some with --node",
                            options->arguments[0], n_rows, MOST_ROWS);
    world = spate_world_new(scenario, &error);
    if (world == NULL)
        return cli_complain_error(error);
    g_autofree SpatePosition *places = is_map ? cli_globe_places(world, &status) : NULL;
    if (is_map && places == NULL)
        return status;
    if (!fill_budget(&budget, world, &error))
        return cli_complain_error(error);
    g_autoptr(GString) text = g_string_new(NULL);
    if (is_map) {
        cli_links_append_geojson(text, budget.rows, world, places);
        return cli_output_result(options, text);
    }
    switch (options->format) {
    case SPATE_FORMAT_JSON:
        append_json(text, &budget);
        break;
    case SPATE_FORMAT_CSV:
        spate_form_append_csv_head(text, &CLI_LINK_FORM);
        for (guint i = 0; i < budget.rows->len; i++)
            spate_form_append_csv(text, &CLI_LINK_FORM, &g_array_index(budget.rows, CliLink, i));
        break;
    case SPATE_FORMAT_TABLE:
        append_table(text, scenario, &budget);
        break;
    }
    return cli_output_result(options, text);
}

static const CliOption OPTIONS[] = {
    {"node", CLI_TEXTS, "NAME", "only links from or to this node or group (repeatable)"},
    {"above", CLI_TEXT, "DB", "only links with a margin above this: 10 or \"10 dB\""},
    {"observed", CLI_FILE, "HEARD.csv",
     "measured levels (columns sender, receiver, bearer, received-power; empty where nothing was "
     "heard) beside the predicted ones: bias, spread, and what fits worst first"},
    {"format", CLI_WORD, "table|json|csv|geojson",
     "a table for people (the default), or for programs; GeoJSON has nodes as points and links as "
     "lines, for a map"},
    {"profile", CLI_PAIR, "A B",
     "the ground between two nodes, with the line of sight and its first Fresnel zone"},
    {"bearer", CLI_TEXT, "NAME",
     "with --profile: the bearer whose frequency counts, else the lowest that both have"},
    {"plot", CLI_TEXTS, "profile=FILE.svg", "with --profile: draw it"},
    {"variant", CLI_VARIANT, "NAME", "use this variant, not the base"},
    {"seed", CLI_TEXT, "N", "override the scenario's seed, which sets random places"},
};
static const char *const PLOTS[] = {"profile", NULL};

const CliCommand CLI_LINKS = {
    .name = "links",
    .run = cli_links,
    .summary = "the link budget of every pair of radios",
    .usage = "SCENARIO [OPTION...]",
    .about = "The link budget of every pair of radios of a bearer, both ways, without shadowing "
             "and fading: distance, path loss, received power, and its margin above the receiver's "
             "sensitivity. Random places are those of the first replication. "
             "Below the table: the nodes that no node hears and those that hear none, whose best "
             "margin is below 0 dB.",
    .arguments = CLI_FILE,
    .takes =
        CLI_TAKES_SEED | CLI_TAKES_SET | CLI_TAKES_VARIANT | CLI_TAKES_OUTPUT | CLI_TAKES_CELLS,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .plots = PLOTS,
    .status = "0 done, 2 bad usage or scenario, 3 could not read or write.",
    .example = "spate links scenarios/tarn-hollow.yaml --node loft --above 10",
};
