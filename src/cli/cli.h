/* cli.h - what the commands share: options, output, progress, interruption
 *
 * Results go to standard output, everything else to standard error.
 */
#pragma once

#include "cli/command.h"
#include "cli/time-left.h"
#include "report/page/page.h"
#include "report/plot/plot.h"
#include "report/report.h"
#include "scenario/scenario.h"
#include "scenario/text/quantity.h"
#include "scenario/world/world.h"
#include "study/coverage/coverage.h"
#include "study/run/runner.h"
#include "study/sweep/store.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

/* main.c */

/* "spate 0.1.0" */
CliStatus cli_print_version(void);

/* options.c */

/* One `--plot NAME=FILE`. */
typedef struct {
    int plot; /* its number among those of the command; of a result SpatePlot */
    char *path;
} CliPlot;

typedef struct {
    CliPlot *all;
    size_t n;
} CliPlots;

/* What a command was given. */
struct CliOptions {
    bool has_seed;
    uint64_t seed;
    uint32_t replications; /* 0: as the scenario says */
    unsigned jobs;         /* 0: all cores */
    SpateSetting *settings;
    size_t n_settings;
    char **variants; /* NULL: not given */
    SpateFormat format;
    bool is_map;        /* --format geojson: for programs, as JSON is, which `format` is then */
    const char *output; /* NULL or "-": standard output */
    bool detail;
    const char *report; /* where the page goes; NULL: nowhere */
    bool coverage;      /* under its map */
    SpatePagePrivacy privacy;
    CliPlots plots;
    bool quiet;
    bool csv_text_cells;
    char **arguments; /* what is left */
    guint n_arguments;
    struct CliGiven *given; /* private */
    guint n_given;
};

/* False if there is nothing more to do: --help or --version was printed, or the usage is bad and
 * said so; *status is set then. */
bool cli_options_read(CliOptions *options, const CliCommand *command, char **argv,
                      CliStatus *status);
void cli_options_clear(CliOptions *options);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(CliOptions, cli_options_clear)

/* What an option was given, by its name; false or NULL where it was not, or where the command has
 * none of that name. */
bool cli_option_is_set(const CliOptions *options, const char *name);
const char *cli_option_text(const CliOptions *options, const char *name);
char **cli_option_texts(const CliOptions *options, const char *name);
/* Which of its words; leaves *chosen alone if it was not given.  False with a complaint if it is
 * none of them. */
bool cli_option_word(const CliOptions *options, const char *name, int *chosen);
/* A quantity in SI units; leaves *value alone if it was not given.  False with a complaint. */
bool cli_option_quantity(const CliOptions *options, const char *name, SpateDimension dimension,
                         double least, double most, double *value);

/* False with a complaint where --csv-text-cells is given and no CSV is asked for. */
bool cli_cells_check(const CliOptions *options);

/* complain.c */

/* Prints "spate: ..." on standard error and returns the status. */
CliStatus cli_complain(CliStatus status, const char *format, ...) G_GNUC_PRINTF(2, 3);
/* The same for an error of the library; frees it. */
CliStatus cli_complain_error(GError *error);
/* CLI_USAGE with "WHAT 'NAME'; did you mean 'NEAREST'?" or, where none of those that are known is
 * near, "WHAT 'NAME'" and what is to be said instead. */
CliStatus cli_complain_unknown(const char *what, const char *name, const char *const *known,
                               const char *instead);

/* scenarios.c */
/* Of a node or group that has nothing but this candidate and others. */
void cli_complain_unbuilt(const char *option, const char *name, const SpateScenarioSite *site);
/* What an option names; UINT32_MAX with a complaint. */
uint32_t cli_find_node(const SpateScenario *scenario, const char *option, const char *name);
uint32_t cli_find_bearer(const SpateScenario *scenario, const char *name); /* --bearer */

/* How many of this scenario. */
static inline uint32_t
cli_replications(const CliOptions *options, const SpateScenario *scenario)
{
    return options->replications > 0 ? options->replications : scenario->replications;
}

/* CLI_USAGE with a complaint if the file has no such variant; "base" is always there. */
CliStatus cli_variant_check(const SpateScenarioFile *file, const char *variant);
/* The scenario of a variant with the options' seed; NULL with a complaint and *status set. */
SpateScenario *cli_scenario(const SpateScenarioFile *file, const char *variant,
                            const CliOptions *options, CliStatus *status);
/* The same of several, the names end with NULL: SpateScenario, in that order. */
GPtrArray *cli_scenarios(const SpateScenarioFile *file, const char *const *variants,
                         const CliOptions *options, CliStatus *status);
SpateScenarioFile *cli_scenario_file(const char *path, const CliOptions *options,
                                     CliStatus *status);

/* forms.c */

/* What is done to a text on its way out. */
typedef enum {
    CLI_EXACT,     /* for programs: nothing, unless it goes to a terminal */
    CLI_SHOWN,     /* for people: spate_append_shown() */
    CLI_COLOURED,  /* the same, but report/words/escapes.h stays: of a text whose free parts are
                      shown */
    CLI_TEXT_CELLS /* CSV: spate_append_csv_text_cells() */
} CliForm;

/* For what --format asks for. */
CliForm cli_form_of(const CliOptions *options, SpateFormat format);
/* Appends the text in this form: whole lines. */
void cli_form_append(GString *into, CliForm form, bool is_terminal, const char *text, gsize length);

/* places.c: no output destroys an input, or another output */

/* Notes a file that is read, such as "scenario"; path "-" is standard input. */
void cli_places_read(const char *what, const char *path);
/* Notes an output that goes through a CliStream; path NULL is standard output. */
void cli_places_write(const char *option, const char *path);
/* Notes a store that is written, by this option, or one that is read (NULL): nothing may be written
 * onto its journals either. */
void cli_places_store(const char *option, const char *path);
/* Notes the arguments as inputs, what --output, --report and --plot name as outputs, and all tables
 * that are opened from now on; then checks. */
CliStatus cli_places_note(const CliOptions *options, const char *what);
/* Complains of an output that is an input, or where another output goes, or where no file can be
 * written.  Streams check again before they open. */
CliStatus cli_places_check(void);
/* Notes that one stream is closed; whether it was the last. */
bool cli_places_leave(void);

/* output.c */

/* A file appears whole or not at all; standard output (NULL is it too) is checked to its end. */
CliStatus cli_output_write(const char *path, CliForm form, const char *text, gsize length);
/* The same where --output and --format say. */
CliStatus cli_output_result(const CliOptions *options, const GString *text);
/* Complains early about a place where no file can be written. */
CliStatus cli_output_check(const char *path);
/* Gives the new file the mode, the owner and the group of the one whose place it takes, as far as
 * the system allows it; without one, the mode that umask leaves. */
void cli_output_keep_mode(int file, const char *target);

/* Standard output, also by another name, such as /dev/stdout; NULL is it too. */
bool cli_output_is_standard(const char *path);
/* Whether the path is there and is something that must not be replaced: a device, a pipe. */
bool cli_output_is_special(const char *path);
/* Behind a symbolic link the file is replaced or made, not the link.  Free with g_free(); NULL with
 * errno where links lead in a ring. */
char *cli_output_target(const char *path);

/* stream.c: what is too long to be kept in memory until it is written */

typedef struct CliStream CliStream;
/* NULL with a complaint and *status set.  At most four at a time. */
CliStream *cli_stream_open(const char *path, CliForm form, CliStatus *status);
/* Closing fails rather than replace a file. */
void cli_stream_keep_old(CliStream *stream);
/* Failures are remembered, and reported at the end. */
void cli_stream_append(CliStream *stream, const void *bytes, gsize length);
bool cli_stream_is_fine(const CliStream *stream);
/* Frees it.  The file appears whole, or (unless `keep`) not at all. */
CliStatus cli_stream_close(CliStream *stream, bool keep);

/* log-runs.c: --events and --capture, where `run` writes what happens */

/* Notes where they go: see places.c. */
void cli_logs_note(const CliOptions *options);
/* Complains of names that no scenario has. */
CliStatus cli_logs_check(const CliOptions *options, const SpateScenario *const *scenarios,
                         size_t n);
/* Runs all again, one after the other, and writes what happens. */
CliStatus cli_logs_write(const CliOptions *options, const SpateScenario *const *scenarios,
                         const char *const *names, size_t n);

/* progress.c */
typedef struct {
    bool shown;
    bool wanted;
    bool is_before;     /* of work before the first result: what is done of it is nothing to keep */
    const char *things; /* that are done, one after the other: "runs" */
    gint64 began_us, shown_us;
    CliTimeLeft left;
} CliProgress;
void cli_progress_init(CliProgress *progress, bool quiet);
/* The same for a study that is to be run by these options, and may be interrupted. */
SpateStudyOptions cli_progress_study(CliProgress *progress, const CliOptions *options);
/* From here on, with runs that were done before. */
void cli_progress_resume(CliProgress *progress, uint32_t done);
void cli_progress_show(gpointer progress, uint32_t done, uint32_t total);
void cli_progress_clear(CliProgress *progress);

/* interrupt.c: SIGINT, SIGTERM and SIGHUP end the program with status 130 */

/* From now on; by the thread that calls it. */
void cli_interrupt_catch(void);
/* From now on the first signal only sets the flag, for something is finished; a second one ends the
 * program at once. */
void cli_interrupt_keep_results(void);
/* The command is done: from now on signals are ignored. */
void cli_interrupt_end(void);
const volatile int *cli_interrupt_flag(void);
/* A file that must not be left over when the program ends immediately.  Borrowed, until it is left.
 */
void cli_interrupt_remove(const char *path);
void cli_interrupt_leave(const char *path);
/* Signals wait in between: a file and the note of it come and go together. */
void cli_interrupt_hold(void);
void cli_interrupt_release(void);

/* terminal.c */

/* Whether what is written there is shown on a terminal at once. */
bool cli_terminal_is_output(const char *output);
/* How a table is written there: plain, unless it is a terminal. */
SpateTableStyle cli_terminal_style(const char *output);

/* cost.c */

/* What a study of so many runs of the scenario will take, if that is long; NULL if it is not.  Free
 * with g_free(). */
char *cli_cost_words(const SpateScenario *scenario, uint64_t n_runs, unsigned jobs);
/* The same on standard error, before a study begins, unless the options want quiet.  `part` names
 * what of the study is meant ("each value that is tried"); NULL: all of it. */
void cli_cost_say(const SpateScenario *scenario, uint64_t n_runs, const char *part,
                  const CliOptions *options);

/* study.c */

/* Runs the scenarios (of the file, the first of two) as one study and writes the result. */
CliStatus cli_study(const char *command, const SpateScenarioFile *file,
                    const SpateScenario *const *scenarios, const char *const *names, size_t n,
                    const CliOptions *options);

/* survey.c: whose radio is carried about, and where */

/* --cell, --height and --margin; what was not given stays.  False with a complaint. */
bool cli_survey_lengths(SpateCoveragePlan *plan, const CliOptions *options);
/* --radio and --bearer; without --radio that of a node that does not relay, if there is one. */
CliStatus cli_survey_radio(SpateCoveragePlan *plan, const SpateScenario *scenario,
                           const CliOptions *options);
/* --area, or the box around all nodes of the plan's world. */
CliStatus cli_survey_area(SpateCoveragePlan *plan, const CliOptions *options);

/* layers.c: what --coverage lays under the map of a page */

typedef struct {
    GPtrArray *coverages; /* SpateCoverage, by scenario; NULL: none */
    GPtrArray *worlds;    /* theirs */
} CliLayers;
CliStatus cli_layers_make(CliLayers *layers, const SpateScenario *const *scenarios, size_t n,
                          const CliOptions *options);
void cli_layers_clear(CliLayers *layers);

/* report.c */

/* The page of a result's JSON; `name` is its name in messages. */
CliStatus cli_page_write(const char *name, const char *json, gsize length,
                         const SpatePagePrivacy *privacy, const char *output);

/* links-profile.c: the ground between two nodes, by name */
CliStatus cli_links_profile(const CliOptions *options, const SpateWorld *world, char *const *ends);

/* plots.c */

/* --plot: false with a complaint. */
bool cli_plots_read(CliOptions *options, const CliCommand *command);
void cli_plots_clear(CliPlots *plots);
CliStatus cli_plots_write(const CliOptions *options, const SpateResult *result);
/* Of a command that has one picture: that, as often as it was asked for. */
CliStatus cli_plots_write_one(const CliOptions *options, const GString *svg);

/* store.c */

/* Complains of what a store or a sweep has met; frees it. */
CliStatus cli_store_complain(GError *error);
/* What the store holds, as text of the format that is asked for. */
CliStatus cli_store_write(SpateStore *store, const CliOptions *options);
