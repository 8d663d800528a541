/* command.h - what a command is: its words, its options, what runs it
 *
 * Each command describes itself in one constant table, beside its code.  All that names an option
 * walks these tables: the help, the check of what a command reads, the words that an option takes,
 * and the completions of shells.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>
#include <stddef.h>

typedef enum {
    CLI_DONE = 0,
    CLI_FAILED = 1,       /* an expectation failed */
    CLI_USAGE = 2,        /* bad usage or a bad scenario */
    CLI_TROUBLE = 3,      /* could not read, write or finish */
    CLI_INTERRUPTED = 130 /* what was finished is kept */
} CliStatus;

typedef struct CliOptions CliOptions; /* cli.h */
typedef CliStatus (*CliRun)(CliOptions *options);

/* What follows an option, or names arguments. */
typedef enum {
    CLI_NO_VALUE,
    CLI_TEXT,
    CLI_TEXTS, /* repeatable */
    CLI_PAIR,  /* two texts, one after the other */
    CLI_FILE,
    CLI_WORD,   /* one of those that `shown` lists: "table|json|csv" */
    CLI_VARIANT /* of a scenario among the arguments; repeatable */
} CliValue;

typedef struct {
    const char *name; /* without its dashes */
    CliValue value;
    const char *shown;   /* the value in the help: "PATH=VALUE"; NULL without one */
    const char *meaning; /* on one line; the help wraps it */
} CliOption;

/* Options that mean the same wherever they apply. */
enum {
    CLI_TAKES_SEED = 1 << 0,
    CLI_TAKES_STUDY = 1 << 1, /* --replications, --jobs */
    CLI_TAKES_SET = 1 << 2,
    CLI_TAKES_VARIANT = 1 << 3,
    CLI_TAKES_FORMAT = 1 << 4, /* with --output */
    CLI_TAKES_OUTPUT = 1 << 5, /* alone: the command has formats of its own */
    CLI_TAKES_DETAIL = 1 << 6, /* --detail, --report */
    CLI_TAKES_HIDING = 1 << 7, /* --blur, --blur-seed, --anonymous */
    CLI_TAKES_CELLS = 1 << 8   /* --csv-text-cells, where --format is the command's own */
};

typedef struct {
    const char *name;
    CliRun run;
    const char *summary; /* NULL: in no list */
    const char *usage;   /* after its name; a line each for several ways */
    const char *about;   /* one paragraph; the help wraps it */
    CliValue arguments;
    const char *words;        /* of arguments that are words: "bash|zsh|fish" */
    int takes;                /* CLI_TAKES_ */
    const CliOption *options; /* its own, or a common one that means something else here */
    size_t n_options;
    const char *const *plots;     /* names of its pictures, NULL at the end; NULL: of a result */
    const char *status, *example; /* at the end of the help */
} CliCommand;

extern const CliCommand CLI_ADVISE, CLI_AIRTIME, CLI_CHECK, CLI_COMPARE, CLI_COMPLETION,
    CLI_COVERAGE, CLI_FIT, CLI_HELP, CLI_LINKS, CLI_LINT, CLI_MERGE, CLI_NEW, CLI_REPORT, CLI_RUN,
    CLI_SIZE, CLI_SWEEP;

/* All commands in the order of `spate help`; ends with NULL. */
const CliCommand *const *cli_commands(void);
/* NULL with a complaint if there is none: "unknown command 'rnu'; did you mean 'run'?"
 * The hint may be `also`, if that is not NULL. */
const CliCommand *cli_command_find(const char *name, const char *also);
/* Whether it is there for people to use: lists name it. */
bool cli_command_is_listed(const CliCommand *command);

/* All options that the command takes, each once (CliOption): its own, then the common ones. */
GPtrArray *cli_command_options(const CliCommand *command);
CliStatus cli_command_print_help(const CliCommand *command);

/* help.c: what spate --help prints. */
CliStatus cli_help_print_all(void);
