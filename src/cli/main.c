/* main.c - the commands of spate */
#include "cli/cli.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

typedef struct {
    const char *name;
    CliRun run; /* NULL: not supported yet */
    const char *summary;
} Command;

static const Command COMMANDS[] = {
    {"new", cli_new, "print a small commented scenario to start from"},
    {"run", cli_run, "simulate a scenario and print the measures"},
    {"compare", cli_compare, "base and variants, or two files, on the same random numbers"},
    {"airtime", cli_airtime, "time on air, symbols, sensitivity, frames per hour"},
    {"links", cli_links, "the link budget of every pair of radios"},
    {"check", cli_check, "judge scenarios by their own expectations"},
    {"size", cli_size, "how many meet the expectations: the fewest, the most, what binds"},
    {"sweep", cli_sweep, "run a grid of settings into a results store"},
    {"merge", cli_merge, "join the stores of a sweep that was run in shards"},
    {"advise", cli_advise, "what to hold back, which relay is worth its mast, who disturbs whom"},
    {"report", cli_report, "a page that anybody opens, from a result"},
    {"lint", cli_lint, "read and check scenarios without running them"},
    {"coverage", NULL, NULL},
    {"fit", NULL, NULL},
};

CliStatus
cli_print_version(void)
{
    static const char TEXT[] = "spate " SPATE_VERSION "\n";
    return cli_output_write(NULL, CLI_SHOWN, TEXT, strlen(TEXT));
}

static CliStatus
print_help(void)
{
    g_autoptr(GString) text = g_string_new("usage: spate COMMAND [ARGUMENT...] [OPTION...]\n\n"
                                           "Simulates flooding radio meshes over two or more "
                                           "bearers joined by bridges.\n\n");
    for (size_t i = 0; i < G_N_ELEMENTS(COMMANDS); i++)
        if (COMMANDS[i].run != NULL)
            g_string_append_printf(text, "  %-9s %s\n", COMMANDS[i].name, COMMANDS[i].summary);
    g_string_append(text,
                    "\nspate COMMAND --help tells more. "
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
complain_unknown_command(const char *name)
{
    const char *names[G_N_ELEMENTS(COMMANDS) + 1] = {NULL};
    for (size_t i = 0; i < G_N_ELEMENTS(COMMANDS); i++)
        names[i] = COMMANDS[i].name;
    const char *nearest = spate_nearest_word(name, names);
    if (nearest != NULL)
        return cli_complain(CLI_USAGE, "there is no command '%s'; did you mean '%s'?", name,
                            nearest);
    return cli_complain(CLI_USAGE, "there is no command '%s'; see spate --help", name);
}

/* Where one of the three is closed, a file that is opened next would take its number, and errors be
 * written into a result.  What is put there cannot be used as the closed one could not. */
static void
hold_standard_files(void)
{
    for (int file = STDIN_FILENO; file <= STDERR_FILENO; file++)
        if (fcntl(file, F_GETFD) == -1 && errno == EBADF &&
            open("/dev/null", file == STDIN_FILENO ? O_WRONLY : O_RDONLY) < 0)
            return;
}

static void
prepare(void)
{
    /* First of all: a signal that comes sooner ends the program as if it had never begun. */
    cli_interrupt_catch();
    hold_standard_files();
    /* A closed pipe and a limit of size are errors of writing like any other. */
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN);
}

int
main(int argc, char **argv)
{
    prepare();
    if (argc < 2)
        return (int)cli_complain(CLI_USAGE, "a command is missing; see spate --help");
    if (strcmp(argv[1], "--help") == 0)
        return (int)print_help();
    if (strcmp(argv[1], "--version") == 0)
        return (int)cli_print_version();
    for (size_t i = 0; i < G_N_ELEMENTS(COMMANDS); i++) {
        if (strcmp(COMMANDS[i].name, argv[1]) != 0)
            continue;
        if (COMMANDS[i].run == NULL)
            return (int)cli_complain(CLI_USAGE, "the command %s is not supported yet", argv[1]);
        return (int)COMMANDS[i].run(argc - 1, argv + 1);
    }
    return (int)complain_unknown_command(argv[1]);
}
