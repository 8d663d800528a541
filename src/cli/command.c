/* command.c - the list of commands, what each takes, and its help */
#include "cli/cli.h"

#include <string.h>

static const CliCommand *const COMMANDS[] = {
    &CLI_NEW,    &CLI_RUN,   &CLI_COMPARE, &CLI_AIRTIME,    &CLI_LINKS, &CLI_COVERAGE,
    &CLI_FIT,    &CLI_CHECK, &CLI_SIZE,    &CLI_SWEEP,      &CLI_MERGE, &CLI_ADVISE,
    &CLI_REPORT, &CLI_LINT,  &CLI_HELP,    &CLI_COMPLETION, NULL,
};

/* Options that mean the same wherever they apply, and who takes them (0: all). */
static const struct {
    CliOption option;
    int takes;
} COMMON[] = {
    {{"variant", CLI_VARIANT, "NAME", "use this variant, not the base (repeatable; base is one)"},
     CLI_TAKES_VARIANT},
    {{"set", CLI_TEXTS, "PATH=VALUE", "change a value, as in nodes.soil.count=80 (repeatable)"},
     CLI_TAKES_SET},
    {{"seed", CLI_TEXT, "N", "override the scenario's seed"}, CLI_TAKES_SEED},
    {{"replications", CLI_TEXT, "N", "override the scenario's number"}, CLI_TAKES_STUDY},
    {{"jobs", CLI_TEXT, "N", "threads (default: all cores); never changes a result"},
     CLI_TAKES_STUDY},
    {{"format", CLI_WORD, "table|json|csv", "a table for people (the default), JSON or CSV"},
     CLI_TAKES_FORMAT},
    {{"csv-text-cells", CLI_NO_VALUE, NULL,
      "with --format csv: escape text that a spreadsheet would read as a formula"},
     CLI_TAKES_FORMAT | CLI_TAKES_CELLS},
    {{"output", CLI_FILE, "FILE", "instead of standard output"},
     CLI_TAKES_FORMAT | CLI_TAKES_OUTPUT},
    {{"detail", CLI_NO_VALUE, NULL, "with --format json: also what a report shows"},
     CLI_TAKES_DETAIL},
    {{"report", CLI_FILE, "FILE.html", "write the page of spate report too"}, CLI_TAKES_DETAIL},
    {{"coverage", CLI_NO_VALUE, NULL,
      "with --report: under its map, by how many relays a radio that is carried about is heard "
      "both "
      "ways, as spate coverage has it; the next six say whose radio, and where"},
     CLI_TAKES_DETAIL},
    {{"radio", CLI_TEXT, "NODE",
      "whose radio is carried (default: of the nodes that do not relay the first by name)"},
     CLI_TAKES_DETAIL},
    {{"bearer", CLI_TEXT, "NAME",
      "coverage on this bearer alone (default: each that the node has)"},
     CLI_TAKES_DETAIL},
    {{"cell", CLI_TEXT, "SIDE",
      "side of a cell of coverage (default: a round one, at most 20000 cells)"},
     CLI_TAKES_DETAIL},
    {{"height", CLI_TEXT, "HEIGHT", "of the carried antenna above the ground (default: \"1.5 m\")"},
     CLI_TAKES_DETAIL},
    {{"area", CLI_TEXT, "X0,Y0,X1,Y1",
      "the corners of the coverage: x and y in metres, or longitude and latitude (default: the box "
      "around all nodes)"},
     CLI_TAKES_DETAIL},
    {{"margin", CLI_TEXT, "DISTANCE",
      "the area grows by that on each side (default: a tenth of the longer side of the box, 100 m "
      "at least; of --area: nothing)"},
     CLI_TAKES_DETAIL},
    {{"blur", CLI_TEXT, "DISTANCE",
      "in the page: move every place by a random step of at most that, such as \"200 m\", so that "
      "nobody's home is published; omit the scenario's text, coverage and relief, round margins "
      "and "
      "heights"},
     CLI_TAKES_DETAIL | CLI_TAKES_HIDING},
    {{"blur-seed", CLI_TEXT, "N",
      "the same steps and numbers again (default: random). Keep it to yourself, and use it for "
      "every page of one mesh: many pages with different steps give the places away"},
     CLI_TAKES_DETAIL | CLI_TAKES_HIDING},
    {{"anonymous", CLI_NO_VALUE, NULL,
      "in the page: numbers instead of the names of nodes and bridges"},
     CLI_TAKES_DETAIL | CLI_TAKES_HIDING},
    {{"plot", CLI_TEXTS, "NAME=FILE.svg",
      "write one picture (repeatable): delivery, delivery-in-time, latency, load, losses or "
      "difference"},
     CLI_TAKES_DETAIL},
    {{"quiet", CLI_NO_VALUE, NULL, "no progress"}, 0},
    {{"help", CLI_NO_VALUE, NULL, "print this"}, 0},
    {{"version", CLI_NO_VALUE, NULL, "print the version of spate"}, 0},
};

const CliCommand *const *
cli_commands(void)
{
    return COMMANDS;
}

bool
cli_command_is_listed(const CliCommand *command)
{
    return command->summary != NULL;
}

const CliCommand *
cli_command_find(const char *name, const char *also)
{
    const char *listed[G_N_ELEMENTS(COMMANDS) + 1] = {NULL};
    size_t n = 0;
    for (size_t i = 0; COMMANDS[i] != NULL; i++) {
        if (strcmp(COMMANDS[i]->name, name) == 0)
            return COMMANDS[i];
        if (cli_command_is_listed(COMMANDS[i]))
            listed[n++] = COMMANDS[i]->name;
    }
    listed[n] = also;
    cli_complain_unknown("unknown command", name, listed, "; see spate help");
    return NULL;
}

GPtrArray *
cli_command_options(const CliCommand *command)
{
    GPtrArray *options = g_ptr_array_new();
    /* By option of its own: whether it takes the place of a common one. */
    g_autofree bool *replaces = g_new0(bool, command->n_options + 1u);
    for (size_t i = 0; i < G_N_ELEMENTS(COMMON); i++) {
        const CliOption *option = &COMMON[i].option;
        if (COMMON[i].takes != 0 && (COMMON[i].takes & command->takes) == 0)
            continue;
        for (size_t k = 0; k < command->n_options; k++) {
            if (strcmp(command->options[k].name, COMMON[i].option.name) == 0) {
                option = &command->options[k];
                replaces[k] = true;
            }
        }
        g_ptr_array_add(options, (gpointer)(uintptr_t)option);
    }
    for (size_t k = command->n_options; k-- > 0;)
        if (!replaces[k])
            g_ptr_array_insert(options, 0, (gpointer)(uintptr_t)&command->options[k]);
    return options;
}

/* ---- help ------------------------------------------------------------------------------------ */

#define MEANING_COLUMN 24
#define LAST_COLUMN    80

/* Goes on at `column`, in lines that begin at `indent`. */
static void
append_wrapped(GString *text, size_t column, size_t indent, const char *words)
{
    g_auto(GStrv) all = g_strsplit(words, " ", -1);
    for (size_t i = 0; all[i] != NULL; i++) {
        size_t length = strlen(all[i]);
        if (column > indent && column + 1 + length > LAST_COLUMN) {
            g_string_append_printf(text, "\n%*s", (int)indent, "");
            column = indent;
        } else if (column > indent) {
            g_string_append_c(text, ' ');
            column++;
        }
        g_string_append(text, all[i]);
        column += length;
    }
    g_string_append_c(text, '\n');
}

CliStatus
cli_command_print_help(const CliCommand *command)
{
    g_autoptr(GString) text = g_string_new(NULL);
    g_auto(GStrv) ways = g_strsplit(command->usage, "\n", -1);
    for (size_t i = 0; ways[i] != NULL; i++)
        g_string_append_printf(text, "%s spate %s %s\n", i == 0 ? "usage:" : "      ",
                               command->name, ways[i]);
    g_string_append_c(text, '\n');
    append_wrapped(text, 0, 0, command->about);
    g_string_append_c(text, '\n');
    g_autoptr(GPtrArray) options = cli_command_options(command);
    for (guint i = 0; i < options->len; i++) {
        const CliOption *option = g_ptr_array_index(options, i);
        bool has_value = option->shown != NULL;
        g_autofree char *head =
            g_strconcat("  --", option->name, has_value ? " " : NULL, option->shown, NULL);
        if (strlen(head) < MEANING_COLUMN - 1)
            g_string_append_printf(text, "%-*s", MEANING_COLUMN, head);
        else
            g_string_append_printf(text, "%s\n%*s", head, MEANING_COLUMN, "");
        append_wrapped(text, MEANING_COLUMN, MEANING_COLUMN, option->meaning);
    }
    g_autofree char *status = g_strdup_printf("Exit status: %s", command->status);
    g_string_append_c(text, '\n');
    append_wrapped(text, 0, 0, status);
    g_string_append_printf(text, "\nExample: %s\n", command->example);
    return cli_output_write(NULL, CLI_SHOWN, text->str, text->len);
}
