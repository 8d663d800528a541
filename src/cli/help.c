/* help.c - spate help: all commands, one of them, all measures */
#include "cli/cli.h"

#include "measure/measures.h"
#include <string.h>

CliStatus
cli_help_print_all(void)
{
    g_autoptr(GString) text = g_string_new("usage: spate COMMAND [ARGUMENT...] [OPTION...]\n\n"
                                           "Simulates flooding radio meshes over two or more "
                                           "bearers joined by bridges.\n\n");
    for (const CliCommand *const *all = cli_commands(); *all != NULL; all++)
        if (cli_command_is_listed(*all))
            g_string_append_printf(text, "  %-9s %s\n", (*all)->name, (*all)->summary);
    g_string_append(text,
                    "\nspate help COMMAND explains a command, spate help measures the measures.\n"
                    "spate --version prints the version.\n\n"
                    "Example: spate new > valley.yaml && spate run valley.yaml\n\n"
                    "Exit status: 0 done, 1 an expectation failed, 2 bad usage or a bad scenario,\n"
                    "3 could not read, write or finish, 130 interrupted (what was finished is "
                    "kept).\n\n"
                    "A planning aid. Masts, lightning, exposure to radio fields, lawful power and\n"
                    "duty: follow local rules and licensed practice. Never rely on a hobby mesh\n"
                    "in an emergency.\n");
    return cli_output_write(NULL, CLI_SHOWN, text->str, text->len);
}

static CliStatus
print_measures(void)
{
    g_autoptr(GString) text = g_string_new(
        "Measures count what happens after the warm-up. A pair is a message and one of\n"
        "its recipients. A frame is audible at a radio of another node if its received\n"
        "power reaches that radio's sensitivity. Each entry gives the name, the unit,\n"
        "what the measure is counted by, and its meaning.\n\n");
    for (int i = 0; i < SPATE_N_MEASURES; i++) {
        const SpateMeasureInfo *info = spate_measure_info((SpateMeasure)i);
        g_autofree char *dimensions = spate_measure_dimensions(info);
        g_string_append_printf(text, "  %-17s %-12s %s\n      %s\n", info->name,
                               spate_unit_name(info->unit), dimensions, info->meaning);
    }
    return cli_output_write(NULL, CLI_SHOWN, text->str, text->len);
}

static CliStatus
cli_help(CliOptions *options)
{
    if (options->n_arguments == 0)
        return cli_help_print_all();
    if (options->n_arguments > 1)
        return cli_complain(CLI_USAGE, "help takes one command, or measures; see spate help");
    const char *subject = options->arguments[0];
    if (strcmp(subject, "measures") == 0)
        return print_measures();
    const CliCommand *command = cli_command_find(subject, "measures");
    return command != NULL ? cli_command_print_help(command) : CLI_USAGE;
}

const CliCommand CLI_HELP = {
    .name = "help",
    .run = cli_help,
    .summary = "all commands, one command, or all measures",
    .usage = "[COMMAND|measures]",
    .about = "Lists the commands, or prints the help of one. spate help measures lists what spate "
             "measures: name, unit, what it is counted by, and meaning.",
    .arguments = CLI_WORD,
    .status = "0 done, 2 no such command, 3 could not write.",
    .example = "spate help compare",
};
