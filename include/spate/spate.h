/* spate.h - simulate flooding radio meshes over bearers joined by bridges
 *
 * The public face of libspate.  The way of the data:
 *
 *     SpateFile         a scenario file, read and checked whole, with its variants
 *     SpateModel        one variant as numbers: who hears whom, what is offered
 *     SpateReplication  one run of a model, watched event by event if wanted, and its measures
 *     SpateSummary      many runs of several variants: means, intervals, paired differences
 *     SpateVerdicts     what the file expects, judged
 *     SpateSizing       which values of one number meet all that is expected
 *
 * All but SpateFile live on their own: the file may be freed once they are made.  A model never
 * changes and may be run in several threads at once.  Everything else belongs to one thread
 * at a time.  The same file, seed and version of the library give the same numbers, for any
 * number of threads.
 *
 * Nodes, bearers, traffics and bridges have numbers, counted from 0 in the alphabetical order of
 * their names; radios are counted by node, then bearer, crossings by node, then as in the file.
 * Times are whole nanoseconds from the start of the run.  A measure that has no value is NAN.
 *
 * Functions that can fail take a GError last, and set it exactly if they return NULL; strings that
 * are returned as `const char *` live as long as what they were asked of.
 */
#pragma once

#include "spate/event.h"
#include <glib.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What the shared library shows; all else stays inside. */
#define SPATE_PUBLIC __attribute__((visibility("default")))

G_BEGIN_DECLS

#define SPATE_ERROR (spate_error_quark())
SPATE_PUBLIC GQuark spate_error_quark(void);
typedef enum {
    SPATE_ERROR_BAD_SCENARIO, /* the message says what is wrong, where, and what would be right */
    SPATE_ERROR_UNREADABLE,   /* the file could not be read */
    SPATE_ERROR_STOPPED,      /* the caller wanted it to stop, and nothing was finished */
    SPATE_ERROR_OVERLOADED    /* more messages are under way than memory for them is allowed */
} SpateError;

/* Of the library: "0.1.0". */
SPATE_PUBLIC const char *spate_version(void);

/* --- Scenario files --- */

typedef struct SpateFile SpateFile;

/* Path "-" is standard input.  `settings` changes values before they are checked, as
 * "run.duration=2 h" (a path, and its new value in YAML); it ends with NULL, or is NULL.
 * What a setting does to a variant is checked by spate_model_new(). */
SPATE_PUBLIC SpateFile *spate_file_load(const char *path, const char *const *settings,
                                        GError **error);
/* The same from a text; `name` is the file's name in messages. */
SPATE_PUBLIC SpateFile *spate_file_parse(const char *name, const char *text,
                                         const char *const *settings, GError **error);
SPATE_PUBLIC void spate_file_free(SpateFile *file);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateFile, spate_file_free)

/* In the order of the file, NULL at the end; "base" is not among them. */
SPATE_PUBLIC const char *const *spate_file_variants(const SpateFile *file);

/* --- Models --- */

typedef struct SpateModel SpateModel;

/* The variant of that name; NULL or "base": the scenario as it is written. */
SPATE_PUBLIC SpateModel *spate_model_new(const SpateFile *file, const char *variant,
                                         GError **error);
SPATE_PUBLIC void spate_model_free(SpateModel *model);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateModel, spate_model_free)

SPATE_PUBLIC int64_t spate_model_duration_ns(const SpateModel *model);
SPATE_PUBLIC int64_t spate_model_warm_up_ns(const SpateModel *model);
/* As many as the scenario asks for. */
SPATE_PUBLIC uint32_t spate_model_replications(const SpateModel *model);

typedef enum {
    SPATE_NAMED_NODE,
    SPATE_NAMED_BEARER,
    SPATE_NAMED_TRAFFIC,
    SPATE_NAMED_BRIDGE,
    SPATE_NAMED_CROSSING
} SpateNamed;

SPATE_PUBLIC uint32_t spate_model_count(const SpateModel *model, SpateNamed what);
SPATE_PUBLIC const char *spate_model_name(const SpateModel *model, SpateNamed what,
                                          uint32_t number);

/* What else events tell by numbers. */
SPATE_PUBLIC uint32_t spate_model_n_radios(const SpateModel *model);
SPATE_PUBLIC uint32_t spate_model_node_of(const SpateModel *model, uint32_t radio);
SPATE_PUBLIC uint32_t spate_model_bearer_of(const SpateModel *model, uint32_t radio);
SPATE_PUBLIC uint32_t spate_model_bridge_of(const SpateModel *model, uint32_t crossing);

/* A measure, and what it is counted by; NULL where a dimension does not apply. */
typedef struct {
    const char *measure; /* "delivery" */
    const char *unit;    /* "ratio" */
    const char *traffic, *bearer, *node, *bridge;
    const char *to; /* a node: only pairs with this recipient */
} SpateRowNames;

/* The measures that each run of the model gives. */
SPATE_PUBLIC size_t spate_model_n_rows(const SpateModel *model);
SPATE_PUBLIC SpateRowNames spate_model_row(const SpateModel *model, size_t row);
/* False if the model has no such row.  The unit does not matter. */
SPATE_PUBLIC bool spate_model_find_row(const SpateModel *model, const SpateRowNames *names,
                                       size_t *row);

/* --- One run --- */

typedef struct SpateReplication SpateReplication;

/* Runs the model once.  `number` chooses the random numbers: the same number of two variants sees
 * the same messages at the same times.  `observer` (NULL: none) sees what happens, in the order of
 * time (event.h).  `stop` is NULL, or set by the observer or another thread; soon after that the
 * run ends with SPATE_ERROR_STOPPED. */
SPATE_PUBLIC SpateReplication *spate_replicate(const SpateModel *model, uint32_t number,
                                               const SpateObserver *observer,
                                               const volatile int *stop, GError **error);
/* How loud the frame was at the receiver of one of the event's receptions; while the event lives.
 */
SPATE_PUBLIC double spate_reception_level_dbm(const SpateEvent *event, size_t reception);
SPATE_PUBLIC void spate_replication_free(SpateReplication *replication);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateReplication, spate_replication_free)

/* The rows are those of the model. */
SPATE_PUBLIC double spate_replication_value(const SpateReplication *replication, size_t row);

/* --- Many runs --- */

typedef struct {
    uint32_t replications; /* 0: as the scenario says */
    unsigned jobs;         /* threads; 0: all cores */
    /* NULL, or set (atomically) by a signal handler or another thread: what is finished is kept. */
    const volatile int *stop;
    /* NULL, or called from the calling thread with runs finished and in all. */
    void (*progress)(gpointer user, uint32_t done, uint32_t total);
    gpointer user;
} SpateSummaryOptions;

typedef struct SpateSummary SpateSummary;

/* Runs the variants (names, NULL at the end; "base" is one) on the same random numbers; NULL: the
 * base and all variants of the file.  Differences are those to the first.  `options` may be NULL.
 */
SPATE_PUBLIC SpateSummary *spate_summarise(const SpateFile *file, const char *const *variants,
                                           const SpateSummaryOptions *options, GError **error);
SPATE_PUBLIC void spate_summary_free(SpateSummary *summary);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateSummary, spate_summary_free)

/* Finished ones; fewer than asked for if it was stopped. */
SPATE_PUBLIC uint32_t spate_summary_n_replications(const SpateSummary *summary);
/* Whether a variant holds random places over all replications (`redraw: once`): intervals and
 * differences are for that one layout. */
SPATE_PUBLIC bool spate_summary_is_of_one_layout(const SpateSummary *summary);
SPATE_PUBLIC size_t spate_summary_n_variants(const SpateSummary *summary);
SPATE_PUBLIC const char *spate_summary_variant(const SpateSummary *summary, size_t variant);

/* 95 % intervals; NAN where there is none. */
typedef struct {
    SpateRowNames names;
    double mean, low, high;
    uint32_t n;           /* replications that have a value */
    const double *values; /* by replication */
} SpateSummaryRow;

SPATE_PUBLIC size_t spate_summary_n_rows(const SpateSummary *summary, size_t variant);
SPATE_PUBLIC SpateSummaryRow spate_summary_row(const SpateSummary *summary, size_t variant,
                                               size_t row);

/* variant - versus, paired by replication. */
typedef struct {
    const char *variant, *versus;
    SpateRowNames names;
    double mean, low, high;
    uint32_t n; /* pairs that have a value on both sides */
} SpateSummaryDifference;

SPATE_PUBLIC size_t spate_summary_n_differences(const SpateSummary *summary);
SPATE_PUBLIC SpateSummaryDifference spate_summary_difference(const SpateSummary *summary,
                                                             size_t difference);

/* The whole of it as JSON: spate-result/1, as `spate run` and `spate compare` write it.  Free with
 * g_free(). */
SPATE_PUBLIC char *spate_summary_json(const SpateSummary *summary);

/* --- Expectations --- */

typedef enum {
    SPATE_EXPECTED_PASS,
    SPATE_EXPECTED_FAIL,
    SPATE_EXPECTED_UNDECIDED /* the interval contains the bound */
} SpateExpectedVerdict;

/* An expectation of the file, and what became of it. */
typedef struct {
    const char *expectation; /* "delivery of talk is at least 90 %" */
    int line;                /* in the file; 0 if it is not from there */
    SpateExpectedVerdict verdict;
    bool leans_to_pass; /* if undecided: as the mean does */
    /* What was measured, in the measure's unit or as a share, with its 95 % interval over all looks
     * of the study; NAN where there is none. */
    double mean, low, high;
    uint32_t n;              /* replications that have a value */
    const char *finding;     /* one line for people */
    const char *explanation; /* how a message broke it, hop by hop; NULL without */
} SpateExpected;

typedef struct SpateVerdicts SpateVerdicts;

/* Runs what the file's expectations are about until each is decided or its most replications are
 * reached (`replications` of the options: just so many), and judges them.  `options` may be NULL.
 */
SPATE_PUBLIC SpateVerdicts *spate_verdicts_new(const SpateFile *file,
                                               const SpateSummaryOptions *options, GError **error);
SPATE_PUBLIC void spate_verdicts_free(SpateVerdicts *verdicts);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateVerdicts, spate_verdicts_free)

/* Finished ones; fewer than asked for if it was stopped.  With 0 there is nothing to read. */
SPATE_PUBLIC uint32_t spate_verdicts_n_replications(const SpateVerdicts *verdicts);
SPATE_PUBLIC size_t spate_verdicts_count(const SpateVerdicts *verdicts);
/* In the order of the file; its texts live as long as the verdicts. */
SPATE_PUBLIC SpateExpected spate_verdicts_get(const SpateVerdicts *verdicts, size_t number);
/* spate-check/1, as `spate check` writes it; `strict`: count undecided as a failure.  Free with
 * g_free().
 */
SPATE_PUBLIC char *spate_verdicts_json(const SpateVerdicts *verdicts, bool strict);

/* --- Sizes --- */

typedef enum {
    SPATE_BAND_MEETS,  /* all expectations */
    SPATE_BAND_UNSURE, /* none fails, but some is undecided */
    SPATE_BAND_FAILS,
    SPATE_BAND_OPEN /* stopped before it was judged */
} SpateBandAnswer;

/* Neighbouring values with one answer. */
typedef struct {
    const char *from, *to; /* as settings take them: "12", "2.5 km" */
    SpateBandAnswer answer;
} SpateSizingBand;

typedef struct SpateSizing SpateSizing;

/* Varies what the file says under `size`, and judges each value as spate_verdicts_new() does.
 * `options` may be NULL. */
SPATE_PUBLIC SpateSizing *spate_sizing_new(const SpateFile *file,
                                           const SpateSummaryOptions *options, GError **error);
SPATE_PUBLIC void spate_sizing_free(SpateSizing *sizing);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateSizing, spate_sizing_free)

/* By value; they cover all values that were tried. */
SPATE_PUBLIC size_t spate_sizing_n_bands(const SpateSizing *sizing);
SPATE_PUBLIC SpateSizingBand spate_sizing_band(const SpateSizing *sizing, size_t number);
/* spate-size/1, as `spate size` writes it.  Free with g_free(). */
SPATE_PUBLIC char *spate_sizing_json(const SpateSizing *sizing);

G_END_DECLS
