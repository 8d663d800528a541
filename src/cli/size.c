/* size.c - spate size */
#include "cli/cli.h"

#include "report/check/size-report.h"

/* --vary, --from and --to, after the settings of the command line: what replaces the section
 * `size`, or changes its ends.  The section lives as long as they do. */
static CliStatus
add_range(CliOptions *options, char **section)
{
    const char *vary = cli_option_text(options, "vary");
    const char *from = cli_option_text(options, "from"), *to = cli_option_text(options, "to");
    if (vary != NULL && (from == NULL || to == NULL))
        return cli_complain(CLI_USAGE, "--vary needs --from and --to, as in --vary "
                                       "nodes.soil.count --from 5 --to 80");
    options->settings = g_renew(SpateSetting, options->settings, options->n_settings + 3);
    if (vary != NULL) {
        g_auto(GStrv) parts = g_strsplit(vary, "'", -1);
        g_autofree char *path = g_strjoinv("''", parts);
        *section = g_strdup_printf("{vary: '%s'}", path);
        options->settings[options->n_settings++] = (SpateSetting){"size", *section};
    }
    if (from != NULL)
        options->settings[options->n_settings++] = (SpateSetting){"size.from", from};
    if (to != NULL)
        options->settings[options->n_settings++] = (SpateSetting){"size.to", to};
    return CLI_DONE;
}

static CliStatus
write_size(const SpateSize *size, const CliOptions *options)
{
    g_autoptr(GString) text = g_string_new(NULL);
    spate_size_report_append(text, size, options->format);
    CliStatus status = cli_output_result(options, text);
    if (status != CLI_DONE)
        return status;
    if (size->interrupted)
        return cli_complain(CLI_INTERRUPTED, "interrupted: not all values were tried");
    for (size_t i = 0; i < size->n_points; i++)
        if (size->points[i].answer == SPATE_SIZE_MEETS)
            return CLI_DONE;
    return CLI_FAILED;
}

static CliStatus
cli_size(CliOptions *options)
{
    g_autofree char *section = NULL;
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "size takes one scenario; see spate size --help");
    CliStatus status = add_range(options, &section);
    if (status == CLI_DONE)
        status = cli_places_note(options, "scenario");
    g_autoptr(SpateScenarioFile) file =
        status == CLI_DONE ? cli_scenario_file(options->arguments[0], options, &status) : NULL;
    if (file == NULL)
        return status;

    const SpateSizeWanted wanted = {
        .file = file,
        .check = {.variants = (const char *const *)options->variants,
                  .has_seed = options->has_seed,
                  .seed = options->seed,
                  .replications = options->replications},
    };
    /* Of one value, as the file has it. */
    g_autoptr(SpateScenario) base = spate_scenario_new(file, NULL, NULL);
    if (base != NULL)
        cli_cost_say(base, cli_replications(options, base), "each value that is tried", options);
    CliProgress progress;
    const SpateStudyOptions study = cli_progress_study(&progress, options);
    GError *error = NULL;
    g_autoptr(SpateSize) size = spate_size_run(&wanted, &study, &error);
    cli_progress_clear(&progress);
    return size != NULL ? write_size(size, options) : cli_complain_error(error);
}

static const CliOption OPTIONS[] = {
    {"vary", CLI_TEXT, "PATH",
     "vary this number instead of the scenario's size section; needs --from and --to"},
    {"from", CLI_TEXT, "A", "the low end of the range"},
    {"to", CLI_TEXT, "B", "the high end of the range"},
    {"set", CLI_TEXTS, "PATH=VALUE", "change a value everywhere (repeatable); size.from too"},
    {"variant", CLI_VARIANT, "NAME", "only expectations of this variant (repeatable)"},
    {"replications", CLI_TEXT, "N", "run exactly N for every value, decided or not"},
    {"jobs", CLI_TEXT, "N", "threads (default: all cores); never changes an answer"},
};

const CliCommand CLI_SIZE = {
    .name = "size",
    .run = cli_size,
    .summary = "find how many meet the expectations: fewest, most, what binds",
    .usage = "SCENARIO [OPTION...]",
    .about = "Varies one number (as size: {vary: nodes.repeaters.count, from: 5, to: 80} says) and "
             "reports which values meet all expectations of the scenario, which expectation binds "
             "on each side, and where the answer is uncertain. Too many can be as bad as too few: "
             "values are tried over the whole range, closely where the answer changes.",
    .arguments = CLI_FILE,
    .takes =
        CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_SET | CLI_TAKES_VARIANT | CLI_TAKES_FORMAT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 some value meets all, 1 none is certain to, 2 bad usage or scenario, 3 could not "
              "read, write or finish, 130 interrupted.",
    .example = "spate size scenarios/yard-of-100.yaml --format json\n"
               "         spate size plan.yaml --vary nodes.soil.count --from 5 --to 80",
};
