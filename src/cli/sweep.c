/* sweep.c - spate sweep */
#include "cli/cli.h"

#include "scenario/read/read-bytes.h"
#include "scenario/read/tables.h"
#include "scenario/text/yaml-flow.h"
#include "study/sweep/sweep.h"
#include <errno.h>
#include <string.h>

/* What the options mean. */
typedef struct {
    const CliOptions *options;
    uint32_t shard, n_shards; /* from 0 */
    SpateScenarioFile *file;
    SpateScenario *base; /* with the first variant */
    SpateDesign *design;
    char *settings; /* of the command line, a line each */
    char *store_name;
} Plan;

static void
plan_clear(Plan *plan)
{
    spate_design_free(plan->design);
    spate_scenario_free(plan->base);
    spate_scenario_file_free(plan->file);
    g_free(plan->settings);
    g_free(plan->store_name);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Plan, plan_clear)

/* ---- options --------------------------------------------------------------------------------- */

/* "2/4" */
static CliStatus
read_shard(Plan *plan)
{
    plan->n_shards = 1;
    const char *text = cli_option_text(plan->options, "shard");
    if (text == NULL)
        return CLI_DONE;
    g_auto(GStrv) parts = g_strsplit(text, "/", 2);
    guint64 number = 0, of = 0;
    if (g_strv_length(parts) != 2 ||
        !g_ascii_string_to_unsigned(parts[1], 10, 1, SPATE_DESIGN_MAX_POINTS, &of, NULL) ||
        !g_ascii_string_to_unsigned(parts[0], 10, 1, of, &number, NULL))
        return cli_complain(CLI_USAGE, "--shard: '%s' is not K/N, as in 1/4 to 4/4", text);
    plan->shard = (uint32_t)number - 1;
    plan->n_shards = (uint32_t)of;
    return CLI_DONE;
}

/* plans/valley.yaml: plans/valley.sqlite, or plans/valley.2-of-4.sqlite. */
static CliStatus
name_store(Plan *plan)
{
    const char *scenario = plan->options->arguments[0];
    plan->store_name = g_strdup(cli_option_text(plan->options, "store"));
    if (plan->store_name != NULL)
        return CLI_DONE;
    if (strcmp(scenario, "-") == 0)
        return cli_complain(CLI_USAGE, "a sweep of standard input needs --store FILE");
    g_autofree char *stem = g_strdup(scenario);
    char *dot = strrchr(stem, '.');
    if (dot != NULL && (strcmp(dot, ".yaml") == 0 || strcmp(dot, ".yml") == 0))
        *dot = '\0';
    plan->store_name = plan->n_shards > 1 ? g_strdup_printf("%s.%u-of-%u.sqlite", stem,
                                                            plan->shard + 1, plan->n_shards)
                                          : g_strdup_printf("%s.sqlite", stem);
    return CLI_DONE;
}

static CliStatus
note_places(Plan *plan)
{
    const char *design = cli_option_text(plan->options, "design");
    if (design != NULL)
        cli_places_read("design", design);
    cli_places_store("--store", plan->store_name);
    return cli_places_note(plan->options, "scenario");
}

/* A seed is a setting like others: a point may vary it. */
static CliStatus
read_scenario(Plan *plan)
{
    const CliOptions *options = plan->options;
    g_autoptr(GArray) settings = g_array_new(FALSE, FALSE, sizeof(SpateSetting));
    g_autofree char *seed = g_strdup_printf("%" G_GUINT64_FORMAT, (guint64)options->seed);
    g_array_append_vals(settings, options->settings, (guint)options->n_settings);
    const SpateSetting of_seed = {"seed", seed};
    if (options->has_seed)
        g_array_append_val(settings, of_seed);
    GString *lines = g_string_new(NULL);
    for (guint i = 0; i < settings->len; i++) {
        const SpateSetting *setting = &g_array_index(settings, SpateSetting, i);
        g_string_append_printf(lines, "%s%s=%s", i > 0 ? "\n" : "", setting->path, setting->value);
    }
    plan->settings = g_string_free(lines, FALSE);
    GError *error = NULL;
    plan->file = spate_scenario_file_read(
        options->arguments[0], (const SpateSetting *)(void *)settings->data, settings->len, &error);
    return plan->file != NULL ? CLI_DONE : cli_store_complain(error);
}

/* ---- what is varied -------------------------------------------------------------------------- */

/* "V1,V2,..." is a list of YAML without its brackets. */
static bool
read_vary(const char *text, SpateSweepAxis *axis, GError **error)
{
    g_autoptr(SpateFaults) faults = spate_faults_new();
    const char *equals = strchr(text, '=');
    int origin = spate_faults_add_text(faults, "--vary", text);
    if (equals == NULL || equals == text || equals[1] == '\0') {
        spate_faults_note(faults, (SpatePlace){origin, 1, 1}, "PATH=V1,V2,...",
                          "'%s' has no values", text);
        return !spate_faults_raise(faults, error);
    }
    g_autofree char *list = g_strdup_printf("%*s[%s]", (int)(equals - text), "", equals + 1);
    g_autoptr(SpateYaml) values = spate_yaml_parse(list, strlen(list), origin, faults);
    if (spate_faults_raise(faults, error))
        return false;
    axis->path = g_strndup(text, (gsize)(equals - text));
    axis->n_values = values->items->len;
    axis->values = g_new0(char *, axis->n_values + 1);
    for (uint32_t i = 0; i < axis->n_values; i++)
        axis->values[i] = spate_yaml_text(g_ptr_array_index(values->items, i));
    return true;
}

static SpateDesign *
design_of_options(char **vary, const char *const *variants, GError **error)
{
    g_autoptr(GArray) axes = g_array_new(FALSE, FALSE, sizeof(SpateSweepAxis));
    g_array_set_clear_func(axes, (GDestroyNotify)spate_sweep_axis_clear);
    for (size_t i = 0; vary[i] != NULL; i++) {
        SpateSweepAxis axis = {0};
        if (!read_vary(vary[i], &axis, error))
            return NULL;
        g_array_append_val(axes, axis);
    }
    return spate_design_new_grid((const SpateSweepAxis *)(void *)axes->data, axes->len, variants,
                                 error);
}

static SpateDesign *
design_of_file(const char *path, const char *const *variants, GError **error)
{
    g_autoptr(GByteArray) text = spate_read_file(path, SPATE_TABLES_MAX_BYTES);
    if (text != NULL)
        return spate_design_new_listed(path, (const char *)text->data, text->len, variants, error);
    g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_UNREADABLE,
                "%s: cannot be read: %s", path, g_strerror(errno));
    return NULL;
}

static CliStatus
read_design(Plan *plan)
{
    static const char *const BASE[] = {"base", NULL};
    const char *listed = cli_option_text(plan->options, "design");
    char **vary = cli_option_texts(plan->options, "vary");
    const char *const *variants =
        plan->options->variants != NULL ? (const char *const *)plan->options->variants : BASE;
    if (listed != NULL && vary != NULL)
        return cli_complain(CLI_USAGE, "--vary and --design cannot be combined");
    for (size_t i = 0; variants[i] != NULL; i++)
        if (cli_variant_check(plan->file, variants[i]) != CLI_DONE)
            return CLI_USAGE;
    GError *error = NULL;
    plan->base = spate_scenario_new(plan->file, variants[0], &error);
    if (plan->base == NULL)
        return cli_store_complain(error);
    if (listed == NULL && vary == NULL && plan->base->n_sweep == 0)
        return cli_complain(CLI_USAGE,
                            "%s has no sweep; add sweep: [{vary: PATH, values: [..]}],"
                            " or give --vary or --design",
                            plan->options->arguments[0]);
    plan->design = listed != NULL ? design_of_file(listed, variants, &error)
                   : vary != NULL ? design_of_options(vary, variants, &error)
                                  : spate_design_new_grid(plan->base->sweep, plan->base->n_sweep,
                                                          variants, &error);
    if (plan->design == NULL || !spate_sweep_check(plan->file, plan->design, &error))
        return cli_store_complain(error);
    for (uint32_t i = 0; i < plan->design->n_paths; i++)
        if (strcmp(plan->design->paths[i], "run.replications") == 0 ||
            strcmp(plan->design->paths[i], "run") == 0)
            return cli_complain(
                CLI_USAGE, "'%s' cannot be varied: --replications N sets the number for each point",
                plan->design->paths[i]);
    return CLI_DONE;
}

/* ---- running --------------------------------------------------------------------------------- */

typedef struct {
    CliProgress progress;
    bool has_begun;
} Watch;

/* The first call reports what was there before. */
static void
show(gpointer user, uint32_t done, uint32_t total)
{
    Watch *watch = user;
    if (watch->has_begun)
        cli_progress_show(&watch->progress, done, total);
    else
        cli_progress_resume(&watch->progress, done);
    watch->has_begun = true;
}

static CliStatus
run(const Plan *plan, SpateStore *store)
{
    Watch watch = {0};
    /* Others' runs may be in the store too. */
    g_autofree char *shard =
        plan->n_shards > 1 ? g_strdup_printf(" of shard %u/%u", plan->shard + 1, plan->n_shards)
                           : g_strdup("");
    uint32_t replications = cli_replications(plan->options, plan->base);
    cli_cost_say(plan->base, (uint64_t)plan->design->n_points * replications / plan->n_shards, NULL,
                 plan->options);
    cli_progress_init(&watch.progress, plan->options->quiet);
    const SpateSweep sweep = {
        .file = plan->file,
        .design = plan->design,
        .store = store,
        .replications = replications,
        .shard = plan->shard,
        .n_shards = plan->n_shards,
        .jobs = plan->options->jobs,
        .stop = cli_interrupt_flag(),
        .progress = show,
        .user = &watch,
    };
    cli_interrupt_keep_results();
    SpateSweepTally tally;
    GError *error = NULL;
    bool is_run = spate_sweep_run(&sweep, &tally, &error);
    cli_progress_clear(&watch.progress);
    bool has_moved = g_error_matches(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_MOVED);
    CliStatus status = is_run ? CLI_DONE : cli_store_complain(error);
    bool is_interrupted = is_run && tally.n_done < tally.n_wanted;
    if (is_interrupted)
        return cli_complain(
            CLI_INTERRUPTED,
            "interrupted: %u of %u runs%s are in %s; run the same command again to continue",
            tally.n_done, tally.n_wanted, shard, plan->store_name);
    if (!is_run && tally.n_wanted > 0 && !has_moved)
        cli_complain(status, "%u of %u runs%s are in %s; run the same command again to continue",
                     tally.n_done, tally.n_wanted, shard, plan->store_name);
    else if (is_run && !plan->options->quiet)
        cli_complain(CLI_DONE, "%u runs%s are in %s, %u of them new", tally.n_done, shard,
                     plan->store_name, tally.n_done - tally.n_before);
    return status;
}

static CliStatus
cli_sweep(CliOptions *options)
{
    CliStatus (*const steps[])(Plan *) = {read_shard, name_store, note_places, read_scenario,
                                          read_design};
    if (options->n_arguments != 1)
        return cli_complain(CLI_USAGE, "sweep takes one scenario; see spate sweep --help");
    if (!cli_cells_check(options))
        return CLI_USAGE;
    if (cli_option_text(options, "format") == NULL && options->output != NULL)
        return cli_complain(CLI_USAGE, "--output needs --format table, json or csv");
    g_auto(Plan) plan = {.options = options};
    CliStatus status = CLI_DONE;
    for (size_t i = 0; i < G_N_ELEMENTS(steps) && status == CLI_DONE; i++)
        status = steps[i](&plan);
    if (status == CLI_DONE)
        status = cli_places_check();
    if (status != CLI_DONE)
        return status;
    g_autofree char *sha256 = spate_scenario_file_sha256(plan.file);
    const SpateStoreSubject subject = {
        .title = plan.base->title,
        .scenario = spate_scenario_file_text(plan.file),
        .sha256 = sha256,
        .version = SPATE_VERSION,
        .settings = plan.settings,
    };
    GError *error = NULL;
    g_autoptr(SpateStore) store = spate_store_open(plan.store_name, true, &error);
    if (store == NULL || !spate_store_begin(store, &subject, plan.design, &error))
        return cli_store_complain(error);
    status = run(&plan, store);
    return status == CLI_DONE && cli_option_text(options, "format") != NULL
               ? cli_store_write(store, options)
               : status;
}

static const CliOption OPTIONS[] = {
    {"store", CLI_FILE, "FILE", "default: SCENARIO with .sqlite (a shard: .K-of-N.sqlite)"},
    {"vary", CLI_TEXTS, "PATH=V1,V2,...", "vary this instead of the scenario's sweep (repeatable)"},
    {"design", CLI_FILE, "FILE.csv",
     "take the points from a table: columns are paths, a row is a point"},
    {"shard", CLI_TEXT, "K/N", "only the K-th of N parts; see spate merge"},
    {"format", CLI_WORD, "table|json|csv", "write the store's results when all runs are done"},
    {"variant", CLI_VARIANT, "NAME", "use this variant, not the base (repeatable)"},
    {"set", CLI_TEXTS, "PATH=VALUE", "change a value at every point (repeatable)"},
    {"replications", CLI_TEXT, "N", "for each point; override the scenario's number"},
    {"output", CLI_FILE, "FILE", "with --format: instead of standard output"},
    {"quiet", CLI_NO_VALUE, NULL, "no progress, and no count of runs at the end"},
};

const CliCommand CLI_SWEEP = {
    .name = "sweep",
    .run = cli_sweep,
    .summary = "run a grid of settings into a results store",
    .usage = "SCENARIO [OPTION...]",
    .about = "Runs a grid of settings (the scenario's sweep: a list of {vary: PATH, values: [..]} "
             "or {vary: PATH, from, to, step}) into a store, an SQLite file. Each finished run is "
             "kept: after Ctrl-C, a kill, a full disk or a power cut, the same command resumes "
             "where it was stopped. A store of another scenario or version is refused.",
    .arguments = CLI_FILE,
    .takes = CLI_TAKES_SEED | CLI_TAKES_STUDY | CLI_TAKES_SET | CLI_TAKES_VARIANT |
             CLI_TAKES_OUTPUT | CLI_TAKES_CELLS,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 done, 2 bad usage or scenario, or a store of something else, 3 could not read, "
              "write or finish, or a damaged store, 130 interrupted (what was finished is kept).",
    .example = "spate sweep valley.yaml --vary nodes.soil.count=20,40,80 --format csv",
};
