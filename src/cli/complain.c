/* complain.c - messages on standard error */
#include "cli/cli.h"

#include "core/shown-text.h"
#include "propagation/path-loss.h"
#include "report/result/result-reader.h"
#include "study/coverage/grid.h"
#include "study/study.h"
#include <stdio.h>
#include <string.h>

/* Further lines are indented: no text that is quoted can pass for a message. */
static void
say(const char *prefix, const char *text)
{
    g_autoptr(GString) shown = g_string_new(prefix);
    spate_append_shown(shown, text, strlen(text));
    while (shown->len > 0 && shown->str[shown->len - 1] == '\n')
        g_string_truncate(shown, shown->len - 1);
    if (prefix[0] != '\0')
        g_string_replace(shown, "\n", "\n    ", 0);
    g_string_append_c(shown, '\n');
    fputs(shown->str, stderr);
}

CliStatus
cli_complain(CliStatus status, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    g_autofree char *text = g_strdup_vprintf(format, arguments);
    va_end(arguments);
    say("spate: ", text);
    return status;
}

CliStatus
cli_complain_error(GError *error)
{
    CliStatus status = CLI_TROUBLE;
    if (g_error_matches(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD) ||
        g_error_matches(error, SPATE_STUDY_ERROR, SPATE_STUDY_ERROR_TOO_LARGE) ||
        g_error_matches(error, SPATE_RESULT_ERROR, SPATE_RESULT_ERROR_BAD) ||
        error->domain == SPATE_PROPAGATION_ERROR || error->domain == SPATE_GRID_ERROR)
        status = CLI_USAGE;
    /* Faults of a file say themselves where they stand. */
    if (g_error_matches(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD))
        say("", error->message);
    else
        cli_complain(status, "%s", error->message);
    g_error_free(error);
    return status;
}

CliStatus
cli_complain_unknown(const char *what, const char *name, const char *const *known,
                     const char *instead)
{
    const char *nearest = spate_nearest_word(name, known);
    if (nearest != NULL)
        return cli_complain(CLI_USAGE, "%s '%s'; did you mean '%s'?", what, name, nearest);
    return cli_complain(CLI_USAGE, "%s '%s'%s", what, name, instead);
}
