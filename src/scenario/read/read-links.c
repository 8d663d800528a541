/* read-links.c - `links:` and `ambient:` */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include <math.h>
#include <string.h>

/* An entry of `links:` on the way. */
typedef struct {
    const SpateYamlPair *between, *from, *to, *bearer;
    double loss_db;
} Draft;

static const SpateField LINK_FIELDS[] = {
    {SPATE_PAIR("between", Draft, between)},
    {SPATE_PAIR("from", Draft, from)},
    {SPATE_PAIR("to", Draft, to)},
    {SPATE_PAIR("bearer", Draft, bearer)},
    {SPATE_NUMBER("loss", Draft, loss_db, RATIO_DB, 0, 500), .required = true},
};
static const SpateTable LINK = SPATE_TABLE("a link", LINK_FIELDS, NULL);

/* An entry that is a table; also instead of a list. */
static const SpateField TABLE_FIELDS[] = {
    {.key = "table", .read = spate_read_pair, .at = 0, .required = true}};
static const SpateTable TABLE = SPATE_TABLE("a table of links", TABLE_FIELDS, NULL);

typedef struct {
    const SpateScenarioGroup *from, *to;
    int32_t bearer;
} Ends;

static bool
read_end(SpateReader *reader, const SpateYaml *value, const char *key,
         const SpateScenarioGroup **group)
{
    uint32_t number;
    if (!spate_is_kind(reader, value, SPATE_YAML_SCALAR, key) ||
        !spate_find_name(reader, &reader->groups, value, &number))
        return false;
    *group = &reader->scenario->groups[number];
    return true;
}

static bool
read_both(SpateReader *reader, const SpateYaml *from, const SpateYaml *to, const char *key,
          Ends *ends)
{
    bool has_from = read_end(reader, from, key, &ends->from);
    bool has_to = read_end(reader, to, key, &ends->to);
    return has_from && has_to;
}

/* False with a fault. */
static bool
read_ends(SpateReader *reader, const SpateYaml *item, const Draft *draft, Ends *ends)
{
    bool is_pair = draft->between != NULL;
    if (is_pair == (draft->from != NULL || draft->to != NULL) ||
        (!is_pair && (draft->from == NULL || draft->to == NULL))) {
        spate_faults_note(reader->faults, item->place, "between: [A, B], or from: A and to: B",
                          "a link needs either 'between' or 'from' and 'to'");
        return false;
    }
    if (!is_pair)
        return read_both(reader, draft->from->value, draft->to->value, "from or to", ends);
    const SpateYaml *list = draft->between->value;
    if (!spate_is_kind(reader, list, SPATE_YAML_LIST, "between"))
        return false;
    if (list->items->len != 2) {
        spate_faults_note(reader->faults, list->place, "write it as between: [A, B]",
                          "'between' must name two, not %u", list->items->len);
        return false;
    }
    return read_both(reader, g_ptr_array_index(list->items, 0), g_ptr_array_index(list->items, 1),
                     "between", ends);
}

/* Each costs some 100 bytes, and a world asks for each.  All pairs of 1000 nodes, both ways. */
#define MAX_LOSSES 2000000

bool
spate_have_room_for_losses(SpateReader *reader, SpatePlace place, const GArray *losses, uint64_t n)
{
    if (n <= MAX_LOSSES - losses->len)
        return true;
    if (!reader->too_many_losses)
        spate_faults_note(reader->faults, place,
                          "at most " G_STRINGIFY(MAX_LOSSES) ", both directions counted",
                          "too many pairs have losses in all");
    reader->too_many_losses = true;
    return false;
}

static void
add_losses(GArray *losses, const Ends *ends, double loss_db, bool both_ways)
{
    for (uint32_t a = 0; a < ends->from->n_members; a++) {
        for (uint32_t b = 0; b < ends->to->n_members; b++) {
            SpateGivenLoss loss = {ends->from->members[a], ends->to->members[b], ends->bearer,
                                   loss_db};
            if (loss.from_node == loss.to_node)
                continue;
            g_array_append_val(losses, loss);
            SpateGivenLoss back = {loss.to_node, loss.from_node, ends->bearer, loss_db};
            if (both_ways)
                g_array_append_val(losses, back);
        }
    }
}

static void
read_link(SpateReader *reader, const SpateYaml *item, GArray *losses, GArray *links)
{
    size_t before = spate_faults_noted(reader->faults);
    Draft draft = {0};
    Ends ends = {.bearer = -1};
    uint32_t bearer;
    if (!spate_read_map(reader, &LINK, 0, item->place, item, &draft))
        return;
    if (spate_find_named(reader, &reader->bearers, draft.bearer, &bearer))
        ends.bearer = (int32_t)bearer;
    if (!read_ends(reader, item, &draft, &ends) || spate_faults_since(reader, before))
        return;
    bool is_one_node = ends.from->n_members == 1 && ends.to->n_members == 1 &&
                       ends.from->members[0] == ends.to->members[0];
    if (is_one_node)
        spate_faults_note(reader->faults, item->place,
                          "'isolation' sets the loss between radios of one node",
                          "a link joins two nodes");
    uint64_t n_pairs = (uint64_t)ends.from->n_members * ends.to->n_members;
    SpateScenarioLink link = {item->place, losses->len, n_pairs};
    uint64_t n_losses = draft.between != NULL ? 2 * n_pairs : n_pairs;
    if (!spate_reader_spend(reader, item->place, 2 * n_pairs) ||
        !spate_have_room_for_losses(reader, item->place, losses, n_losses))
        return;
    g_array_append_val(links, link);
    add_losses(losses, &ends, draft.loss_db, draft.between != NULL);
}

static void
read_table(SpateReader *reader, SpatePlace owner, const SpateYaml *map, GArray *losses,
           GArray *links)
{
    const SpateYamlPair *table = NULL;
    if (spate_read_map(reader, &TABLE, 0, owner, map, &table) && table != NULL)
        spate_read_link_table(reader, table, losses, links);
}

void
spate_read_links(SpateReader *reader, const SpateYamlPair *pair)
{
    SpateScenario *scenario = reader->scenario;
    bool is_table = pair->value->kind == SPATE_YAML_MAP;
    if (!is_table && !spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    GArray *losses = g_array_new(FALSE, FALSE, sizeof(SpateGivenLoss));
    GArray *links = g_array_new(FALSE, FALSE, sizeof(SpateScenarioLink));
    if (is_table)
        read_table(reader, pair->key_place, pair->value, losses, links);
    for (guint i = 0; !is_table && i < pair->value->items->len; i++) {
        const SpateYaml *item = g_ptr_array_index(pair->value->items, i);
        if (spate_yaml_pair(item, "table") != NULL)
            read_table(reader, item->place, item, losses, links);
        else
            read_link(reader, item, losses, links);
    }
    scenario->n_given_losses = losses->len;
    scenario->given_losses = (SpateGivenLoss *)(void *)g_array_free(losses, FALSE);
    scenario->n_links = links->len;
    scenario->links = (SpateScenarioLink *)(void *)g_array_free(links, FALSE);
}

/* ---- ambient --------------------------------------------------------------------------------- */

typedef struct {
    SpateScenarioAmbient ambient;
    const SpateYamlPair *bearer, *at;
} AmbientDraft;

/* Busy all the time would be noise, which `noise-rise` says. */
static const SpateField AMBIENT_FIELDS[] = {
    {SPATE_PAIR("bearer", AmbientDraft, bearer), .required = true},
    {SPATE_PAIR("at", AmbientDraft, at)},
    {SPATE_FLAG("everywhere", AmbientDraft, ambient.everywhere)},
    {SPATE_NUMBER("power", AmbientDraft, ambient.power_dbm, LEVEL, -250, 100), .required = true},
    {SPATE_NUMBER("busy", AmbientDraft, ambient.busy, SHARE, 0.000001, 0.999), .required = true},
    {SPATE_TIME("burst", AmbientDraft, ambient.burst_ns, 10e3, 3600e9), .required = true},
};
static const SpateTable AMBIENT = SPATE_TABLE("ambient traffic", AMBIENT_FIELDS, NULL);

static void
read_ambient(SpateReader *reader, const SpateYaml *item, SpateScenarioAmbient *into)
{
    AmbientDraft draft = {.ambient.place = item->place};
    if (spate_read_map(reader, &AMBIENT, 0, item->place, item, &draft)) {
        spate_find_named(reader, &reader->bearers, draft.bearer, &draft.ambient.bearer);
        if (draft.at != NULL)
            spate_read_position(reader, draft.at, &draft.ambient.position);
        bool is_everywhere = spate_yaml_pair(item, "everywhere") != NULL &&
                             (draft.ambient.everywhere || draft.at != NULL);
        if (is_everywhere == (draft.at != NULL))
            spate_faults_note(reader->faults, item->place,
                              "at: {x: 0 m, y: 0 m, height: 5 m}, or everywhere: yes",
                              "ambient traffic is either 'at' a place or 'everywhere'");
    }
    *into = draft.ambient;
}

/* Far more than anyone measured; each is a source of events of its own. */
#define MAX_AMBIENT 1000

void
spate_read_ambient(SpateReader *reader, const SpateYamlPair *pair)
{
    SpateScenario *scenario = reader->scenario;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    guint n = pair->value->items->len;
    if (n > MAX_AMBIENT) {
        spate_faults_note(reader->faults, pair->key_place, "at most 1000",
                          "there are %u ambient sources", n);
        return;
    }
    scenario->ambient = g_new0(SpateScenarioAmbient, n + 1u);
    scenario->n_ambient = n;
    for (guint i = 0; i < n; i++)
        read_ambient(reader, g_ptr_array_index(pair->value->items, i), &scenario->ambient[i]);
}
