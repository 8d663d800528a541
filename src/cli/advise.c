/* advise.c - spate advise */
#include "cli/cli.h"

#include "report/advise-report.h"
#include <string.h>

static const char HELP[] =
    "usage: spate advise SCENARIO [OPTION...]\n"
    "\n"
    "What to hold back and what to keep. For each bridge: the streams that it lets\n"
    "across, what they cost the far side (share of its load and of its collisions)\n"
    "and what holding each one back wins for people's traffic: what expectations of\n"
    "delivery name, or else every traffic of another class. Then the smallest set to\n"
    "hold back that meets all expectations, as rules ready to paste, confirmed on\n"
    "replications that the search did not see, and their price: what every traffic\n"
    "loses or gains.\n"
    "\n"
    "  --relays              instead: what delivery loses when each relay is silent\n"
    "  --disturbers          instead: for each receiver, whose frames break its reception\n"
    "  --gentle thin|limit|no\n"
    "                        before holding back: let one message in 2, 4, 8 of each\n"
    "                        source pass (thin, the default), limit the rate to as\n"
    "                        much, or neither\n"
    "  --set PATH=VALUE      change a value everywhere (repeatable)\n"
    "  --variant NAME        start from this variant, and meet its expectations\n"
    "  --seed N              another seed than the scenario's\n"
    "  --replications N      as many, doubt or not\n"
    "  --jobs N              threads (default: all cores); never changes an answer\n"
    "  --format table|json|csv\n"
    "  --csv-text-cells      CSV in which no text is a formula of a spreadsheet\n"
    "  --output FILE         instead of standard output\n"
    "  --quiet               no progress\n"
    "\n"
    "Exit status: 0 done, 1 no set meets all expectations for sure, 2 bad usage or\n"
    "scenario, 3 could not read, write or finish, 130 interrupted.\n"
    "\n"
    "Example: spate advise scenarios/tarn-hollow.yaml --set 'expect=[{measure:\n"
    "delivery-in-time, traffic: talk, at-least: 95 %}]'\n";

/* What the command's own options say. */
typedef struct {
    bool relays, disturbers;
    SpateAdviseGentle gentle;
} Wishes;

/* What was found, as text, and what it means for the exit status. */
typedef struct {
    GString *text;
    CliStatus status;
    bool is_interrupted;
} Advice;

static bool
read_gentle(const char *text, SpateAdviseGentle *gentle)
{
    static const char *const NAMES[] = {"thin", "limit", "no", NULL};
    *gentle = SPATE_ADVISE_THIN;
    for (int i = 0; text != NULL; i++) {
        if (NAMES[i] == NULL) {
            cli_complain(CLI_USAGE, "--gentle: '%s' is none of thin, limit, no", text);
            return false;
        }
        if (strcmp(NAMES[i], text) == 0) {
            *gentle = (SpateAdviseGentle)i;
            return true;
        }
    }
    return true;
}

static bool
is_met(SpateAdviseAnswer answer)
{
    return answer == SPATE_ADVISE_FOUND || answer == SPATE_ADVISE_MET_ALREADY ||
           answer == SPATE_ADVISE_NOTHING_EXPECTED;
}

static void
advise_bridges(Advice *found, const SpateAdviseWanted *wanted, const CliOptions *options,
               const Wishes *wishes, const SpateStudyOptions *study, GError **error)
{
    g_autoptr(SpateAdvice) advice = spate_advise(wanted, wishes->gentle, study, error);
    if (advice == NULL)
        return;
    spate_advise_report_append(found->text, advice, options->format);
    found->status = is_met(advice->answer) ? CLI_DONE : CLI_FAILED;
    found->is_interrupted = advice->interrupted;
}

static void
advise_relays(Advice *found, const SpateAdviseWanted *wanted, const CliOptions *options,
              const SpateStudyOptions *study, GError **error)
{
    g_autoptr(SpateRelayRanking) ranking = spate_advise_relays(wanted, study, error);
    if (ranking == NULL)
        return;
    spate_relays_report_append(found->text, ranking, options->format);
    found->is_interrupted = ranking->interrupted;
}

static void
advise_disturbers(Advice *found, const SpateAdviseWanted *wanted, const CliOptions *options,
                  const SpateStudyOptions *study, GError **error)
{
    g_autoptr(SpateDisturberRanking) ranking = spate_advise_disturbers(wanted, study, error);
    if (ranking == NULL)
        return;
    spate_disturbers_report_append(found->text, ranking, options->format);
    found->is_interrupted = ranking->interrupted;
}

static CliStatus
write_advice(const Advice *found, const CliOptions *options)
{
    CliStatus status = cli_output_write(options->output, cli_form_of(options, options->format),
                                        found->text->str, found->text->len);
    if (status != CLI_DONE)
        return status;
    if (found->is_interrupted)
        return cli_complain(CLI_INTERRUPTED, "interrupted: this is not all");
    return found->status;
}

static CliStatus
advise(SpateScenarioFile *file, const CliOptions *options, const Wishes *wishes)
{
    const SpateAdviseWanted wanted = {
        .file = file,
        .variant = options->variants != NULL ? options->variants[0] : NULL,
        .has_seed = options->has_seed,
        .seed = options->seed,
        .replications = options->replications,
    };
    CliStatus status;
    g_autoptr(SpateScenario) scenario =
        cli_scenario(file, wanted.variant != NULL ? wanted.variant : "base", options, &status);
    if (scenario == NULL)
        return status;
    cli_cost_say(scenario, wanted.replications > 0 ? wanted.replications : scenario->replications,
                 options);
    CliProgress progress;
    cli_progress_init(&progress, options->quiet);
    const SpateStudyOptions study = {
        .jobs = options->jobs,
        .stop = cli_interrupt_flag(),
        .progress = cli_progress_show,
        .user = &progress,
    };
    GError *error = NULL;
    g_autoptr(GString) text = g_string_new(NULL);
    Advice found = {.text = text};
    if (wishes->relays)
        advise_relays(&found, &wanted, options, &study, &error);
    else if (wishes->disturbers)
        advise_disturbers(&found, &wanted, options, &study, &error);
    else
        advise_bridges(&found, &wanted, options, wishes, &study, &error);
    cli_progress_clear(&progress);
    return error == NULL ? write_advice(&found, options) : cli_complain_error(error);
}

static CliStatus
check_usage(const CliOptions *options, const Wishes *wishes)
{
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "advise takes one scenario; see spate advise --help");
    if (options->variants != NULL && options->variants[1] != NULL)
        return cli_complain(CLI_USAGE, "advise starts from one variant");
    if (wishes->relays && wishes->disturbers)
        return cli_complain(CLI_USAGE, "--relays and --disturbers: one at a time");
    return CLI_DONE;
}

CliStatus
cli_advise(int argc, char **argv)
{
    CliStatus status;
    g_auto(CliOptions) options = {0};
    g_autofree char *gentle = NULL;
    gboolean relays = FALSE, disturbers = FALSE;
    Wishes wishes = {0};
    const GOptionEntry extra[] = {
        {.long_name = "relays", .arg = G_OPTION_ARG_NONE, .arg_data = &relays},
        {.long_name = "disturbers", .arg = G_OPTION_ARG_NONE, .arg_data = &disturbers},
        {.long_name = "gentle", .arg = G_OPTION_ARG_STRING, .arg_data = &gentle},
        {NULL},
    };
    if (!cli_options_read(&options,
                          CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_SET | CLI_TAKES_VARIANT |
                              CLI_TAKES_FORMAT,
                          extra, HELP, argc, argv, &status))
        return status;
    wishes.relays = relays;
    wishes.disturbers = disturbers;
    if (!read_gentle(gentle, &wishes.gentle))
        return CLI_USAGE;
    status = check_usage(&options, &wishes);
    if (status == CLI_DONE)
        status = cli_places_note(&options, "scenario");
    g_autoptr(SpateScenarioFile) file =
        status == CLI_DONE ? cli_scenario_file(options.arguments[0], &options, &status) : NULL;
    if (status == CLI_DONE && options.variants != NULL)
        status = cli_variant_check(file, options.variants[0]);
    return status == CLI_DONE ? advise(file, &options, &wishes) : status;
}
