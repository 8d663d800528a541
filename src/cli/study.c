/* study.c - from scenarios to a written result, for run and compare */
#include "cli/cli.h"

#include "study/study.h"
#include <string.h>
#include <unistd.h>

static bool
goes_to_terminal(const CliOptions *options)
{
    bool is_standard = options->output == NULL || strcmp(options->output, "-") == 0;
    return is_standard && isatty(STDOUT_FILENO);
}

/* Colour is for terminals; NO_COLOR is honoured. */
static SpateTableStyle
table_style(const CliOptions *options)
{
    const char *no_colour = g_getenv("NO_COLOR");
    bool refused = no_colour != NULL && no_colour[0] != '\0';
    return (SpateTableStyle){.colour = goes_to_terminal(options) && !refused};
}

/* As the study itself counts them. */
static uint32_t
replications_wanted(const SpateScenario *const *scenarios, size_t n, const CliOptions *options)
{
    uint32_t wanted = options->replications > 0 ? options->replications : UINT32_MAX;
    for (size_t i = 0; options->replications == 0 && i < n; i++)
        wanted = MIN(wanted, scenarios[i]->replications);
    return wanted;
}

CliStatus
cli_study(const char *command, const SpateScenario *const *scenarios, const char *const *names,
          size_t n, const CliOptions *options)
{
    CliStatus status = cli_output_check(options->output, (const char *const *)options->arguments);
    if (status != CLI_DONE)
        return status;
    CliProgress progress;
    cli_progress_init(&progress, options->quiet);
    SpateStudyOptions study = {
        .replications = options->replications,
        .jobs = options->jobs,
        .stop = cli_interrupt_flag(),
        .progress = cli_progress_show,
        .user = &progress,
    };
    GError *error = NULL;
    g_autoptr(SpateResult) result = spate_study_run(command, scenarios, names, n, &study, &error);
    cli_progress_clear(&progress);
    if (result == NULL) {
        bool interrupted = g_error_matches(error, SPATE_STUDY_ERROR, SPATE_STUDY_ERROR_INTERRUPTED);
        status = cli_complain_error(error);
        return interrupted ? CLI_INTERRUPTED : status;
    }
    g_autoptr(GString) text = g_string_new(NULL);
    SpateTableStyle style = table_style(options);
    spate_report_append(text, result, options->format, &style);
    status = cli_output_write(options->output, text->str, text->len);
    if (status == CLI_DONE && result->interrupted)
        return cli_complain(CLI_INTERRUPTED, "interrupted: %u of %u replications finished and kept",
                            result->n_replications, replications_wanted(scenarios, n, options));
    return status;
}
