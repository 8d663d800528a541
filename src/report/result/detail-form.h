/* detail-form.h - the details of a result by tables: docs/result-format.md
 *
 * Who writes details fills these structs; who reads them checks them by the same tables, so that a
 * page never meets a number that names nothing; who hides names renumbers and renames by them.
 */
#pragma once

#include "document/form.h"
#include "report/report.h"
#include "report/words/left-out.h"

typedef struct {
    const char *name, *kind;
    double frequency_hz, sensitivity_dbm;
} SpateBearerForm;

typedef struct {
    const char *name;
    uint32_t from, to; /* bearers */
} SpateCrossingForm;

typedef struct {
    const char *name;
    uint32_t node;
    const SpateCrossingForm *crossings;
    uint32_t n_crossings;
} SpateBridgeForm;

/* The way of a node that moves: after its own place the points that it goes to, and how far each is
 * from the one before. */
typedef struct {
    SpatePosition *along;
    double *legs_m;
    uint32_t n_points;
    double step_m, speed_m_per_s;
    int64_t from_ns;
    bool back;
} SpateWayForm;

typedef struct {
    const char *name, *label; /* label: NULL without */
    SpatePosition at;
    SpateWayForm *moves; /* NULL: it stays */
    bool in_plane, relays, is_bridge;
    char **source_of;
    uint32_t *radios, n_radios;
} SpateNodeForm;

typedef struct {
    SpateDetailShare to, from;
} SpateNodeMeasuresForm;

typedef struct {
    uint32_t radio;
    double lost_asleep;
} SpateSleeperForm;

typedef struct {
    uint32_t bearer;
    const char *traffic; /* NULL: all */
    const double *mean, *low, *high;
    uint32_t n_steps;
} SpateTimelineForm;

typedef struct {
    uint32_t hops, bin;
    uint64_t n;
} SpateBinForm;

typedef struct {
    const char *traffic;
    SpateBinForm *bins;
    uint32_t n_bins;
} SpateLatencyForm;

/* So many cells in a row that are alike, across the ends of rows too. */
typedef struct {
    uint32_t step, n_cells; /* SpateCoverageStep */
} SpateRunForm;

typedef struct {
    uint32_t bearer, n_relays;
    SpateRunForm *runs;
    uint32_t n_runs;
} SpateLayerForm;

typedef struct {
    uint32_t node;
    double height_m;
    SpateGrid grid;
    SpateLayerForm *layers;
    uint32_t n_layers;
} SpateCoverageForm;

typedef struct {
    const char *elevation; /* NULL: hidden */
    SpateGrid grid;
    const char *shades;
} SpateReliefForm;

typedef struct {
    SpateDetailVariant its;
    const SpatePlan *plan;
    const char *name, *summary;
    SpateBearerForm *bearers;
    SpateBridgeForm *bridges;
    uint32_t n_bearers, n_bridges, n_nodes, n_radios, n_traffics, n_links, n_disturbers, n_lines;
    bool random_places;
    SpateNodeForm *nodes;
    const SpateRadio *radios;
    const SpateDetailLink *links;
    SpateNodeMeasuresForm *node_measures;
    SpateSleeperForm *sleepers; /* NULL: none sleeps */
    uint32_t n_sleepers;
    SpateDetailDisturber *disturbers; /* sender SPATE_NO_THING: ambient traffic */
    SpateTimelineForm *timeline;
    SpateLatencyForm *latency;
    struct SpateReplays {
        SpateMessageTrace **traces;
        guint n;
    } replays, *replay;          /* the latter points to the former */
    SpateCoverageForm *coverage; /* NULL: not asked for */
} SpateVariantForm;

/* Offers are counted from 1. */
typedef struct {
    SpateDetailMessage its;
    uint32_t replication;
} SpateMessageForm;

typedef struct {
    const char *text; /* NULL: it is too long */
    char **settings;
    const SpateLeftOut *left_out;
    uint32_t n_left_out, per_decade;
    bool in_degrees, is_anonymous;
    double blurred_m, first_s;
    uint32_t n_messages;
    int64_t step_ns;
    SpateMessageForm *messages;
    SpateReliefForm *relief; /* NULL: there is none */
    SpateVariantForm *variants;
    size_t n_variants;
} SpateDetailForm;

extern const SpateForm SPATE_DETAIL_FORM, SPATE_DETAIL_VARIANT_FORM;
extern const SpateForm SPATE_REPLAY_FORM; /* spate_detail_append_replay() fills its struct */

/* detail-layers.c: what lies under a map; as structs that the scratch frees, and what the tables do
 * not tell is wrong with them: NULL, or free with g_free(). */
extern const SpateForm SPATE_COVERAGE_FORM, SPATE_RELIEF_FORM;
SpateCoverageForm *spate_detail_coverage_form(const SpateCoverage *coverage, GPtrArray *scratch);
SpateReliefForm *spate_detail_relief_form(const SpateRelief *relief, GPtrArray *scratch);
char *spate_detail_coverage_fault(JsonObject *variant, guint number, bool in_degrees);
char *spate_detail_relief_fault(JsonObject *detail, bool in_degrees);
/* The grid of either, which has been checked. */
SpateGrid spate_detail_grid(JsonObject *layer, bool is_geographic);

/* An object. */
void spate_detail_append_json(GString *text, const SpateDetailReport *report);
/* The way of one message in one variant: an object; null if it was not offered there. */
void spate_detail_append_replay(GString *text, const SpateMessageTrace *trace);

/* Whether `detail` and `doubts` of the result are whole: NULL, or what is wrong with it; free with
 * g_free().  The result itself has been read before.  Without a `detail` it is. */
char *spate_detail_fault(JsonObject *result);

/* Where a node of details that are whole is. */
SpatePosition spate_detail_node_place(JsonObject *node);

/* A list of so many structs, all zero, and of their end. */
static inline void *
spate_room(GPtrArray *scratch, size_t n, size_t size)
{
    return spate_scratch(scratch, g_malloc0_n(n + 1, size));
}
