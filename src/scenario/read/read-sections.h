/* read-sections.h - the sections of a scenario file, in the order in which they can be read
 *
 * Each reads the value of its key and leaves the result in reader->scenario, sorted and with the
 * names that later sections refer to.  Only the loader includes this header.
 */
#pragma once

#include "scenario/read/read-fields.h"

/* What a radio and a node may be given, in a map or in a table. */
#define SPATE_LEAST_POWER_DBM     (-100)
#define SPATE_MOST_POWER_DBM      70
#define SPATE_MOST_GAIN_DBI       60
#define SPATE_MOST_FEEDER_LOSS_DB 100
#define SPATE_MOST_SITE_LOSS_DB   200

/* What is read beside the tree. */
typedef struct {
    SpateTables *tables;
    const SpateScenario *base; /* that a variant changes; NULL: the tree is the base */
    bool builds_sites;         /* as if no `candidate` was given */
} SpateReadBeside;

/* The whole of a scenario: NULL only if the tree is of another format or no map. Faults may have
 * been noted all the same: then the scenario is not to be used.  `*work` grows by what it took, in
 * the order of values of the file and nodes. */
SpateScenario *spate_read_scenario(const SpateYaml *root, const SpateReadBeside *beside,
                                   SpateFaults *faults, uint64_t *work);

void spate_read_bearers(SpateReader *reader, const SpateYamlPair *pair);
/* After the nodes and the terrain: `between` names groups. */
void spate_read_propagations(SpateReader *reader, const SpateYamlPair *pair);
/* All but its `rules`, which name what is not known yet. */
void spate_read_flooding(SpateReader *reader, const SpateYamlPair *pair, SpateFlooding *flooding);
/* The `rules` of flooding, at the top and of nodes: both may be missing. After the traffics. */
void spate_read_relay_rules(SpateReader *reader, const SpateYaml *nodes,
                            const SpateYamlPair *flooding);
void spate_read_nodes(SpateReader *reader, const SpateYamlPair *pair);
/* For tables; SpateListening. */
void spate_read_listening(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                          void *into);
/* `route:` of a traffic whose ends were read; `to` is NULL if it is missing. */
void spate_read_route(SpateReader *reader, const SpateYamlPair *pair, const SpateYamlPair *to,
                      SpateScenarioTraffic *traffic);
/* After the nodes (NULL if there are none): both may be missing. */
void spate_read_groups(SpateReader *reader, const SpateYaml *nodes, const SpateYamlPair *groups);
void spate_read_traffics(SpateReader *reader, const SpateYamlPair *pair,
                         const SpateYamlPair *priority);
void spate_read_bridges(SpateReader *reader, const SpateYamlPair *pair);
void spate_read_links(SpateReader *reader, const SpateYamlPair *pair);
/* False with a fault, one for them all, if n more would be too many. */
bool spate_have_room_for_losses(SpateReader *reader, SpatePlace place, const GArray *losses,
                                uint64_t n);
/* The losses of a table (SpateGivenLoss), one a row, and its rows as entries (SpateScenarioLink).
 */
void spate_read_link_table(SpateReader *reader, const SpateYamlPair *table, GArray *losses,
                           GArray *links);
/* After the nodes, whose places must be such as the height model has. */
void spate_read_terrain(SpateReader *reader, const SpateYamlPair *pair);
void spate_read_ambient(SpateReader *reader, const SpateYamlPair *pair);
void spate_read_outages(SpateReader *reader, const SpateYamlPair *pair);
/* Each is a scenario to check. */
#define SPATE_MAX_VARIANTS 100
void spate_read_variants(SpateReader *reader, const SpateYamlPair *pair);
/* Whether a variant, a sweep or an option may set what is at the path: all but `variants`, `spate`
 * and the sections that say what to vary.  An option may set `size` too
 * (scenario/file/settings.c). */
bool spate_path_is_free(const char *path);
void spate_read_expect(SpateReader *reader, const SpateYamlPair *pair);
/* Checked, and left aside. */
void spate_read_size(SpateReader *reader, const SpateYamlPair *pair);
/* Last of all: notes what no memory holds, or takes months to run. */
void spate_check_bounds(SpateReader *reader, const SpateYaml *root);
void spate_read_sweep(SpateReader *reader, const SpateYamlPair *pair);
void spate_read_doubts(SpateReader *reader, const SpateYamlPair *pair);
/* "2.5 km" as 2.5 with one decimal and "km". */
typedef struct {
    double number;
    int decimals;
    const char *unit; /* within the value's text */
} SpateCounted;
/* A number of any unit, to count by.  False with a fault. */
bool spate_read_counted(SpateReader *reader, const SpateYaml *value, const char *key,
                        SpateCounted *counted);

/* A place as x and y or lat and lon, by the keys of `at`, in the local plane; the height is left as
 * it is without `height`.  False with a fault. */
bool spate_read_position(SpateReader *reader, const SpateYamlPair *pair, SpatePosition *position);
/* `moves:` of an entry; the points are left in the scenario. */
void spate_read_moves(SpateReader *reader, const SpateYamlPair *pair, SpateMoves *moves);
/* The nodes of an entry that has a `place`. */
typedef struct {
    uint32_t count; /* UINT32_MAX: as many as there are points or rows; set then */
    GArray *rows;   /* of a table (SpateNodeRow), set then, owned; else NULL */
} SpateNodesWanted;
/* `place:` of them; NULL with a fault. */
SpatePlacement *spate_read_placement(SpateReader *reader, const SpateYamlPair *pair,
                                     const char *entry, SpateNodesWanted *wanted);
/* `at:` for `count` nodes. */
SpatePlacement *spate_read_standpoint(SpateReader *reader, const SpateYamlPair *pair,
                                      const char *entry, uint32_t count);

/* A new set of rules (SpateRule), never NULL. */
GArray *spate_read_rules(SpateReader *reader, const SpateYamlPair *pair);
/* False with a fault, one for them all, if a node has no radio on the bearer. */
bool spate_all_have_radio(SpateReader *reader, const uint32_t *nodes, uint32_t n_nodes,
                          uint32_t bearer, SpatePlace place, const char *hint);
/* Whether each of these nodes hears the bearers whose occupancy its rules ask for. */
void spate_check_occupancy(SpateReader *reader, const GArray *rules, const uint32_t *nodes,
                           uint32_t n_nodes, SpatePlace place);
