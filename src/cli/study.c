/* study.c - from scenarios to a written result, for run and compare */
#include "cli/cli.h"
#include "cli/globe.h"

#include "study/study.h"
#include <string.h>

/* What a study leaves; any part may be NULL. */
typedef struct {
    SpateStudy *study;
    SpateResult *result;
    SpateDetail *detail;
    CliLayers layers;
} Outcome;

static void
clear_outcome(Outcome *outcome)
{
    cli_layers_clear(&outcome->layers);
    spate_detail_free(outcome->detail);
    spate_result_free(outcome->result);
    spate_study_free(outcome->study);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Outcome, clear_outcome)

/* For the pictures of a terminal and of plots. */
static bool
wants_latency(const CliOptions *options)
{
    for (size_t i = 0; i < options->plots.n; i++)
        if (options->plots.all[i].plot == SPATE_PLOT_LATENCY)
            return true;
    return options->format == SPATE_FORMAT_TABLE && cli_terminal_is_output(options->output);
}

/* False with an error; without one it was stopped before anything was finished. */
static bool
run_study(Outcome *outcome, const char *command, const SpateScenario *const *scenarios,
          const char *const *names, size_t n, const CliOptions *options,
          const SpateStudyOptions *how, GError **error)
{
    uint32_t wanted = spate_study_wanted(scenarios, n, options->replications);
    bool wants_detail = options->detail || options->report != NULL;
    outcome->study = spate_study_new(scenarios, names, n, error);
    if (outcome->study != NULL && wants_latency(options))
        spate_study_keep_latency(outcome->study);
    if (outcome->study == NULL ||
        (wants_detail && !spate_study_keep_detail(outcome->study, error)) ||
        !spate_studies_run(&outcome->study, &wanted, 1, how, error) ||
        spate_study_n_replications(outcome->study) == 0)
        return false;
    outcome->result = spate_study_result(outcome->study, command);
    if (!wants_detail)
        return true;
    /* What was interrupted still has its replays: they take no longer than one replication. */
    const SpateStudyOptions to_the_end = {.jobs = how->jobs};
    outcome->detail = spate_detail_new(outcome->study, n, &to_the_end, error);
    return outcome->detail != NULL;
}

static CliStatus
write_outcome(const Outcome *outcome, const SpateScenarioFile *file, const CliOptions *options)
{
    g_autoptr(GString) text = g_string_new(NULL), json = g_string_new(NULL);
    SpateTableStyle style = cli_terminal_style(options->output);
    const SpateDetailReport detail = {
        .detail = outcome->detail,
        .result = outcome->result,
        .text = spate_scenario_file_text(file),
        .settings = options->settings,
        .n_settings = options->n_settings,
        .coverage = outcome->layers.coverages != NULL
                        ? (const SpateCoverage *const *)outcome->layers.coverages->pdata
                        : NULL,
    };
    if (outcome->detail != NULL)
        spate_report_append_detailed(json, outcome->result, &detail);
    if (!options->detail)
        spate_report_append(text, outcome->result, options->format, &style);
    if (options->is_map && outcome->detail != NULL) {
        CliStatus status = CLI_DONE;
        const SpateDetailVariant *shown = &outcome->detail->variants[0];
        g_autofree SpatePosition *places = cli_globe_places(shown->shown, &status);
        if (places == NULL)
            return status;
        cli_detail_append_geojson(text, shown, places);
    }
    const GString *written = options->detail && !options->is_map ? json : text;
    CliForm form = cli_form_of(options, options->format);
    if (form == CLI_SHOWN && style.colour)
        form = CLI_COLOURED;
    CliStatus status = cli_output_write(options->output, form, written->str, written->len);
    if (status == CLI_DONE && options->report != NULL)
        status =
            cli_page_write("the result", json->str, json->len, &options->privacy, options->report);
    return status;
}

CliStatus
cli_study(const char *command, const SpateScenarioFile *file, const SpateScenario *const *scenarios,
          const char *const *names, size_t n, const CliOptions *options)
{
    CliStatus status = cli_places_check();
    if (status != CLI_DONE)
        return status;
    uint32_t wanted = spate_study_wanted(scenarios, n, options->replications);
    cli_cost_say(scenarios[0], n * (uint64_t)wanted, NULL, options);
    g_auto(Outcome) outcome = {0};
    /* First: what is wrong with it is said before long work. */
    if (options->coverage)
        status = cli_layers_make(&outcome.layers, scenarios, n, options);
    if (status != CLI_DONE)
        return status;
    CliProgress progress;
    const SpateStudyOptions how = cli_progress_study(&progress, options);
    GError *error = NULL;
    bool is_run = run_study(&outcome, command, scenarios, names, n, options, &how, &error);
    cli_progress_clear(&progress);
    if (error != NULL)
        return cli_complain_error(error);
    if (!is_run)
        return cli_complain(CLI_INTERRUPTED,
                            "interrupted before the first replication was finished");
    status = write_outcome(&outcome, file, options);
    if (status == CLI_DONE)
        status = cli_plots_write(options, outcome.result);
    if (status == CLI_DONE && outcome.result->interrupted)
        return cli_complain(CLI_INTERRUPTED, "interrupted: %u of %u replications finished and kept",
                            outcome.result->n_replications, wanted);
    return status;
}
