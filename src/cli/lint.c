/* lint.c - spate lint */
#include "cli/cli.h"

#include "scenario/world.h"
#include <string.h>

static const char HELP[] =
    "usage: spate lint SCENARIO... [OPTION...]\n"
    "\n"
    "Reads and checks scenarios without running them. Warns of radiated power or duty over\n"
    "common limits (a planning aid, not legal advice: check your local rules) and of\n"
    "what a scenario says that its author may not mean.\n"
    "\n"
    "  --set PATH=VALUE      change a value first (repeatable)\n"
    "  --variant NAME        only this variant (repeatable; base is one)\n"
    "  --output FILE         instead of standard output\n"
    "\n"
    "Exit status: 0 no faults (warnings or not), 2 bad usage or scenario, 3 could not read.\n"
    "\n"
    "Example: spate lint scenarios/*.yaml\n";

/* Appends the warnings of one variant, unless the base has the very same. */
static CliStatus
lint_variant(const SpateScenarioFile *file, const char *variant, const CliOptions *options,
             const char *base_text, char **text_out)
{
    CliStatus status = CLI_DONE;
    g_autoptr(SpateScenario) scenario = cli_scenario(file, variant, options, &status);
    if (scenario == NULL)
        return status;
    GError *error = NULL;
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    if (world == NULL)
        return cli_complain_error(error);
    *text_out = spate_scenario_lint(file, scenario);
    if (base_text != NULL && strcmp(base_text, *text_out) == 0)
        (*text_out)[0] = '\0';
    return CLI_DONE;
}

static CliStatus
lint_file(const char *path, const CliOptions *options, GString *findings)
{
    CliStatus status = CLI_DONE;
    g_autoptr(SpateScenarioFile) file = cli_scenario_file(path, options, &status);
    if (file == NULL)
        return status;
    g_autofree char *base_text = NULL;
    if (options->variants == NULL) {
        status = lint_variant(file, NULL, options, NULL, &base_text);
        if (status != CLI_DONE)
            return status;
        g_string_append(findings, base_text);
    }
    const char *const *variants = options->variants != NULL ? (const char *const *)options->variants
                                                            : spate_scenario_file_variants(file);
    for (size_t i = 0; variants[i] != NULL; i++) {
        g_autofree char *text = NULL;
        status = lint_variant(file, variants[i], options, base_text, &text);
        if (status != CLI_DONE)
            return status;
        if (text[0] != '\0')
            g_string_append_printf(findings, "with the variant %s:\n%s", variants[i], text);
    }
    return CLI_DONE;
}

CliStatus
cli_lint(int argc, char **argv)
{
    CliStatus status;
    g_auto(CliOptions) options = {0};
    if (!cli_options_read(&options, CLI_TAKES_SET | CLI_TAKES_VARIANT | CLI_TAKES_FORMAT, NULL,
                          HELP, argc, argv, &status))
        return status;
    if (options.n_arguments == 0)
        return cli_complain(CLI_USAGE, "lint takes scenarios; see spate lint --help");
    if (options.format != SPATE_FORMAT_TABLE)
        return cli_complain(CLI_USAGE, "lint prints text; --format does not apply");
    g_autoptr(GString) findings = g_string_new(NULL);
    CliStatus worst = CLI_DONE;
    for (guint i = 0; i < options.n_arguments; i++)
        worst = MAX(worst, lint_file(options.arguments[i], &options, findings));
    status = cli_output_write(options.output, findings->str, findings->len);
    return MAX(worst, status);
}
