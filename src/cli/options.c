/* options.c - the options that mean the same wherever they apply */
#include "cli/cli.h"

#include <string.h>
#include <sys/random.h>

#define MOST_REPLICATIONS 1000000
#define MOST_JOBS         1024

/* ---- what each option was given -------------------------------------------------------------- */

struct CliGiven {
    const CliOption *option;
    gboolean is_set; /* those without a value */
    char *text;
    char **texts; /* repeatable ones */
};

static const struct CliGiven *
given(const CliOptions *options, const char *name)
{
    static const struct CliGiven NOTHING;
    for (guint i = 0; i < options->n_given; i++)
        if (strcmp(options->given[i].option->name, name) == 0)
            return &options->given[i];
    return &NOTHING;
}

bool
cli_option_is_set(const CliOptions *options, const char *name)
{
    return given(options, name)->is_set;
}

const char *
cli_option_text(const CliOptions *options, const char *name)
{
    return given(options, name)->text;
}

char **
cli_option_texts(const CliOptions *options, const char *name)
{
    return given(options, name)->texts;
}

bool
cli_option_word(const CliOptions *options, const char *name, int *chosen)
{
    const struct CliGiven *word = given(options, name);
    if (word->text == NULL)
        return true;
    g_assert(word->option->value == CLI_WORD);
    g_auto(GStrv) words = g_strsplit(word->option->shown, "|", -1);
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(words[i], word->text) == 0) {
            *chosen = i;
            return true;
        }
    }
    g_autofree char *all = g_strjoinv(", ", words);
    cli_complain(CLI_USAGE, "--%s: '%s' is not one of %s", name, word->text, all);
    return false;
}

/* Where GOption puts it; it is checked afterwards, so that every message is ours.  Texts are read
 * as "file names", which GOption leaves as they are: others it converts from the locale's charset.
 */
static GOptionEntry
entry_of(struct CliGiven *given)
{
    GOptionEntry entry = {.long_name = given->option->name};
    switch (given->option->value) {
    case CLI_NO_VALUE:
        entry.arg = G_OPTION_ARG_NONE;
        entry.arg_data = &given->is_set;
        break;
    case CLI_TEXT:
    case CLI_FILE:
    case CLI_WORD:
        entry.arg = G_OPTION_ARG_FILENAME;
        entry.arg_data = &given->text;
        break;
    case CLI_TEXTS:
    case CLI_PAIR:
    case CLI_VARIANT:
        entry.arg = G_OPTION_ARG_FILENAME_ARRAY;
        entry.arg_data = &given->texts;
        break;
    }
    return entry;
}

/* "unknown option '--sede'; did you mean '--seed'?" */
static void
complain_unknown_option(const CliOptions *options, char *const *argv)
{
    g_autofree const char **known = g_new0(const char *, options->n_given + 1);
    for (guint i = 0; i < options->n_given; i++)
        known[i] = options->given[i].option->name;
    for (size_t i = 1; argv[i] != NULL && strcmp(argv[i], "--") != 0; i++) {
        if (argv[i][0] != '-' || argv[i][1] == '\0')
            continue;
        g_autofree char *word = g_strdup(argv[i] + strspn(argv[i], "-"));
        word[strcspn(word, "=")] = '\0';
        if (g_str_has_prefix(argv[i], "--") && g_strv_contains(known, word))
            continue;
        const char *nearest = spate_nearest_word(word, known);
        if (nearest != NULL)
            cli_complain(CLI_USAGE, "unknown option '%s'; did you mean '--%s'?", argv[i], nearest);
        else
            cli_complain(CLI_USAGE, "unknown option '%s'; see --help", argv[i]);
        return;
    }
    cli_complain(CLI_USAGE, "unknown option; see --help");
}

bool
cli_option_quantity(const CliOptions *options, const char *name, SpateDimension dimension,
                    double least, double most, double *value)
{
    const char *text = cli_option_text(options, name);
    if (text == NULL)
        return true;
    g_autofree char *wrong =
        spate_quantity_parse(text, dimension, (SpateRange){least, most}, value);
    if (wrong != NULL)
        cli_complain(CLI_USAGE, "--%s: %s", name, wrong);
    return wrong == NULL;
}

/* ---- the common ones ------------------------------------------------------------------------- */

/* Leaves *value alone if it was not given. */
static bool
read_whole(const CliOptions *options, const char *name, guint64 least, guint64 most, guint64 *value)
{
    const char *text = cli_option_text(options, name);
    g_autoptr(GError) error = NULL;
    if (text == NULL || g_ascii_string_to_unsigned(text, 10, least, most, value, &error))
        return true;
    cli_complain(CLI_USAGE,
                 "--%s: '%s' is not a whole number from %" G_GUINT64_FORMAT
                 " to %" G_GUINT64_FORMAT,
                 name, text, least, most);
    return false;
}

bool
cli_cells_check(const CliOptions *options)
{
    if (!options->csv_text_cells || options->format == SPATE_FORMAT_CSV)
        return true;
    cli_complain(CLI_USAGE, "--csv-text-cells needs --format csv");
    return false;
}

/* What follows the words of SpateFormat, at commands that write maps. */
#define MAP (SPATE_FORMAT_CSV + 1)

static bool
read_format(CliOptions *options, int takes)
{
    int chosen = SPATE_FORMAT_TABLE;
    if ((takes & (CLI_TAKES_FORMAT | CLI_TAKES_CELLS)) != 0 &&
        !cli_option_word(options, "format", &chosen))
        return false;
    options->is_map = chosen == MAP;
    options->format = options->is_map ? SPATE_FORMAT_JSON : (SpateFormat)chosen;
    options->csv_text_cells = cli_option_is_set(options, "csv-text-cells");
    if ((takes & CLI_TAKES_FORMAT) != 0 && !cli_cells_check(options))
        return false;
    options->detail = cli_option_is_set(options, "detail");
    if (!options->detail || options->format == SPATE_FORMAT_JSON)
        return true;
    cli_complain(CLI_USAGE, "--detail needs --format json: tables and CSV have no details");
    return false;
}

static bool
read_settings(CliOptions *options)
{
    char **set = cli_option_texts(options, "set");
    size_t n = set != NULL ? g_strv_length(set) : 0;
    options->settings = g_new0(SpateSetting, n + 1);
    for (size_t i = 0; i < n; i++) {
        char *equals = strchr(set[i], '=');
        if (equals == NULL || equals == set[i]) {
            cli_complain(CLI_USAGE, "--set: '%s' is not PATH=VALUE, as in nodes.soil.count=80",
                         set[i]);
            return false;
        }
        *equals = '\0';
        options->settings[options->n_settings++] = (SpateSetting){set[i], equals + 1};
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

/* What says how a layer of a page is made, where that is no command of its own. */
static bool
check_layer(const CliOptions *options, int takes)
{
    static const char *const ITS[] = {"radio", "bearer", "cell", "height", "area", "margin"};
    if ((takes & CLI_TAKES_DETAIL) == 0)
        return true;
    if (options->coverage && options->report == NULL) {
        cli_complain(CLI_USAGE, "--coverage needs --report FILE.html: it is a layer of its map");
        return false;
    }
    for (size_t i = 0; !options->coverage && i < G_N_ELEMENTS(ITS); i++)
        if (cli_option_text(options, ITS[i]) != NULL) {
            cli_complain(CLI_USAGE, "--%s needs --coverage", ITS[i]);
            return false;
        }
    return true;
}

/* Who wants something hidden must not find it in a file that hides nothing. */
static bool
check_hiding(const CliOptions *options, int takes)
{
    bool is_hiding =
        cli_option_text(options, "blur") != NULL || cli_option_is_set(options, "anonymous");
    bool makes_page = (takes & CLI_TAKES_HIDING) != 0 || options->report != NULL;
    if (is_hiding && !makes_page)
        cli_complain(CLI_USAGE, "--blur and --anonymous go with --report: they hide in the page, "
                                "and nowhere else");
    else if (cli_option_text(options, "blur-seed") != NULL && !is_hiding)
        cli_complain(CLI_USAGE, "--blur-seed needs --blur or --anonymous");
    else
        return true;
    return false;
}

/* The seed of whoever hides something must not be known: it comes from the system. */
static bool
read_privacy(const CliOptions *options, SpatePagePrivacy *privacy)
{
    const char *blur = cli_option_text(options, "blur");
    privacy->is_anonymous = cli_option_is_set(options, "anonymous");
    if (blur != NULL) {
        g_autofree char *wrong = spate_quantity_parse(blur, SPATE_DIM_LENGTH,
                                                      (SpateRange){1.0, 100e3}, &privacy->blur_m);
        if (wrong != NULL) {
            cli_complain(CLI_USAGE, "--blur: %s", wrong);
            return false;
        }
    }
    if (cli_option_text(options, "blur-seed") != NULL)
        return read_whole(options, "blur-seed", 0, UINT64_MAX, &privacy->seed);
    if (blur == NULL && !privacy->is_anonymous)
        return true;
    if (getrandom(&privacy->seed, sizeof privacy->seed, 0) == sizeof privacy->seed)
        return true;
    cli_complain(CLI_TROUBLE, "the system provides no random numbers; give --blur-seed");
    return false;
}

static bool
read_common(CliOptions *options, const CliCommand *command)
{
    int takes = command->takes;
    guint64 replications = 0, jobs = 0;
    options->quiet = cli_option_is_set(options, "quiet");
    options->output = cli_option_text(options, "output");
    options->report = cli_option_text(options, "report");
    options->coverage = cli_option_is_set(options, "coverage");
    options->has_seed = cli_option_text(options, "seed") != NULL;
    options->variants = names_once(cli_option_texts(options, "variant"));
    options->n_arguments = options->arguments != NULL ? g_strv_length(options->arguments) : 0;
    if (!read_format(options, takes) || !check_hiding(options, takes) ||
        !check_layer(options, takes) || !read_settings(options) ||
        !read_whole(options, "seed", 0, SPATE_LARGEST_SEED, &options->seed) ||
        !read_whole(options, "replications", 1, MOST_REPLICATIONS, &replications) ||
        !read_whole(options, "jobs", 1, MOST_JOBS, &jobs) ||
        !read_privacy(options, &options->privacy))
        return false;
    options->replications = (uint32_t)replications;
    options->jobs = (unsigned)jobs;
    return cli_plots_read(options, command);
}

/* GOption knows no option of two values: "--profile A B" becomes "--profile A --profile B". */
static char **
split_pairs(const GPtrArray *known, char *const *argv)
{
    g_autoptr(GStrvBuilder) all = g_strv_builder_new();
    bool is_over = false;
    for (size_t i = 0; argv[i] != NULL; i++) {
        g_strv_builder_add(all, argv[i]);
        is_over = is_over || strcmp(argv[i], "--") == 0;
        for (guint k = 0; !is_over && k < known->len; k++) {
            const CliOption *option = g_ptr_array_index(known, k);
            g_autofree char *name = g_strconcat("--", option->name, NULL);
            if (option->value != CLI_PAIR || strcmp(argv[i], name) != 0 || argv[i + 1] == NULL ||
                argv[i + 2] == NULL)
                continue;
            g_strv_builder_add_many(all, argv[i + 1], name, argv[i + 2], NULL);
            i += 2;
            break;
        }
    }
    return g_strv_builder_end(all);
}

bool
cli_options_read(CliOptions *options, const CliCommand *command, char **argv, CliStatus *status)
{
    g_autoptr(GPtrArray) known = cli_command_options(command);
    g_autofree GOptionEntry *entries = g_new0(GOptionEntry, known->len + 2);
    *options = (CliOptions){.given = g_new0(struct CliGiven, known->len), .n_given = known->len};
    for (guint i = 0; i < known->len; i++) {
        options->given[i].option = g_ptr_array_index(known, i);
        entries[i] = entry_of(&options->given[i]);
    }
    entries[known->len] = (GOptionEntry){.long_name = G_OPTION_REMAINING,
                                         .arg = G_OPTION_ARG_FILENAME_ARRAY,
                                         .arg_data = &options->arguments};
    g_autoptr(GOptionContext) context = g_option_context_new(NULL);
    g_option_context_set_help_enabled(context, FALSE);
    g_option_context_add_main_entries(context, entries, NULL);

    g_autoptr(GError) error = NULL;
    g_auto(GStrv) copy = split_pairs(known, argv);
    *status = CLI_USAGE;
    if (!g_option_context_parse_strv(context, &copy, &error)) {
        if (g_error_matches(error, G_OPTION_ERROR, G_OPTION_ERROR_UNKNOWN_OPTION))
            complain_unknown_option(options, argv);
        else
            cli_complain(CLI_USAGE, "%s; see --help", error->message);
        return false;
    }
    if (cli_option_is_set(options, "help") || cli_option_is_set(options, "version")) {
        *status = cli_option_is_set(options, "help") ? cli_command_print_help(command)
                                                     : cli_print_version();
        return false;
    }
    return read_common(options, command);
}

void
cli_options_clear(CliOptions *options)
{
    for (guint i = 0; i < options->n_given; i++) {
        g_free(options->given[i].text);
        g_strfreev(options->given[i].texts);
    }
    g_free(options->given);
    g_free(options->settings);
    g_strfreev(options->variants);
    cli_plots_clear(&options->plots);
    g_strfreev(options->arguments);
}
