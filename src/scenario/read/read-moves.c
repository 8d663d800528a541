/* read-moves.c - `moves:` of a node: where it goes, how fast, from when on */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-sections.h"

/* Far more than anyone lists. */
#define MAX_POINTS 10000
/* Slower is standing still for all that a run can tell: 86 m in a day. */
#define SLOWEST_M_PER_S 0.001
#define FASTEST_M_PER_S 1000
#define LATEST_NS       1e18

typedef struct {
    SpateMoves moves;
    const SpateYamlPair *along;
} Draft;

static const SpateField MOVES_FIELDS[] = {
    {SPATE_PAIR("along", Draft, along), .required = true},
    {SPATE_NUMBER("speed", Draft, moves.speed_m_per_s, SPEED, SLOWEST_M_PER_S, FASTEST_M_PER_S),
     .required = true},
    {SPATE_TIME("from", Draft, moves.from_ns, 0, LATEST_NS)},
    {SPATE_FLAG("back", Draft, moves.back)},
};
static const SpateTable MOVES = SPATE_TABLE("a node that moves", MOVES_FIELDS, NULL);

/* A node keeps the height that its `at` gives it. */
static bool
read_point(SpateReader *reader, SpateYaml *item, SpatePosition *point)
{
    const SpateYamlPair pair = {.key = (char *)"along", .key_place = item->place, .value = item};
    if (!spate_read_position(reader, &pair, point))
        return false;
    const SpateYamlPair *height = spate_yaml_pair(item, "height");
    if (height == NULL)
        return true;
    spate_faults_note(reader->faults, height->key_place,
                      "leave it out; 'at' or 'place' gives the height",
                      "a node keeps its height above ground while it moves");
    return false;
}

/* The points, owned by the scenario; none with a fault. */
static void
read_along(SpateReader *reader, const SpateYamlPair *pair, SpateMoves *moves)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    const GPtrArray *items = pair->value->items;
    if (items->len == 0 || items->len > MAX_POINTS) {
        spate_faults_note(reader->faults, pair->value->place,
                          "1 to " G_STRINGIFY(MAX_POINTS) ", as in along: [{x: 500 m, y: 0 m}]",
                          "this way has %u points", items->len);
        return;
    }
    g_autofree SpatePosition *points = g_new0(SpatePosition, items->len);
    bool are_read = true;
    for (guint i = 0; i < items->len; i++)
        are_read = read_point(reader, g_ptr_array_index(items, i), &points[i]) && are_read;
    if (!are_read)
        return;
    moves->points = points;
    moves->n_points = items->len;
    g_ptr_array_add(reader->scenario->ways, g_steal_pointer(&points));
}

void
spate_read_moves(SpateReader *reader, const SpateYamlPair *pair, SpateMoves *moves)
{
    Draft draft = {.moves = {.place = pair->key_place}};
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key) ||
        !spate_read_map(reader, &MOVES, 0, pair->key_place, pair->value, &draft))
        return;
    *moves = draft.moves;
    if (draft.along != NULL)
        read_along(reader, draft.along, moves);
}
