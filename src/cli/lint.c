/* lint.c - spate lint */
#include "cli/cli.h"

#include "core/shown-text.h"
#include "scenario/read/expect-check.h"
#include "scenario/read/read-bytes.h"
#include "scenario/world/world.h"
#include <stdio.h>
#include <string.h>

/* Faults are what lint was asked for: they are findings.  What cannot be read is not.  Frees the
 * error. */
static CliStatus
note_error(GString *findings, const char *path, GError *error)
{
    if (error->domain == SPATE_SCENARIO_ERROR && error->code == SPATE_SCENARIO_ERROR_UNREADABLE)
        return cli_complain_error(error);
    /* What the world finds (a path loss model out of its range) has no place in the file. */
    if (error->domain != SPATE_SCENARIO_ERROR) {
        spate_append_shown_line(findings, path);
        g_string_append(findings, ": ");
    }
    g_string_append(findings, error->message);
    if (!g_str_has_suffix(error->message, "\n"))
        g_string_append_c(findings, '\n');
    g_error_free(error);
    return CLI_USAGE;
}

/* A warning: `words` say what it costs. */
static void
append_cost(char **text, const char *words, const SpateScenarioFile *file,
            const SpateScenario *scenario)
{
    g_autoptr(SpateFaults) faults = spate_scenario_file_new_faults(file);
    /* What takes long is traffic or, without any, the bursts of others. */
    spate_faults_warn(
        faults, scenario->n_traffics > 0 ? scenario->traffics[0].place : scenario->ambient[0].place,
        "a shorter run.duration or fewer replications for a first answer", "%s", words);
    g_autofree char *warning = spate_faults_warnings_text(faults);
    g_autofree char *before = *text;
    *text = g_strconcat(before, warning, NULL);
}

/* Appends the findings of one variant, unless the base has the very same. */
static CliStatus
lint_variant(const SpateScenarioFile *file, const char *path, const char *variant,
             GString *findings, char **base_text)
{
    GError *error = NULL;
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, variant, &error);
    g_autoptr(SpateWorld) world = scenario != NULL ? spate_world_new(scenario, &error) : NULL;
    g_autofree char *text = NULL;
    CliStatus status = CLI_DONE;
    if (world != NULL && spate_scenario_check_expectations(scenario, variant, &error)) {
        text = spate_world_lint(world, file);
        g_autofree char *words = cli_cost_words(scenario, scenario->replications, 0);
        if (words != NULL)
            append_cost(&text, words, file, scenario);
    } else {
        g_autoptr(GString) faults = g_string_new(NULL);
        status = note_error(faults, path, error);
        text = g_string_free(g_steal_pointer(&faults), FALSE);
    }
    bool is_base = strcmp(variant, "base") == 0;
    if (is_base || g_strcmp0(*base_text, text) != 0) {
        if (!is_base && text[0] != '\0')
            g_string_append_printf(findings, "with the variant %s:\n", variant);
        g_string_append(findings, text);
    }
    if (is_base)
        *base_text = g_steal_pointer(&text);
    return status;
}

static CliStatus
lint_file(const char *path, const CliOptions *options, GString *findings)
{
    CliStatus status = CLI_DONE;
    GError *error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_read(path, options->settings, options->n_settings, &error);
    if (file == NULL)
        return note_error(findings, path, error);
    g_autofree char *base_text = NULL;
    if (options->variants == NULL)
        status = lint_variant(file, path, "base", findings, &base_text);
    /* A setting that the base refuses, most variants refuse too. */
    if (status != CLI_DONE && options->n_settings > 0)
        return status;
    const char *const *variants = options->variants != NULL ? (const char *const *)options->variants
                                                            : spate_scenario_file_variants(file);
    for (size_t i = 0; variants[i] != NULL; i++) {
        CliStatus found = cli_variant_check(file, variants[i]);
        if (found == CLI_DONE)
            found = lint_variant(file, path, variants[i], findings, &base_text);
        status = MAX(status, found);
    }
    return status;
}

/* Enough for a path and a place. */
#define HEAD_BYTES 8192

/* Whether a file begins as findings do: "FILE:LINE:COLUMN: ", "FILE: " or "with the variant NAME:".
 * An empty one is findings too: there were none. */
static bool
begins_like_findings(const char *text, const CliOptions *options)
{
    if (text[0] == '\0' || g_str_has_prefix(text, "with the variant ") ||
        g_regex_match_simple("^[^\n]+(:[0-9]+:[0-9]+|: feature [0-9]+): ", text, G_REGEX_RAW, 0))
        return true;
    for (guint i = 0; i < options->n_arguments; i++) {
        g_autofree char *name = spate_shown_line(options->arguments[i]);
        size_t length = strlen(name);
        if (strncmp(text, name, length) == 0 && strncmp(text + length, ": ", 2) == 0)
            return true;
    }
    return false;
}

/* A scenario with faults does not say for certain which tables it has: places.c knows only those
 * that were opened.  So a file that was not written by an earlier lint may be one of them. */
static bool
may_be_a_table(const char *path, const CliOptions *options)
{
    if (cli_output_is_standard(path) || cli_output_is_special(path) ||
        !g_file_test(path, G_FILE_TEST_EXISTS))
        return false;
    g_autoptr(GByteArray) head = spate_read_file(path, HEAD_BYTES);
    return head == NULL || !begins_like_findings((const char *)head->data, options);
}

/* The findings are shown all the same. */
static CliStatus
keep_old_output(const CliOptions *options, const char *findings)
{
    g_autoptr(GString) shown = g_string_new(NULL);
    spate_append_shown(shown, findings, strlen(findings));
    fputs(shown->str, stderr);
    return cli_complain(
        CLI_USAGE,
        "--output: %s was not overwritten: it is not an earlier output of lint and, with these "
        "faults, may be a table of the scenario; remove it or name another file",
        options->output);
}

static CliStatus
cli_lint(CliOptions *options)
{
    if (options->n_arguments == 0)
        return cli_complain(CLI_USAGE, "lint takes one or more scenarios; see spate lint --help");
    CliStatus worst = cli_places_note(options, "scenario");
    if (worst != CLI_DONE)
        return worst;
    g_autoptr(GString) findings = g_string_new(NULL);
    for (guint i = 0; i < options->n_arguments; i++) {
        CliStatus status = lint_file(options->arguments[i], options, findings);
        worst = MAX(worst, status);
    }
    /* A file of findings that lacks some would look as if there were none. */
    if (worst == CLI_TROUBLE && !cli_output_is_standard(options->output))
        return worst;
    CliStatus status = cli_places_check();
    if (status != CLI_DONE)
        return MAX(worst, status);
    if (worst == CLI_USAGE && may_be_a_table(options->output, options))
        return keep_old_output(options, findings->str);
    status = cli_output_write(options->output, CLI_SHOWN, findings->str, findings->len);
    return MAX(worst, status);
}

static const CliOption OPTIONS[] = {
    {"variant", CLI_VARIANT, "NAME", "only this variant (repeatable; base is one)"},
};

const CliCommand CLI_LINT = {
    .name = "lint",
    .run = cli_lint,
    .summary = "read and check scenarios",
    .usage = "SCENARIO... [OPTION...]",
    .about = "Reads and checks scenarios, and prints what it finds. Does not run them; for a large "
             "one, runs its first events to estimate how long it takes. Warns of "
             "radiated power or duty over common limits (a planning aid, not legal advice: check "
             "your local rules) and of settings that may not do what their author meant.",
    .arguments = CLI_FILE,
    .takes = CLI_TAKES_SET | CLI_TAKES_VARIANT | CLI_TAKES_OUTPUT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 no faults (warnings or not), 2 faults or bad usage, 3 could not read or write.",
    .example = "spate lint scenarios/*.yaml",
};
