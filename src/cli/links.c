/* links.c - spate links */
#include "cli/cli.h"

#include "report/numbers.h"
#include "scenario/layout.h"
#include "scenario/world.h"
#include <math.h>
#include <string.h>

static const char HELP[] =
    "usage: spate links SCENARIO [OPTION...]\n"
    "\n"
    "The link budget of every pair of radios of a bearer, both ways, without\n"
    "shadowing and fading: distance, path loss, received power, and its margin above\n"
    "the receiver's sensitivity.  Random places are those of the first replication.\n"
    "\n"
    "  --variant NAME        a variant instead of the base\n"
    "  --set PATH=VALUE      change a value first (repeatable)\n"
    "  --seed N              another seed (random places are drawn by it)\n"
    "  --format table|json|csv\n"
    "  --csv-text-cells      CSV in which no text is a formula of a spreadsheet\n"
    "  --output FILE         instead of standard output\n"
    "\n"
    "Exit status: 0 done, 2 bad usage or scenario, 3 could not read or write.\n"
    "\n"
    "Example: spate links scenarios/tarn-hollow.yaml --format csv --output links.csv\n";

typedef struct {
    const char *from, *to, *bearer;
    double distance_m, loss_db, received_dbm, margin_db;
} Row;

/* Some 200 bytes each, with their text. */
#define MOST_ROWS 20000000

/* Rows that all pairs would take. */
static uint64_t
count_rows(const SpateScenario *scenario)
{
    g_autofree uint64_t *n_radios = g_new0(uint64_t, scenario->n_bearers + 1u);
    uint64_t n_rows = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        for (uint32_t r = 0; r < scenario->nodes[i].n_radios; r++)
            n_rows += 2 * n_radios[scenario->nodes[i].radios[r].bearer]++;
    return n_rows;
}

/* All ordered pairs of radios of one bearer, by bearer, sender, receiver. */
static GArray *
collect_rows(const SpateWorld *world, GError **error)
{
    const SpatePlan *plan = spate_world_plan(world);
    const SpateScenario *scenario = spate_world_scenario(world);
    g_autoptr(SpateLinks) links = spate_world_links(world, 0);
    g_autoptr(GArray) rows = g_array_new(FALSE, FALSE, sizeof(Row));
    for (uint32_t b = 0; b < plan->n_bearers; b++) {
        double sensitivity_dbm = spate_bearer_sensitivity_dbm(&plan->bearers[b]);
        for (uint32_t s = 0; s < plan->n_radios; s++) {
            for (uint32_t r = 0; plan->radios[s].bearer == b && r < plan->n_radios; r++) {
                if (r == s || plan->radios[r].bearer != b)
                    continue;
                SpateLink link;
                if (!spate_links_budget(links, s, r, &link, error))
                    return NULL;
                uint32_t to = plan->radios[r].node;
                const SpateScenarioRadio *receiver =
                    &scenario->nodes[to].radios[r - plan->nodes[to].first_radio];
                Row row = {
                    .from = plan->nodes[plan->radios[s].node].name,
                    .to = plan->nodes[to].name,
                    .bearer = plan->bearer_names[b],
                    .distance_m = link.distance_m,
                    .loss_db = link.loss_db,
                    .received_dbm = link.received_dbm,
                    .margin_db = link.received_dbm - sensitivity_dbm - receiver->noise_rise_db,
                };
                g_array_append_val(rows, row);
            }
        }
    }
    return g_steal_pointer(&rows);
}

static void
append_json(GString *text, const GArray *rows)
{
    g_string_append(text, "{\"links\": [");
    for (guint i = 0; i < rows->len; i++) {
        const Row *row = &g_array_index(rows, Row, i);
        /* Names of nodes and bearers are letters, digits, - and _. */
        g_string_append_printf(text, "%s\n{\"from\": \"%s\", \"to\": \"%s\", \"bearer\": \"%s\"",
                               i > 0 ? "," : "", row->from, row->to, row->bearer);
        g_string_append(text, ", \"distance_m\": ");
        spate_append_number(text, row->distance_m);
        g_string_append(text, ", \"loss_db\": ");
        spate_append_number(text, row->loss_db);
        g_string_append(text, ", \"received_dbm\": ");
        spate_append_number(text, row->received_dbm);
        g_string_append(text, ", \"margin_db\": ");
        spate_append_number(text, row->margin_db);
        g_string_append_c(text, '}');
    }
    g_string_append(text, "]}\n");
}

static void
append_csv(GString *text, const GArray *rows)
{
    g_string_append(text, "from,to,bearer,distance_m,loss_db,received_dbm,margin_db\n");
    for (guint i = 0; i < rows->len; i++) {
        const Row *row = &g_array_index(rows, Row, i);
        g_string_append_printf(text, "%s,%s,%s,", row->from, row->to, row->bearer);
        spate_append_number(text, row->distance_m);
        g_string_append_c(text, ',');
        spate_append_number(text, row->loss_db);
        g_string_append_c(text, ',');
        spate_append_number(text, row->received_dbm);
        g_string_append_c(text, ',');
        spate_append_number(text, row->margin_db);
        g_string_append_c(text, '\n');
    }
}

static void
append_cell(GString *text, double value, int width)
{
    g_autoptr(GString) cell = g_string_new(NULL);
    spate_append_fixed(cell, value, 1, false);
    g_string_append_printf(text, "%*s", width, cell->str);
}

static void
append_table(GString *text, const SpateScenario *scenario, const GArray *rows)
{
    if (spate_scenario_redraws_places(scenario))
        g_string_append(text, "random places as drawn in replication 1; each draws them anew\n");
    size_t name_width = 4, bearer_width = 6;
    for (guint i = 0; i < rows->len; i++) {
        const Row *row = &g_array_index(rows, Row, i);
        name_width = MAX(name_width, MAX(strlen(row->from), strlen(row->to)));
        bearer_width = MAX(bearer_width, strlen(row->bearer));
    }
    int name = (int)name_width, bearer = (int)bearer_width;
    g_string_append_printf(text, "%-*s  %-*s  %-*s %11s %9s %13s %10s\n", bearer, "bearer", name,
                           "from", name, "to", "distance, m", "loss, dB", "received, dBm",
                           "margin, dB");
    for (guint i = 0; i < rows->len; i++) {
        const Row *row = &g_array_index(rows, Row, i);
        g_string_append_printf(text, "%-*s  %-*s  %-*s", bearer, row->bearer, name, row->from, name,
                               row->to);
        append_cell(text, row->distance_m, 12);
        append_cell(text, row->loss_db, 10);
        append_cell(text, row->received_dbm, 14);
        append_cell(text, row->margin_db, 11);
        g_string_append_c(text, '\n');
    }
}

static CliStatus
write_links(const SpateScenario *scenario, const CliOptions *options)
{
    GError *error = NULL;
    uint64_t n_rows = count_rows(scenario);
    if (n_rows > MOST_ROWS)
        return cli_complain(CLI_USAGE,
                            "%s: %" G_GUINT64_FORMAT " pairs of radios; at most %d are written",
                            options->arguments[0], n_rows, MOST_ROWS);
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    g_autoptr(GArray) rows = world != NULL ? collect_rows(world, &error) : NULL;
    if (rows == NULL)
        return cli_complain_error(error);
    g_autoptr(GString) text = g_string_new(NULL);
    switch (options->format) {
    case SPATE_FORMAT_JSON:
        append_json(text, rows);
        break;
    case SPATE_FORMAT_CSV:
        append_csv(text, rows);
        break;
    case SPATE_FORMAT_TABLE:
        append_table(text, scenario, rows);
        break;
    }
    return cli_output_write(options->output, cli_form_of(options, options->format), text->str,
                            text->len);
}

CliStatus
cli_links(int argc, char **argv)
{
    g_auto(GStrv) profile = NULL;
    g_autofree char *observed = NULL;
    const GOptionEntry entries[] = {
        {"profile", 0, 0, G_OPTION_ARG_STRING_ARRAY, &profile, NULL, NULL},
        {"observed", 0, 0, G_OPTION_ARG_FILENAME, &observed, NULL, NULL},
        {0},
    };
    CliStatus status = CLI_USAGE;
    g_auto(CliOptions) options = {0};
    if (!cli_options_read(&options,
                          CLI_TAKES_SEED | CLI_TAKES_SET | CLI_TAKES_VARIANT | CLI_TAKES_FORMAT,
                          entries, HELP, argc, argv, &status))
        return status;
    if (profile != NULL || observed != NULL)
        return cli_complain(CLI_USAGE, "--%s is not supported yet",
                            profile != NULL ? "profile" : "observed");
    if (options.n_arguments != 1)
        return cli_complain(CLI_USAGE, "links takes one scenario; see spate links --help");
    if (options.variants != NULL && g_strv_length(options.variants) > 1)
        return cli_complain(CLI_USAGE, "links takes one variant at a time");
    status = cli_places_note(&options, "scenario");
    if (status != CLI_DONE)
        return status;
    g_autoptr(SpateScenarioFile) file = cli_scenario_file(options.arguments[0], &options, &status);
    if (file == NULL)
        return status;
    g_autoptr(SpateScenario) scenario = cli_scenario(
        file, options.variants != NULL ? options.variants[0] : "base", &options, &status);
    if (scenario == NULL)
        return status;
    return write_links(scenario, &options);
}
