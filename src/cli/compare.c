/* compare.c - spate compare */
#include "cli/cli.h"

#include "core/shown-text.h"
#include <string.h>

static CliStatus
compare_variants(const CliOptions *options)
{
    CliStatus status;
    g_autoptr(SpateScenarioFile) file = cli_scenario_file(options->arguments[0], options, &status);
    if (file == NULL)
        return status;
    const char *const *chosen = options->variants != NULL ? (const char *const *)options->variants
                                                          : spate_scenario_file_variants(file);
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    g_ptr_array_add(names, (gpointer)(uintptr_t) "base");
    for (size_t i = 0; chosen[i] != NULL; i++)
        if (strcmp(chosen[i], "base") != 0)
            g_ptr_array_add(names, (gpointer)(uintptr_t)chosen[i]);
    if (names->len < 2)
        return cli_complain(CLI_USAGE,
                            "%s has no variants to compare; add some, or name a second file",
                            options->arguments[0]);
    g_ptr_array_add(names, NULL);
    const char *const *all = (const char *const *)names->pdata;
    g_autoptr(GPtrArray) scenarios = cli_scenarios(file, all, options, &status);
    if (scenarios == NULL)
        return status;
    return cli_study("compare", file, (const SpateScenario *const *)scenarios->pdata, all,
                     scenarios->len, options);
}

/* "town" for plans/town.yaml: a result holds no path. */
static char *
name_of_file(const char *path)
{
    if (strcmp(path, "-") == 0)
        return g_strdup("standard-input");
    g_autofree char *name = g_path_get_basename(path);
    char *dot = strrchr(name, '.');
    if (dot != NULL && dot != name && (strcmp(dot, ".yaml") == 0 || strcmp(dot, ".yml") == 0))
        *dot = '\0';
    return spate_shown_line(name);
}

static CliStatus
compare_files(const CliOptions *options)
{
    CliStatus status = CLI_USAGE;
    g_autofree char *first_name = name_of_file(options->arguments[0]);
    g_autofree char *name = name_of_file(options->arguments[1]);
    g_autofree char *second_name =
        g_strconcat(name, strcmp(name, first_name) == 0 ? "-2" : NULL, NULL);
    const char *names[] = {first_name, second_name};
    if (strcmp(options->arguments[0], "-") == 0 && strcmp(options->arguments[1], "-") == 0)
        return cli_complain(CLI_USAGE, "standard input can be read only once");
    if (options->variants != NULL)
        return cli_complain(CLI_USAGE, "--variant takes one file, not two");
    g_autoptr(SpateScenarioFile) first_file =
        cli_scenario_file(options->arguments[0], options, &status);
    if (first_file == NULL)
        return status;
    g_autoptr(SpateScenarioFile) second_file =
        cli_scenario_file(options->arguments[1], options, &status);
    if (second_file == NULL)
        return status;
    g_autoptr(SpateScenario) first = cli_scenario(first_file, "base", options, &status);
    g_autoptr(SpateScenario) second =
        first != NULL ? cli_scenario(second_file, "base", options, &status) : NULL;
    if (second == NULL)
        return status;
    /* Paired by the same draws. */
    second->seed = first->seed;
    const SpateScenario *scenarios[] = {first, second};
    return cli_study("compare", first_file, scenarios, names, 2, options);
}

static CliStatus
cli_compare(CliOptions *options)
{
    if (options->n_arguments != 1 && options->n_arguments != 2)
        return cli_complain(CLI_USAGE,
                            "compare takes one scenario or two; see spate compare --help");
    CliStatus status = cli_places_note(options, "scenario");
    if (status != CLI_DONE)
        return status;
    return options->n_arguments == 1 ? compare_variants(options) : compare_files(options);
}

static const CliOption OPTIONS[] = {
    {"variant", CLI_VARIANT, "NAME", "compare the base with this variant only (repeatable)"},
    {"set", CLI_TEXTS, "PATH=VALUE", "change a value everywhere (repeatable)"},
    {"seed", CLI_TEXT, "N", "another seed than the (first) scenario's"},
};

const CliCommand CLI_COMPARE = {
    .name = "compare",
    .run = cli_compare,
    .summary = "base and variants, or two files, on the same random numbers",
    .usage = "SCENARIO [SCENARIO] [OPTION...]",
    .about = "Simulates the base and every variant of one file, or two files, on the same random "
             "numbers, and prints paired differences with their 95 % intervals.",
    .arguments = CLI_FILE,
    .takes = CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_DETAIL | CLI_TAKES_SET |
             CLI_TAKES_VARIANT | CLI_TAKES_FORMAT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 done, 2 bad usage or scenario, 3 could not read, write or finish, 130 interrupted "
              "(what was finished is kept).",
    .example = "spate compare scenarios/tarn-hollow.yaml --variant people-first",
};
