/* advise.c - spate advise */
#include "cli/cli.h"

#include "report/advise/advise-report.h"
#include <string.h>

/* What was found, as text, and what it means for the exit status. */
typedef struct {
    GString *text;
    CliStatus status;
    bool is_interrupted;
    uint32_t n_replications; /* that it rests on */
} Advice;

static void
advise_bridges(Advice *found, const SpateAdviseWanted *wanted, const CliOptions *options,
               SpateAdviseGentle gentle, const SpateStudyOptions *study, GError **error)
{
    g_autoptr(SpateAdvice) advice = spate_advise(wanted, gentle, study, error);
    if (advice == NULL)
        return;
    spate_advise_report_append(found->text, advice, options->format);
    bool is_met = advice->answer == SPATE_ADVISE_FOUND ||
                  advice->answer == SPATE_ADVISE_MET_ALREADY ||
                  advice->answer == SPATE_ADVISE_NOTHING_EXPECTED;
    found->status = is_met ? CLI_DONE : CLI_FAILED;
    found->is_interrupted = advice->interrupted;
    found->n_replications = advice->n_replications;
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
    found->n_replications = ranking->n_replications;
}

static void
advise_sites(Advice *found, const SpateAdviseWanted *wanted, const CliOptions *options,
             const SpateStudyOptions *study, GError **error)
{
    g_autoptr(SpateSiteRanking) ranking = spate_advise_sites(wanted, study, error);
    if (ranking == NULL)
        return;
    spate_sites_report_append(found->text, ranking, options->format);
    found->is_interrupted = ranking->interrupted;
    found->n_replications = ranking->n_replications;
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
    found->n_replications = ranking->n_replications;
}

/* Advice that rests on nothing takes no file's place. */
static CliStatus
write_advice(const Advice *found, const CliOptions *options)
{
    if (found->is_interrupted && found->n_replications == 0)
        return cli_complain(CLI_INTERRUPTED,
                            "interrupted before the first replication was finished");
    CliStatus status = cli_output_result(options, found->text);
    if (status != CLI_DONE)
        return status;
    if (found->is_interrupted)
        return cli_complain(CLI_INTERRUPTED, "interrupted: the advice is incomplete");
    return found->status;
}

static CliStatus
cli_advise(CliOptions *options)
{
    const char *const *variants = (const char *const *)options->variants;
    bool ranks_relays = cli_option_is_set(options, "relays");
    bool ranks_disturbers = cli_option_is_set(options, "disturbers");
    bool ranks_sites = cli_option_is_set(options, "sites");
    int gentle = SPATE_ADVISE_THIN;
    if (!cli_option_word(options, "gentle", &gentle))
        return CLI_USAGE;
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "advise takes one scenario; see spate advise --help");
    if (variants != NULL && variants[1] != NULL)
        return cli_complain(CLI_USAGE, "advise takes one variant");
    if (ranks_relays + ranks_disturbers + ranks_sites > 1)
        return cli_complain(CLI_USAGE, "--relays, --disturbers and --sites cannot be combined");
    CliStatus status = cli_places_note(options, "scenario");
    g_autoptr(SpateScenarioFile) file =
        status == CLI_DONE ? cli_scenario_file(options->arguments[0], options, &status) : NULL;
    g_autoptr(SpateScenario) scenario =
        file != NULL ? cli_scenario(file, variants != NULL ? variants[0] : "base", options, &status)
                     : NULL;
    if (scenario == NULL)
        return status;
    const SpateAdviseWanted wanted = {
        .file = file,
        .variant = variants != NULL ? variants[0] : NULL,
        .has_seed = options->has_seed,
        .seed = options->seed,
        .replications = options->replications,
    };
    cli_cost_say(scenario, cli_replications(options, scenario),
                 ranks_disturbers ? NULL
                 : ranks_relays   ? "each relay that is silenced"
                 : ranks_sites    ? "each candidate that is tried"
                                  : "each set of rules that is tried",
                 options);
    CliProgress progress;
    const SpateStudyOptions study = cli_progress_study(&progress, options);
    GError *error = NULL;
    g_autoptr(GString) text = g_string_new(NULL);
    Advice found = {.text = text};
    if (ranks_relays)
        advise_relays(&found, &wanted, options, &study, &error);
    else if (ranks_sites)
        advise_sites(&found, &wanted, options, &study, &error);
    else if (ranks_disturbers)
        advise_disturbers(&found, &wanted, options, &study, &error);
    else
        advise_bridges(&found, &wanted, options, (SpateAdviseGentle)gentle, &study, &error);
    cli_progress_clear(&progress);
    return error == NULL ? write_advice(&found, options) : cli_complain_error(error);
}

static const CliOption OPTIONS[] = {
    {"relays", CLI_NO_VALUE, NULL,
     "rank relays instead: what delivery loses when each is silent, and by outages"},
    {"disturbers", CLI_NO_VALUE, NULL,
     "rank disturbers instead: whose frames break each receiver's reception"},
    {"sites", CLI_NO_VALUE, NULL,
     "rank candidates instead: what building each one wins, and which to build next"},
    {"gentle", CLI_WORD, "thin|limit|no",
     "before holding back: let one message in 2, 4, 8 of each source pass (thin, the default), "
     "limit the rate accordingly, or neither"},
    {"variant", CLI_VARIANT, "NAME", "start from this variant, and meet its expectations"},
    {"set", CLI_TEXTS, "PATH=VALUE", "change a value everywhere (repeatable)"},
    {"replications", CLI_TEXT, "N", "run exactly N for each trial, decided or not"},
    {"jobs", CLI_TEXT, "N", "threads (default: all cores); never changes an answer"},
};

const CliCommand CLI_ADVISE = {
    .name = "advise",
    .run = cli_advise,
    .summary = "find what to hold back, which relays and sites matter, who disturbs",
    .usage = "SCENARIO [OPTION...]",
    .about =
        "What to hold back and what to keep. For each bridge: the streams that it lets across, "
        "what they cost the far side (share of its load and of its collisions) and what holding "
        "each one back wins for people's traffic: the traffics that expectations of delivery name, "
        "or else every traffic of another class. Then the smallest set to hold back that meets all "
        "expectations, as rules ready to paste, confirmed on replications that the search did not "
        "see, and their price: what every traffic loses or gains.",
    .arguments = CLI_FILE,
    .takes =
        CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_SET | CLI_TAKES_VARIANT | CLI_TAKES_FORMAT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status =
        "0 done, 1 no set is certain to meet all expectations, 2 bad usage or scenario, 3 could "
        "not read, write or finish, 130 interrupted.",
    .example = "spate advise scenarios/tarn-hollow.yaml --set 'expect=[{measure:\n         "
               "delivery-in-time, traffic: talk, at-least: 95 %}]'",
};
