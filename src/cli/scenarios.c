/* scenarios.c - the scenarios that a command is about, as its options want them */
#include "cli/cli.h"

#include <string.h>

SpateScenarioFile *
cli_scenario_file(const char *path, const CliOptions *options, CliStatus *status)
{
    GError *error = NULL;
    SpateScenarioFile *file =
        spate_scenario_file_read(path, options->settings, options->n_settings, &error);
    if (file == NULL)
        *status = cli_complain_error(error);
    return file;
}

CliStatus
cli_variant_check(const SpateScenarioFile *file, const char *variant)
{
    const char *const *known = spate_scenario_file_variants(file);
    if (strcmp(variant, "base") == 0 || g_strv_contains(known, variant))
        return CLI_DONE;
    g_autofree char *all = g_strjoinv(", ", (char **)(uintptr_t)known);
    g_autofree char *list = g_strconcat("; there are: base", all[0] != '\0' ? ", " : "", all, NULL);
    return cli_complain_unknown("there is no variant", variant, known, list);
}

SpateScenario *
cli_scenario(const SpateScenarioFile *file, const char *variant, const CliOptions *options,
             CliStatus *status)
{
    *status = cli_variant_check(file, variant);
    if (*status != CLI_DONE)
        return NULL;
    GError *error = NULL;
    SpateScenario *scenario = spate_scenario_new(file, variant, &error);
    if (scenario == NULL)
        *status = cli_complain_error(error);
    else if (options->has_seed)
        scenario->seed = options->seed;
    return scenario;
}

GPtrArray *
cli_scenarios(const SpateScenarioFile *file, const char *const *variants, const CliOptions *options,
              CliStatus *status)
{
    g_autoptr(GPtrArray) scenarios =
        g_ptr_array_new_with_free_func((GDestroyNotify)spate_scenario_free);
    for (size_t i = 0; variants[i] != NULL; i++) {
        SpateScenario *scenario = cli_scenario(file, variants[i], options, status);
        if (scenario == NULL)
            return NULL;
        g_ptr_array_add(scenarios, scenario);
    }
    return g_steal_pointer(&scenarios);
}

void
cli_complain_unbuilt(const char *option, const char *name, const SpateScenarioSite *site)
{
    bool is_alone = strcmp(site->entry, site->name) == 0;
    g_autofree char *what = is_alone ? g_strdup("it") : g_strdup_printf("all of '%s'", site->entry);
    cli_complain(CLI_USAGE, "--%s: '%s' %s; --set nodes.%s.candidate=no builds %s", option, name,
                 strcmp(name, site->name) == 0 ? "is a candidate that is not built"
                                               : "has only candidates that are not built",
                 site->entry, what);
}

uint32_t
cli_find_node(const SpateScenario *scenario, const char *option, const char *name)
{
    uint32_t node = spate_scenario_find_node(scenario, name), n = 0;
    if (node != UINT32_MAX)
        return node;
    g_autofree const char **names =
        g_new0(const char *, scenario->n_nodes + scenario->n_sites + 1u);
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        names[n++] = scenario->nodes[i].name;
    for (uint32_t i = 0; i < scenario->n_sites; i++) {
        names[n++] = scenario->sites[i].name;
        if (strcmp(scenario->sites[i].name, name) != 0)
            continue;
        cli_complain_unbuilt(option, name, &scenario->sites[i]);
        return UINT32_MAX;
    }
    g_autofree char *what = g_strdup_printf("--%s: there is no node", option);
    cli_complain_unknown(what, name, names, "");
    return UINT32_MAX;
}

uint32_t
cli_find_bearer(const SpateScenario *scenario, const char *name)
{
    uint32_t bearer = spate_scenario_find_bearer(scenario, name);
    if (bearer != UINT32_MAX)
        return bearer;
    g_autofree const char **names = g_new0(const char *, scenario->n_bearers + 1u);
    for (uint32_t i = 0; i < scenario->n_bearers; i++)
        names[i] = scenario->bearers[i].name;
    g_autofree char *all = g_strjoinv(", ", (char **)(uintptr_t)names);
    g_autofree char *list = g_strconcat("; there are: ", all, NULL);
    cli_complain_unknown("--bearer: there is no bearer", name, names, list);
    return UINT32_MAX;
}
