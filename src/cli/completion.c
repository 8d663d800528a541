/* completion.c - spate completion: what shells complete, from the tables of the commands
 *
 * A shell asks no running spate for commands, options and their words: they are written into its
 * script when spate is built.  Only the variants of a scenario are read when they are asked for.
 */
#include "cli/cli.h"

#include <string.h>

/* What an argument of `help` may be, beside the commands. */
#define OTHER_SUBJECT "measures"

/* Of all commands that people use. */
static char *
command_names(void)
{
    g_autoptr(GString) names = g_string_new(NULL);
    for (const CliCommand *const *all = cli_commands(); *all != NULL; all++)
        if (cli_command_is_listed(*all))
            g_string_append_printf(names, "%s%s", names->len > 0 ? " " : "", (*all)->name);
    return g_string_free(g_steal_pointer(&names), FALSE);
}

/* "table|json|csv" as "table json csv". */
static char *
spaced(const char *words)
{
    char *text = g_strdup(words);
    return g_strdelimit(text, "|", ' ');
}

/* Of arguments that are words; those of `help` are the commands. */
static char *
argument_words(const CliCommand *command)
{
    if (command->words != NULL)
        return spaced(command->words);
    g_autofree char *names = command_names();
    return g_strconcat(names, " " OTHER_SUBJECT, NULL);
}

/* ---- bash ------------------------------------------------------------------------------------ */

static const char BASH_HEAD[] =
    "# What bash completes after spate; made from its tables of commands and options.\n"
    "\n"
    "# The variants of the scenario that the line names.\n"
    "_spate_variants()\n"
    "{\n"
    "    local word\n"
    "    for word in \"${COMP_WORDS[@]:2}\"; do\n"
    "        if [[ $word == *.yaml || $word == *.yml ]]; then\n"
    "            \"${COMP_WORDS[0]}\" completion variants \"$word\" 2>/dev/null && return\n"
    "        fi\n"
    "    done\n"
    "}\n"
    "\n"
    "_spate()\n"
    "{\n"
    "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}\n"
    "    local options='--help --version' values='' files='' arguments=''\n"
    "    # bash takes --format=json for three words.\n"
    "    if [[ $word == '=' ]]; then\n"
    "        word=''\n"
    "    elif [[ $before == '=' ]]; then\n"
    "        before=${COMP_WORDS[COMP_CWORD - 2]}\n"
    "    fi\n"
    "    COMPREPLY=()\n"
    "    if ((COMP_CWORD == 1)); then\n"
    "        arguments='%s'\n"
    "    fi\n"
    "    case ${COMP_WORDS[1]} in\n";

static const char BASH_TAIL[] =
    "    esac\n"
    "    if [[ -z $values$files && $word == -* ]]; then\n"
    "        values=$options\n"
    "    elif [[ -z $values$files && $arguments == files ]]; then\n"
    "        files=1\n"
    "    elif [[ -z $values$files ]]; then\n"
    "        values=$arguments\n"
    "    fi\n"
    "    if [[ -n $files ]]; then\n"
    "        compopt -o filenames 2>/dev/null\n"
    "        mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n"
    "    elif [[ -n $values ]]; then\n"
    "        mapfile -t COMPREPLY < <(compgen -W \"$values\" -- \"$word\")\n"
    "    fi\n"
    "}\n"
    "\n"
    "complete -F _spate spate\n";

/* Nothing for a word, whose choices are put in by name. */
static const char *const BASH_VALUES[] = {
    [CLI_TEXT] = " return ;;\n",
    [CLI_TEXTS] = " return ;;\n",
    [CLI_PAIR] = " return ;;\n",
    [CLI_FILE] = " files=1 ;;\n",
    [CLI_VARIANT] = ("\n"
                     "            values=$(_spate_variants)\n"
                     "            [[ -n $values ]] || return\n"
                     "            ;;\n"),
};

static void
append_bash_option(GString *text, const CliOption *option)
{
    if (option->value == CLI_NO_VALUE)
        return;
    g_string_append_printf(text, "        --%s)", option->name);
    g_autofree char *words = option->value == CLI_WORD ? spaced(option->shown) : NULL;
    if (words != NULL)
        g_string_append_printf(text, " values='%s' ;;\n", words);
    else
        g_string_append(text, BASH_VALUES[option->value]);
}

static void
append_bash_command(GString *text, const CliCommand *command)
{
    g_autoptr(GPtrArray) options = cli_command_options(command);
    g_string_append_printf(text, "    %s)\n        options='", command->name);
    for (guint i = 0; i < options->len; i++) {
        const CliOption *option = g_ptr_array_index(options, i);
        g_string_append_printf(text, "%s--%s", i > 0 ? " " : "", option->name);
    }
    g_string_append(text, "'\n");
    g_autofree char *words = command->arguments == CLI_WORD ? argument_words(command) : NULL;
    if (command->arguments != CLI_NO_VALUE)
        g_string_append_printf(text, "        arguments='%s'\n", words != NULL ? words : "files");
    g_string_append(text, "        case $before in\n");
    for (guint i = 0; i < options->len; i++)
        append_bash_option(text, g_ptr_array_index(options, i));
    g_string_append(text, "        esac\n        ;;\n");
}

static void
append_bash(GString *text)
{
    g_autofree char *names = command_names();
    g_auto(GStrv) head = g_strsplit(BASH_HEAD, "%s", 2);
    g_string_append_printf(text, "%s%s%s", head[0], names, head[1]);
    for (const CliCommand *const *all = cli_commands(); *all != NULL; all++)
        append_bash_command(text, *all);
    g_string_append(text, BASH_TAIL);
}

/* ---- zsh ------------------------------------------------------------------------------------- */

static const char ZSH_HEAD[] =
    "#compdef spate\n"
    "# What zsh completes after spate; made from its tables of commands and options.\n"
    "\n"
    "# The variants of the scenario that the line names.\n"
    "_spate_variants()\n"
    "{\n"
    "    local -a variants\n"
    "    local word\n"
    "    for word in $words; do\n"
    "        if [[ $word == *.(yaml|yml) ]]; then\n"
    "            variants=(${(f)\"$(spate completion variants ${(Q)word} 2>/dev/null)\"})\n"
    "        fi\n"
    "    done\n"
    "    compadd -a variants\n"
    "}\n"
    "\n"
    "_spate()\n"
    "{\n"
    "    local -a commands\n"
    "    commands=(\n";

static const char ZSH_TAIL[] = "    esac\n"
                               "}\n"
                               "\n"
                               "if [[ $funcstack[1] == _spate ]]; then\n"
                               "    _spate \"$@\"\n"
                               "elif (( $+functions[compdef] )); then\n"
                               "    compdef _spate spate\n"
                               "fi\n";

/* In single quotes of a shell, with a backslash before each of `special`. */
static void
append_quoted(GString *text, const char *words, const char *special)
{
    for (const char *at = words; *at != '\0'; at++) {
        if (*at == '\'')
            g_string_append(text, "'\\'");
        else if (strchr(special, *at) != NULL)
            g_string_append_c(text, '\\');
        g_string_append_c(text, *at);
    }
}

static void
append_zsh_option(GString *text, const CliOption *option)
{
    g_autofree char *words = option->value == CLI_WORD ? spaced(option->shown) : NULL;
    g_string_append_printf(text, " \\\n            '*--%s%s[", option->name,
                           option->value != CLI_NO_VALUE ? "=" : "");
    append_quoted(text, option->meaning, "[]:\\");
    g_string_append_c(text, ']');
    if (option->value != CLI_NO_VALUE) {
        g_string_append_c(text, ':');
        append_quoted(text, option->shown, ":\\");
        g_string_append(text, option->value == CLI_FILE      ? ":_files"
                              : option->value == CLI_VARIANT ? ":_spate_variants"
                                                             : ": ");
    }
    if (words != NULL)
        g_string_append_printf(text, "(%s)", words);
    g_string_append_c(text, '\'');
}

static void
append_zsh_command(GString *text, const CliCommand *command)
{
    g_autoptr(GPtrArray) options = cli_command_options(command);
    g_string_append_printf(text, "    %s)\n        _arguments", command->name);
    for (guint i = 0; i < options->len; i++)
        append_zsh_option(text, g_ptr_array_index(options, i));
    g_autofree char *words = command->arguments == CLI_WORD ? argument_words(command) : NULL;
    if (words != NULL)
        g_string_append_printf(text, " \\\n            '1:word:(%s)'", words);
    else if (command->arguments == CLI_FILE)
        g_string_append(text, " \\\n            '*:file:_files'");
    g_string_append(text, "\n        ;;\n");
}

static void
append_zsh(GString *text)
{
    g_string_append(text, ZSH_HEAD);
    for (const CliCommand *const *all = cli_commands(); *all != NULL; all++) {
        if (!cli_command_is_listed(*all))
            continue;
        g_string_append_printf(text, "        '%s:", (*all)->name);
        append_quoted(text, (*all)->summary, "\\");
        g_string_append(text, "'\n");
    }
    g_string_append(text, "    )\n"
                          "    if (( CURRENT == 2 )); then\n"
                          "        _describe command commands\n"
                          "        return\n"
                          "    fi\n"
                          "    shift words\n"
                          "    (( CURRENT-- ))\n"
                          "    case $words[1] in\n");
    for (const CliCommand *const *all = cli_commands(); *all != NULL; all++)
        append_zsh_command(text, *all);
    g_string_append(text, ZSH_TAIL);
}

/* ---- fish ------------------------------------------------------------------------------------ */

static const char FISH_HEAD[] =
    "# What fish completes after spate; made from its tables of commands and options.\n"
    "\n"
    "# The variants of the scenario that the line names.\n"
    "function __spate_variants\n"
    "    for word in (commandline -opc)\n"
    "        if string match -qr '\\.ya?ml$' -- $word\n"
    "            spate completion variants $word 2>/dev/null\n"
    "        end\n"
    "    end\n"
    "end\n"
    "\n"
    "complete -c spate -f\n";

static void
append_fish_option(GString *text, const CliCommand *command, const CliOption *option)
{
    g_autofree char *words = option->value == CLI_WORD ? spaced(option->shown) : NULL;
    g_string_append_printf(text, "complete -c spate -n '__fish_seen_subcommand_from %s' -l %s",
                           command->name, option->name);
    if (words != NULL)
        g_string_append_printf(text, " -x -a '%s'", words);
    else if (option->value == CLI_FILE)
        g_string_append(text, " -r -F");
    else if (option->value == CLI_VARIANT)
        g_string_append(text, " -x -a '(__spate_variants)'");
    else if (option->value != CLI_NO_VALUE)
        g_string_append(text, " -x");
    /* Quotes of fish know no more than these two. */
    g_autoptr(GString) meaning = g_string_new(option->meaning);
    g_string_replace(meaning, "\\", "\\\\", 0);
    g_string_replace(meaning, "'", "\\'", 0);
    g_string_append_printf(text, " -d '%s'\n", meaning->str);
}

static void
append_fish_command(GString *text, const CliCommand *command)
{
    g_autoptr(GPtrArray) options = cli_command_options(command);
    if (cli_command_is_listed(command))
        g_string_append_printf(text, "\ncomplete -c spate -n __fish_use_subcommand -a %s -d '%s'\n",
                               command->name, command->summary);
    for (guint i = 0; i < options->len; i++)
        append_fish_option(text, command, g_ptr_array_index(options, i));
    g_autofree char *words = command->arguments == CLI_WORD ? argument_words(command) : NULL;
    if (words != NULL)
        g_string_append_printf(text,
                               "complete -c spate -n '__fish_seen_subcommand_from %s' -a '%s'\n",
                               command->name, words);
    else if (command->arguments == CLI_FILE)
        g_string_append_printf(text, "complete -c spate -n '__fish_seen_subcommand_from %s' -F\n",
                               command->name);
}

static void
append_fish(GString *text)
{
    g_string_append(text, FISH_HEAD);
    for (const CliCommand *const *all = cli_commands(); *all != NULL; all++)
        append_fish_command(text, *all);
}

/* ---- the command ----------------------------------------------------------------------------- */

static CliStatus
print_variants(const CliOptions *options)
{
    CliStatus status;
    g_autoptr(SpateScenarioFile) file = cli_scenario_file(options->arguments[1], options, &status);
    if (file == NULL)
        return status;
    g_autoptr(GString) text = g_string_new("base\n");
    for (const char *const *all = spate_scenario_file_variants(file); *all != NULL; all++)
        g_string_append_printf(text, "%s\n", *all);
    return cli_output_write(NULL, CLI_SHOWN, text->str, text->len);
}

static CliStatus
cli_completion(CliOptions *options)
{
    static void (*const APPEND[])(GString *) = {append_bash, append_zsh, append_fish};
    if (options->n_arguments == 2 && strcmp(options->arguments[0], "variants") == 0)
        return print_variants(options);
    g_auto(GStrv) shells = g_strsplit(CLI_COMPLETION.words, "|", -1);
    g_autoptr(GString) text = g_string_new(NULL);
    for (size_t i = 0; options->n_arguments == 1 && shells[i] != NULL; i++)
        if (strcmp(shells[i], options->arguments[0]) == 0)
            APPEND[i](text);
    if (text->len == 0)
        return cli_complain(CLI_USAGE, "completion takes one of bash, zsh, fish; see spate "
                                       "completion --help");
    return cli_output_write(NULL, CLI_EXACT, text->str, text->len);
}

const CliCommand CLI_COMPLETION = {
    .name = "completion",
    .run = cli_completion,
    .usage = "bash|zsh|fish\nvariants SCENARIO",
    .about = "Prints the script that lets a shell complete the words of spate. An installed spate "
             "has put it where the shell looks for it. With variants: the names of a scenario's "
             "variants, a line each, which the scripts ask for.",
    .arguments = CLI_WORD,
    .words = "bash|zsh|fish",
    .status = "0 done, 2 bad usage or scenario, 3 could not read or write.",
    .example = "spate completion zsh > _spate",
};
