/* scenario.h - what the user wrote: checked, defaults filled in, names resolved
 *
 * Nodes (groups expanded), bearers, traffics and bridges are sorted by name; all references are
 * numbers in that order.  Places in the file are kept where later checks (lint, world) need them.
 * Plain data: nothing here draws a random number or knows of a run.
 */
#pragma once

#include "measure/measures.h"
#include "mesh/plan.h"
#include "propagation/links.h"
#include "scenario/doubt.h"
#include "scenario/placement.h"
#include "scenario/sweep-axis.h"
#include "scenario/text/faults.h"
#include "scenario/text/yaml-tree.h"
#include "traffic/traffic.h"

/* Up to where every reader of JSON holds whole numbers exactly: 2^53. */
#define SPATE_LARGEST_SEED (INT64_C(1) << 53)

typedef struct {
    char *name;
    SpatePlace place;
    SpateBearer radio;
    SpatePropagation propagation;
    bool propagation_is_given; /* else free space */
    SpatePlace propagation_place;
    SpateFading fading;
} SpateScenarioBearer;

typedef struct {
    uint32_t bearer;
    SpatePlace place;
    double power_dbm;
    SpateAntenna antenna;
    double feeder_loss_db, noise_rise_db;
    double supply_sending_w, supply_receiving_w; /* NAN: not given */
    double supply_asleep_w;
    SpateListening listening;
    bool relays;
} SpateScenarioRadio;

/* Where a node goes: from its own place to the first point, and on (docs/model.md, Nodes that
 * move). */
typedef struct {
    const SpatePosition *points; /* owned by the scenario; all of a group share them */
    uint32_t n_points;           /* 0: it stays where it is */
    double speed_m_per_s;
    int64_t from_ns;
    bool back; /* there and back for ever; else it stays at the last point */
    SpatePlace place;
} SpateMoves;

typedef struct {
    char *name;
    char *label; /* for people: any text; NULL: none */
    SpatePlace place;
    uint32_t entry; /* the entry of `nodes:` that it came from (its order in the file) */
    const SpatePlacement *placement;
    uint32_t placement_index;
    SpateScenarioRadio *radios; /* by bearer */
    uint32_t n_radios;
    bool has_unread_radios; /* by a fault: it may have others */
    SpateFlooding flooding;
    const GArray *relay_rules; /* SpateRule; NULL: none, or the node does not relay */
    SpateQueueSettings queue;
    double isolation_db, site_loss_db;
    SpateMoves moves;
} SpateScenarioNode;

/* A node that `candidate` leaves out: until it is built it is nowhere, and no other node is
 * otherwise for it. */
typedef struct {
    char *name;
    char *entry; /* of `nodes:`, from which it came */
    SpatePlace place;
    bool carries; /* it relays on a bearer, or is part of a bridge */
} SpateScenarioSite;

/* Where numbers of nodes may be those of sites: site k is this and k. */
#define SPATE_FIRST_SITE UINT32_C(0x80000000)

typedef struct {
    char *name;        /* of a node or site, a group of `nodes:` or one of `groups:` */
    uint32_t *members; /* nodes, ascending; after them, its sites */
    uint32_t n_members, n_sites;
} SpateScenarioGroup;

typedef struct {
    char *name;
    SpatePlace place;
    uint32_t bridge;
    uint32_t node;
    uint32_t from_bearer, to_bearer;
    GArray *rules; /* SpateRule, cleared with spate_rule_clear(); shared by the nodes of a group */
    bool otherwise_passes;
    uint32_t order; /* in the file */
} SpateScenarioCrossing;

typedef struct {
    char *name;
    SpatePlace place;
    char *class_name;
    uint32_t class_rank;
    uint32_t payload_bytes;
    uint32_t hop_limit;  /* 0: as flooding */
    bool *on_bearers;    /* NULL: all */
    int64_t deadline_ns; /* 0: none */
    SpateAcknowledgement acknowledgement;
    SpateRouteKind route;
    SpateRouteEntry *along; /* of a route that is given: after the source */
    uint32_t n_along;
    bool is_back;
    uint32_t *sources, *recipients; /* ascending */
    uint32_t n_sources, n_recipients;
    SpateOfferTimes times;
    int64_t every_ns, spread_ns, mean_interval_ns;
    bool together;
    int64_t *at_ns;
    uint32_t n_at;
    char *follows;     /* name of a traffic; NULL: none */
    uint32_t followed; /* its number; UINT32_MAX: none */
    SpatePlace follows_place;
    double share;
    int64_t within_ns;
} SpateScenarioTraffic;

/* An entry of `links:`, of which lint speaks: its losses are those up to the next one's. */
typedef struct {
    SpatePlace place;
    uint32_t first_loss;
    uint64_t n_pairs;
} SpateScenarioLink;

typedef struct {
    SpatePlace place;
    uint32_t bearer;
    bool everywhere;
    SpatePosition position;
    double power_dbm;
    double busy;      /* share of time, 0 < busy < 1 */
    int64_t burst_ns; /* length of a burst */
} SpateScenarioAmbient;

/* As SpateOutage; the nodes are those of a group of the scenario. */
typedef struct {
    SpatePlace place;
    uint32_t group;
    const uint32_t *nodes;
    uint32_t n_nodes;
    int64_t at_ns, for_ns;
    int64_t mean_between_ns, mean_time_ns; /* 0: `at` and `for` are given */
    bool is_left_out;                      /* by a trial */
} SpateScenarioOutage;

typedef struct {
    char *name, *summary;
    SpatePlace place;
} SpateScenarioVariant;

typedef enum {
    SPATE_EXPECT_VALUE,         /* a measure lies within bounds */
    SPATE_EXPECT_CHANGE,        /* so does what it changes by, from `versus` to `variant` */
    SPATE_EXPECT_REACHES,       /* every message of `traffic` is at `node` within `within_ns` */
    SPATE_EXPECT_NEVER_REACHES, /* none ever is */
    SPATE_EXPECT_NEVER_ON       /* none is ever sent on `bearer` */
} SpateExpectKind;

/* In the unit of results (s, not ns); relative: a share of the value that is compared with. */
typedef struct {
    double value;
    bool is_given, is_relative;
    SpatePlace place;
} SpateExpectBound;

/* Where the values of an expectation stand in the file: those that it has. */
typedef struct {
    SpatePlace measure, traffic, bearer, from, to, within, in_at_least;
    SpatePlace node; /* of `node`, `reaches` or `never-reaches` */
} SpateExpectPlaces;

/* By names, which mean the same in every variant; NULL where one does not apply. */
typedef struct {
    SpateExpectKind kind;
    SpatePlace place;
    SpateExpectPlaces places;
    char *variant, *versus;          /* NULL: the base */
    const SpateMeasureInfo *measure; /* VALUE, CHANGE; else NULL */
    char *traffic, *bearer, *node, *bridge;
    char *to; /* of the pairs of `traffic`, only those with this recipient */
    /* REACHES: `at_least` is of the messages; without it, each has to keep to the claim. */
    SpateExpectBound at_least, at_most;
    /* the others */
    char *from;         /* a node or group of sources; NULL: all */
    int64_t within_ns;  /* REACHES; 0 else */
    double in_at_least; /* share of the replications; 1: every one */
} SpateExpectation;

/* What `size` varies: values from + k step, up to `to`. */
typedef struct {
    bool is_given;
    SpatePlace place;
    char *vary; /* a path */
    double from, to, step;
    char *unit;    /* "" without */
    bool is_count; /* of things: without a point */
} SpateScenarioSize;

typedef struct SpateScenarioFile SpateScenarioFile;

/* What a trial takes out of a scenario, by names; NULL: nothing. */
typedef struct {
    /* A node that sends what it has to say and no more: it relays nothing and lets nothing across.
     */
    char *silent;
    /* What `outages` calls so, a node or a group: these entries never happen.  All others come as
     * they would. */
    char *unfailing;
    /* Nodes that carry what others send, and are neither source nor recipient of anything; ends
     * with NULL. */
    char **bystanders;
} SpateMute;

typedef struct {
    char *name;         /* of the file, as shown */
    char *sha256;       /* of the text of the file, and of its tables: spate_tables_sha256() */
    char *links_sha256; /* of all in it that a link may depend on; NULL: not known */
    char *variant;      /* its name; "base": as it is written */
    char *title, *summary;
    uint64_t seed;
    SpatePlace run_place; /* of the key */
    int64_t duration_ns, warm_up_ns, cool_down_ns;
    double move_step_m;    /* of way, after which the place of a node that moves is a new one */
    uint32_t replications; /* run.replications, or its at-least */
    uint32_t replications_at_most;

    SpateScenarioBearer *bearers;
    uint32_t n_bearers;
    SpateScenarioNode *nodes;
    uint32_t n_nodes;
    SpateScenarioSite *sites; /* by name */
    uint32_t n_sites;
    SpateScenarioGroup *groups; /* every name that can stand for nodes */
    uint32_t n_groups;
    char **bridge_names; /* ends with NULL; NULL: there are none */
    uint32_t n_bridges;
    SpateScenarioCrossing *crossings; /* by node, then order */
    uint32_t n_crossings;
    SpateScenarioTraffic *traffics;
    uint32_t n_traffics;
    SpateScenarioAmbient *ambient;
    uint32_t n_ambient;
    SpateScenarioOutage *outages; /* in the order of the file */
    uint32_t n_outages;
    SpateTerrain *terrain; /* NULL: the ground is flat, and so is the earth */
    SpateGivenLoss *given_losses;
    uint32_t n_given_losses;
    bool has_measured_levels; /* losses that follow from the level that a radio of the base hears */
    SpateScenarioLink *links; /* in the order of the file */
    uint32_t n_links;
    GArray *empty_tables;           /* SpatePlace: where a table is named that has no rows */
    SpateScenarioVariant *variants; /* in the order of the file, without the base */
    uint32_t n_variants;
    SpateExpectation *expectations; /* in the order of the file */
    uint32_t n_expectations;
    SpateScenarioSize size;
    SpateSweepAxis *sweep; /* in the order of the file */
    uint32_t n_sweep;
    SpateDoubt *doubts; /* in the order of the file */
    uint32_t n_doubts;
    GPtrArray *placements;  /* SpatePlacement*, owned */
    GPtrArray *ways;        /* points of SpateMoves, owned */
    GPtrArray *relay_rules; /* lists that nodes share (GArray of SpateRule), owned */

    bool is_geographic; /* all places are in lat and lon */

    SpateFaults *later; /* empty, knows the texts: for what the world finds */

    SpateMute mute;      /* private: what a trial took out */
    SpateYaml *in_doubt; /* from which it is drawn anew; NULL: nothing is to be drawn */
    SpateScenarioFile *file;
} SpateScenario;

/* One `--set PATH=VALUE`. */
typedef struct {
    const char *path, *value; /* the value is YAML */
} SpateSetting;

/* A scenario file as text with its tree: the base from which variants are made.  Scenarios with
 * uncertain inputs keep what they need of it when it is freed. */
/* path "-" is standard input.  Checks the file whole: the base and every variant, `expect`, `size`,
 * `sweep`. Settings must be YAML that a path takes; what they do is checked by
 * spate_scenario_new().  All faults are in the error's message. */
SpateScenarioFile *spate_scenario_file_read(const char *path, const SpateSetting *settings,
                                            size_t n_settings, GError **error);
/* The same from a text; `name` is the file's name in messages.  Its tables are looked for in the
 * current folder. */
SpateScenarioFile *spate_scenario_file_parse(const char *name, const char *text, size_t length,
                                             const SpateSetting *settings, size_t n_settings,
                                             GError **error);
void spate_scenario_file_free(SpateScenarioFile *file);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateScenarioFile, spate_scenario_file_free)

/* Names in the order of the file, NULL at the end; "base" is not among them. */
const char *const *spate_scenario_file_variants(const SpateScenarioFile *file);
const char *spate_scenario_file_text(const SpateScenarioFile *file);
/* Of the text and of all tables that were read up to now.  Free with g_free(). */
char *spate_scenario_file_sha256(const SpateScenarioFile *file);

/* What is tried with a file, which stays as it was read.  The changes come in this order: rules of
 * the base, the variant's values, the settings of the file (--set), rules of the variant itself,
 * settings of the trial, what is taken out. */
typedef struct {
    const char *variant; /* NULL or "base": the base */
    /* A map of paths and values, as under a variant's `set`, that belongs to that variant (NULL or
     * "base": to the base); NULL: none. */
    const char *rules, *rules_of;
    const SpateSetting *settings;
    size_t n_settings;
    const char *name; /* of the settings in messages, as "point 3"; NULL: "what is tried" */
    SpateMute mute;   /* borrowed */
} SpateTrial;

/* The node's radio on the bearer; NULL: it has none. */
const SpateScenarioRadio *spate_scenario_radio(const SpateScenarioNode *node, uint32_t bearer);
/* Whether any radio of the node relays. */
bool spate_scenario_node_relays(const SpateScenarioNode *node);

/* Numbers of what is named; UINT32_MAX for a name (or NULL) that the scenario does not have. */
uint32_t spate_scenario_find_node(const SpateScenario *scenario, const char *name);
uint32_t spate_scenario_find_traffic(const SpateScenario *scenario, const char *name);
uint32_t spate_scenario_find_bearer(const SpateScenario *scenario, const char *name);
uint32_t spate_scenario_find_group(const SpateScenario *scenario, const char *name);

/* What is wrong with it is in the error's message.  Tables that a setting names are read then: one
 * thread at a time. */
SpateScenario *spate_scenario_try(const SpateScenarioFile *file, const SpateTrial *trial,
                                  GError **error);
/* The variant as written. */
SpateScenario *spate_scenario_new(const SpateScenarioFile *file, const char *variant,
                                  GError **error);
/* Whether something is drawn anew in each replication; what a variant or a setting says is not. */
bool spate_scenario_is_in_doubt(const SpateScenario *scenario);
/* A scenario with its uncertain inputs drawn for one replication: none is uncertain in it.  An
 * error shows what was drawn.  May be called from several threads. */
SpateScenario *spate_scenario_redraw(const SpateScenario *scenario, uint32_t replication,
                                     GError **error);
void spate_mute_clear(SpateMute *mute);
void spate_scenario_free(SpateScenario *scenario);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateScenario, spate_scenario_free)

/* The entries of the list at those keys (NULL at the end), each as YAML on a single line; none
 * if there is no such list.  Free with g_strfreev(). */
char **spate_scenario_file_items(const SpateScenarioFile *file, const char *variant,
                                 const char *const *at);

/* Whether a path, as in `nodes.soil.count`, begins with a key that scenarios have. */
bool spate_scenario_has_path(const char *path);

/* An empty set of faults that knows the texts of the file, for checks that come later. */
SpateFaults *spate_scenario_file_new_faults(const SpateScenarioFile *file);

/* Events of one run, estimated from above: every message is relayed by all. */
/* Offers of a traffic in a replication, about; of one that follows another, at most. */
double spate_scenario_offers(const SpateScenario *scenario, uint32_t traffic);
double spate_scenario_most_events(const SpateScenario *scenario);
/* Outages of single nodes in one run. */
double spate_scenario_outages(const SpateScenario *scenario);
/* Steps of all nodes that move in one run; about, where places are drawn. */
double spate_scenario_steps(const SpateScenario *scenario);
/* Bursts of ambient traffic in one run. */
double spate_scenario_bursts(const SpateScenario *scenario);
