/* main.c - spate: finds the command and runs it */
#include "cli/cli.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

CliStatus
cli_print_version(void)
{
    static const char TEXT[] = "spate " SPATE_VERSION "\n";
    return cli_output_write(NULL, CLI_SHOWN, TEXT, strlen(TEXT));
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

int
main(int argc, char **argv)
{
    /* First of all: a signal that comes sooner ends the program as if it had never begun. */
    cli_interrupt_catch();
    hold_standard_files();
    /* A closed pipe and a limit of size are errors of writing like any other. */
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN);
    if (argc < 2)
        return (int)cli_complain(CLI_USAGE, "a command is missing; see spate help");
    if (strcmp(argv[1], "--help") == 0)
        return (int)cli_help_print_all();
    if (strcmp(argv[1], "--version") == 0)
        return (int)cli_print_version();
    const CliCommand *command = cli_command_find(argv[1], NULL);
    if (command == NULL)
        return (int)CLI_USAGE;
    CliStatus status;
    g_auto(CliOptions) options = {0};
    return (int)(cli_options_read(&options, command, argv + 1, &status) ? command->run(&options)
                                                                        : status);
}
