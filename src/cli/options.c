/* options.c - the options that mean the same wherever they apply */
#include "cli/cli.h"

#include "core/shown-text.h"
#include "propagation/path-loss.h"
#include "report/result/result-reader.h"
#include "scenario/text/quantity.h"
#include "study/study.h"
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

#define MOST_REPLICATIONS 1000000
#define MOST_JOBS         1024

/* On standard error.  Further lines are indented: no text that is quoted can pass for a message. */
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
        error->domain == SPATE_PROPAGATION_ERROR)
        status = CLI_USAGE;
    /* Faults of a file say themselves where they stand. */
    if (g_error_matches(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD))
        say("", error->message);
    else
        cli_complain(status, "%s", error->message);
    g_error_free(error);
    return status;
}

/* What GOption reads into; checked afterwards, so that every message is ours.  Texts are read as
 * "file names", which GOption leaves as they are: others it converts from the locale's charset. */
typedef struct {
    char *seed, *replications, *jobs, *format, *output, *report, *blur, *blur_seed;
    char **set, **variants, **plots, **rest;
    gboolean quiet, help, version, detail, anonymous, cells;
} Raw;

static void
raw_clear(Raw *raw)
{
    g_free(raw->seed);
    g_free(raw->replications);
    g_free(raw->jobs);
    g_free(raw->format);
    g_free(raw->output);
    g_free(raw->report);
    g_free(raw->blur);
    g_free(raw->blur_seed);
    g_strfreev(raw->plots);
    g_strfreev(raw->set);
    g_strfreev(raw->variants);
    g_strfreev(raw->rest);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Raw, raw_clear)

static void
add_entry(GArray *entries, const char *name, GOptionArg kind, gpointer into)
{
    GOptionEntry entry = {.long_name = name, .arg = kind, .arg_data = into};
    g_array_append_val(entries, entry);
}

static GArray *
make_entries(Raw *raw, int takes, const GOptionEntry *extra)
{
    GArray *entries = g_array_new(TRUE, TRUE, sizeof(GOptionEntry));
    if (takes & CLI_TAKES_SEED)
        add_entry(entries, "seed", G_OPTION_ARG_FILENAME, &raw->seed);
    if (takes & CLI_TAKES_STUDY) {
        add_entry(entries, "replications", G_OPTION_ARG_FILENAME, &raw->replications);
        add_entry(entries, "jobs", G_OPTION_ARG_FILENAME, &raw->jobs);
    }
    if (takes & CLI_TAKES_DETAIL) {
        add_entry(entries, "detail", G_OPTION_ARG_NONE, &raw->detail);
        add_entry(entries, "report", G_OPTION_ARG_FILENAME, &raw->report);
        add_entry(entries, "plot", G_OPTION_ARG_FILENAME_ARRAY, &raw->plots);
    }
    if (takes & (CLI_TAKES_DETAIL | CLI_TAKES_HIDING)) {
        add_entry(entries, "blur", G_OPTION_ARG_FILENAME, &raw->blur);
        add_entry(entries, "blur-seed", G_OPTION_ARG_FILENAME, &raw->blur_seed);
        add_entry(entries, "anonymous", G_OPTION_ARG_NONE, &raw->anonymous);
    }
    if (takes & CLI_TAKES_SET)
        add_entry(entries, "set", G_OPTION_ARG_FILENAME_ARRAY, &raw->set);
    if (takes & CLI_TAKES_VARIANT)
        add_entry(entries, "variant", G_OPTION_ARG_FILENAME_ARRAY, &raw->variants);
    if (takes & CLI_TAKES_FORMAT)
        add_entry(entries, "format", G_OPTION_ARG_FILENAME, &raw->format);
    if (takes & (CLI_TAKES_FORMAT | CLI_TAKES_CELLS))
        add_entry(entries, "csv-text-cells", G_OPTION_ARG_NONE, &raw->cells);
    if (takes & (CLI_TAKES_FORMAT | CLI_TAKES_OUTPUT))
        add_entry(entries, "output", G_OPTION_ARG_FILENAME, &raw->output);
    add_entry(entries, "quiet", G_OPTION_ARG_NONE, &raw->quiet);
    add_entry(entries, "help", G_OPTION_ARG_NONE, &raw->help);
    add_entry(entries, "version", G_OPTION_ARG_NONE, &raw->version);
    add_entry(entries, G_OPTION_REMAINING, G_OPTION_ARG_FILENAME_ARRAY, &raw->rest);
    for (size_t i = 0; extra != NULL && extra[i].long_name != NULL; i++)
        g_array_append_val(entries, extra[i]);
    return entries;
}

/* "unknown option '--sede'; did you mean '--seed'?" */
static void
complain_unknown_option(const GArray *entries, char *const *argv)
{
    g_autoptr(GPtrArray) known = g_ptr_array_new();
    for (guint i = 0; i < entries->len; i++) {
        const GOptionEntry *entry = &g_array_index(entries, GOptionEntry, i);
        const char *name = entry->long_name;
        if (name[0] != '\0' && (entry->flags & G_OPTION_FLAG_HIDDEN) == 0)
            g_ptr_array_add(known, (gpointer)(uintptr_t)name);
    }
    g_ptr_array_add(known, NULL);
    for (size_t i = 1; argv[i] != NULL && strcmp(argv[i], "--") != 0; i++) {
        if (argv[i][0] != '-' || argv[i][1] == '\0')
            continue;
        g_autofree char *word = g_strdup(argv[i] + strspn(argv[i], "-"));
        word[strcspn(word, "=")] = '\0';
        bool is_known = g_str_has_prefix(argv[i], "--") &&
                        g_strv_contains((const char *const *)known->pdata, word);
        if (is_known)
            continue;
        const char *nearest = spate_nearest_word(word, (const char *const *)known->pdata);
        if (nearest != NULL)
            cli_complain(CLI_USAGE, "unknown option '%s'; did you mean '--%s'?", argv[i], nearest);
        else
            cli_complain(CLI_USAGE, "unknown option '%s'; see --help", argv[i]);
        return;
    }
    cli_complain(CLI_USAGE, "unknown option; see --help");
}

static bool
parse_whole(const char *option, const char *text, guint64 least, guint64 most, guint64 *value)
{
    g_autoptr(GError) error = NULL;
    if (g_ascii_string_to_unsigned(text, 10, least, most, value, &error))
        return true;
    cli_complain(CLI_USAGE,
                 "--%s: '%s' is not a whole number from %" G_GUINT64_FORMAT
                 " to %" G_GUINT64_FORMAT,
                 option, text, least, most);
    return false;
}

static bool
read_format(const CliCommand *command, const char *text, SpateFormat *format)
{
    int chosen = SPATE_FORMAT_TABLE;
    if (g_strcmp0(text, "geojson") == 0) {
        cli_complain(CLI_USAGE, "--format geojson is not supported yet");
        return false;
    }
    if (text != NULL && !cli_command_read_word(command, "format", text, &chosen))
        return false;
    *format = (SpateFormat)chosen;
    return true;
}

static bool
read_settings(CliOptions *options, char **set)
{
    options->n_settings = set != NULL ? g_strv_length(set) : 0;
    options->settings = g_new0(SpateSetting, options->n_settings + 1);
    options->texts = g_strdupv(set);
    for (size_t i = 0; i < options->n_settings; i++) {
        char *equals = strchr(options->texts[i], '=');
        if (equals == NULL || equals == options->texts[i]) {
            cli_complain(CLI_USAGE, "--set: '%s' is not PATH=VALUE, as in nodes.soil.count=80",
                         set[i]);
            return false;
        }
        *equals = '\0';
        options->settings[i] = (SpateSetting){.path = options->texts[i], .value = equals + 1};
    }
    return true;
}

/* In the order given, each once. */
static char **
names_once(char **names)
{
    if (names == NULL)
        return NULL;
    g_autoptr(GStrvBuilder) once = g_strv_builder_new();
    for (size_t i = 0; names[i] != NULL; i++) {
        size_t before = 0;
        while (strcmp(names[before], names[i]) != 0)
            before++;
        if (before == i)
            g_strv_builder_add(once, names[i]);
    }
    return g_strv_builder_end(once);
}

/* Details have no place in a table. */
static bool
check_detail(const Raw *raw, const CliOptions *options)
{
    if (!raw->detail || options->format == SPATE_FORMAT_JSON)
        return true;
    cli_complain(CLI_USAGE, "--detail needs --format json: tables and CSV have no details");
    return false;
}

bool
cli_cells_check(const CliOptions *options, bool has_format, SpateFormat format)
{
    if (!options->csv_text_cells || (has_format && format == SPATE_FORMAT_CSV))
        return true;
    cli_complain(CLI_USAGE, "--csv-text-cells needs --format csv");
    return false;
}

/* Who wants something hidden must not find it in a file that hides nothing. */
static bool
check_hiding(const Raw *raw, int takes)
{
    bool is_hiding = raw->blur != NULL || raw->anonymous;
    bool makes_page = (takes & CLI_TAKES_HIDING) != 0 || raw->report != NULL;
    const char *wrong = NULL;
    if (is_hiding && !makes_page)
        wrong = "--blur and --anonymous go with --report: they hide in the page, and nowhere else";
    else if (raw->blur_seed != NULL && !is_hiding)
        wrong = "--blur-seed needs --blur or --anonymous";
    if (wrong != NULL)
        cli_complain(CLI_USAGE, "%s", wrong);
    return wrong == NULL;
}

/* The seed of whoever hides something must not be known: it comes from the system. */
static bool
read_privacy(const Raw *raw, SpatePagePrivacy *privacy)
{
    privacy->is_anonymous = raw->anonymous;
    if (raw->blur != NULL) {
        g_autofree char *wrong = spate_quantity_parse(raw->blur, SPATE_DIM_LENGTH,
                                                      (SpateRange){1.0, 100e3}, &privacy->blur_m);
        if (wrong != NULL) {
            cli_complain(CLI_USAGE, "--blur: %s", wrong);
            return false;
        }
    }
    if (raw->blur_seed != NULL)
        return parse_whole("blur-seed", raw->blur_seed, 0, UINT64_MAX, &privacy->seed);
    if (raw->blur == NULL && !raw->anonymous)
        return true;
    if (getrandom(&privacy->seed, sizeof privacy->seed, 0) == sizeof privacy->seed)
        return true;
    cli_complain(CLI_TROUBLE, "the system provides no random numbers; give --blur-seed");
    return false;
}

static bool
check_raw(CliOptions *options, Raw *raw, const CliCommand *command)
{
    int takes = command->takes;
    guint64 value = 0;
    options->csv_text_cells = raw->cells;
    if (!read_format(command, raw->format, &options->format) ||
        ((takes & CLI_TAKES_FORMAT) && !cli_cells_check(options, true, options->format)) ||
        !check_detail(raw, options) || !check_hiding(raw, takes) ||
        !read_settings(options, raw->set))
        return false;
    if (raw->seed != NULL) {
        if (!parse_whole("seed", raw->seed, 0, SPATE_LARGEST_SEED, &options->seed))
            return false;
        options->has_seed = true;
    }
    if (raw->replications != NULL) {
        if (!parse_whole("replications", raw->replications, 1, MOST_REPLICATIONS, &value))
            return false;
        options->replications = (uint32_t)value;
    }
    if (raw->jobs != NULL) {
        if (!parse_whole("jobs", raw->jobs, 1, MOST_JOBS, &value))
            return false;
        options->jobs = (unsigned)value;
    }
    if (!read_privacy(raw, &options->privacy) || !cli_plots_read(&options->plots, raw->plots))
        return false;
    options->output = g_steal_pointer(&raw->output);
    options->report = g_steal_pointer(&raw->report);
    options->variants = names_once(raw->variants);
    options->arguments = g_steal_pointer(&raw->rest);
    options->n_arguments = options->arguments != NULL ? g_strv_length(options->arguments) : 0;
    options->quiet = raw->quiet;
    options->detail = raw->detail;
    return true;
}

/* What is read is what the command's table describes, or is kept out of sight. */
static bool
is_described(const GArray *entries, const CliCommand *command)
{
    g_autoptr(GPtrArray) options = cli_command_options(command);
    guint n_read = 0;
    for (guint i = 0; i < entries->len; i++) {
        const GOptionEntry *entry = &g_array_index(entries, GOptionEntry, i);
        if (entry->long_name[0] == '\0' || (entry->flags & G_OPTION_FLAG_HIDDEN) != 0)
            continue;
        bool is_switch = cli_command_option(command, entry->long_name)->value == CLI_NO_VALUE;
        if (is_switch != (entry->arg == G_OPTION_ARG_NONE))
            return false;
        n_read++;
    }
    return n_read == options->len;
}

bool
cli_options_read(CliOptions *options, const CliCommand *command, const GOptionEntry *extra,
                 int argc, char **argv, CliStatus *status)
{
    (void)argc;
    g_auto(Raw) raw = {0};
    g_autoptr(GArray) entries = make_entries(&raw, command->takes, extra);
    g_assert(is_described(entries, command));
    g_autoptr(GOptionContext) context = g_option_context_new(NULL);
    g_option_context_set_help_enabled(context, FALSE);
    g_option_context_add_main_entries(context, (const GOptionEntry *)(void *)entries->data, NULL);

    g_autoptr(GError) error = NULL;
    g_auto(GStrv) copy = g_strdupv(argv);
    *options = (CliOptions){0};
    *status = CLI_USAGE;
    if (!g_option_context_parse_strv(context, &copy, &error)) {
        if (g_error_matches(error, G_OPTION_ERROR, G_OPTION_ERROR_UNKNOWN_OPTION))
            complain_unknown_option(entries, argv);
        else
            cli_complain(CLI_USAGE, "%s; see --help", error->message);
        return false;
    }
    if (raw.help || raw.version) {
        *status = raw.help ? cli_command_print_help(command) : cli_print_version();
        return false;
    }
    return check_raw(options, &raw, command);
}

void
cli_options_clear(CliOptions *options)
{
    g_free(options->settings);
    g_strfreev(options->texts);
    g_strfreev(options->variants);
    g_free(options->output);
    g_free(options->report);
    cli_plots_clear(&options->plots);
    g_strfreev(options->arguments);
}

SpateScenarioFile *
cli_scenario_file(const char *path, const CliOptions *options, CliStatus *status)
{
    GError *error = NULL;
    SpateScenarioFile *file =
        spate_scenario_file_read(path, options->settings, options->n_settings, &error);
    if (file == NULL)
        *status = cli_complain_error(error);
    return file;
}

CliStatus
cli_variant_check(const SpateScenarioFile *file, const char *variant)
{
    const char *const *known = spate_scenario_file_variants(file);
    if (strcmp(variant, "base") == 0 || g_strv_contains(known, variant))
        return CLI_DONE;
    const char *nearest = spate_nearest_word(variant, known);
    if (nearest != NULL)
        return cli_complain(CLI_USAGE, "there is no variant '%s'; did you mean '%s'?", variant,
                            nearest);
    g_autofree char *all = g_strjoinv(", ", (char **)(uintptr_t)known);
    return cli_complain(CLI_USAGE, "there is no variant '%s'; there are: base%s%s", variant,
                        all[0] != '\0' ? ", " : "", all);
}

SpateScenario *
cli_scenario(const SpateScenarioFile *file, const char *variant, const CliOptions *options,
             CliStatus *status)
{
    *status = cli_variant_check(file, variant);
    if (*status != CLI_DONE)
        return NULL;
    GError *error = NULL;
    SpateScenario *scenario = spate_scenario_new(file, variant, &error);
    if (scenario == NULL)
        *status = cli_complain_error(error);
    else if (options->has_seed)
        scenario->seed = options->seed;
    return scenario;
}
