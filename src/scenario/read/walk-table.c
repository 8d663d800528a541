/* walk-table.c - the table of a walk test, into samples */
#include "scenario/read/walk-table.h"

#include "scenario/read/read-bytes.h"
#include "scenario/read/read-place.h"
#include <errno.h>
#include <math.h>
#include <string.h>

/* A person who holds a device, as for nodes of a scenario (common practice, no source). */
#define DEFAULT_HEIGHT_M  1.0
#define SHORTEST_M        0.1
#define LEAST_LEVEL_DBM   -250
#define HIGHEST_LEVEL_DBM 100

typedef struct {
    double x_m, y_m, lat_deg, lon_deg, height_m; /* NAN: not given */
} Spot;

enum { SENDER, RECEIVER, BARE, N_SPOTS }; /* bare: columns `x`, `lat`, `height` ... */

typedef struct {
    const SpateYamlPair *sender, *receiver, *bearer, *level;
    Spot spots[N_SPOTS];
    double distance_m;
} Row;

#define SPOT_FIELDS(prefix, number)                                                                \
    {SPATE_NUMBER(prefix "x", Row, spots[number].x_m, LENGTH, -SPATE_LARGEST_COORDINATE_M,         \
                  SPATE_LARGEST_COORDINATE_M)},                                                    \
        {SPATE_NUMBER(prefix "y", Row, spots[number].y_m, LENGTH, -SPATE_LARGEST_COORDINATE_M,     \
                      SPATE_LARGEST_COORDINATE_M)},                                                \
        {SPATE_NUMBER(prefix "lat", Row, spots[number].lat_deg, DEGREES, -90, 90)},                \
        {SPATE_NUMBER(prefix "lon", Row, spots[number].lon_deg, DEGREES, -180, 180)},              \
    {                                                                                              \
        SPATE_NUMBER(prefix "height", Row, spots[number].height_m, LENGTH, 0, SPATE_HIGHEST_M)     \
    }

static const SpateField PLACE_FIELDS[] = {
    {SPATE_PAIR("sender", Row, sender)},
    {SPATE_PAIR("receiver", Row, receiver)},
    {SPATE_PAIR("bearer", Row, bearer)},
    {SPATE_NUMBER("distance", Row, distance_m, LENGTH, SHORTEST_M, SPATE_FARTHEST_M)},
    SPOT_FIELDS("", BARE),
    SPOT_FIELDS("sender-", SENDER),
    SPOT_FIELDS("receiver-", RECEIVER),
    {SPATE_PAIR("received-power", Row, level)},
};
static const SpateField NODE_FIELDS[] = {
    {SPATE_PAIR("sender", Row, sender), .required = true},
    {SPATE_PAIR("receiver", Row, receiver), .required = true},
    {SPATE_PAIR("bearer", Row, bearer)},
    {SPATE_PAIR("received-power", Row, level)},
};
static const SpateTable TABLES[] = {
    [SPATE_WALK_OF_PLACES] = SPATE_TABLE_OF_COLUMNS("a table of a walk", PLACE_FIELDS),
    [SPATE_WALK_OF_NODES] = SPATE_TABLE_OF_COLUMNS("a table of measured links", NODE_FIELDS),
};

static const char *const ENDS[] = {[SENDER] = "sender", [RECEIVER] = "receiver"};
static const char *const PREFIXES[N_SPOTS] = {
    [SENDER] = "sender-", [RECEIVER] = "receiver-", [BARE] = ""};

/* Where the rows of a table say that an end was. */
typedef enum { OF_NODE, OF_SPOT } Source;

typedef struct {
    SpateReader reader;
    SpateWalk *walk;
    SpateWalkKind kind;
    const SpateScenario *scenario;
    const SpateYaml *columns;
    bool has_distance;
    Source sources[2]; /* by end */
    int spots[2];      /* by end: whose columns say where it was */
    bool is_geographic[N_SPOTS];
} Reading;

/* ---- columns --------------------------------------------------------------------------------- */

static bool
has_column(const Reading *reading, const char *prefix, const char *name)
{
    g_autofree char *column = g_strconcat(prefix, name, NULL);
    return spate_yaml_pair(reading->columns, column) != NULL;
}

static bool
has_spot(const Reading *reading, int spot)
{
    const char *prefix = PREFIXES[spot];
    return has_column(reading, prefix, "x") || has_column(reading, prefix, "y") ||
           has_column(reading, prefix, "lat") || has_column(reading, prefix, "lon");
}

static void
note_head(Reading *reading, const char *hint, const char *wrong)
{
    spate_faults_note(reading->reader.faults, reading->columns->place, hint, "%s", wrong);
}

static void
settle_form(Reading *reading, int spot)
{
    const char *prefix = PREFIXES[spot];
    bool has_x = has_column(reading, prefix, "x"), has_y = has_column(reading, prefix, "y");
    bool has_lat = has_column(reading, prefix, "lat"), has_lon = has_column(reading, prefix, "lon");
    reading->is_geographic[spot] = has_lat;
    if (has_x == has_y && has_lat == has_lon && has_x != has_lat)
        return;
    g_autofree char *hint =
        g_strdup_printf("%sx and %sy, or %slat and %slon", prefix, prefix, prefix, prefix);
    note_head(reading, hint, "a place needs x and y, or lat and lon");
}

/* Bare columns are of the end that nothing else places: the receiver's, unless it is only he who
 * has a name. */
static int
bare_end(const Reading *reading)
{
    if (!has_spot(reading, BARE))
        return -1;
    if (has_spot(reading, SENDER) || has_spot(reading, RECEIVER))
        return has_spot(reading, SENDER) ? RECEIVER : SENDER;
    bool only_receiver = has_column(reading, "", "receiver") && !has_column(reading, "", "sender");
    return only_receiver ? SENDER : RECEIVER;
}

static void
settle_end(Reading *reading, int end, int bare)
{
    int spot = has_spot(reading, end) ? end : bare == end ? BARE : -1;
    bool is_named = has_column(reading, "", ENDS[end]);
    reading->sources[end] = spot >= 0 ? OF_SPOT : OF_NODE;
    reading->spots[end] = spot >= 0 ? spot : end;
    if (spot >= 0) {
        settle_form(reading, spot);
        return;
    }
    if (is_named && reading->scenario != NULL)
        return;
    g_autofree char *wrong =
        g_strdup_printf(is_named ? "the names of '%s' say nothing without a scenario"
                                 : "no column says where the %s was",
                        ENDS[end]);
    g_autofree char *hint = g_strdup_printf(
        "give --scenario, or columns: distance; or %s-x and %s-y; or %s-lat and %s-lon", ENDS[end],
        ENDS[end], ENDS[end], ENDS[end]);
    note_head(reading, hint, wrong);
}

static void
settle_columns(Reading *reading)
{
    reading->has_distance = has_column(reading, "", "distance");
    if (!has_column(reading, "", "received-power"))
        note_head(reading, "its cells are empty where nothing was heard",
                  "'received-power' is missing");
    if (reading->kind == SPATE_WALK_OF_NODES)
        return;
    bool has_spots = false;
    for (int spot = 0; spot < N_SPOTS; spot++)
        has_spots = has_spots || has_spot(reading, spot);
    if (reading->has_distance && has_spots)
        note_head(reading, "keep one of them", "the table has both distances and places");
    if (reading->has_distance)
        return;
    if (has_spot(reading, SENDER) && has_spot(reading, RECEIVER) && has_spot(reading, BARE))
        note_head(reading, "sender-x is the sender's, receiver-x the receiver's",
                  "the table has places of both ends, and others");
    int bare = bare_end(reading);
    settle_end(reading, SENDER, bare);
    settle_end(reading, RECEIVER, bare);
    if (reading->sources[SENDER] == OF_SPOT && reading->sources[RECEIVER] == OF_SPOT &&
        reading->is_geographic[reading->spots[SENDER]] !=
            reading->is_geographic[reading->spots[RECEIVER]])
        note_head(reading, "use one form for both",
                  "one end is in x and y, the other in lat and lon");
}

/* ---- rows ------------------------------------------------------------------------------------ */

static bool
needs_cell(Reading *reading, const SpateYaml *map, const char *prefix, const char *name,
           double value)
{
    if (!isnan(value))
        return true;
    g_autofree char *column = g_strconcat(prefix, name, NULL);
    /* A cell that is there and could not be read has its fault. */
    if (spate_yaml_pair(map, column) == NULL)
        spate_faults_note(reading->reader.faults, map->place, "each row needs it",
                          "'%s' is missing", column);
    return false;
}

static double
height_of(const Spot *spot)
{
    return isnan(spot->height_m) ? DEFAULT_HEIGHT_M : spot->height_m;
}

/* False with a fault. */
static bool
read_spot(Reading *reading, const SpateYaml *map, const Row *row, int number,
          SpatePosition *position)
{
    const Spot *spot = &row->spots[number];
    const char *prefix = PREFIXES[number];
    *position = (SpatePosition){.height_m = height_of(spot),
                                .is_geographic = reading->is_geographic[number]};
    if (position->is_geographic) {
        position->latitude_deg = spot->lat_deg;
        position->longitude_deg = spot->lon_deg;
        bool has_lat = needs_cell(reading, map, prefix, "lat", spot->lat_deg);
        return needs_cell(reading, map, prefix, "lon", spot->lon_deg) && has_lat;
    }
    position->x_m = spot->x_m;
    position->y_m = spot->y_m;
    bool has_x = needs_cell(reading, map, prefix, "x", spot->x_m);
    return needs_cell(reading, map, prefix, "y", spot->y_m) && has_x;
}

/* Where the base of the scenario says that the node is; false with a fault. */
static bool
find_position(Reading *reading, const SpateYamlPair *name, uint32_t number, SpatePosition *position)
{
    const SpateScenarioNode *node = &reading->scenario->nodes[number];
    if (node->placement != NULL && node->placement->kind == SPATE_PLACE_POINTS) {
        *position = spate_placement_at(node->placement, node->placement_index, 0, 0);
        return true;
    }
    spate_faults_note(reading->reader.faults, name->value->place,
                      "a measured node has a place: give it with at",
                      "the place of '%s' is drawn at random", node->name);
    return false;
}

/* UINT32_MAX where the scenario has no node of that name, which is a fault where one is needed. */
static uint32_t
find_node(Reading *reading, const SpateYaml *map, const SpateYamlPair *name, int end,
          bool is_needed)
{
    uint32_t number = UINT32_MAX;
    if (name == NULL && is_needed)
        spate_faults_note(reading->reader.faults, map->place, "each row needs it",
                          "'%s' is missing", ENDS[end]);
    if (name == NULL || reading->scenario == NULL)
        return UINT32_MAX;
    if (is_needed)
        spate_find_named(&reading->reader, &reading->reader.nodes, name, &number);
    else
        spate_names_has(&reading->reader.nodes, name->value->text, &number);
    if (number == UINT32_MAX || number < SPATE_FIRST_SITE)
        return number;
    if (is_needed)
        spate_faults_note(reading->reader.faults, name->value->place, "'candidate: no' builds it",
                          "'%s' is a candidate that is not built", name->value->text);
    return UINT32_MAX;
}

/* The places of both ends, `distance` apart; false with a fault. */
static bool
place_apart(Reading *reading, const SpateYaml *map, const Row *row, SpateWalkSample *sample)
{
    if (!needs_cell(reading, map, "", "distance", row->distance_m))
        return false;
    sample->from.height_m = height_of(&row->spots[SENDER]);
    sample->to.height_m = height_of(&row->spots[RECEIVER]);
    double up_m = sample->from.height_m - sample->to.height_m;
    if (fabs(up_m) > row->distance_m) {
        spate_faults_note(reading->reader.faults, map->place,
                          "distance is that between the antennas, in a straight line",
                          "the distance is shorter than the difference of the heights");
        return false;
    }
    sample->is_apart = true;
    sample->to.x_m = sqrt(row->distance_m * row->distance_m - up_m * up_m);
    return true;
}

static void
place_ends(Reading *reading, const SpateYaml *map, const Row *row, SpateWalkSample *sample)
{
    const SpateYamlPair *names[] = {row->sender, row->receiver};
    uint32_t nodes[] = {sample->from_node, sample->to_node};
    SpatePosition *positions[] = {&sample->from, &sample->to};
    if (reading->has_distance) {
        place_apart(reading, map, row, sample);
        return;
    }
    bool is_placed = true;
    for (int end = SENDER; end <= RECEIVER; end++) {
        if (reading->sources[end] == OF_SPOT)
            is_placed =
                read_spot(reading, map, row, reading->spots[end], positions[end]) && is_placed;
        else
            is_placed = names[end] != NULL && nodes[end] != UINT32_MAX &&
                        find_position(reading, names[end], nodes[end], positions[end]) && is_placed;
    }
    if (!is_placed)
        return;
    if (sample->from.is_geographic != sample->to.is_geographic)
        spate_faults_note(reading->reader.faults, map->place, "use the form of the scenario",
                          "one end is in x and y, the other in lat and lon");
    else if (hypot(spate_ground_distance_m(sample->from, sample->to),
                   sample->from.height_m - sample->to.height_m) < SHORTEST_M)
        spate_faults_note(reading->reader.faults, map->place, "at least 0.1 m apart",
                          "both ends are at one place");
}

static const char *
text_of(const SpateYamlPair *pair)
{
    return pair != NULL ? pair->value->text : NULL;
}

static void
read_row(Reading *reading, const SpateYaml *map)
{
    static const Spot NOWHERE = {NAN, NAN, NAN, NAN, NAN};
    Row row = {.spots = {NOWHERE, NOWHERE, NOWHERE}, .distance_m = NAN};
    SpateReader *reader = &reading->reader;
    spate_read_map(reader, &TABLES[reading->kind], 0, map->place, map, &row);
    SpateWalkSample sample = {
        .place = map->place,
        .level_place = row.level != NULL ? row.level->value->place : map->place,
        .sender = text_of(row.sender),
        .receiver = text_of(row.receiver),
        .bearer = text_of(row.bearer),
        .received_dbm = NAN,
    };
    bool of_nodes = reading->kind == SPATE_WALK_OF_NODES;
    bool has_places = of_nodes || reading->has_distance;
    sample.from_node = find_node(reading, map, row.sender, SENDER,
                                 of_nodes || (!has_places && reading->sources[SENDER] == OF_NODE));
    sample.to_node = find_node(reading, map, row.receiver, RECEIVER,
                               of_nodes || (!has_places && reading->sources[RECEIVER] == OF_NODE));
    if (of_nodes && sample.from_node == sample.to_node && sample.from_node != UINT32_MAX)
        spate_faults_note(reader->faults, map->place, NULL, "a link joins two nodes");
    if (row.bearer != NULL && reading->scenario != NULL)
        spate_find_named(reader, &reader->bearers, row.bearer, &(uint32_t){0});
    if (row.level != NULL)
        spate_quantity_read(row.level->value, SPATE_DIM_LEVEL,
                            (SpateRange){LEAST_LEVEL_DBM, HIGHEST_LEVEL_DBM}, &sample.received_dbm,
                            reader->faults);
    if (!of_nodes)
        place_ends(reading, map, &row, &sample);
    g_array_append_val(reading->walk->samples, sample);
}

/* ---- the file -------------------------------------------------------------------------------- */

static void
init_names(Reading *reading)
{
    SpateReader *reader = &reading->reader;
    const SpateScenario *scenario = reading->scenario;
    spate_names_init(&reader->bearers, "bearer");
    spate_names_init(&reader->nodes, "node");
    spate_names_init(&reader->groups, "node or group");
    reader->unread = g_ptr_array_new();
    for (uint32_t i = 0; scenario != NULL && i < scenario->n_bearers; i++)
        spate_names_add(&reader->bearers, scenario->bearers[i].name, i, true);
    for (uint32_t i = 0; scenario != NULL && i < scenario->n_nodes; i++)
        spate_names_add(&reader->nodes, scenario->nodes[i].name, i, true);
    for (uint32_t i = 0; scenario != NULL && i < scenario->n_sites; i++)
        spate_names_add(&reader->nodes, scenario->sites[i].name, SPATE_FIRST_SITE + i, true);
    for (uint32_t i = 0; scenario != NULL && i < scenario->n_groups; i++)
        spate_names_add(&reader->groups, scenario->groups[i].name, i, true);
}

static void
clear_names(SpateReader *reader)
{
    spate_names_clear(&reader->bearers);
    spate_names_clear(&reader->nodes);
    spate_names_clear(&reader->groups);
    g_ptr_array_unref(reader->unread);
}

static void
read_table(Reading *reading, const SpateCsvTable *table)
{
    SpateFaults *faults = reading->reader.faults;
    reading->columns = table->columns;
    reading->walk->head = table->columns->place;
    spate_check_columns(&reading->reader, &TABLES[reading->kind], table);
    settle_columns(reading);
    guint n = table->rows->items->len;
    if (n > SPATE_WALK_MOST_SAMPLES)
        spate_faults_note(faults, table->columns->place,
                          "at most " G_STRINGIFY(SPATE_WALK_MOST_SAMPLES),
                          "the table has too many rows");
    if (spate_faults_count(faults) > 0)
        return;
    for (guint i = 0; i < n; i++)
        read_row(reading, g_ptr_array_index(table->rows->items, i));
}

SpateWalk *
spate_walk_read(const char *path, SpateWalkKind kind, const SpateScenario *scenario, GError **error)
{
    const char *name = strcmp(path, "-") == 0 ? "standard input" : path;
    g_autoptr(GByteArray) bytes = spate_read_file(path, SPATE_TABLES_MAX_BYTES);
    if (bytes == NULL) {
        g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_UNREADABLE,
                    "%s: cannot be read: %s", name, g_strerror(errno));
        return NULL;
    }
    g_autoptr(SpateFaults) faults = spate_faults_new();
    const char *text = (const char *)bytes->data;
    bool is_large = bytes->len > SPATE_TABLES_MAX_BYTES;
    int origin = spate_faults_add_table(faults, name, is_large ? "" : text);
    if (is_large) {
        spate_faults_note(faults, (SpatePlace){origin, 1, 1}, "at most 16 MiB",
                          "the table is too large");
        spate_faults_raise(faults, error);
        return NULL;
    }
    g_autoptr(SpateCsvTable) table = spate_csv_parse(text, bytes->len, origin, faults);
    g_autoptr(SpateWalk) walk = g_new0(SpateWalk, 1);
    walk->samples = g_array_new(FALSE, FALSE, sizeof(SpateWalkSample));
    walk->faults = spate_faults_new_like(faults);
    Reading reading = {.walk = walk, .kind = kind, .scenario = scenario};
    reading.reader.faults = faults;
    reading.reader.scenario = (SpateScenario *)(uintptr_t)scenario;
    init_names(&reading);
    if (table != NULL)
        read_table(&reading, table);
    clear_names(&reading.reader);
    if (spate_faults_raise(faults, error) || table == NULL)
        return NULL;
    walk->rows = g_steal_pointer(&table->rows);
    return g_steal_pointer(&walk);
}

void
spate_walk_free(SpateWalk *walk)
{
    if (walk == NULL)
        return;
    g_array_unref(walk->samples);
    spate_faults_free(walk->faults);
    spate_yaml_free(walk->rows);
    g_free(walk);
}
